"""How work can lie in the jaws, rightly and wrongly, and what tells the two apart at each load."""

from __future__ import annotations

from typing import Literal

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.model.shop import Cutter, Noun
from proveout.model.work import Blank, Clamping, PassPlan, Vector

Catch = Literal["touch", "look", "mark", "none"]


class Pose(Noun, frozen=True, kw_only=True):
    """A place of a body in the jaws: a point p of the body lies at turn p + shift, in the clamping's frame.

    turn: rows.   gap_mm: between the jaws when they are closed on it.   slide_mm: how far it may lie along the jaws
    from there, low and high; 0 and 0 at a stop.
    """

    turn: tuple[Vector, Vector, Vector]
    shift_mm: Vector
    gap_mm: float
    slide_mm: tuple[float, float] = (0.0, 0.0)


class Sister(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """Another part of the same order: its number and its finished shape, (v, 3) and (t, 3), in its own frame."""

    number: str
    vertices_mm: NDArray[np.float64]
    triangles: NDArray[np.int32]


class SisterWork(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """Another part of the same order as its plan makes it: what lies about of it before each of its operations.

    cutters: those of its passes.   is_marked: its owner marks it somewhere on its way.
    """

    number: str
    blank: Blank
    clampings: tuple[Clamping, ...]
    plan: PassPlan
    cutters: tuple[Cutter, ...]
    is_marked: bool = False


class Touch(Noun, frozen=True, kw_only=True):
    """One touch of the probe at each load, in the clamping's frame.

    from_mm: place of the ball's middle where the touch begins.   direction: unit vector that it moves along.
    expect_low_mm, expect_high_mm: of the ball's middle along the axis of the move where it touches rightly loaded work,
    and both the same where nothing may be touched up to there (is_air).   alarm_mm: a reading farther off is an alarm.
    catches_count: wrong loads whose reading lies farther off than that.   least_mm: the least that one of those lies
    off.
    """

    from_mm: Vector
    direction: Vector
    expect_low_mm: float
    expect_high_mm: float
    is_air: bool
    alarm_mm: float
    catches_count: int
    least_mm: float


class Pin(Noun, frozen=True, kw_only=True):
    """A pin beside rightly loaded work that wrongly loaded work would meet, in the clamping's frame.

    at_mm: x and y of its axis.   top_mm: of the pin above the seat.   blocks_count: wrong loads that meet it.
    """

    at_mm: tuple[float, float]
    diameter_mm: float
    top_mm: float
    blocks_count: int


class WrongLoad(Noun, frozen=True, kw_only=True):
    """A way to load something that the jaws take and that is then cut wrongly.

    what: the body.   part: number of another part of the order, empty for this one.   way: how it lies, in words.
    wrong_mm: how thick metal is missing or too much after the cut, or meets the cutter unreckoned.
    off_mm: by how much the readings of the touches lie off at least, None without a touch.   seen_mm: width of the
    largest patch that looks different from where the operator stands.   place: where that is, in words; look_mm: in the
    clamping's frame, None where nothing does.
    caught_by: what tells it; "mark" where nothing but the owner's mark does, "none" when it escapes.
    """

    what: str
    part: str
    way: str
    pose: Pose
    is_mirrored: bool
    wrong_mm: float
    off_mm: float | None
    seen_mm: float
    place: str
    caught_by: Catch
    look_mm: Vector | None = None


class Look(Noun, frozen=True, kw_only=True):
    """Wrong loads that look alike from where the operator stands: one picture of the card.

    loads: places in `Loading.wrong`, the one that is drawn first.   words: what to look for.
    """

    loads: tuple[int, ...]
    title: str
    words: str


class Loading(Noun, frozen=True, kw_only=True):
    """Wrong loads of one clamping.

    seats_count: poses looked at that the jaws take.   harmless: of those, cut right all the same, in words.
    refused: what jaws, stop or pocket do not take, in words.   decided_by: what catches the wrong ones.
    remedy: the change that would catch what escapes; empty when nothing does.   mark: of rightly loaded work, as the
    owner wrote it: how it is marked before, and where the mark then lies.
    others_tried: numbers of other parts of the order, whose blanks, half-made and finished pieces were laid in as well.
    others_untried: those of whose half-made pieces no plan tells.
    """

    clamping_id: str
    seats_count: int
    wrong: tuple[WrongLoad, ...]
    looks: tuple[Look, ...]
    touches: tuple[Touch, ...]
    harmless: tuple[str, ...]
    refused: tuple[str, ...]
    decided_by: Literal["the jaws", "the probe", "the card", "the mark", "nothing"]
    pin: Pin | None = None
    remedy: str = ""
    mark: str = ""
    others_tried: tuple[str, ...] = ()
    others_untried: tuple[str, ...] = ()
