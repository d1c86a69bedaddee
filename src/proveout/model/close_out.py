"""A batch when it is over: what was planned against what happened, and which inputs made the difference."""

from __future__ import annotations

from proveout.model.batch import BatchState
from proveout.model.batch_events import StepKind
from proveout.model.fact import Fact
from proveout.model.floor_events import SpindleMeterRead
from proveout.model.shop import Finisher, Noun


def is_covered(value: float | None, fact: Fact | None) -> bool | None:
    """Whether what happened lies within the planned interval, its ends among it; None where either is not known."""
    if value is None or fact is None:
        return None
    slack = 1e-9 * max(1.0, abs(value))
    return fact.low - slack <= value <= fact.high + slack


class StepTime(Noun, frozen=True, kw_only=True):
    """Time at one step.

    parts: planned seconds a piece by kind of minutes, as reckoned without any factor of the shop's own; by hand how
    often the shop's number of that kind goes in.  of: station whose numbers they are;  run_parts: of the machine alone.
    planned_s, actual_s: a piece;  noise: standard deviation of the logarithm of the latter from within the batch.
    run_s: a piece, by the machine's own stream, with run_noise and run_planned_s.   setup_planned_s, setup_actual_s: of
    the batch.   taps_count: from one count to the next;  left_out_count: of those that took far longer than most;
    afterwards_count: of those that came far sooner than pieces can be made.
    held_s: machine stood within its cycles, a piece.   why: of what is not shown.
    """

    step: str
    station: str
    kind: StepKind
    pieces_count: int
    planned_s: Fact | None
    actual_s: float | None
    parts: dict[str, float] = {}
    of: str = ""
    noise: float = 0.0
    run_planned_s: Fact | None = None
    run_s: float | None = None
    run_parts: dict[str, float] = {}
    run_noise: float = 0.0
    held_s: float = 0.0
    cycles_count: int = 0
    setup_planned_s: float | None = None
    setup_actual_s: float | None = None
    taps_count: int = 0
    left_out_count: int = 0
    afterwards_count: int = 0
    why: str = ""

    @property
    def covered(self) -> bool | None:
        """Whether the planned interval held what happened."""
        return is_covered(self.actual_s, self.planned_s)


class StepScrap(Noun, frozen=True, kw_only=True):
    """Pieces lost at one step for one reason, of so many that came to it."""

    step: str
    reason: str
    count: int
    in_count: int


def days_away(finisher: Finisher) -> Fact:
    """Working days at a finisher as the shop file says them, with the middle between them."""
    low, high = float(finisher.days_low), float(finisher.days_high)
    return Fact(low=low, nominal=0.5 * (low + high), high=high, unit="days", source="shop-file",
                strength="owner's guess")  # fmt: skip


class AwayTime(Noun, frozen=True, kw_only=True):
    """One lot at a finisher. days: working days there, None while it is not back.   planned: days that were said."""

    finisher: str
    lot: str
    count: int
    days: int | None
    planned: Fact | None

    @property
    def covered(self) -> bool | None:
        """Whether the days that were said held it."""
        return is_covered(None if self.days is None else float(self.days), self.planned)


class CoatRead(Noun, frozen=True, kw_only=True):
    """Thickness of a coat in one lot. ordered: what was asked for, None without both ends.   low, mean, high: mm.

    pieces: of each piece, the mean where it was read again;  at_mm: as it was asked for, None where the plan does not
    say.   uncertainty_mm: of the gauges, None where the shop file does not say one of them.
    """

    finisher: str
    lot: str
    count: int
    ordered: Fact | None
    low: float
    mean: float
    high: float
    pieces: tuple[float, ...] = ()
    at_mm: float | None = None
    uncertainty_mm: float | None = None

    @property
    def covered(self) -> bool | None:
        """Whether every reading lies within what was asked for."""
        return None if self.ordered is None else self.ordered.low <= self.low and self.high <= self.ordered.high


class SurfaceGrowth(Noun, frozen=True, kw_only=True):
    """How far a coated surface stands outside the cut one, by pieces that were read before and after.

    lots: of the finisher, each with the growth of every piece of it, mm;  thickness_mm: nominal, as asked for.
    uncertainty_mm: half-width for one of them, by the gauge of both readings;  planned: as the plan had it.
    """

    lots: tuple[tuple[str, tuple[float, ...]], ...]
    thickness_mm: float
    uncertainty_mm: float
    planned: Fact


class Grown(Noun, frozen=True, kw_only=True):
    """A size before and after a coat. mean: of the change, with its sign;  planned: likewise.

    before_count, after_count: readings;  pairs_count: pieces read both times, whose own changes then count.
    finisher: who coated it.   deviation: of the mean change.
    surface: the same for one surface; None where pieces were not told apart, the gauge is not known, or the size
    depends on more than the growth of plain surfaces.
    """

    mark: str
    text: str
    finisher: str
    planned: Fact
    mean: float
    deviation: float
    before_count: int
    after_count: int
    pairs_count: int
    surface: SurfaceGrowth | None = None

    @property
    def covered(self) -> bool | None:
        """Whether the planned growth held the mean."""
        return is_covered(self.mean, self.planned)


class MeterAt(Noun, frozen=True, kw_only=True):
    """One reading of a spindle's meter with the cut that it was read in, as it really ran.

    event: id of its record.   diameter_mm, flutes_count: of the cutter as the batch had it.   cut: the pass.   Of a
    reading in a cut that the plan does not know as steady why says so, and the cut's numbers are 0.
    section_error_ratio: share by which width times depth may be off.
    """

    event: str
    step: str
    cut: str
    machine: str
    alloy: str
    read: SpindleMeterRead
    person: str
    day: str
    cutter: str = ""
    diameter_mm: float = 0.0
    flutes_count: int = 0
    speed_rad_per_s: float = 0.0
    tooth_feed_mm: float = 0.0
    radial_mm: float = 0.0
    axial_mm: float = 0.0
    section_error_ratio: float = 0.0
    why: str = ""


class EdgeTime(Noun, frozen=True, kw_only=True):
    """A cutter of a machine. planned_s, actual_s: in cut a piece;  life_s: of an edge as planned, None unknown."""

    machine: str
    cutter: str
    planned_s: Fact | None
    actual_s: float
    life_s: float | None

    @property
    def covered(self) -> bool | None:
        """Whether the planned minutes held it."""
        return is_covered(self.actual_s, self.planned_s)


class Driver(Noun, frozen=True, kw_only=True):
    """One input that was exchanged alone, from planned to actual. effect: money a good piece that this makes."""

    text: str
    planned: float
    actual: float
    unit: str
    effect: float


class MoneyOut(Noun, frozen=True, kw_only=True):
    """Money of a good piece. drivers: that which makes most first;  others: effect of the inputs not among them.

    remainder: of the difference, what the inputs make only together.   as_planned: what no event tells of and was
    taken as planned.   p10, p90: ends of the planned band, None where there was none.
    """

    currency: str
    planned: Fact
    actual: float
    p10: float | None
    p90: float | None
    drivers: tuple[Driver, ...]
    others: float
    remainder: float
    as_planned: tuple[str, ...]

    @property
    def covered(self) -> bool | None:
        """Whether the widest planned interval held it."""
        return is_covered(self.actual, self.planned)

    @property
    def in_band(self) -> bool | None:
        """Whether it lies between the ends that a tenth of the draws lie below and above."""
        return None if self.p10 is None or self.p90 is None else self.p10 <= self.actual <= self.p90


class CloseOut(Noun, frozen=True, kw_only=True):
    """Planned against actual of one batch. money: None with the reason in money_why.

    begun_count: blanks made, less pieces that left since their revision ended, and with those that came so.
    """

    batch: str
    part: str
    revision: str
    plan: str
    state: BatchState
    wanted_count: int
    begun_count: int
    good_count: int
    bad_count: int
    waiting_count: int
    bars_planned_count: int
    bars_count: int
    steps: tuple[StepTime, ...]
    scrap: tuple[StepScrap, ...]
    away: tuple[AwayTime, ...]
    grown: tuple[Grown, ...]
    edges: tuple[EdgeTime, ...]
    money: MoneyOut | None
    money_why: str = ""
    coats: tuple[CoatRead, ...] = ()
    meters: tuple[MeterAt, ...] = ()

    @property
    def intervals(self) -> tuple[tuple[str, bool], ...]:
        """Every planned interval that something happened to, with whether it held it."""
        return tuple((text, held) for _, text, held in self.sorted_intervals)

    @property
    def sorted_intervals(self) -> tuple[tuple[str, str, bool], ...]:
        """The same, each with its sort."""
        told: list[tuple[str, str, bool | None]] = [
            ("minutes at steps", f"minutes at {one.step}", one.covered) for one in self.steps
        ]
        told += [
            ("machines alone", f"machine at {one.step}", is_covered(one.run_s, one.run_planned_s)) for one in self.steps
        ]
        told += [("days of lots outside", f"days of lot {one.lot}", one.covered) for one in self.away]
        told += [("growth in the coat", f"growth of {one.mark}", one.covered) for one in self.grown]
        told += [("cutters in cut", f"edge {one.cutter} on {one.machine}", one.covered) for one in self.edges]
        if self.money is not None:
            told += [("money, widest", "money, widest", self.money.covered)]
            told += [("money, band of eight in ten", "money, band", self.money.in_band)]
        return tuple((sort, text, held) for sort, text, held in told if held is not None)
