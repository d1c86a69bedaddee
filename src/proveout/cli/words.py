"""What the command line says: progress while working, then the plan in a few lines."""

from __future__ import annotations

import textwrap
import time
from pathlib import Path
from typing import TextIO

from proveout.jobs.plan_path import Outcome, PartOutcome
from proveout.model.plan import Plan
from proveout.model.proof import Proof, weakest_first
from proveout.quantities.units import S_PER_MIN

WIDTH = 100
PROOFS_SHOWN = 8
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
            self._stream.write(f"{stage}\n")
            self._stream.flush()
        self._stage, self._last = stage, now

    def close(self) -> None:
        """Wipe the line."""
        if self._terminal and self._wide:
            self._stream.write("\r" + " " * self._wide + "\r")
            self._stream.flush()


def plan_words(part: PartOutcome, folder: Path) -> list[str]:
    """The plan of one part in a few lines."""
    plan = part.plan
    size = " x ".join(f"{v:.1f}" for v in plan.part.size_mm)
    lines = [
        f"{plan.part.number} {plan.part.name}, revision {plan.part.revision}: {size} mm, {plan.part.quantity} pieces",
        *_how(plan),
        "",
        _verdict(plan),
        *_proof_lines(plan),
    ]
    if plan.questions:
        lines += ["", "Questions, the one that changes most first:"]
        lines += [_wrapped(f"{n}. {q.text} ({q.would_change})", "   ") for n, q in enumerate(plan.questions, start=1)]
    if plan.warnings:
        lines += ["", *(_wrapped(f"Note: {w}", "   ") for w in plan.warnings)]
    if part.shop_is_assumed:
        lines += ["", "No shop file: a starting shop is assumed, line by line:"]
        lines += [_wrapped(f"- {line}", "  ") for line in plan.assumed]
    lines += ["", f"Written: {folder}"]
    return lines


def _how(plan: Plan) -> list[str]:
    blank = plan.blank.chosen
    bar = blank.bar_id if not blank.is_ideal else "no bar of the shop fits; planned on from an ideal one"
    lines = [f"Bar: {bar}, sawn {blank.cut_length_mm:.2f} mm, {blank.pieces_per_bar} a bar"]
    lines += [
        f"Clamping {c.number}: {_up(c.frame.z)} up on {c.machine_id}, {c.jaws_id} jaws, {len(c.tilts)} "
        f"tilt{'s' if len(c.tilts) != 1 else ''}, {_minutes(plan.time.cycle_s.get(c.id, 0.0))} min"
        for c in plan.clampings
    ]
    piece = plan.time.piece_s
    cost = plan.cost.each
    lines.append(
        f"Work a piece: {_minutes(piece.low)} to {_minutes(piece.high)} min; cost a piece: {cost.low:.2f} to "
        f"{cost.high:.2f} {plan.cost.currency}".rstrip()
    )
    if plan.cost.dear_faces:
        lines.append("Dearest faces: " + "; ".join(plan.cost.dear_faces))
    return lines


def _verdict(plan: Plan) -> str:
    blocking = [p for p in plan.proofs if p.blocks_release and p.verdict != "holds"]
    if plan.ready:
        return f"READY: all {sum(p.blocks_release for p in plan.proofs)} proofs that block release hold."
    fails = sum(p.verdict == "fails" for p in blocking)
    return f"NOT READY: {fails} proofs fail and {len(blocking) - fails} are not shown among those that block release."


def _proof_lines(plan: Plan) -> list[str]:
    weakest = weakest_first(plan.proofs)
    bad = [p for p in weakest if p.verdict != "holds" and p.blocks_release][:PROOFS_SHOWN]
    shown = bad or list(weakest[:3])
    return [_wrapped(proof_line(p), "     ") for p in shown]


def proof_line(proof: Proof) -> str:
    """One proof in a sentence."""
    found = _span(proof.found_low, proof.found_high)
    limit = "?" if proof.limit is None else f"{proof.limit:.6g}"
    text = f"  {proof.verdict}: {proof.claim} ({proof.subject}): {found}, {proof.sense} {limit} {proof.unit}"
    if proof.verdict == "not shown":
        return f"{text}. Would decide it: {proof.decides}"
    return f"{text}. {proof.remedy}".rstrip(". ") if proof.verdict == "fails" else text


def _span(low: float | None, high: float | None) -> str:
    if low is None or high is None:
        return "unknown"
    return f"{low:.4g}" if low == high else f"{low:.4g} to {high:.4g}"


def _up(z: tuple[float, float, float]) -> str:
    axis = max(range(3), key=lambda i: abs(z[i]))
    return ("+" if z[axis] > 0 else "-") + "xyz"[axis]


def _minutes(seconds: float) -> str:
    return f"{seconds / S_PER_MIN:.1f}"


def _wrapped(text: str, indent: str) -> str:
    return "\n".join(textwrap.wrap(text, WIDTH, subsequent_indent=indent, break_on_hyphens=False)) or text


def order_words(outcome: Outcome) -> list[str]:
    """An order in a few lines: each part, then the whole."""
    lines: list[str] = []
    for part in outcome.parts:
        lines += plan_words(part, outcome.folder / part.folder)
        lines.append("-" * 60)
    ready = sum(p.plan.ready for p in outcome.parts)
    lines.append(f"Order: {ready} of {len(outcome.parts)} parts ready. Written: {outcome.folder}")
    lines += [_wrapped(line, "   ") for line in outcome.notes]
    return lines


def date_words(outcome: Outcome) -> list[str]:
    """The part against the calendar, when a date is written or given."""
    return ["", *(_wrapped(line, "   ") for line in outcome.notes)] if outcome.notes else []
