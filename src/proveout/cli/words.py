"""What the command line says: progress while working, then the plan in a few lines."""

from __future__ import annotations

import textwrap
import time
from pathlib import Path
from typing import TextIO

from proveout.cli.face_words import FaceWords
from proveout.jobs.plan_path import Outcome, PartOutcome
from proveout.model.plan import Plan
from proveout.model.proof import Proof, open_proofs, weakest_first
from proveout.model.table_load import TableLoad
from proveout.model.work import Blank, Clamping
from proveout.quantities.units import S_PER_MIN

WIDTH = 100
HEAD = 12
PROOFS_SHOWN = 8
WEAKEST_SHOWN = 3
UNKNOWN = "unknown"
REACHED_ID = "clampings:part:every face reached"
ASSUMED_ABOVE = "No shop file: a starting shop is assumed. It stands above the first look, and in plan.html."
TELL_EVERY_S = 1.0


class Progress:
    """One line on a terminal, rewritten; on a pipe a line when the stage changes."""

    def __init__(self, stream: TextIO, *, quiet: bool) -> None:
        self._stream, self._quiet = stream, quiet
        self._stage, self._last, self._wide = "", 0.0, 0
        self._terminal = stream.isatty()

    def tell(self, stage: str, text: str, share: float) -> None:  # noqa: ARG002 - the shape of Run's teller
        """Called often; prints rarely."""
        if self._quiet:
            return
        now = time.monotonic()
        if self._terminal:
            if stage == self._stage and now - self._last < TELL_EVERY_S / 8.0:
                return
            line = f"{stage}: {text}"[: WIDTH - 1]
            self._stream.write("\r" + line.ljust(self._wide))
            self._stream.flush()
            self._wide = len(line)
        elif stage != self._stage:
            # a pass's long name says nothing to a reader of a log: there the stage is enough
            shown = "" if "/" in text else text
            self._stream.write(f"{stage}: {shown}"[:WIDTH].rstrip(": ") + "\n")
            self._stream.flush()
        self._stage, self._last = stage, now

    def close(self) -> None:
        """Wipe the line."""
        if self._terminal and self._wide:
            self._stream.write("\r" + " " * self._wide + "\r")
            self._stream.flush()


def plan_words(part: PartOutcome, folder: Path, *, assumed_told: bool = False) -> list[str]:
    """The plan of one part: what was assumed, then what came of it, the questions last.

    assumed_told: what was assumed has been printed with the first look, and is only pointed at.
    """
    plan = part.plan
    words = FaceWords(plan, part.places)
    lines: list[str] = []
    if part.shop_is_assumed:
        lines += [ASSUMED_ABOVE, ""] if assumed_told else assumed_words(plan.assumed)
    size = " x ".join(f"{v:.1f}" for v in plan.part.size_mm)
    name = plan.part.number if plan.part.name in ("", plan.part.number) else f"{plan.part.number} {plan.part.name}"
    revision = f", revision {plan.part.revision}" if plan.part.revision not in ("", "-") else ""
    lines += [f"{name}{revision}: {size} mm, {plan.part.quantity} pieces"]
    lines += [wrapped(f"Note: {w}", "      ") for w in plan.warnings]
    lines += ["", *_how(plan, words), "", _verdict(plan), *_proof_lines(plan, words)]
    if plan.questions:
        lines += ["", "Questions, the one that changes most first:"]
        lines += [
            wrapped(f"{n}. {words.text(q.text)} Changes: {q.would_change}.", "   ")
            for n, q in enumerate(plan.questions, start=1)
        ]
    lines += ["", f"Written: {folder}"]
    return lines


def assumed_words(assumed: tuple[str, ...]) -> list[str]:
    """What no file said, line by line."""
    heads = ("No job file: ", "No shop file, assumed: ")
    lines: list[str] = []
    for title, start in (("No job file; assumed for the part:", heads[0]), ("No shop file; assumed:", heads[1])):
        found = [line.removeprefix(start) for line in assumed if line.startswith(start)]
        if found:
            lines += [title, *(wrapped(f"- {line[0].upper()}{line[1:]}", "  ") for line in found), ""]
    others = [line for line in assumed if not line.startswith(heads)]
    if others:
        lines += ["Not known, so not shown until it is measured or written down:"]
        lines += [*(wrapped(f"- {line.removeprefix('Unknown: ')}", "  ") for line in others), ""]
    return lines


def _how(plan: Plan, words: FaceWords) -> list[str]:
    lines = [bar_line(plan.blank.chosen)]
    for c in plan.clampings:
        cycle = "" if plan.metal_unknown else f": {minutes(plan.time.cycle_s.get(c.id, 0.0))} min"
        lines.append(entry(f"Clamping {c.number}", f"{held_words(c)}{cycle}"))
    lines += [entry("Places" if n == 0 else "", _load_words(plan, load)) for n, load in enumerate(plan.table_loads)]
    if plan.metal_unknown:
        lines.append(entry("Work", f"not shown, nor the price: {plan.metal_unknown}"))
        return lines
    piece, cost = plan.time.piece_s, plan.cost.each
    money = f"{cost.low:.2f} to {cost.high:.2f} {plan.cost.currency}".rstrip()
    if not plan.passes:
        lines.append(entry("Price", f"not shown, as no cut is planned; metal, saw and bench alone are {money} a piece"))
        return lines
    part_only = " for what is planned" if _left_out(plan) else ""
    lines.append(entry("Work", f"{minutes(piece.low)} to {minutes(piece.high)} min a piece{part_only}"))
    lines.append(entry("Price", f"{money} a piece{part_only}, {plan.cost.quantity} pieces"))
    lines += band_lines(plan)
    if part_only:
        lines.append(entry("Left out", _left_out_words(plan)))
    lines += tightened_lines(plan)
    lines += [entry("Dear" if n == 0 else "", words.text(text)) for n, text in enumerate(plan.cost.dear_faces)]
    return lines


def band_lines(plan: Plan) -> list[str]:
    """The price as drawn, and what would narrow it most; nothing where it was not drawn."""
    band = plan.cost.band
    if band is None:
        return []
    told = f"{band.each.p50:.2f} in the middle, eight draws in ten {band.each.p10:.2f} to {band.each.p90:.2f}"
    lines = [entry("Drawn", told)]
    if band.widest and band.widest[0].narrows_ratio > 0.0:
        first = band.widest[0]
        narrows = f"{100.0 * first.narrows_ratio:.0f} % narrower once known"
        lines.append(entry("", f"{first.text}: {narrows}; {first.measure}"))
    return lines


def tightened_lines(plan: Plan) -> list[str]:
    """How much the rounds tightened and what that cost; nothing where nothing was."""
    count = sum(len(one.tightened) for one in plan.rounds)
    if not count:
        return []
    limits, rounds = f"{count} limit{'s' if count > 1 else ''}", len(plan.rounds) - 1
    first, last = plan.rounds[0].piece_s, plan.rounds[-1].piece_s
    told = f"{limits} in {rounds} round{'s' if rounds > 1 else ''}: {minutes(first)} min at feed a piece before, "
    told += f"{minutes(last)} after; plan.html names each and the proof that asked for it"
    return [entry("Tightened", told)]


def _load_words(plan: Plan, load: TableLoad) -> str:
    """What lies on one machine's table in one cycle, in words."""
    numbers = {c.id: str(c.number) for c in plan.clampings}
    names = " and ".join(numbers[id] for id in load.clamping_ids)
    several = f", {load.pieces_count} pieces a cycle" if load.pieces_count > 1 else ""
    if len(load.clamping_ids) > 1:
        return f"clampings {names} side by side on {load.machine_id}{several}"
    return f"clamping {names} on {load.machine_id}{several}"


def bar_line(blank: Blank) -> str:
    """Which bar, and how much is sawn off it; what it would have to be where none of the shop fits."""
    cut = f"{blank.cut_length_mm:.2f} mm sawn off"
    if not blank.is_ideal:
        return entry("Bar", f"{blank.bar_id}, {cut}, {blank.pieces_per_bar} pieces a bar")
    width, height = (
        high - low
        for k, (low, high) in enumerate(zip(blank.low_mm, blank.high_mm, strict=True))
        if k != blank.length_axis
    )
    return entry("Bar", f"none of the shop fits; planned on from one of {width:.1f} x {height:.1f} mm, {cut}")


def held_words(clamping: Clamping) -> str:
    """Which way up a clamping holds the work, and in what."""
    tilts = f", {len(clamping.tilts)} cutter directions" if len(clamping.tilts) > 1 else ""
    return f"{_up(clamping.frame.z)} up on {clamping.machine_id} in {clamping.jaws_id} jaws{tilts}"


def _left_out(plan: Plan) -> int:
    """Faces that are not reached, or have no pass."""
    return len({*plan.survey.unreached, *(f for n in plan.not_cut for f in n.face_ids)})


def _left_out_words(plan: Plan) -> str:
    """How many faces nothing reaches, and how many are reached and have no pass all the same."""
    unreached = len(set(plan.survey.unreached))
    unlaid = _left_out(plan) - unreached
    said = [f"no cutter of the shop reaches {unreached}"] * bool(unreached)
    said += [f"a cutter reaches {unlaid}, but no pass could be laid"] * bool(unlaid)
    return f"{unreached + unlaid} of {plan.part.faces_count} faces: {'; '.join(said)}"


def entry(head: str, text: str) -> str:
    """A line with its head in a column of its own."""
    return wrapped(f"{head:<{HEAD}}{text}", " " * HEAD)


def _verdict(plan: Plan) -> str:
    blocking = open_proofs(plan.proofs)
    if plan.ready:
        return f"READY: all {sum(p.blocks_release for p in plan.proofs)} proofs that block release hold."
    fails = sum(p.verdict == "fails" for p in blocking)
    missing = len(blocking) - fails
    said = [f"{fails} fail{'s' if fails == 1 else ''}"] * bool(fails)
    said += [f"{missing} {'is' if missing == 1 else 'are'} not shown"] * bool(missing)
    total = sum(p.blocks_release for p in plan.proofs)
    return f"NOT READY: of {total} proofs that block release, {' and '.join(said)}."


def _proof_lines(plan: Plan, words: FaceWords) -> list[str]:
    """The weakest proofs, one line for all that claim the same; what cannot be held or reached at all comes first."""
    bad = weakest_first(open_proofs(plan.proofs))
    if not bad:
        weakest = weakest_first(plan.proofs)[:WEAKEST_SHOWN]
        waiting = [p for p in weakest if p.verdict != "holds"]
        head = "Open, but release does not wait for it:" if waiting else "Weakest of them:"
        return [head, *(wrapped(words.text(proof_line(p)), "     ") for p in waiting or weakest)]
    groups: dict[tuple[str, str, str], list[Proof]] = {}
    for proof in sorted(bad, key=lambda p: p.id != REACHED_ID):
        groups.setdefault((proof.stage, proof.claim, proof.verdict), []).append(proof)
    shown = list(groups.values())[:PROOFS_SHOWN]
    lines = [wrapped(words.text(proof_line(same[0], others_count=len(same) - 1)), "     ") for same in shown]
    rest = sum(len(same) for same in list(groups.values())[PROOFS_SHOWN:])
    return [*lines, *([f"  and {rest} more in plan.html"] if rest else [])]


def proof_line(proof: Proof, *, others_count: int = 0) -> str:
    """One proof in a sentence; others_count: so many more claim the same and do no better."""
    times, unit = (100.0, "%") if proof.unit == "ratio" else (1.0, proof.unit)
    found = _span(proof.found_low, proof.found_high, times=times)
    more = f", and {others_count} more" if others_count else ""
    if proof.limit is not None:
        value = f"{found}, {proof.sense} {_figure(proof.limit * times, digits=6)} {unit}"
    else:
        value = found if found == UNKNOWN else f"{found} {unit}, limit unknown"
    if proof.unit.startswith("yes"):
        value = {0.0: "no", 1.0: "yes"}.get(proof.found_low if proof.found_low is not None else -1.0, UNKNOWN)
    subject = "" if proof.id == REACHED_ID else f" ({proof.subject}{more})"
    text = f"  {proof.verdict}: {proof.claim}{subject}: {value}"
    if proof.verdict == "not shown":
        return f"{text}. Would decide it: {proof.decides}"
    return f"{text}. Do: {proof.remedy}".removesuffix(". Do: ") if proof.verdict == "fails" else text


def _span(low: float | None, high: float | None, *, times: float) -> str:
    if low is None or high is None:
        return UNKNOWN
    first, last = _figure(low * times), _figure(high * times)
    return first if first == last else f"{first} to {last}"


def _figure(value: float, *, digits: int = 4) -> str:
    """So many digits that count; a large number is written out, as nobody on the floor reads powers of ten."""
    return f"{value:.0f}" if abs(value) >= 10.0**digits else f"{value:.{digits}g}"


def _up(z: tuple[float, float, float]) -> str:
    axis = max(range(3), key=lambda i: abs(z[i]))
    return ("+" if z[axis] > 0 else "-") + "xyz"[axis]


def minutes(seconds: float) -> str:
    """Seconds as minutes with one decimal."""
    return f"{seconds / S_PER_MIN:.1f}"


def wrapped(text: str, indent: str) -> str:
    """The text in lines of the command line's width; all but the first begin with the indent."""
    return "\n".join(textwrap.wrap(text, WIDTH, subsequent_indent=indent, break_on_hyphens=False)) or text


def order_words(outcome: Outcome) -> list[str]:
    """An order in a few lines: each part, then the whole."""
    lines: list[str] = []
    for part in outcome.parts:
        lines += plan_words(part, outcome.folder / part.folder)
        lines.append("-" * 60)
    ready = sum(p.plan.ready for p in outcome.parts)
    lines.append(f"Order: {ready} of {len(outcome.parts)} parts ready. Written: {outcome.folder}")
    lines += [wrapped(line, "   ") for line in outcome.notes]
    return lines


def date_words(outcome: Outcome) -> list[str]:
    """The part against the calendar, when a date is written or given."""
    return ["", *(wrapped(line, "   ") for line in outcome.notes)] if outcome.notes else []
