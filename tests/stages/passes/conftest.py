"""Small solids, a small shop and a slow, obvious replay that shares nothing with the maker of passes."""

from __future__ import annotations

import math
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import msgspec
import numpy as np
import pytest
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.model.choice import CutterChoice
from proveout.model.fact import Fact
from proveout.model.limits import Limits
from proveout.model.moves import Moves
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine
from proveout.model.target import Target
from proveout.model.work import Blank, Clamping, FaceNote, Hole, HoleStep, Pass, PassPlan, Survey, Tilt
from proveout.stages.cutters import decide as choose
from proveout.stages.passes import decide as plan

Array = NDArray[np.float64]


def cutter(id: str, kind: Any, diameter_mm: float, **more: Any) -> Cutter:
    """A cutter with plain defaults."""
    values: dict[str, Any] = {
        "id": id, "name": id, "kind": kind, "diameter_mm": diameter_mm, "corner_radius_mm": 0.0, "flutes_count": 3,
        "flute_length_mm": 26.0, "stick_out_mm": 36.0, "shank_diameter_mm": diameter_mm, "holder_diameter_mm": 30.0,
        "holder_length_mm": 40.0, "tip_angle_rad": 0.0, "tip_diameter_mm": diameter_mm, "pitch_mm": 0.0,
        "speed_max_rad_per_s": None, "cutting_speed_mm_per_s": 6000.0, "tooth_feed_mm": 0.05, "life_s": None,
        "price": 1.0,
    }  # fmt: skip
    values.update(more)
    return Cutter(**values)


def drill(diameter_mm: float) -> Cutter:
    return cutter(
        f"DR{diameter_mm:g}", "drill", diameter_mm, flutes_count=2, tip_angle_rad=math.radians(118.0),
        tip_diameter_mm=0.0, flute_length_mm=60.0, stick_out_mm=70.0,
    )  # fmt: skip


SHOP = (
    cutter("FM50", "face mill", 50.0, flutes_count=5, flute_length_mm=8.0, stick_out_mm=45.0, shank_diameter_mm=22.0),
    cutter("EM12", "end mill", 12.0),
    cutter("EM10", "end mill", 10.0),
    cutter("EM6", "end mill", 6.0, flute_length_mm=20.0, stick_out_mm=26.0),
    cutter("EM5", "end mill", 5.0, flute_length_mm=20.0, stick_out_mm=26.0),
    cutter("BM8", "ball", 8.0, flutes_count=2),
    cutter("SP10", "spot", 10.0, tip_angle_rad=math.radians(90.0), tip_diameter_mm=0.0, flute_length_mm=15.0),
    *(drill(d) for d in (4.2, 5.0, 6.6, 8.5)),
    cutter("EB10", "edge break", 10.0, tip_angle_rad=math.radians(90.0), tip_diameter_mm=1.0, flute_length_mm=10.0),
    cutter(
        "UC16", "undercut", 16.0, tip_angle_rad=math.radians(20.0), flute_length_mm=12.0, shank_diameter_mm=6.0,
        stick_out_mm=40.0,
    ),
    cutter("TM6", "tap", 6.0, pitch_mm=1.0),
)  # fmt: skip

MACHINE = Machine(
    id="mill", name="mill", kind="3-axis", travel_mm=(600.0, 450.0, 400.0), speed_max_rad_per_s=1047.0,
    power_mw=7.5e6, rapid_mm_per_s=400.0, feed_max_mm_per_s=160.0, accel_mm_per_s2=3000.0, cutter_change_s=6.0,
    pockets_count=20, vises_count=2, has_probe=True, rate_per_h=90.0, setup_s=900.0, resolution_mm=0.001,
)  # fmt: skip


def length_fact(value: float) -> Fact:
    return Fact(low=value, nominal=value, high=value, unit="mm", source="test", strength="assumed")


def clamping_of(
    frame: Frame, *, number: int = 1, gap_mm: float, jaw_top_mm: float = 3.0, faces: tuple[str, ...] = (),
    holes: tuple[str, ...] = (), surface: Any = "raw",
) -> Clamping:  # fmt: skip
    return Clamping(
        id=f"op{number}", number=number, machine_id="mill", vise_id="v", jaws_id="j", surface=surface, frame=frame,
        tilts=(Tilt(id="t0", frame=frame, a_rad=0.0, c_rad=0.0),), jaw_top_mm=jaw_top_mm,
        patch_length_mm=length_fact(50.0), patch_height_mm=length_fact(3.0), gap_mm=gap_mm, grip_faces=(),
        seat_text="", zero_text="", makes_faces=faces, makes_holes=holes, removes_grip=False,
    )  # fmt: skip


def upright(*, low: tuple[float, float, float], high_y: float) -> Frame:
    """A clamping's frame whose axes are the part's, zero at the fixed jaw."""
    return Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(low[0], high_y, low[2]))


def target_of(body: Any, name_of: Callable[[Array, Array], str]) -> Target:
    """A body of the boolean library as a target; each triangle's face is named from its middle and normal."""
    mesh = body.to_mesh64()
    vertices = np.array(mesh.vert_properties)[:, :3].copy()
    triangles = np.array(mesh.tri_verts).astype(np.int32)
    corners = vertices[triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    names = [name_of(m, n) for m, n in zip(corners.mean(axis=1), normals, strict=True)]
    ids = tuple(sorted(set(names)))
    return Target(
        vertices_mm=vertices, triangles=triangles,
        triangle_face=np.array([ids.index(n) for n in names], dtype=np.int32),
        face_ids=ids, face_offset_mm=np.zeros(len(ids)), volume_mm3=float(body.volume()), mesh_deflection_mm=0.01,
        mesh_is_closed=True,
    )  # fmt: skip


def by_plane(middle: Array, normal: Array) -> str:
    """A name by direction and distance: one for each plane."""
    axis = "".join(f"{v:+.2f}" for v in np.round(normal, 2) + 0.0)
    return f"plane {axis} {float(middle @ normal):.2f}"


def survey_of(target: Target, holes: tuple[Hole, ...] = ()) -> Survey:
    notes = tuple(
        FaceNote(face_id=f, index=k, balloon=k + 1, kind="other", area_mm2=1.0) for k, f in enumerate(target.face_ids)
    )
    return Survey(faces=notes, holes=holes, directions=((0.0, 0.0, 1.0),), access=(), unreached=())


def hole_of(
    id: str, *, entry: tuple[float, float, float], steps: tuple[tuple[str, float, float, float, str], ...],
    through: bool = True, bottom: Any = "open",
) -> Hole:  # fmt: skip
    """steps: (kind, diameter, from, to, face id)."""
    return Hole(
        id=id, balloon=1, entry_mm=entry, outward=(0.0, 0.0, 1.0), is_through=through, bottom=bottom,
        steps=tuple(
            HoleStep(kind=k, diameter_mm=d, depth_low_mm=a, depth_high_mm=b, face_ids=(f,))  # type: ignore[arg-type]
            for k, d, a, b, f in steps
        ),
    )  # fmt: skip


class Planned(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """What went in and what came out."""

    target: Target
    blank: Blank
    clampings: tuple[Clamping, ...]
    choice: CutterChoice
    decision: Decision[PassPlan]
    cutters: tuple[Cutter, ...]

    @property
    def passes(self) -> tuple[Pass, ...]:
        return self.decision.value.passes

    def moves(self, one: Pass) -> Moves:
        """The ways of a pass by straight moves."""
        return self.decision.value.moves[one.moves_digest].straight(within_mm=5e-4)

    def cutter(self, one: Pass) -> Cutter:
        return next(c for c in self.cutters if c.id == one.cutter_id)

    def kinds(self) -> list[str]:
        return [p.kind for p in self.passes]


def blank_of(low: tuple[float, float, float], high: tuple[float, float, float]) -> Blank:
    return Blank(
        bar_id="bar", length_axis=0, low_mm=low, high_mm=high, cut_length_mm=high[0] - low[0],
        grip_side=(0.0, 0.0, -1.0),
        stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0, mass_kg=1.0,
    )  # fmt: skip


def planned(
    *, target: Target, blank: Blank, clampings: tuple[Clamping, ...], holes: tuple[Hole, ...] = (),
    cutters: tuple[Cutter, ...] = SHOP, limits: Limits | None = None, threads: dict[str, str] | None = None,
    widths_mm: dict[str, float] | None = None, pressure_mpa: Fact | None = None,
) -> Planned:  # fmt: skip
    survey = survey_of(target, holes)
    limits = limits or Limits()
    choice = choose(
        survey=survey, clampings=clampings, target=target, cutters=cutters, threads=threads, widths_mm=widths_mm
    ).value
    decision = plan(
        target=target, survey=survey, blank=blank, clampings=clampings, choice=choice, cutters=cutters,
        machines={"mill": MACHINE}, limits=limits, pressure_mpa=pressure_mpa, exponent_ratio=0.25, run=Run(),
    )  # fmt: skip
    return Planned(target=target, blank=blank, clampings=clampings, choice=choice, decision=decision, cutters=cutters)


class HeightMap:
    """The work seen from above as heights on a grid, cut by plain samples: slow, and good for one upright tilt."""

    def __init__(self, blank: Blank, *, pitch_mm: float = 0.25) -> None:
        self.x = np.arange(blank.low_mm[0] + pitch_mm / 2, blank.high_mm[0], pitch_mm)
        self.y = np.arange(blank.low_mm[1] + pitch_mm / 2, blank.high_mm[1], pitch_mm)
        self.z = np.full((len(self.x), len(self.y)), float(blank.high_mm[2]))
        self.pitch = pitch_mm

    def under(self, x: float, y: float, radius: float) -> tuple[Any, NDArray[np.bool_]]:
        """Slices and mask of the cells under a disc."""
        i = slice(*np.searchsorted(self.x, [x - radius, x + radius]))
        j = slice(*np.searchsorted(self.y, [y - radius, y + radius]))
        inside = (self.x[i, None] - x) ** 2 + (self.y[None, j] - y) ** 2 <= radius**2
        return (i, j), inside

    def run(self, points: Array, feeds: Array, outline: Callable[[Array], Array], radius: float) -> list[float]:
        """Replays moves; returns how deep the tip stands below metal at each rapid move's samples (> 0 is a strike).

        outline: height of the cutter above its tip at a distance from its axis.
        """
        struck: list[float] = []
        for k in range(1, len(points)):
            span = points[k] - points[k - 1]
            count = max(1, math.ceil(float(np.linalg.norm(span)) / (0.8 * self.pitch)))
            for s in range(1, count + 1):
                x, y, z = points[k - 1] + span * s / count
                where, inside = self.under(x, y, radius)
                if not inside.any():
                    continue
                away = np.sqrt((self.x[where[0], None] - x) ** 2 + (self.y[None, where[1]] - y) ** 2)
                floor = z + outline(away)
                old = self.z[where]
                if feeds[k] == 0.0:
                    struck.append(float((old - floor)[inside].max()))
                else:
                    self.z[where] = np.where(inside, np.minimum(old, floor), old)
        return struck


def outline_of(one: Cutter) -> Callable[[Array], Array]:
    """Height of a cutter's underside above its tip."""
    if one.kind == "ball":
        radius = one.diameter_mm / 2.0
        return lambda away: radius - np.sqrt(np.maximum(radius**2 - away**2, 0.0))
    if one.kind in ("drill", "spot", "edge break"):
        slope = math.tan(one.tip_angle_rad / 2.0)
        return lambda away: np.maximum(away - one.tip_diameter_mm / 2.0, 0.0) / slope
    return np.zeros_like


def replayed(result: Planned, clamping_id: str, *, pitch_mm: float = 0.25) -> tuple[HeightMap, float]:
    """The height map after a clamping and the worst strike of its rapid moves."""
    work = HeightMap(result.blank, pitch_mm=pitch_mm)
    frame = next(c for c in result.clampings if c.id == clamping_id).tilts[0].frame
    worst = -math.inf
    for one in result.passes:
        if one.clamping_id != clamping_id:
            continue
        moves, tool = result.moves(one), result.cutter(one)
        struck = work.run(frame.out_of(moves.points), moves.feed_mm_per_s, outline_of(tool), tool.diameter_mm / 2.0)
        worst = max(worst, max(struck, default=-math.inf))
    return work, worst


@pytest.fixture(scope="session")
def kit() -> Any:
    """Everything above, by name."""
    names = {k: v for k, v in globals().items() if callable(v) or k.isupper()}
    return SimpleNamespace(**names)


def pocket_plan(cutters: tuple[Cutter, ...] = SHOP, *, pressure_mpa: Fact | None = None) -> Planned:
    """60 x 40 x 20 block: pocket 24 x 16 x 8 with corners R5, step 6 deep along +x, slot 7 wide, through hole Ø6.6."""
    import manifold3d

    block = manifold3d.Manifold.cube((60.0, 40.0, 20.0))
    corner = manifold3d.CrossSection.square((14.0, 6.0)).translate((10.0, 17.0))
    rounded = corner.offset(5.0, manifold3d.JoinType.Round, 2.0, 128)
    pocket = manifold3d.Manifold.extrude(rounded, 9.0).translate((0.0, 0.0, 12.0))
    step = manifold3d.Manifold.cube((10.0, 42.0, 10.0)).translate((50.0, -1.0, 14.0))
    slot = manifold3d.Manifold.cube((7.0, 42.0, 10.0)).translate((38.0, -1.0, 15.0))
    hole = manifold3d.Manifold.cylinder(30.0, 3.3, 3.3, 96).translate((20.0, 5.0, -5.0))
    body = block - pocket - step - slot - hole

    def name(middle: Array, normal: Array) -> str:
        if abs(normal[2]) < 0.5 and math.hypot(middle[0] - 20.0, middle[1] - 5.0) < 3.5:
            return "hole wall"
        if abs(normal[2]) < 0.5 and 4.0 < middle[0] < 30.0 and 11.0 < middle[1] < 29.0:
            return by_plane(middle, normal) if max(abs(normal[0]), abs(normal[1])) > 0.9999 else _corner(middle)
        return by_plane(middle, normal)

    target = target_of(body, name)
    hole_noun = hole_of("hole A", entry=(20.0, 5.0, 20.0), steps=(("cylinder", 6.6, 0.0, 20.0, "hole wall"),))
    blank = blank_of((-2.0, -2.0, -4.5), (62.0, 42.0, 21.5))
    frame = upright(low=(0.0, 0.0, -4.5), high_y=42.0)
    faces = tuple(f for f in target.face_ids if f != "hole wall" and not f.startswith("plane +0.00+0.00-1.00"))
    return planned(
        target=target, blank=blank, holes=(hole_noun,),
        clampings=(clamping_of(frame, gap_mm=44.0, faces=faces, holes=("hole A",)),), cutters=cutters,
        pressure_mpa=pressure_mpa,
    )  # fmt: skip


@pytest.fixture(scope="session")
def pocketed() -> Planned:
    """The block of pocket_plan with the cutters of SHOP."""
    return pocket_plan()


def _corner(middle: Array) -> str:
    return f"corner {'right' if middle[0] > 17.0 else 'left'} {'back' if middle[1] > 20.0 else 'front'}"


@pytest.fixture(scope="session")
def pocketed_work(pocketed: Planned) -> tuple[HeightMap, float]:
    """The block after op 1 on the plain height map, and the worst strike of a rapid move."""
    return replayed(pocketed, "op1")


def removal_of(result: Planned, *, above_mm: float, pitch_mm: float = 0.5) -> dict[str, tuple[float, float]]:
    """Left-over and gouge of each face, mm, by the removal engine: cutters' own outlines, all moves.

    above_mm: only what lies above this height of the part is judged, so that the strip in the jaws is not.
    """
    from proveout.removal.comparing import deviation
    from proveout.removal.meshing import mesh_fields
    from proveout.removal.sweeping import cut

    low, high = np.array(result.blank.low_mm), np.array(result.blank.high_mm)
    import manifold3d

    box = manifold3d.Manifold.cube(tuple(high - low)).translate(tuple(low)).to_mesh64()
    fields = mesh_fields(
        np.array(box.vert_properties)[:, :3], np.array(box.tri_verts).astype(np.int64), low_mm=low - 1.0,
        high_mm=high + 1.0, pitch_mm=pitch_mm,
    )  # fmt: skip
    frames = {(c.id, t.id): t.frame for c in result.clampings for t in c.tilts}
    for one in result.passes:
        tool, moves, frame = result.cutter(one), result.moves(one), frames[one.clamping_id, one.tilt_id]
        if tool.kind == "tap":
            continue
        points = frame.out_of(moves.points)
        fed = moves.feed_mm_per_s[1:] > 0.0
        cut(fields, pieces=tool.cutting, axis=np.array(frame.z), starts_mm=points[:-1][fed], ends_mm=points[1:][fed])
    found = deviation(
        fields, vertices=result.target.vertices_mm, triangles=result.target.triangles,
        triangle_face=result.target.triangle_face, face_offset_mm=result.target.face_offset_mm,
    )  # fmt: skip
    judged = found.points_mm[:, 2] > above_mm
    worst: dict[str, tuple[float, float]] = {}
    for k in np.unique(found.face[judged]):
        own = found.deviation_mm[judged & (found.face == k)]
        worst[result.target.face_ids[int(k)]] = (max(0.0, float(own.max())), max(0.0, -float(own.min())))
    return worst
