"""What people at machines write down beside counts and sizes: set-ups measured, offsets advised, meters, photos."""

from __future__ import annotations

import re
from typing import Literal

from proveout.model.batch_events import Happening, fingerprinted, reasoned
from proveout.model.measured import EdgeState
from proveout.model.shop import Noun
from proveout.model.written import named
from proveout.quantities.errors import BadInput, OutOfRange

FINGERPRINT = re.compile(r"[0-9a-f]{12}|[0-9a-f]{64}")
FINGERPRINT_SIGNS = 12
"""So many of them stand on the setup sheet."""
MEASURES_MOST = 200
OFFSET_MOST_MM = 0.1
"""No offset is shifted by more at once: beyond it something else is wrong (our own)."""
MeterUnit = Literal["kW", "%"]
LOAD_MOST: dict[MeterUnit, float] = {"kW": 150.0, "%": 200.0}
OVERRIDE_LEAST_PERCENT, OVERRIDE_MOST_PERCENT = 10.0, 200.0
EDGE_MOST_MIN = 10_000.0


class Measure(Noun, frozen=True, kw_only=True):
    """One length measured at a machine before a start. name: as the plan calls what it assumed, "zero X"."""

    name: str
    value_mm: float

    def __post_init__(self) -> None:
        named(self.name, where="what was measured")


class SetUpMeasured(Happening, frozen=True, kw_only=True):
    """What stands at a machine before a step is started.

    program: fingerprint of the program in the control, empty where the plan has none.   revision: as the route card at
    the machine says.   measures: each name once.
    """

    step: str
    program: str = ""
    revision: str
    measures: tuple[Measure, ...] = ()

    def __post_init__(self) -> None:
        if self.program and not FINGERPRINT.fullmatch(self.program):
            raise BadInput("A program's fingerprint is needed", where=f"step {self.step}",
                           value=repr(self.program[:70]), limit="12 signs 0-f, as on the setup sheet")  # fmt: skip
        names = [one.name for one in self.measures]
        if len(set(names)) != len(names) or len(names) > MEASURES_MOST:
            raise BadInput("A length is measured twice", where=f"step {self.step}", value=", ".join(names)[:200],
                           limit=f"each once, at most {MEASURES_MOST}")  # fmt: skip


class SetUpAgreed(Happening, frozen=True, kw_only=True):
    """The person of this event answers for what was measured at a step and the plan does not judge. set_up: its id."""

    step: str
    set_up: str
    why: str

    def __post_init__(self) -> None:
        named(self.set_up, where=f"step {self.step}, the set-up agreed to")
        reasoned(self.why, where=f"step {self.step}, why the set-up may run")


class OffsetAdvised(Happening, frozen=True, kw_only=True):
    """Somebody would shift an offset of the control. offset: which, as the control names it.   shift_mm: with its sign.

    mark: of the size at the step that it is for, empty when it may move any of them.
    """

    step: str
    offset: str
    shift_mm: float
    why: str
    mark: str = ""

    def __post_init__(self) -> None:
        named(self.offset, where=f"step {self.step}, offset")
        named(self.why, where=f"step {self.step}, why the offset is shifted")
        if self.shift_mm == 0.0:
            raise BadInput("An offset shifted by nothing stays as it is", where=f"step {self.step}, {self.offset}")
        if not abs(self.shift_mm) <= OFFSET_MOST_MM:
            raise OutOfRange("An offset is shifted by too much at once", where=f"step {self.step}, {self.offset}",
                             value=f"{self.shift_mm:+g} mm", limit=f"at most {OFFSET_MOST_MM:g} mm",
                             do="look for what else is wrong, or set the zero anew")  # fmt: skip


class OffsetAnswered(Happening, frozen=True, kw_only=True):
    """A second person has looked at an advice. advice: its id.   is_taken: the control was changed by it."""

    step: str
    advice: str
    is_taken: bool

    def __post_init__(self) -> None:
        named(self.advice, where=f"step {self.step}, the advice answered")


class PhotoTaken(Happening, frozen=True, kw_only=True):
    """A photo that is kept by its digest. about: what it shows."""

    step: str
    photo: str
    about: str

    def __post_init__(self) -> None:
        fingerprinted(self.photo, where=f"step {self.step}, photo")
        named(self.about, where=f"step {self.step}, what the photo shows")


class SpindleMeterRead(Happening, frozen=True, kw_only=True):
    """The spindle's meter where it stood highest and still in one pass. cut: the pass, as the released packet names it.

    unit: of load, idle and smallest: "kW", or "%" of the machine's power.   load: in the cut;  idle: in the air at the
    same speed;  smallest: step that the meter shows, None where nobody looked.   edge: how sharp it was;  edge_min:
    minutes that it had cut, None where nobody knows.   feed_percent, speed_percent: as the overrides stood.
    """

    step: str
    cut: str
    load: float
    idle: float
    unit: MeterUnit = "kW"
    smallest: float | None = None
    edge: EdgeState = "sharp"
    edge_min: float | None = None
    feed_percent: float = 100.0
    speed_percent: float = 100.0

    def __post_init__(self) -> None:
        where = f"step {self.step}, spindle meter"
        named(self.cut, where=f"{where}, the pass")
        if not 0.0 <= self.idle < self.load <= LOAD_MOST[self.unit]:
            raise OutOfRange("The load in the cut lies above that in the air, and neither beyond what meters show",
                             where=where, value=f"{self.load:g} over {self.idle:g} {self.unit}",
                             limit=f"above idle, up to {LOAD_MOST[self.unit]:g} {self.unit}",
                             do="read both at the same speed, or leave the reading out")  # fmt: skip
        if self.smallest is not None and not 0.0 < self.smallest <= self.load - self.idle:
            raise OutOfRange("So coarse a meter does not tell this cut from the air", where=where,
                             value=f"{self.smallest:g} {self.unit}",
                             limit=f"above 0, up to {self.load - self.idle:g} {self.unit}",
                             do="read a harder cut, or leave the reading out")  # fmt: skip
        if self.edge_min is not None and not 0.0 <= self.edge_min <= EDGE_MOST_MIN:
            raise OutOfRange("No edge cuts so long", where=where, value=f"{self.edge_min:g} min",
                             limit=f"0 to {EDGE_MOST_MIN:g} min")  # fmt: skip
        for name, value in (("feed", self.feed_percent), ("speed", self.speed_percent)):
            if not OVERRIDE_LEAST_PERCENT <= value <= OVERRIDE_MOST_PERCENT:
                raise OutOfRange(f"No control is run at such a {name}", where=where, value=f"{value:g} %",
                                 limit=f"{OVERRIDE_LEAST_PERCENT:g} to {OVERRIDE_MOST_PERCENT:g} %",
                                 do="write the override as it stood; 100 is as programmed")  # fmt: skip


FloorHappening = SetUpMeasured | SetUpAgreed | OffsetAdvised | OffsetAnswered | PhotoTaken | SpindleMeterRead
