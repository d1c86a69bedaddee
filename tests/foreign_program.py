"""A small part, its set-up, and a program for it written by hand in another manner than ours; all invented.

The part: 60 x 40 x 20 mm with a pocket 30 x 20 x 8 mm (corners R6), two holes of 5 mm right through, one M6, and a flat
at 30 degrees along its rear upper edge. The blank is 1 mm larger at sides and top, and 4 mm longer below, which the
jaws hold. Work zero: the finished part's left front upper corner.
"""

from __future__ import annotations

import functools
import math
import re

import manifold3d
import numpy as np

from proveout.geometry.frames import Frame
from proveout.model.checking import CutterTable, Obstacle, ProgramCheck, Standing
from proveout.model.program_style import ProgramStyle, TiltedPlane
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine, Rotary
from proveout.model.target import Target
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.control import Control
from proveout.programs.reading.running import follow
from proveout.removal.fields import Fields
from proveout.stages.removal_check.program import decide

CENTRE = (300.0, -200.0, -380.0)
ZERO = (270.0, -220.0, -330.0)
LOW, HIGH = (-1.0, -1.0, -4.0), (61.0, 41.0, 21.0)
PITCH_MM = 0.4

PLANE = TiltedPlane(
    call="G901", cancel="G902", angles=(("I", "Z"), ("J", "X"), ("K", "Z")), about="axes as turned so far",
    shift=("X", "Y", "Z"), rotary="turn at a word of their own", turn_word="M901", a_is_positive=True,
)  # fmt: skip
STYLE = ProgramStyle(
    powers_on=("G17", "G21", "G40", "G49", "G80", "G90", "G94", "G98", "G54", "G0"), opening=(), closing=("M30",),
    before_change=("G53 G0 Z0",), clamp_a="M10", unclamp_a="M11", clamp_c="M12", unclamp_c="M13",
    own_words={"G905": "harmless", "M29": "rigid tapping"}, tilted_plane=PLANE,
)  # fmt: skip


def machine() -> Machine:
    """An invented 3+2 mill."""
    return Machine(
        id="mill", name="mill", kind="3+2", travel_mm=(600.0, 450.0, 400.0),
        speed_max_rad_per_s=12_000 * math.pi / 30.0, power_mw=15e6, rapid_mm_per_s=400.0, feed_max_mm_per_s=200.0,
        accel_mm_per_s2=3000.0, cutter_change_s=5.0,
        pockets_count=20, vises_count=1, has_probe=False, rate_per_h=90.0, setup_s=1800.0, resolution_mm=0.001,
        rotary=Rotary(
            a_low_rad=math.radians(-20.0), a_high_rad=math.radians(100.0), c_is_continuous=True,
            pivot_in_machine_mm=CENTRE, pivot_error_mm=None, brake_torque_n_mm=None, tilt_s=3.0,
        ),
        program=STYLE,
    )  # fmt: skip


def cutter(kind: str, diameter_mm: float, *, stick_out_mm: float, flute_mm: float, holder_mm: float = 40.0,
           speed_max: float | None = None) -> Cutter:  # fmt: skip
    """A cutter of the set; points of drills are 120 degrees."""
    return Cutter(
        id=f"{kind} {diameter_mm:g}", name=f"{kind} {diameter_mm:g}", kind=kind, diameter_mm=diameter_mm,  # type: ignore[arg-type]
        corner_radius_mm=0.0, flutes_count=3, flute_length_mm=flute_mm, stick_out_mm=stick_out_mm,
        shank_diameter_mm=diameter_mm if kind != "face mill" else 22.0,
        holder_diameter_mm=holder_mm, holder_length_mm=60.0,
        tip_angle_rad=math.radians(120.0) if kind == "drill" else math.pi, tip_diameter_mm=0.0,
        pitch_mm=1.0 if kind == "tap" else 0.0,
        speed_max_rad_per_s=None if speed_max is None else speed_max * math.pi / 30.0, cutting_speed_mm_per_s=1000.0,
        tooth_feed_mm=0.05, life_s=None, price=10.0,
    )  # fmt: skip


def table() -> CutterTable:
    """Cutters by number with their lengths."""
    cutters = {
        1: cutter("face mill", 50.0, stick_out_mm=40.0, flute_mm=10.0, speed_max=8000.0),
        2: cutter("end mill", 10.0, stick_out_mm=45.0, flute_mm=28.0),
        3: cutter("drill", 5.0, stick_out_mm=50.0, flute_mm=40.0, holder_mm=20.0),
        4: cutter("tap", 6.0, stick_out_mm=45.0, flute_mm=20.0, holder_mm=20.0),
    }
    lengths = {number: c.stick_out_mm + c.holder_length_mm for number, c in cutters.items()}
    return CutterTable(cutters=cutters, gauge_mm=lengths, machine=machine())


def standing(*, zero: tuple[float, float, float] = ZERO, centre: tuple[float, float, float] = CENTRE) -> Standing:
    """The work in its vise: jaws to 21 mm below the finished top, the seat 24 mm below."""
    frame = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 20.0))
    return Standing(
        frame=frame, zero_mm=zero, centre_mm=centre,
        obstacles=(
            Obstacle(name="fixed jaw", low_mm=(-20.0, 41.0, -60.0), high_mm=(80.0, 61.0, -21.0)),
            Obstacle(name="moving jaw", low_mm=(-20.0, -21.0, -60.0), high_mm=(80.0, -1.0, -21.0)),
            Obstacle(name="seat", low_mm=(-20.0, -1.0, -60.0), high_mm=(80.0, 41.0, -24.0)),
        ),
    )  # fmt: skip


TILT_RAD = math.radians(30.0)
FLAT_DEPTH_MM = 3.0
"""How far the flat lies below the right upper edge, square to it."""


def _target_body() -> manifold3d.Manifold:
    body = manifold3d.Manifold.cube((60.0, 40.0, 20.0))
    corners = [(x, y) for x in (21.0, 39.0) for y in (16.0, 24.0)]
    discs = [manifold3d.CrossSection.circle(6.0, 256).translate(c) for c in corners]
    pocket = manifold3d.CrossSection.batch_hull(discs)
    body -= manifold3d.Manifold.extrude(pocket, 9.0).translate((0.0, 0.0, 12.0))
    for x, y, diameter in ((6.0, 6.0, 5.0), (6.0, 34.0, 5.0), (50.0, 6.0, 5.0)):
        body -= manifold3d.Manifold.cylinder(30.0, diameter / 2.0, circular_segments=256).translate((x, y, -5.0))
    # the flat faces backwards and up: turned by A = +30 about X it lies level
    normal = (0.0, math.sin(TILT_RAD), math.cos(TILT_RAD))
    offset = 40.0 * normal[1] + 20.0 * normal[2] - FLAT_DEPTH_MM
    return body.trim_by_plane((-normal[0], -normal[1], -normal[2]), -offset)


def one_face(body: manifold3d.Manifold, name: str) -> Target:
    """A body as a target whose surface is all one face."""
    mesh = body.to_mesh()
    triangles = np.asarray(mesh.tri_verts, dtype=np.int32)
    return Target(
        vertices_mm=np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3], triangles=triangles,
        triangle_face=np.zeros(len(triangles), dtype=np.int32), face_ids=(name,), face_offset_mm=np.zeros(1),
        volume_mm3=float(body.volume()), mesh_deflection_mm=0.001, mesh_is_closed=True,
    )  # fmt: skip


@functools.cache
def target() -> Target:
    """The finished part as one face."""
    return one_face(_target_body(), "part")


def turned(y: float, z: float) -> tuple[float, float]:
    """Y and Z of a point of the work's frame once A has turned by the tilt, from work zero carried along."""
    return (
        y * math.cos(TILT_RAD) - z * math.sin(TILT_RAD),
        y * math.sin(TILT_RAD) + z * math.cos(TILT_RAD),
    )


FLAT_Y, FLAT_Z = turned(40.0, 0.0)
FLAT_TOP = FLAT_Z - FLAT_DEPTH_MM

PROGRAM = f"""%
O1001 (BODY OF AN INVENTED PART)
G21 G17 G40 G49 G80 G90 G94 G54
G905 P2
G53 G0 Z0
(FACE THE TOP)
T1 M6
S6000 M3
G0 X-30 Y20
G43 H1 Z20 M8
G0 Z0
G1 X90 F1500
G0 Z20
M9
G53 G0 Z0
(OUTLINE)
T2 M6
S9000 M3
G0 X-20 Y-20
G43 H2 Z20 M8
G0 Z5
G1 Z-20.5 F3000
G41 D2 G1 X0 Y-12 F1200
Y40
X60
G1 Y0
X-12
G40 G0 X-12 Y-20
G0 Z20
(POCKET)
G0 X30 Y20
G0 Z2
G1 Z0.5 F600
G3 X30 Y20 Z-4 I1 J0 F400
G3 X30 Y20 Z-8 I1 J0
G3 X30 Y20 I1 J0
G1 X21 Y20 F1000
X39
X39 Y21
G41 D2 G1 X45 Y16 F900
Y24
G3 X39 Y30 I-6 J0
G1 X21
G3 X15 Y24 I0 J-6
G1 Y16
G3 X21 Y10 R6
G1 X39
G3 X45 Y16 R6
G1 Y20
G40 G1 X35 Y20
G0 Z20
M9
G53 G0 Z0
(HOLES)
T3 M6
S6000 M3
G0 X6 Y6
G43 H3 Z20 M8
G83 X6 Y6 Z-22 R2 Q5 F300
Y34
X50 Y6
G80
G53 G0 Z0
(THREAD)
T4 M6
S500 M3
G0 X50 Y6
G43 H4 Z20
M29
G84 X50 Y6 Z-18 R3 F500
G80
M9
G53 G0 Z0
(FLAT AT 30 DEGREES)
T2 M6
S9000 M3
M11
G0 A30
M10
G0 X-12 Y{FLAT_Y + 3.0:.3f}
G43 H2 Z60
G0 Z{FLAT_TOP + 8.0:.3f}
G1 Z{FLAT_TOP:.3f} F600
M98 P1100
G0 Z80
G53 G0 Z0
M11
G0 A0
M10
M5
M30
O1100 (ACROSS AND BACK)
G91
G1 X84 F800
Y-7
X-84
G90
M99
%
"""

WORDED = (
    PROGRAM.replace(
        "G3 X30 Y20 Z-4 I1 J0 F400\nG3 X30 Y20 Z-8 I1 J0\n",
        "#100=-4\nWHILE [#100 GE -8] DO1\nG3 X30 Y20 Z#100 I1 J0 F400\n#100=#100-4\nEND1\n",
    )
    .replace(
        "G83 X6 Y6 Z-22 R2 Q5 F300\nY34\nX50 Y6\nG80\n",
        "G65 P1200 X6 Y6 Z-22 Q5 F300\nG65 P1200 X6 Y34 Z-22 Q5 F300 R2\nG65 P1200 X50 Y6 Z-22 Q5 F300\n",
    )
    .replace("G0 A30\nM10\n", "G901 X0 Y40 Z0 I0 J-30 K0\nM901\nM10\n")
    .replace(f"G0 X-12 Y{FLAT_Y + 3.0:.3f}\nG43 H2 Z60\nG0 Z{FLAT_TOP + 8.0:.3f}\nG1 Z{FLAT_TOP:.3f} F600\n",
             "G0 X-12 Y3\nG43 H2 Z40\nG0 Z5\nG1 Z-3 F600\n")
    .replace("G0 Z80\nG53 G0 Z0\nM11\n", "G0 Z60\nG53 G0 Z0\nG902\nM11\n")
    .replace("M5\nM30\n", "T1 M6\nM5\nM30\n")
    .replace("M99\n%", "M99\nO1200 (ONE HOLE)\nIF [[#24 EQ #0] OR [#25 EQ #0]] GOTO 90\nIF [#18 EQ #0] THEN #18=2\n"
             "G83 X#24 Y#25 Z#26 R#18 Q#17 F#9\nN90 G80\nM99\n%")
)  # fmt: skip
"""The same part by a loop, calls with arguments and a tilted plane, whose zero lies on the rear upper edge."""


def in_inches(program: str) -> str:
    """The same program with every length in inches; feeds too."""

    def turned(match: re.Match[str]) -> str:
        return f"{match[1]}{float(match[2]) / 25.4:.9f}"

    kept = []
    for line in program.replace("G21", "G20").splitlines():
        is_comment = line.startswith("(")
        kept.append(line if is_comment else re.sub(r"([XYZIJRQF])(-?[0-9.]+)", turned, line))
    return "\n".join(kept)


def control(*, centre: tuple[float, float, float] = CENTRE, zero: tuple[float, float, float] = ZERO) -> Control:
    """What is known of the control: the first work offset set at the work's zero."""
    known = table()
    return Control(
        powers_on=STYLE.powers_on,
        meanings={**STYLE.own_words, "M10": "clamp A", "M11": "unclamp A", "M12": "clamp C", "M13": "unclamp C"},
        origins_mm={1: zero}, lengths_mm=dict(known.gauge_mm),
        radii_mm={number: c.diameter_mm / 2.0 for number, c in known.cutters.items()}, centre_mm=centre,
        zero_after_turning="carried by the control", cutter=0, begins_at_top=True, tilted_plane=PLANE,
        a_travel_rad=(math.radians(-20.0), math.radians(100.0)),
    )  # fmt: skip


def check(
    text: str, *, stands: Standing | None = None, knows: Control | None = None, cutters: CutterTable | None = None
) -> Decision[ProgramCheck]:
    """Check a program on the part's set-up."""
    parsed = read_program(text)
    course = follow(parsed, knows if knows is not None else control())
    fields = Fields.from_box(low_mm=np.array(LOW), high_mm=np.array(HIGH), pitch_mm=PITCH_MM)
    return decide(
        course, fields=fields, target=target(), standing=stands if stands is not None else standing(),
        table=cutters if cutters is not None else table(), lines_count=len(parsed.blocks), leftover_counts=False,
        run=Run(),
    )  # fmt: skip
