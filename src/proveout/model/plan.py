"""The plan: every decision with its proofs. Its fields are the keys of plan.json."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

from proveout.model.bench import BenchPlan
from proveout.model.coat_way import CoatWay
from proveout.model.concerns import Concern
from proveout.model.cost_band import CostBand
from proveout.model.fact import Fact
from proveout.model.finish_order import FinishOrder
from proveout.model.inspection import LotSample, checked_pieces
from proveout.model.jaw_form import JawForm
from proveout.model.loading import Loading
from proveout.model.outlook import Outlook
from proveout.model.packing import Packing
from proveout.model.part_summary import PartSummary
from proveout.model.pmi import PmiNote
from proveout.model.proof import Proof, Tighten
from proveout.model.purchase import Purchase
from proveout.model.sawing import BarPattern, LengthStep, SawnBars
from proveout.model.shop import Machine, Noun
from proveout.model.table_load import TableLoad, TableOption
from proveout.model.trial_cut import TrialCut
from proveout.model.turn_push import PassPush
from proveout.model.turned import Turned
from proveout.model.work import BlankChoice, Clamping, NotCut, Pass, RemovalCheck, Survey, Vector

SCHEMA_VERSION = 1
# what stands in place of numbers before the coat that rest on what nobody said
NOT_KNOWN = "not known: ask the finisher"


class Window(Noun, frozen=True, kw_only=True):
    """One size before and after the coat, mm. Empty when before_low > before_high: width is then negative.

    letter tells the second and later sizes at one balloon from the first.  ways_out: what the owner can do about one
    that is empty, too narrow or a coated thread, in the order in which to think of them.  gauges: what tells a coated
    thread before its coat, else empty.  is_inside: the size grows when metal is taken away (hole, slot, step).
    is_step: a depth between two faces that look the same way.  is_decided: False where what nobody said of the coat
    decides: the sizes before the coat are then those without it, which nobody may machine or gauge to.
    """

    balloon: int
    text: str
    kind: Literal["hole", "shaft", "length", "thread"]
    finished_low_mm: float
    finished_high_mm: float
    before_low_mm: float
    before_high_mm: float
    width_mm: float
    is_masked: bool
    is_critical: bool
    face_ids: tuple[str, ...]
    ways_out: tuple[CoatWay, ...] = ()
    letter: str = ""
    gauges: str = ""
    is_decided: bool = True
    is_inside: bool = False
    is_step: bool = False

    @property
    def mark(self) -> str:
        """Balloon and letter, such as 1 and 1b: one of a kind in a plan."""
        return f"{self.balloon}{self.letter}"


class SizeNote(Noun, frozen=True, kw_only=True):
    """What is written at a balloon beside sizes: a radius, an angle, a chamfer, a texture, a state of edges.

    low, high: limits of the finished part in `unit`, mm (of a chamfer its leg), ° or µm; texture has only its high one,
    edges have none.   before_low, before_high: of a radius or a chamfer under a coat as it is machined, None where what
    nobody said of it decides; else the same.   face_ids: the faces that it is asked of.
    """

    balloon: int
    mark: str
    text: str
    kind: Literal["radius", "angle", "chamfer", "texture", "edge"]
    unit: str
    low: float | None
    high: float | None
    before_low: float | None
    before_high: float | None
    is_critical: bool
    face_ids: tuple[str, ...] = ()


class Finishing(Noun, frozen=True, kw_only=True):
    """The target: signed inward offset per face (mm, >= 0 inward), and the windows of the written sizes.

    notes: what is written beside them that is no size between two surfaces.   coated_faces: all that take the coat,
    whatever their offset; none without one.
    """

    offset_mm: dict[str, float]
    windows: tuple[Window, ...]
    coated_area_mm2: float
    plugs: tuple[str, ...]
    notes: tuple[SizeNote, ...] = ()
    coated_faces: tuple[str, ...] = ()


class InspectionLine(Noun, frozen=True, kw_only=True):
    """One line of the inspection sheet. every_count: pieces from one check to the next, 1 for every piece.

    every_why: what that rests on.   also_pieces: the first after each change of an edge that leaves the size.
    accept_low_mm, accept_high_mm: readings accepted before the coat; act_low_mm, act_high_mm: readings between which
    the offset stays; None where there is none.   correct: what is done beyond those, empty likewise.   sample: of the
    finished lot, None where nothing can be made;  sample_words: the same for whoever gauges.  is_decided: False where
    the sizes before the coat are not known.   mark: as the size's.   of: what is measured where that is no size between
    two surfaces: a radius, or the leg of a chamfer.   after_gauge: what tells it once it is coated; empty where nothing
    does, or the part takes no coat.   wanted: what to get where no gauge of the shop tells it.
    """

    balloon: int
    text: str
    before_low_mm: float
    before_high_mm: float
    finished_low_mm: float
    finished_high_mm: float
    gauge: str
    how_often: str
    reaction: str
    is_critical: bool
    every_count: int = 1
    every_why: str = ""
    also_pieces: tuple[int, ...] = ()
    accept_low_mm: float | None = None
    accept_high_mm: float | None = None
    act_low_mm: float | None = None
    act_high_mm: float | None = None
    correct: str = ""
    sample: LotSample | None = None
    sample_words: str = ""
    is_decided: bool = True
    mark: str = ""
    of: Literal["size", "radius", "chamfer"] = "size"
    after_gauge: str = ""
    wanted: str = ""

    def pieces(self, lot_count: int) -> tuple[int, ...]:
        """Numbers of the pieces of a lot that are gauged on the way, in order, the last among them."""
        return checked_pieces(every_count=self.every_count, also=self.also_pieces, lot_count=lot_count)


class NoteGauge(Noun, frozen=True, kw_only=True):
    """What tells an angle, a texture or a state of edges, by its mark; empty where nothing in the shop does."""

    mark: str
    gauge: str


class BarsPlan(Noun, frozen=True, kw_only=True):
    """Bars for the order. lower_bound: no plan can use fewer.

    pieces_count: begun, spare_count of them beyond the order.  trial_count: sawn beside them to prove the programs.

    steps: cut lengths at which a bar gives one piece more.   blade_s: the blade in the metal, handling_s: feeding,
    clamping and taking away, over the batch; 0 where nothing is sawn.   lift_limit_kg: what one person may lift.
    rack: the same lot from remnants alone, where those of one heat suffice.   is_rack_shared: they would, but the part
    is one of an order, and which of its lots takes them is decided for the whole order; rack is empty then.
    """

    pieces_count: int
    spare_count: int
    bars_count: int
    lower_bound: int
    patterns: tuple[BarPattern, ...]
    strokes_count: int
    kerf_mm: float
    trim_mm: float
    tail_mm: float
    cut_length_mm: float
    cut_tolerance_mm: float
    price: float
    status: str
    note: str
    steps: tuple[LengthStep, ...] = ()
    blade_s: float = 0.0
    handling_s: float = 0.0
    lift_limit_kg: float = 0.0
    rack: tuple[SawnBars, ...] = ()
    is_rack_shared: bool = False
    trial_count: int = 0

    @property
    def blanks_count(self) -> int:
        """All that is sawn: pieces begun and trial blanks."""
        return self.pieces_count + self.trial_count


class TimeLine(Noun, frozen=True, kw_only=True):
    """Seconds of one thing: per piece when `per` is "piece", else once a batch (or once ever, "design").

    cause: what its seconds rest on; lines of one cause are off together.  sawing: of the batch, with its pieces.
    """

    station: str
    text: str
    per: Literal["piece", "batch", "design"]
    seconds: Fact
    pass_id: str = ""
    cause: Literal["moves", "hand", "set-up", "sawing", "once"] = "hand"


class TimePlan(Noun, frozen=True, kw_only=True):
    """All minutes. cycle_s by clamping id; piece_s the sum at all stations."""

    lines: tuple[TimeLine, ...]
    cycle_s: dict[str, float]
    piece_s: Fact
    batch_s: Fact


class CostLine(Noun, frozen=True, kw_only=True):
    """Money per piece of one thing, in the shop's currency, with how it was reckoned."""

    text: str
    each: Fact
    how: str


class CostPlan(Noun, frozen=True, kw_only=True):
    """Cost of a piece as a range, with its parts and the faces that make it dear.

    each: all worst ends together.   band: the same drawn from its causes, None in a first look and where the shop's
    figures are not for the metal.
    """

    currency: str
    quantity: int
    lines: tuple[CostLine, ...]
    each: Fact
    batch: Fact
    dear_faces: tuple[str, ...]
    band: CostBand | None = None


class Question(Noun, frozen=True, kw_only=True):
    """Something only the owner can say, ranked by what the answer would change."""

    id: str
    text: str
    would_change: str
    weight: float
    face_ids: tuple[str, ...] = ()


class FirstLook(Noun, frozen=True, kw_only=True):
    """What can be said of a part before any move is laid: rough, and replaced by the plan that follows.

    passes: as foreseen, without moves.  places: face id to its middle, mm, part frame.  outlook, piece_s and each are
    None when the shop's figures are not for the metal (metal_unknown says why) or no cut can be foreseen.
    left_out: faces that nothing here reaches, as far as is known.  not_held: why there is no clamping, else empty.
    assumed: what no file said, line by line, as in the plan.  failing: what is known already to block release.
    pmi: what the STEP file writes and what became of it.
    """

    part: PartSummary
    survey: Survey
    blank: BlankChoice
    clampings: tuple[Clamping, ...]
    passes: tuple[Pass, ...]
    outlook: Outlook | None
    piece_s: Fact | None
    each: Fact | None
    currency: str
    questions: tuple[Question, ...]
    places: dict[str, Vector]
    left_out: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    failing: tuple[Proof, ...] = ()
    not_held: str = ""
    metal_unknown: str = ""
    pmi: tuple[PmiNote, ...] = ()


class ClampForce(Noun, frozen=True, kw_only=True):
    """How hard the vise of one clamping is closed: the share of its usual torque, and what that makes.

    torque_n_mm: at the handle; force_n: at the jaws.  Each is None when the shop does not know it.
    """

    clamping_id: str
    ratio: float
    torque_n_mm: float | None
    force_n: Fact | None


class ProgramSheet(Noun, frozen=True, kw_only=True):
    """The program of one clamping: its file, the fingerprint of its text, how many blocks, which cutters by number.

    work_offset: where program zero is set, as G54.  cutters: ids by the number that calls them.  filled: of a cycle
    that works in several places, those that hold a piece; each clamping that lies there names the one program.
    """

    clamping_id: str
    file: str
    fingerprint: str
    blocks_count: int
    work_offset: str
    cutters: dict[str, str]
    filled: tuple[int, ...] = ()


class Round(Noun, frozen=True, kw_only=True):
    """One turn of the iteration: what was tightened and what came of it.

    asked_by: of each that was tightened, the id of the proof that lay farthest outside its limit and asked for it.
    """

    number: int
    tightened: tuple[Tighten, ...]
    failing: tuple[str, ...]
    piece_s: float
    asked_by: tuple[str, ...] = ()


class PassLimit(Noun, frozen=True, kw_only=True):
    """What binds one pass, in words: its speed, its feed and its depth.

    power_ratio: share of the spindle's power at the motor that its hardest move may ask; None where the figures of the
    metal are not known.  reserve_ratio: how many times its force could grow before the grip gives way, at the worst
    end; None where nobody knows the grip.  reserve_asked_ratio: how many times it must bear it.
    """

    pass_id: str
    speed_by: str
    feed_by: str
    depth_by: str
    power_ratio: float | None = None
    reserve_ratio: float | None = None
    reserve_asked_ratio: float = 1.0


class CutterUse(Noun, frozen=True, kw_only=True):
    """Use of one cutter on one machine. piece_s: at feed and in the air of its passes, a piece.

    life_s: of an edge, None when nobody wrote it;  pieces_each: whole pieces an edge lasts at the worst end;
    edges_count: for the batch;  left_s: on the last edge when the batch is made, at the worst end.
    """

    machine_id: str
    cutter_id: str
    piece_s: Fact
    life_s: float | None
    pieces_each: int | None
    edges_count: int | None
    left_s: float | None

    def changes(self) -> tuple[int, ...]:
        """Pieces before which the edge is changed, counted from 1; empty where its life is not known."""
        if not self.pieces_each or self.edges_count is None:
            return ()
        return tuple(1 + self.pieces_each * k for k in range(1, self.edges_count))

    def left_after_s(self, piece: int) -> float | None:
        """What is left on the edge in the spindle once a piece is made, counted from 1; None where nobody knows."""
        if not self.pieces_each or self.life_s is None:
            return None
        return self.life_s - ((piece - 1) % self.pieces_each + 1) * self.piece_s.high


class WayOfHolding(Noun, frozen=True, kw_only=True):
    """One named sequence of clampings: what was foreseen of it and, where it was planned in full, what it came to.

    ups, machines: one a clamping.  bound_each, tilts_each, leaning_each: money a piece as Sequence has them.
    open_count: blocking proofs that do not hold;  cost_each: money a piece;  machine_s: seconds of the machines a
    piece; all None where it was not planned in full.  opens: kinds of proof of which it has more open, or failing, than
    this plan.  is_chosen: it is the one that this plan is of.
    """

    why: str
    ups: tuple[str, ...]
    machines: tuple[str, ...]
    bound_each: float
    tilts_each: float
    leaning_each: float
    reached_ratio: float
    is_chosen: bool = False
    open_count: int | None = None
    cost_each: Fact | None = None
    machine_s: float | None = None
    opens: tuple[str, ...] = ()


class Plan(Noun, frozen=True, kw_only=True):
    """The whole plan of one part.

    metal_unknown: why the shop's figures are not for this alloy, empty when they are; then times, masses and money are
    reckoned with figures of another metal and nothing prints them.
    programs: of the clampings on machines whose programs are described.
    jaw_forms: pockets of soft jaws, beside the passes on the work; jaw_programs: theirs, by the pocket's own clamping.
    outlook: the first look's minutes and dear faces, before any move was laid; None when the metal is unknown.
    ways: the sequences of clampings that were foreseen best, in that order.  cutter_uses: minutes of every edge.
    concerns: what the designer should look at, that with most minutes first; none of it blocks release.
    loading: wrong loads of every clamping and what tells them.
    table_loads: of the machines on which one cycle works in several places; a clamping in none of them lies alone.
    table_options: the way taken of filling the tables and the next ones; empty where no machine has a choice.
    pass_limits: what binds each pass, in the passes' order.   pass_pushes: what each pushes with over a turn, in the
    same order; empty where the figures of the metal are not known.   trial_cuts: in scrap, one for each proof of
    stability that is not shown.   turned: what goes over from one clamping to the next.
    pmi: what became of each size, tolerance and datum that the STEP file writes.
    bench: edges and who breaks them.   packing: what goes into bag and box with a piece.
    due: ISO date on which the pieces are wanted, empty when not said.
    finish_orders: what goes to each outside finisher with the lot, in their order.
    purchases: what the batch needs beside what is there.   is_of_order: planned as one of an order's parts, which has
    a purchase list and a saw plan of its own for all of them.   note_gauges: of notes without a line in `inspection`.
    """

    schema_version: int
    ready: bool
    part: PartSummary
    survey: Survey
    finishing: Finishing
    blank: BlankChoice
    clampings: tuple[Clamping, ...]
    passes: tuple[Pass, ...]
    not_cut: tuple[NotCut, ...]
    removal: RemovalCheck
    inspection: tuple[InspectionLine, ...]
    bars: BarsPlan
    time: TimePlan
    cost: CostPlan
    questions: tuple[Question, ...]
    proofs: tuple[Proof, ...]
    rounds: tuple[Round, ...]
    warnings: tuple[str, ...]
    assumed: tuple[str, ...]
    start: str
    program_version: str
    inputs: dict[str, str]
    clamp_forces: tuple[ClampForce, ...] = ()
    metal_unknown: str = ""
    outlook: Outlook | None = None
    programs: tuple[ProgramSheet, ...] = ()
    jaw_forms: tuple[JawForm, ...] = ()
    jaw_programs: tuple[ProgramSheet, ...] = ()
    ways: tuple[WayOfHolding, ...] = ()
    cutter_uses: tuple[CutterUse, ...] = ()
    concerns: tuple[Concern, ...] = ()
    loading: tuple[Loading, ...] = ()
    table_loads: tuple[TableLoad, ...] = ()
    table_options: tuple[TableOption, ...] = ()
    pass_limits: tuple[PassLimit, ...] = ()
    pass_pushes: tuple[PassPush, ...] = ()
    trial_cuts: tuple[TrialCut, ...] = ()
    turned: Turned = Turned()
    pmi: tuple[PmiNote, ...] = ()
    bench: BenchPlan = BenchPlan()
    packing: Packing = Packing()
    due: str = ""
    finish_orders: tuple[FinishOrder, ...] = ()
    purchases: tuple[Purchase, ...] = ()
    is_of_order: bool = False
    note_gauges: tuple[NoteGauge, ...] = ()

    def load_of(self, clamping_id: str) -> int | None:
        """Place in table_loads of the load in which a clamping lies; None where it lies alone."""
        return next((i for i, load in enumerate(self.table_loads) if clamping_id in load.clamping_ids), None)


def pockets_of(
    *, passes: Iterable[Pass], clampings: Iterable[Clamping], machines: Iterable[Machine]
) -> dict[str, dict[str, int]]:  # fmt: skip
    """Number of each cutter in its machine's changer, by machine and cutter; new ones in the order of first use."""
    on = {clamping.id: clamping.machine_id for clamping in clampings}
    used: dict[str, dict[str, None]] = {}
    for one in passes:
        used.setdefault(on.get(one.clamping_id, ""), {}).setdefault(one.cutter_id)
    known = {machine.id: machine for machine in machines}
    return {
        id: changer_numbers(list(cutters), known[id])
        if id in known
        else {cutter: number for number, cutter in enumerate(cutters, start=1)}
        for id, cutters in used.items()
    }


def changer_numbers(used: Sequence[str], machine: Machine) -> dict[str, int]:
    """A number for each cutter.

    What stands in the changer keeps its number. The others take the empty places in their order, then those of cutters
    that are not among them, the last first, then numbers beyond the changer. What gives way is named by `taken_out`.
    """
    stands = {cutter: number for number, cutter in enumerate(machine.changer, start=1) if cutter}
    empty = [number for number in range(1, machine.pockets_count + 1) if number not in stands.values()]
    give_way = [stands[cutter] for cutter in reversed(machine.changer) if cutter and cutter not in used]
    beyond = range(machine.pockets_count + 1, machine.pockets_count + len(used) + 1)
    free = iter([*empty, *give_way, *beyond])
    return {cutter: stands[cutter] if cutter in stands else next(free) for cutter in used}


def taken_out(changer: Sequence[str], numbers: dict[str, int]) -> dict[str, str]:
    """What must come out of the changer for each cutter that takes the number of another one, by the new cutter."""
    stands = dict(enumerate(changer, start=1))
    return {cutter: stands[number] for cutter, number in numbers.items() if stands.get(number, "") not in ("", cutter)}
