"""What the shelf shows of one entry, how it is searched, and in which order it stands."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Literal

import msgspec

from proveout.model.catalogue import EntryKind
from proveout.model.fact import Fact
from proveout.model.proof import Proof, open_proofs, weakest_first
from proveout.model.written import NO_DAY
from proveout.quantities.units import S_PER_MIN

ShelfState = Literal[
    "asked", "waiting", "under way", "ready", "not ready", "stale", "refused", "failed", "out of time", "cancelled",
    "stopped",
]  # fmt: skip


class PartLine(msgspec.Struct, frozen=True, kw_only=True):
    """One planned part. weakest: the proof that stands first of those that block release.   open_count: still open.

    each, piece_s: None where the plan does not show them.   inputs: digests of what it was planned from.
    """

    number: str
    name: str
    revision: str
    alloy: str
    quantity: int
    ready: bool
    each: Fact | None
    currency: str
    piece_s: Fact | None
    due: str
    weakest: Proof | None
    open_count: int
    inputs: dict[str, str]

    @property
    def piece_min(self) -> tuple[float, float] | None:
        """Least and most minutes of a piece."""
        return None if self.piece_s is None else (self.piece_s.low / S_PER_MIN, self.piece_s.high / S_PER_MIN)


class AskedLine(msgspec.Struct, frozen=True, kw_only=True):
    """What the files of an entry ask for. fault: what is wrong with them, empty when nothing is."""

    number: str
    name: str = ""
    alloy: str = ""
    quantity: int | None = None
    due: str = ""
    items_count: int = 0
    solid_name: str = ""
    fault: str = ""


class Pictured(msgspec.Struct, frozen=True, kw_only=True):
    """A solid that a drawing is made of: its STEP file with its digest, and the solid's name in it, mostly empty."""

    step: Path
    digest: str
    solid_name: str = ""


class ShelfPart(msgspec.Struct, frozen=True, kw_only=True):
    """A planned part with its address."""

    address: str
    line: PartLine
    pictured: Pictured | None


class ShelfLine(msgspec.Struct, frozen=True, kw_only=True):
    """One entry of the shelf. file: below the home.   said: why it is not planned, or what the last try came to.

    changed: what has changed since it was planned, in words.   due: the earliest day wanted, empty for none.
    touched_ns: when its files or its plan were last written.   task_id: of the open task, or the last one.
    pictured: what there is to draw of it; None of an order, whose parts are drawn.
    """

    name: str
    kind: EntryKind
    file: str
    asked: AskedLine
    parts: tuple[ShelfPart, ...]
    state: ShelfState
    said: str
    changed: tuple[str, ...]
    due: str
    touched_ns: int
    task_id: str = ""
    pictured: Pictured | None = None

    @property
    def is_planned(self) -> bool:
        """A plan of it lies there."""
        return bool(self.parts)


class _Part(msgspec.Struct):
    number: str
    name: str
    revision: str
    alloy: str
    quantity: int


class _Cost(msgspec.Struct):
    each: Fact
    currency: str


class _Time(msgspec.Struct):
    piece_s: Fact


class PlanHead(msgspec.Struct):
    """The few fields of a plan that the shelf shows; the rest is passed over unread."""

    ready: bool
    part: _Part
    cost: _Cost
    time: _Time
    inputs: dict[str, str]
    proofs: tuple[Proof, ...]
    due: str = ""
    metal_unknown: str = ""
    passes: tuple[msgspec.Raw, ...] = ()


def found_by(lines: Iterable[ShelfLine], words: str) -> tuple[ShelfLine, ...]:
    """The lines that hold every one of the words in a number, a name, an alloy or a file name; all for no words."""
    wanted = words.casefold().split()
    return tuple(line for line in lines if all(word in _text(line) for word in wanted))


def in_order(lines: Iterable[ShelfLine], *, by_due: bool) -> tuple[ShelfLine, ...]:
    """The one touched last first; or by the day wanted, those without one last."""
    newest = sorted(lines, key=lambda line: (-line.touched_ns, line.name))
    return tuple(sorted(newest, key=lambda line: line.due or NO_DAY)) if by_due else tuple(newest)


def _text(line: ShelfLine) -> str:
    asked = line.asked
    said = [line.name, line.file, asked.number, asked.name, asked.alloy]
    for part in line.parts:
        said += [part.line.number, part.line.name, part.line.alloy]
    return "\n".join(said).casefold()


def part_line(plan: PlanHead) -> PartLine:
    """What the shelf shows of a plan."""
    known = not plan.metal_unknown and bool(plan.passes)
    blocking = tuple(proof for proof in plan.proofs if proof.blocks_release)
    waiting = weakest_first(open_proofs(plan.proofs))
    weakest = (*waiting, *weakest_first(blocking))[:1]
    return PartLine(
        number=plan.part.number, name=plan.part.name, revision=plan.part.revision, alloy=plan.part.alloy,
        quantity=plan.part.quantity, ready=plan.ready, each=plan.cost.each if known else None,
        currency=plan.cost.currency, piece_s=plan.time.piece_s if known else None, due=plan.due,
        weakest=weakest[0] if weakest else None, open_count=len(waiting), inputs=plan.inputs,
    )  # fmt: skip
