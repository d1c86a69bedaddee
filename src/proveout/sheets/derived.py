"""Numbers that sheets show and that follow from plan and shop by counting: each has its place here, once."""

from __future__ import annotations

import itertools
import math

from proveout.geometry.boxes import box_corners
from proveout.model.inspection import checked_pieces
from proveout.model.plan import CutterUse, Plan, TimeLine, pockets_of
from proveout.model.proof import Proof
from proveout.model.shop import Cutter, Noun, Shop
from proveout.model.table_load import zero_at
from proveout.model.work import OUT_OF_SQUARE, Clamping, Vector
from proveout.quantities.units import MM_PER_INCH
from proveout.sheets.boxes import top_mm
from proveout.sheets.general_steps import GeneralStep, general_steps
from proveout.sheets.pass_rows import PassRow, TiltSheet, pass_rows, tilt_sheet

FREE_MM = 5.0  # clear air that the lifted dry run keeps above the metal
PACKED = "bench, packing"  # the bench's work after pieces come back from outside, counted apart
PACKING = "kit"  # begins its time line
BOXES_MOST = 35  # for the readings of one size: five rows, so that several sizes share a page
CHANGES_MOST = 4  # changes of an edge that are listed
EDGE_SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)  # of the batch, where what is left on an edge is told
LIFT_STEP_MM = 10.0  # a lift is set by hand: whole steps


class ClampingSheet(Noun, frozen=True, kw_only=True):
    """Counted for one clamping. lift_mm: raise of the dry run that keeps every tip above the work and the jaws."""

    above_jaw_mm: float
    lift_mm: float
    cutters_count: int
    passes_count: int
    cutting_s: float
    setup_s: float
    rows: tuple[PassRow, ...]
    tilts: dict[str, TiltSheet]


class StationSheet(Noun, frozen=True, kw_only=True):
    """Counted for one station outside the clampings: nominal seconds a piece and once a batch."""

    piece_s: float
    batch_s: float


class PassSheet(Noun, frozen=True, kw_only=True):
    """Counted for one pass. feed along the path; time_line: place of its line in plan.time.lines, -1 for none."""

    feed_mm_per_s: float
    time_line: int
    low_mm: float | None


class PatternSheet(Noun, frozen=True, kw_only=True):
    """Counted for one way of sawing. strokes with the trim cut; middle_cut: the cut half-way."""

    bars_count: int
    pieces_count: int
    remnants_count: int
    middle_cut: int
    across_count: int
    layers_count: int


class Mark(Noun, frozen=True, kw_only=True):
    """Where a proof's bar ends, as shares of the way to its limit mark: best end and worst end of the interval.

    None: nothing could be found.  Above 1 the bar crosses the mark.
    """

    best_ratio: float | None
    worst_ratio: float | None


class ReadingSheet(Noun, frozen=True, kw_only=True):
    """The boxes of one inspection line: numbers of its pieces before the last; open_from: next without a box, or 0."""

    pieces: tuple[int, ...]
    open_from: int


class TableSheet(Noun, frozen=True, kw_only=True):
    """Counted for one table load. zeros_mm: machine coordinates of each piece's work zero, None where unmeasured."""

    zeros_mm: tuple[Vector | None, ...]


class EdgeSheet(Noun, frozen=True, kw_only=True):
    """Counted for one cutter of plan.cutter_uses. changes: the first pieces before which its edge is changed;
    more_count are not listed.  spares_count: edges beside the first, None where its life is not known.

    pieces: told as examples, over the batch;  left_s: on the edge after each of them.
    """

    changes: tuple[int, ...]
    more_count: int
    spares_count: int | None
    pieces: tuple[int, ...]
    left_s: tuple[float | None, ...]


class RoundSheet(Noun, frozen=True, kw_only=True):
    """Counted for one round: what its tightening adds to the seconds at feed of a piece."""

    piece_s: float


class Derived(Noun, frozen=True, kw_only=True):
    """All counted numbers of a plan's sheets. pockets: place proposed in the changer, by machine and cutter.

    mm_per_inch: for the shop that reads inches.   lot_area_mm2: to coat of all pieces, by the orders to finishers.
    ways_more: money a piece foreseen of each way of holding beyond that of the way taken; options_more: likewise of
    each way of filling the tables.  None for the one taken, and where none is.
    rounds: of each but the last; rounds_all: of all together.   square_mm: how far one sawn end may be out of square
    over the longer side of the bar, rounded down; None where the blank leaves no room for it.
    """

    holds_count: int
    fails_count: int
    not_shown_count: int
    open_count: int
    blocking_count: int
    clampings: dict[str, ClampingSheet]
    passes: dict[str, PassSheet]
    stations: dict[str, StationSheet]
    pockets: dict[str, dict[str, int]]
    patterns: tuple[PatternSheet, ...]
    readings: tuple[ReadingSheet, ...]
    general: tuple[GeneralStep, ...]
    tables: tuple[TableSheet, ...]
    edges: tuple[EdgeSheet, ...]
    mm_per_inch: float
    lot_area_mm2: tuple[float, ...] = ()
    ways_more: tuple[float | None, ...] = ()
    options_more: tuple[float | None, ...] = ()
    rounds: tuple[RoundSheet, ...] = ()
    rounds_all: RoundSheet = RoundSheet(piece_s=0.0)
    square_mm: float | None = None


def mark_of(proof: Proof) -> Mark:
    """The two ends of a proof's bar; for an "at least" claim the bar is limit over found, so that crossing is bad."""

    def share(found: float) -> float:
        assert proof.limit is not None
        if proof.sense == "at most":
            if proof.limit > 0.0:
                return found / proof.limit
            return 0.0 if found <= proof.limit else 1.0 + (found - proof.limit)
        if proof.limit > 0.0 and found > 0.0:
            return proof.limit / found
        return 0.5 if found >= proof.limit else 2.0

    if proof.limit is None or proof.found_low is None or proof.found_high is None:
        return Mark(best_ratio=None, worst_ratio=None)
    ends = (proof.found_low, proof.found_high) if proof.sense == "at most" else (proof.found_high, proof.found_low)
    best, worst = (max(0.0, min(1.45, share(end))) for end in ends)
    if proof.verdict == "holds":  # a bar that just holds stops visibly short of the mark
        best, worst = min(best, 0.97), min(worst, 0.97)
    if proof.verdict == "fails":
        best, worst = max(best, 1.08), max(worst, 1.08)
    if proof.verdict == "not shown":
        best, worst = min(best, 0.97), max(worst, 1.08)
    return Mark(best_ratio=best, worst_ratio=max(best, worst))


def _of_clamping(plan: Plan, clamping: Clamping) -> ClampingSheet:
    chosen = plan.blank.chosen
    box = box_corners(chosen.low_mm, chosen.high_mm)
    own = [one for one in plan.passes if one.clamping_id == clamping.id]
    cuts = {cut.pass_id: cut for cut in plan.removal.passes}
    seconds = {line.pass_id: line.seconds.nominal for line in plan.time.lines if line.pass_id}
    lift = 0.0
    for tilt in clamping.tilts:
        top = float(tilt.frame.into(box)[:, 2].max())
        jaw_top = clamping.frame.out_of([[0.0, 0.0, clamping.jaw_top_mm], [90.0, 0.0, clamping.jaw_top_mm]])
        top = max(top, float(tilt.frame.into(jaw_top)[:, 2].max()))
        bottom = float(tilt.frame.into(box)[:, 2].min())  # a pass that nothing replayed may go down to there
        lows = [cuts[one.id].low_mm if one.id in cuts else bottom for one in own if one.tilt_id == tilt.id]
        if lows:
            lift = max(lift, top + FREE_MM - min(lows))
    return ClampingSheet(
        above_jaw_mm=top_mm(plan, clamping) - clamping.jaw_top_mm,
        lift_mm=math.ceil(lift / LIFT_STEP_MM) * LIFT_STEP_MM,
        cutters_count=len({one.cutter_id for one in own}),
        passes_count=len(own),
        cutting_s=sum(seconds.get(one.id, 0.0) for one in own),
        setup_s=sum(
            line.seconds.nominal
            for line in plan.time.lines
            if line.per == "batch" and (line.station == clamping.id or line.text.startswith(f"{clamping.id}:"))
        ),
        rows=pass_rows(plan=plan, clamping=clamping),
        tilts={tilt.id: tilt_sheet(plan=plan, clamping=clamping, tilt=tilt) for tilt in clamping.tilts},
    )


def reading_sheet(*, every_count: int, pieces_count: int, also: tuple[int, ...] = ()) -> ReadingSheet:
    """The first piece, every nth by its number and those named beside, below the last, which has its own box."""
    numbers = checked_pieces(every_count=every_count, also=also, lot_count=pieces_count)[:-1]
    beyond = numbers[BOXES_MOST - 1 :]
    return ReadingSheet(pieces=tuple(numbers[: BOXES_MOST - 1]), open_from=beyond[0] if beyond else 0)


def cutters_by_id(shop: Shop) -> dict[str, Cutter]:
    """The shop's cutters by id."""
    return {cutter.id: cutter for cutter in shop.cutters}


def _stations(plan: Plan) -> dict[str, StationSheet]:
    """Stations of the time lines that are no machine of a clamping."""
    machines = {clamping.machine_id for clamping in plan.clampings} | {clamping.id for clamping in plan.clampings}
    made: dict[str, StationSheet] = {}

    def station_of(line: TimeLine) -> str:
        return PACKED if line.station == "bench" and line.text.startswith(PACKING) else line.station

    for station in sorted({station_of(line) for line in plan.time.lines} - machines):
        own = [line for line in plan.time.lines if station_of(line) == station]
        made[station] = StationSheet(
            piece_s=sum(line.seconds.nominal for line in own if line.per == "piece"),
            batch_s=sum(line.seconds.nominal for line in own if line.per == "batch"),
        )
    return made


def edge_sheet(use: CutterUse, *, pieces_count: int) -> EdgeSheet:
    """What is told of one edge over a batch."""
    changes = use.changes()
    pieces = sorted({max(1, math.ceil(share * pieces_count)) for share in EDGE_SHARES})
    return EdgeSheet(
        changes=changes[:CHANGES_MOST], more_count=max(0, len(changes) - CHANGES_MOST),
        spares_count=None if use.edges_count is None else use.edges_count - 1, pieces=tuple(pieces),
        left_s=tuple(use.left_after_s(piece) for piece in pieces),
    )  # fmt: skip


def _beyond(money: list[float], is_taken: list[bool]) -> tuple[float | None, ...]:
    """How much more each costs than the first one taken; None for that one, and for all where none is."""
    taken = next((place for place, is_so in enumerate(is_taken) if is_so), None)
    return tuple(None if taken is None or place == taken else one - money[taken] for place, one in enumerate(money))


def _square_mm(plan: Plan) -> float | None:
    room = [line.size_mm for line in plan.blank.chosen.stack if line.text.startswith(OUT_OF_SQUARE)]
    return math.floor(50.0 * room[0] + 1e-9) / 100.0 if room else None


def derive(*, plan: Plan, shop: Shop) -> Derived:
    """Count everything that the sheets show beyond the plan's own fields."""
    cutters = cutters_by_id(shop)
    lines = {line.pass_id: index for index, line in enumerate(plan.time.lines) if line.pass_id}
    lows = {cut.pass_id: cut.low_mm for cut in plan.removal.passes}
    passes: dict[str, PassSheet] = {}
    for one in plan.passes:
        flutes = cutters[one.cutter_id].flutes_count if one.cutter_id in cutters else 0
        passes[one.id] = PassSheet(
            feed_mm_per_s=one.tooth_feed_mm * flutes * one.speed_rad_per_s / (2.0 * math.pi),
            time_line=lines.get(one.id, -1),
            low_mm=lows.get(one.id),
        )
    widths = {bar.id: bar.width_mm for bar in shop.bars}
    patterns = []
    for pattern in plan.bars.patterns:
        width = widths.get(pattern.bar_id, 0.0)
        fit = int(shop.saw.bundle_width_mm / width) if width > 0.0 else pattern.bundle_count
        across = pattern.across_count or max(1, min(fit, pattern.bundle_count))
        bars = pattern.bundle_count * pattern.times
        patterns.append(
            PatternSheet(
                bars_count=bars,
                pieces_count=bars * pattern.pieces_each,
                remnants_count=bars,
                middle_cut=(pattern.pieces_each + 1) // 2,
                across_count=across,
                layers_count=math.ceil(pattern.bundle_count / across),
            )
        )
    held = {clamping.id: clamping for clamping in plan.clampings}
    blocking = [proof for proof in plan.proofs if proof.blocks_release]
    coats = [order.build_up_mm for order in plan.finish_orders if order.build_up_mm is not None]
    return Derived(
        holds_count=sum(proof.verdict == "holds" for proof in plan.proofs),
        fails_count=sum(proof.verdict == "fails" for proof in plan.proofs),
        not_shown_count=sum(proof.verdict == "not shown" for proof in plan.proofs),
        open_count=sum(proof.verdict != "holds" for proof in blocking),
        blocking_count=len(blocking),
        clampings={clamping.id: _of_clamping(plan, clamping) for clamping in plan.clampings},
        passes=passes,
        stations=_stations(plan),
        pockets=pockets_of(passes=plan.passes, clampings=plan.clampings, machines=shop.machines),
        patterns=tuple(patterns),
        readings=tuple(
            reading_sheet(
                every_count=line.every_count,
                pieces_count=max(plan.bars.pieces_count, plan.part.quantity),
                also=line.also_pieces,
            )
            for line in plan.inspection
        ),
        general=general_steps(
            general_class=plan.part.general_tolerance,
            largest_mm=max(plan.part.size_mm),
            build_up_mm=(coats[0].low, coats[0].high) if coats else None,
        ),
        tables=tuple(
            TableSheet(zeros_mm=tuple(zero_at(held[one.clamping_id], one.place) for one in load.laid))
            for load in plan.table_loads
        ),
        edges=tuple(
            edge_sheet(use, pieces_count=max(plan.bars.blanks_count, plan.part.quantity)) for use in plan.cutter_uses
        ),
        mm_per_inch=MM_PER_INCH,
        lot_area_mm2=tuple(order.pieces_count * order.coated_area_mm2 for order in plan.finish_orders),
        ways_more=_beyond(
            [way.bound_each + way.tilts_each + way.leaning_each for way in plan.ways],
            [way.is_chosen for way in plan.ways],
        ),
        options_more=_beyond([one.each for one in plan.table_options], [not one.why_not for one in plan.table_options]),
        rounds=tuple(
            RoundSheet(piece_s=after.piece_s - before.piece_s) for before, after in itertools.pairwise(plan.rounds)
        ),
        square_mm=_square_mm(plan),
        rounds_all=RoundSheet(piece_s=plan.rounds[-1].piece_s - plan.rounds[0].piece_s if plan.rounds else 0.0),
    )
