"""The spine: a claim with the value found, its limit, its margin and a verdict that a reader can redo by hand."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable
from typing import Generic, Literal, TypeVar

import msgspec

from proveout.model.fact import Fact
from proveout.quantities.errors import InternalError

Verdict = Literal["holds", "fails", "not shown"]
Sense = Literal["at most", "at least"]
Value = TypeVar("Value")
# what is counted or answered by yes has no nearness to its limit: it is met, and then as far inside as can be
COUNTED_UNITS = ("yes = 1", "faces", "features", "strikes", "pieces", "ways", "heats")


class Tighten(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A remedy as data: bring `quantity` of `subject` to `bound` or tighter."""

    subject: str
    quantity: str
    bound: float
    unit: str


class MoveAt(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A move that decides a proof: its pass, and the point of that pass's moves at which it ends."""

    pass_id: str
    row: int


class Basis(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a proof rests on: formula or algorithm, source key, inputs with intervals.

    move: the one that decides, None where none does by itself.
    """

    formula: str
    source: str
    inputs: dict[str, Fact] = {}
    move: MoveAt | None = None


class Proof(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One claim and how it came out.

    margin is dimensionless and signed: 0 at the limit, 1 as far inside as the limit itself; None when nothing
    could be found. found_low..found_high is the interval of the value found. `decides` names the measurement that
    would decide a proof which is *not shown*. `remedy` is the smallest change that would make it hold, in words.
    """

    id: str
    stage: str
    subject: str
    claim: str
    sense: Sense
    found_low: float | None
    found_high: float | None
    limit: float | None
    unit: str
    margin: float | None
    verdict: Verdict
    blocks_release: bool
    basis: Basis
    decides: str = ""
    remedy: str = ""
    tighten: Tighten | None = None

    def __post_init__(self) -> None:
        if self.verdict == "not shown" and not self.decides:
            raise InternalError("A proof that is not shown must name what would decide it", where=self.id)


def margin_of(*, found: float, limit: float, sense: Sense) -> float:
    """Signed distance inside the limit as a share of the limit.

    Formula:  at most: (limit - found) / |limit|; at least: (found - limit) / |limit|; limit 0: the share of 1 unit.
    Returns:  0 at the limit, 1 as far inside as the limit itself; never below -9.99 or above 9.99.
    """
    scale = abs(limit) if limit else 1.0
    raw = (limit - found) / scale if sense == "at most" else (found - limit) / scale
    return max(-9.99, min(9.99, raw))


def prove(
    *,
    id: str,
    stage: str,
    subject: str,
    claim: str,
    sense: Literal["at most", "at least"],
    found_low: float | None,
    found_high: float | None,
    limit: float | None,
    unit: str,
    blocks_release: bool,
    basis: Basis,
    decides: str = "",
    remedy: str = "",
    tighten: Tighten | None = None,
) -> Proof:
    """Judge an interval against a limit.

    holds: at the worst end of the interval; fails: even at the best end; not shown: between, or data missing or not
    finite, the limit's too. The margin is that of the worst end; a count or a yes that is met has margin 1. Ends given
    the wrong way round are put in order, so that the worst stays the worst.
    """
    if not all(value is not None and math.isfinite(value) for value in (found_low, found_high, limit)):
        return Proof(
            id=id, stage=stage, subject=subject, claim=claim, sense=sense,
            found_low=found_low if found_low is not None and math.isfinite(found_low) else None,
            found_high=found_high if found_high is not None and math.isfinite(found_high) else None,
            limit=limit if limit is not None and math.isfinite(limit) else None, unit=unit, margin=None,
            verdict="not shown", blocks_release=blocks_release, basis=basis,
            decides=decides or "supply the missing value", remedy=remedy, tighten=tighten,
        )  # fmt: skip
    assert found_low is not None
    assert found_high is not None
    assert limit is not None
    found_low, found_high = min(found_low, found_high), max(found_low, found_high)
    worst, best = (found_high, found_low) if sense == "at most" else (found_low, found_high)
    inside = (lambda value: value <= limit) if sense == "at most" else (lambda value: value >= limit)
    verdict: Verdict = "holds" if inside(worst) else ("not shown" if inside(best) else "fails")
    margin = margin_of(found=worst, limit=limit, sense=sense)
    if verdict == "holds" and unit in COUNTED_UNITS:
        margin = 1.0
    return Proof(
        id=id, stage=stage, subject=subject, claim=claim, sense=sense, found_low=found_low, found_high=found_high,
        limit=limit, unit=unit, margin=margin, verdict=verdict,
        blocks_release=blocks_release, basis=basis,
        decides=decides or ("narrow the inputs: the interval straddles the limit" if verdict == "not shown" else ""),
        remedy="" if verdict == "holds" else remedy, tighten=None if verdict == "holds" else tighten,
    )  # fmt: skip


def weakest_first(proofs: tuple[Proof, ...]) -> tuple[Proof, ...]:
    """Failing first, then not shown, then by margin; blocking before others; ties by id."""
    rank = {"fails": 0, "not shown": 1, "holds": 2}
    return tuple(
        sorted(
            proofs,
            key=lambda p: (rank[p.verdict], not p.blocks_release, p.margin if p.margin is not None else -99.0, p.id),
        )
    )


def is_ready(proofs: tuple[Proof, ...]) -> bool:
    """True when every proof that blocks release holds and there is at least one such proof."""
    return any(p.blocks_release for p in proofs) and nothing_blocks(proofs)


def nothing_blocks(proofs: tuple[Proof, ...]) -> bool:
    """True when every proof that blocks release holds, also where there is none."""
    return not open_proofs(proofs)


def open_proofs(proofs: tuple[Proof, ...]) -> tuple[Proof, ...]:
    """Those that must hold before release and do not yet, in their order."""
    return tuple(p for p in proofs if p.blocks_release and p.verdict != "holds")


def opens_more(proofs: tuple[Proof, ...], than: tuple[Proof, ...], *, by: Callable[[Proof], str]) -> tuple[str, ...]:
    """Groups in which more blocks release than in the others, or more of it fails: those say so, in order.

    A grip that gives way is not made good by a size that is shown.   by: the group of a proof.
    """
    own, others = open_proofs(proofs), open_proofs(than)
    fails, failed = (Counter(by(p) for p in some if p.verdict == "fails") for some in (own, others))
    more = Counter(map(by, own)) - Counter(map(by, others))
    return tuple(f"{one} (fails)" if one in fails - failed else one for one in sorted({*more, *(fails - failed)}))


def kind_of(proof: Proof) -> str:
    """What a proof is about, whatever clamping, pass or face it is of: its stage and the end of its id."""
    return f"{proof.stage}: {proof.id.rpartition(':')[2]}"


class Decision(msgspec.Struct, Generic[Value], frozen=True, kw_only=True):
    """What a stage returns: the value decided and its proofs."""

    value: Value
    proofs: tuple[Proof, ...] = ()
