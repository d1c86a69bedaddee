"""What the STEP file writes about its faces, counted in words."""

from __future__ import annotations

from proveout.model.pmi import PmiNote


def counted_words(notes: tuple[PmiNote, ...]) -> str:
    """How many sizes, tolerances and datums the file writes, and how many of them the plan uses; empty for none."""
    if not notes:
        return ""
    sizes = [note for note in notes if note.kind == "size"]
    tolerances = sum(note.kind == "tolerance" for note in notes)
    datums = sum(note.kind == "datum" for note in notes)
    found = [_some(len(sizes), "size"), _some(tolerances, "geometric tolerance"), _some(datums, "datum")]
    parts = [f"{_joined([words for words in found if words])} in the STEP file"]
    for status, words in (
        ("used", "used as if typed in the job"),
        ("same", "the same in the job"),
        ("overridden", "overridden by the job"),
    ):
        count = sum(note.status == status for note in sizes)
        if count:
            parts.append(f"{_some(count, 'size')} {words}")
    unused = sum(note.status == "not used" for note in notes if note.kind != "datum")
    if unused:
        parts.append(f"{unused} not judged by this plan: measure as drawn")
    return "; ".join(parts)


def unused_lines(notes: tuple[PmiNote, ...]) -> list[str]:
    """A line for each size of the file that is not used, or not all of it, and for each that the job overrides."""
    return [
        f"{note.text}{at_words(note.balloons)}: {note.why}"
        for note in notes
        if note.kind == "size" and (note.status in ("overridden", "not used") or note.why)
    ]


def at_words(balloons: tuple[int, ...]) -> str:
    """Such as " at 3, 4 and 7"; empty for none."""
    return f" at {_joined([str(number) for number in balloons])}" if balloons else ""


def _some(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}" if count else ""


def _joined(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
