"""How the work is held and cut: features, blank, clampings, tilts, passes and their moves."""

from __future__ import annotations

from typing import Literal

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.model.fact import Fact
from proveout.model.features import Feature
from proveout.model.moves import Moves
from proveout.model.pace import Pace
from proveout.model.reach import FaceReach
from proveout.model.shop import Noun

Vector = tuple[float, float, float]
# every hole's id begins so and no face's does
HOLE_ID = "hole "
OUT_OF_SQUARE = "both sawn ends out of square"  # begins the line of a stack-up that leaves room for it
LEVEL_RAD = 1e-9  # a rotary position nearer to zero than this is zero
PassKind = Literal[
    "face", "rough", "rough corners", "finish wall", "finish floor", "finish surface", "spot", "drill", "peck",
    "counterbore", "bore", "ream", "tap", "mill thread", "undercut", "break edge",
]  # fmt: skip
HOLE_KINDS: tuple[PassKind, ...] = ("drill", "peck", "spot", "ream", "tap")
"""They go into the work along the cutter's axis alone, with a torque and no force across."""


class HoleStep(Noun, frozen=True, kw_only=True):
    """One coaxial step; depths run from the entry inward along the hole."""

    kind: Literal["cylinder", "cone"]
    diameter_mm: float
    depth_low_mm: float
    depth_high_mm: float
    face_ids: tuple[str, ...]


class Hole(Noun, frozen=True, kw_only=True):
    """A round hole with its coaxial steps, widest side first.

    entry_mm: centre of the entry in the part frame.  outward: unit axis pointing out of the entry.
    is_through: metal is open at both ends, so that it can also be entered from -outward.
    """

    id: str
    balloon: int
    entry_mm: Vector
    outward: Vector
    steps: tuple[HoleStep, ...]
    is_through: bool
    bottom: Literal["open", "flat", "cone"]

    @property
    def depth_mm(self) -> float:
        """From entry to the end of the deepest step."""
        return max(step.depth_high_mm for step in self.steps)

    @property
    def diameter_mm(self) -> float:
        """The smallest cylindrical step: what a drill must match."""
        sizes = [step.diameter_mm for step in self.steps if step.kind == "cylinder"]
        return min(sizes) if sizes else min(step.diameter_mm for step in self.steps)


class FaceNote(Noun, frozen=True, kw_only=True):
    """What the survey says of one face. `corner_mm` is the smallest concave radius met along it, None for none."""

    face_id: str
    index: int
    balloon: int
    kind: Literal["plane", "cylinder", "cone", "sphere", "torus", "other"]
    area_mm2: float
    hole_id: str = ""
    corner_mm: float | None = None


class Access(Noun, frozen=True, kw_only=True):
    """How one face is met from one direction.

    reached_ratio: share of its sample points that the named cutter reaches past the finished shape.
    manner: "floor" (face square to the cutter), "wall" (along it), "inclined", "hole", "edge", "none".
    """

    face_id: str
    direction: Vector
    manner: Literal["floor", "wall", "inclined", "hole", "edge", "none"]
    cutter_id: str
    reached_ratio: float


class Survey(Noun, frozen=True, kw_only=True):
    """Faces and holes with their balloons, and candidate directions (unit, part frame, pointing out of the work).

    features: what the faces are to a machinist; of a face that is none of them nothing is said.
    reach: every face in the chosen clampings: what reaches it, or why nothing does and what would.
    """

    faces: tuple[FaceNote, ...]
    holes: tuple[Hole, ...]
    directions: tuple[Vector, ...]
    access: tuple[Access, ...]
    unreached: tuple[str, ...]
    features: tuple[Feature, ...] = ()
    reach: tuple[FaceReach, ...] = ()

    def faces_within(self, hole: Hole) -> frozenset[str]:
        """Faces of a hole's steps, and the shoulders and bottom between them."""
        own = [step.face_ids for step in hole.steps]
        own += [f.face_ids for f in self.features if f.kind == "hole" and f.hole_id == hole.id]
        return frozenset(face_id for ids in own for face_id in ids)


class StackLine(Noun, frozen=True, kw_only=True):
    """One line of the stack-up along one blank side."""

    side: Literal["section width", "section height", "length"]
    text: str
    size_mm: float


class Blank(Noun, frozen=True, kw_only=True):
    """The sawn piece, in the part frame.

    low_mm, high_mm: its nominal box.  length_axis: 0, 1 or 2, the part axis along the bar.
    grip_side: unit direction from the finished part towards the strip that is held first, None where none is left.
    is_ideal: no bar of the shop fits; this is the box that would.
    beside_price_each: money for sawing one and for cutting it to chips, roughly; 0 where it was not reckoned.
    """

    bar_id: str
    length_axis: int
    low_mm: Vector
    high_mm: Vector
    cut_length_mm: float
    grip_side: Vector | None
    stack: tuple[StackLine, ...]
    pieces_per_bar: int
    bar_length_mm: float
    material_price_each: float
    mass_kg: float
    is_ideal: bool = False
    beside_price_each: float = 0.0


class BlankChoice(Noun, frozen=True, kw_only=True):
    """The chosen blank and the next-best two, with why each loses."""

    chosen: Blank
    others: tuple[Blank, ...]
    why: tuple[str, ...]


class Tilt(Noun, frozen=True, kw_only=True):
    """One orientation of the cutter in a clamping: a frame in the PART frame whose z is the cutter axis."""

    id: str
    frame: Frame
    a_rad: float
    c_rad: float


class Clamping(Noun, frozen=True, kw_only=True):
    """How the work is held for one operation.

    frame: the clamping's frame in the part frame: x along the jaws to the operator's right, y towards the fixed
    jaw (away from the operator), z up. Origin = work zero: left end of the part's finished box, fixed jaw face,
    jaw step (seat of the work).  seat_z 0.  jaw_top_mm: height of the jaw tops above the seat.
    grip_faces: ids of the faces the jaws touch, empty where they hold a strip of the raw bar.
    patch_length_mm x patch_height_mm: where jaw and work really meet.  gap_mm: distance between the jaws.
    jaw_middle_mm: x of the middle of the jaws.  needs_form: soft jaws must be cut to the shape of the work.
    step_mm: how far the seat reaches under the work from either jaw, below_mm: how far down it is free between the two
    steps; both 0 where nobody measured them: then the seat is taken to reach all the way.  jaw_length_mm: of both jaws
    along x; 0 where they are taken to be longer than the work.
    """

    id: str
    number: int
    machine_id: str
    vise_id: str
    jaws_id: str
    surface: Literal["raw", "finished"]
    frame: Frame
    tilts: tuple[Tilt, ...]
    jaw_top_mm: float
    patch_length_mm: Fact
    patch_height_mm: Fact
    gap_mm: float
    grip_faces: tuple[str, ...]
    seat_text: str
    zero_text: str
    makes_faces: tuple[str, ...]
    makes_holes: tuple[str, ...]
    removes_grip: bool
    needs_form: bool = False
    jaw_middle_mm: float = 0.0
    step_mm: float = 0.0
    below_mm: float = 0.0
    jaw_length_mm: float = 0.0

    @property
    def is_tilted(self) -> bool:
        """Some pass of it may stand at a rotary position other than zero."""
        return any(abs(tilt.a_rad) > LEVEL_RAD or abs(tilt.c_rad) > LEVEL_RAD for tilt in self.tilts)

    @property
    def seats_mm(self) -> tuple[tuple[float, float], ...]:
        """The seat as strips across the jaws: from and to, along y."""
        if self.below_mm <= 0.0 or not 0.0 < 2.0 * self.step_mm < self.gap_mm:
            return ((-self.gap_mm, 0.0),)
        return ((-self.step_mm, 0.0), (-self.gap_mm, self.step_mm - self.gap_mm))

    @property
    def holds_strip(self) -> bool:
        """The jaws hold raw metal below the part, none of it the part itself."""
        return self.surface == "raw" and not self.grip_faces


def work_zero_mm(clamping: Clamping, stands_mm: Vector) -> Vector:
    """Machine coordinates of the spindle's nose where it touches the work zero, A = C = 0.

    stands_mm: likewise the middle of the fixed jaw's face at the seat; work zero lies there, less the place of the
    jaws' middle along X.
    """
    x, y, z = stands_mm
    return x - clamping.jaw_middle_mm, y, z


class Pass(Noun, frozen=True, kw_only=True):
    """One continuous run of one cutter at one tilt. `id` is clamping/tilt/cutter/kind/feature.

    pace: how speed, feed and depth were chosen, None of a cutter whose row leaves nothing to choose.
    """

    id: str
    kind: PassKind
    clamping_id: str
    tilt_id: str
    cutter_id: str
    feature: str
    face_ids: tuple[str, ...]
    speed_rad_per_s: float
    tooth_feed_mm: float
    radial_mm: float
    axial_mm: float
    moves_digest: str
    moves_count: int
    cut_length_mm: float
    pace: Pace | None = None


class NotCut(Noun, frozen=True, kw_only=True):
    """A face or hole that this version has no pass for, with the reason."""

    clamping_id: str
    subject: str
    face_ids: tuple[str, ...]
    reason: str


class PassPlan(msgspec.Struct, frozen=True, kw_only=True):
    """Passes in working order; `moves` by digest; effort_count: triangles gone through in planning them.

    outlines: of each clamping whose jaws are cut to the work, rings (k, 2) of what then stands between seat and jaw
    tops, seen along the clamping's z, in its frame, holes filled.
    """

    passes: tuple[Pass, ...]
    not_cut: tuple[NotCut, ...]
    moves: dict[str, Moves]
    effort_count: int = 0
    outlines: dict[str, tuple[NDArray[np.float64], ...]] = msgspec.field(default_factory=dict)


class FaceDeviation(Noun, frozen=True, kw_only=True):
    """Largest left-over and gouge of one face against the target, mm, both >= 0, from `points_count` points.

    finished_by: ids of the cutters of the passes that say they finish it; empty when none does.  Of such a face,
    corner_mm: what is left where none of them can stand without cutting the part;  open_mm: what is left elsewhere.
    """

    face_id: str
    leftover_mm: float
    gouge_mm: float
    points_count: int
    finished_by: tuple[str, ...] = ()
    open_mm: float = 0.0
    corner_mm: float = 0.0


class PassCut(Noun, frozen=True, kw_only=True):
    """What the replay measured of one pass.

    removed_mm3 by the move-by-move sum; section_max_mm2, section_p95_mm2: largest and 95th percentile cut section
    (removed volume over path length) of its cutting moves other than plunges; rapid_mm: longest metal met on a rapid
    move; body_mm: longest metal met by shank or holder; high_mm: highest cutter-tip height and low_mm lowest, in the
    tilt's frame; tooth_feed_max_mm: largest feed per tooth of the moves that met metal; plunge_max_mm2: largest
    section of the plunges; rapid_row, body_row: the point of the pass's moves at which the move ends that meets the
    longest metal so, 0 where none meets any.
    """

    pass_id: str
    removed_mm3: float
    section_max_mm2: float
    section_p95_mm2: float
    rapid_mm: float
    body_mm: float
    low_mm: float
    high_mm: float
    tooth_feed_max_mm: float = 0.0
    plunge_max_mm2: float = 0.0
    rapid_row: int = 0
    body_row: int = 0


class LoosePiece(Noun, frozen=True, kw_only=True):
    """Metal that a pass parts from the rest. size_mm: its box, longest first; at_mm: middle in the clamping's frame."""

    pass_id: str
    clamping_id: str
    volume_mm3: float
    size_mm: Vector
    at_mm: Vector

    @property
    def words(self) -> str:
        """Size and place as one phrase."""
        size = " x ".join(f"{v:.1f}" for v in self.size_mm)
        x, y, z = self.at_mm
        return f"a piece of {size} mm about X {x:.1f} Y {y:.1f} Z {z:.1f}"


class RemovalCheck(Noun, frozen=True, kw_only=True):
    """The replay's verdict: volumes by separate integrators, deviation per face, strikes per pass.

    jaw_strikes: of jaws and seat.  body_strikes: of the vise's bed and the table.  unsure_strikes: of what may stand
    there, where nobody measured it.  loose: slugs and windows, with the pass that sets them free.
    """

    pitch_mm: float
    blank_mm3: float
    target_mm3: float
    chips_mm3: float
    leftover_mm3: float
    gouge_mm3: float
    balance_ratio: float
    faces: tuple[FaceDeviation, ...]
    passes: tuple[PassCut, ...]
    jaw_strikes: tuple[str, ...]
    body_strikes: tuple[str, ...] = ()
    unsure_strikes: tuple[str, ...] = ()
    loose: tuple[LoosePiece, ...] = ()
