"""Cutter minutes: how many pieces an edge lasts, how many edges the batch takes, and what is left on the last."""

from __future__ import annotations

import math

from proveout.model.fact import Fact
from proveout.model.plan import CutterUse, TimePlan
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.shop import Cutter
from proveout.model.work import Clamping, PassPlan
from proveout.quantities.units import S_PER_MIN
from proveout.stages.timing.decide import total_s

STAGE = "timing"
NOT_MODELLED = "chip nests, broken cutters, crashes and fire are in no life"


def decide_edges(
    *, time: TimePlan, passes: PassPlan, clampings: tuple[Clamping, ...], cutters: tuple[Cutter, ...], pieces_count: int
) -> Decision[tuple[CutterUse, ...]]:
    """Use of every cutter on every machine by the seconds of its passes, the worst end of each.

    Args:     time: with a line for each pass.   pieces_count: of the batch, spare and trial blanks with them.
    Returns:  by machine and cutter, in order; a piece is begun only with an edge that lasts it to its end.
    """
    by_id = {c.id: c for c in cutters}
    machine_of = {c.id: c.machine_id for c in clampings}
    where = {p.id: (machine_of[p.clamping_id], p.cutter_id) for p in passes.passes}
    seconds: dict[tuple[str, str], list[Fact]] = {}
    for line in time.lines:
        if line.pass_id in where:
            seconds.setdefault(where[line.pass_id], []).append(line.seconds)
    uses = tuple(
        _use(machine, by_id[cutter], total_s(parts), pieces_count)
        for (machine, cutter), parts in sorted(seconds.items())
        if cutter in by_id
    )
    return Decision(value=uses, proofs=_proofs(uses, pieces_count))


def _use(machine_id: str, cutter: Cutter, piece_s: Fact, pieces_count: int) -> CutterUse:
    """One cutter on one machine."""
    life = cutter.life_s
    each = int(life // piece_s.high) if life and piece_s.high > 0.0 else None
    needed = left = None
    if each and life:
        needed = math.ceil(pieces_count / each)
        on_the_last = pieces_count - (needed - 1) * each
        left = round(life - on_the_last * piece_s.high, 3)
    return CutterUse(
        machine_id=machine_id, cutter_id=cutter.id, piece_s=piece_s, life_s=life, pieces_each=each,
        edges_count=needed, left_s=left,
    )  # fmt: skip


def _proofs(uses: tuple[CutterUse, ...], pieces_count: int) -> tuple[Proof, ...]:
    """An edge lasts a piece, as minutes; of those whose life nobody wrote it is not shown."""
    known = [u for u in uses if u.life_s]
    lacking = sorted({u.cutter_id for u in uses if not u.life_s})
    proofs: list[Proof] = []
    if known:
        tight = min(known, key=lambda u: ((u.life_s or 0.0) / max(u.piece_s.high, 1e-9), u.cutter_id))
        spares = sum((u.edges_count or 1) - 1 for u in known)
        proofs.append(
            prove(
                id="timing:edges:life", stage=STAGE, subject=f"{tight.cutter_id} on {tight.machine_id}",
                claim="an edge lasts from the beginning of a piece to its end", sense="at most",
                found_low=round(tight.piece_s.low / S_PER_MIN, 4), found_high=round(tight.piece_s.high / S_PER_MIN, 4),
                limit=round((tight.life_s or 0.0) / S_PER_MIN, 4), unit="min", blocks_release=False,
                basis=Basis(
                    formula=f"seconds of its passes a piece against its life; for {pieces_count} pieces {spares} edges "
                    f"to change to, beside those in the changer; {NOT_MODELLED}",
                    source="shop-file",
                ),
                remedy="a cutter that lasts longer, or change it within the piece at a stop",
            )
        )  # fmt: skip
    if lacking:
        proofs.append(
            prove(
                id="timing:edges:unknown", stage=STAGE, subject=", ".join(lacking),
                claim="the life of these edges is known", sense="at least", found_low=None, found_high=None, limit=1.0,
                unit="min", blocks_release=False,
                basis=Basis(formula=f"no life in the shop file; {NOT_MODELLED}", source="shop-file"),
                decides="minutes that each lasted in the last batches: write life_min in the shop file",
            )
        )  # fmt: skip
    return tuple(proofs)
