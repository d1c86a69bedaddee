"""What the command line says first, before any move is laid."""

from __future__ import annotations

from proveout.cli.face_words import FaceWords
from proveout.cli.words import HEAD as HEAD_WIDE
from proveout.cli.words import assumed_words, bar_line, entry, held_words, minutes, proof_line, wrapped
from proveout.jobs.pmi_words import counted_words, unused_lines
from proveout.model.fact import Fact
from proveout.model.plan import FirstLook

HEAD = "First look, before any cut is laid out: minutes and price are rough, and the plan that follows replaces them."
LIGHTER = "A grip that forces lighter cuts takes longer than these ranges say."

HEADS = ("", "Bar", "Clamping", "Work", "Price", "Left out", "Dear", "In the file")
FAILING_SHOWN = 3
UNUSED_SHOWN = 6


def first_look_words(look: FirstLook, *, shop_is_assumed: bool) -> list[str]:
    """Which way up, which bar, minutes and price as ranges, the dear faces, and the questions so far.

    An assumed shop comes first, line by line, so that the answer is what stays in sight.
    """
    words = FaceWords(look, look.places)
    size = " x ".join(f"{v:.1f}" for v in look.part.size_mm)
    lines = assumed_words(look.assumed) if shop_is_assumed else []
    lines += [wrapped(HEAD, "  "), f"{look.part.number}: {size} mm, {look.part.quantity} pieces"]
    if shop_is_assumed:
        lines.append("No shop file: the starting shop printed above is assumed.")
    lines.append(bar_line(look.blank.chosen))
    for clamping in look.clampings:
        cycle = look.outlook.cycle_s.get(clamping.id) if look.outlook is not None else None
        took = "" if cycle is None else f": {_range(cycle)} min"
        lines.append(entry(f"Clamping {clamping.number}", f"{held_words(clamping)}{took}"))
    if not look.clampings:
        lines.append(entry("Clamping", f"none: {look.not_held or 'nothing here holds it'}"))
    lines += _in_file(look)
    lines += _work(look)
    if look.left_out:
        lines.append(
            entry("Left out", f"{len(look.left_out)} of {look.part.faces_count} faces, which nothing here reaches")
        )
    lines += _failing(look, words)
    dear = look.outlook.dear_faces if look.outlook is not None else ()
    lines += [entry("Dear" if n == 0 else "", words.text(text)) for n, text in enumerate(dear)]
    if look.questions:
        lines.append("Questions so far, the one that changes most first:")
        lines += [
            wrapped(f"{n}. {words.text(q.text)} Changes: {q.would_change}.", "   ")
            for n, q in enumerate(look.questions, start=1)
        ]
    return [*lines, ""]


def first_look_rows(look: FirstLook) -> list[tuple[str, str]]:
    """The same as pairs of head and words for a page, without what was assumed; a sentence has no head."""
    rows: list[tuple[str, str]] = []
    for line in first_look_words(look, shop_is_assumed=False):
        flat = " ".join(line.split())
        if not flat:
            continue
        head = line[:HEAD_WIDE].strip()
        is_entry = line[:HEAD_WIDE] == f"{head:<{HEAD_WIDE}}" and line[HEAD_WIDE : HEAD_WIDE + 1].strip() != ""
        rows.append((head, flat.removeprefix(head).strip()) if is_entry and _is_head(head) else ("", flat))
    return rows


def _is_head(head: str) -> bool:
    return head in HEADS or (head.startswith("Clamping") and head.removeprefix("Clamping").strip().isdigit())


def _failing(look: FirstLook, words: FaceWords) -> list[str]:
    """What no cut can mend, so that nobody waits for the plan to learn it."""
    if not look.failing:
        return []
    rest = len(look.failing) - FAILING_SHOWN
    more = [f"  and {rest} more, which the plan names"] if rest > 0 else []
    lines = [wrapped(words.text(proof_line(proof)), "     ") for proof in look.failing[:FAILING_SHOWN]]
    return ["Known already to keep it from being ready:", *lines, *more]


def _in_file(look: FirstLook) -> list[str]:
    """What the STEP file writes about its faces, and what of it the plan does not use."""
    counted = counted_words(look.pmi)
    if not counted:
        return []
    lost = unused_lines(look.pmi)
    rest = len(lost) - UNUSED_SHOWN
    more = [f"and {rest} more, which the plan names"] if rest > 0 else []
    return [entry("In the file", counted), *(entry("", line) for line in (*lost[:UNUSED_SHOWN], *more))]


def _work(look: FirstLook) -> list[str]:
    if look.metal_unknown:
        return [entry("Work", f"not shown, nor the price: {look.metal_unknown}")]
    if look.piece_s is None or look.each is None:
        return [entry("Price", "not shown, as no cut can be foreseen")]
    money = f"{look.each.low:.2f} to {look.each.high:.2f} {look.currency}".rstrip()
    part_only = " for what is reached" if look.left_out else ""
    return [
        entry("Work", f"roughly {_range(look.piece_s)} min a piece{part_only}, loading and bench included"),
        entry("Price", f"roughly {money} a piece{part_only}, {look.part.quantity} pieces"),
        entry("", LIGHTER),
    ]


def _range(seconds: Fact) -> str:
    return f"{minutes(seconds.low)} to {minutes(seconds.high)}"
