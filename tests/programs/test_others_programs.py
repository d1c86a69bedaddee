"""Programs that others made (NIST report 6556, and tests of a reader of such): clean as they are, and seeded."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from pathlib import Path

import foreign_program as given
import manifold3d
import msgspec
import numpy as np
import pytest
import shapely

from proveout.geometry.arcs import XY, YZ, ZX
from proveout.geometry.frames import Frame
from proveout.model.checking import CutterTable, ProgramCheck, Standing
from proveout.model.course import Motion
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.target import Target
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.control import REPORT_DEFAULTS, Control
from proveout.programs.reading.running import follow
from proveout.removal.fields import Fields
from proveout.stages.removal_check.program import decide

LETTERS = "nc-programs/nist-rs274ngc/c1.ngc"
ENGRAVER = msgspec.structs.replace(given.cutter("ball", 1.0, stick_out_mm=40.0, flute_mm=10.0), corner_radius_mm=0.5)
GAUGE_MM = ENGRAVER.stick_out_mm + ENGRAVER.holder_length_mm
ZERO = (200.0, -200.0, -330.0)
PITCH_MM = 0.25


def arc_points(centre: tuple[float, float], radius: float, low: float, high: float) -> list[tuple[float, float]]:
    return [
        (centre[0] + radius * math.cos(math.radians(a)), centre[1] + radius * math.sin(math.radians(a)))
        for a in np.linspace(low, high, 181)
    ]


# the strokes of the letters, read off the words of c1.ngc by hand
STROKES = (
    [(0, 0), (0, 10)], [(0, 5), (7, 5)], [(7, 0), (7, 10)],  # H
    [(11, 2.5), (16, 2.5)], arc_points((13.5, 2.5), 2.5, 0.0, 270.0), [(13.5, 0), (16, 0)],  # e
    [(20, 0), (20, 9)], [(26, 9), (26, 0)], arc_points((32.5, 2.5), 2.5, 0.0, 360.0),  # l l o
    [(45, 5), (47, 0), (48.5, 3), (50, 0), (52, 5)], arc_points((57.5, 2.5), 2.5, 0.0, 360.0),  # w o
    [(64, 0), (64, 5)],  # r; its arc over the chord of 5 from (64, 4) to (69, 4) bulges by 4 - sqrt(16 - 6.25) = 0.8775
    [*arc_points((66.5, 4.0 - math.sqrt(9.75)), 4.0, 180.0 - math.degrees(math.acos(0.625)),
                 math.degrees(math.acos(0.625)))],
    [(73, 0), (73, 9)], [(81, 9), (81, 0), (79.5, 0)], arc_points((79.5, 2.5), 2.5, 90.0, 270.0), [(79.5, 5), (81, 5)],
)  # fmt: skip


@functools.cache
def plate() -> Target:
    """90 x 20 x 6 mm whose top carries the letters, 1.004 mm wide and 0.5 mm deep, square at the bottom."""
    letters = shapely.union_all([shapely.LineString(stroke).buffer(0.502, quad_segs=32) for stroke in STROKES])
    body = manifold3d.Manifold.cube((90.0, 20.0, 6.0)).translate((-4.0, -5.0, -6.0))
    for part in shapely.get_parts(letters):
        rings = [np.array(r.coords)[:-1] for r in (part.exterior, *part.interiors)]
        area = manifold3d.CrossSection(rings, manifold3d.FillRule.EvenOdd)
        body -= manifold3d.Manifold.extrude(area, 1.5).translate((0.0, 0.0, -0.501))
    return given.one_face(body, "plate")


def checked(text: str) -> Decision[ProgramCheck]:
    """The letters cut into the plate by a ball of 1 mm; nothing is near, as nobody says how it is held."""
    parsed = read_program(text)
    table = CutterTable(cutters={1: ENGRAVER}, gauge_mm={1: GAUGE_MM}, machine=given.machine())
    knows = Control(
        powers_on=REPORT_DEFAULTS, origins_mm={1: ZERO}, lengths_mm={1: GAUGE_MM}, radii_mm={1: 0.5},
        centre_mm=given.CENTRE, zero_after_turning="carried by the control", cutter=0, begins_at_top=True,
    )  # fmt: skip
    frame = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
    fields = Fields.from_box(
        low_mm=np.array([-4.0, -5.0, -6.0]), high_mm=np.array([86.0, 15.0, 0.0]), pitch_mm=PITCH_MM
    )  # fmt: skip
    return decide(
        follow(parsed, knows), fields=fields, target=plate(),
        standing=Standing(frame=frame, zero_mm=ZERO, centre_mm=given.CENTRE, obstacles=()), table=table,
        lines_count=len(parsed.blocks), leftover_counts=False, run=Run(),
    )  # fmt: skip


@pytest.fixture(scope="module")
def letters(outside_data: Path) -> str:
    """c1.ngc for a cutter that has a length: it is called, and the change is made as far above the work as it is long.

    The report's table of cutters has lengths of nothing.
    """
    text = (outside_data / LETTERS).read_text()
    assert "n0010 g21 g0 x0 y0 z50" in text
    assert "t1 m6 m3 f20 s4000" in text
    return text.replace("y0 z50", "y0 z150", 1).replace("m3 f20 s4000", "m3 f20 s4000 g43 h1")


def test_letters_that_others_programmed_are_clean(letters: str) -> None:
    found = checked(letters)
    assert found.value.findings == ()
    assert found.value.faces[0].gouge_mm < 0.002


def test_as_it_was_printed_it_calls_no_length(outside_data: Path) -> None:
    first = checked((outside_data / LETTERS).read_text()).value.findings[0]
    assert (first.kind, first.line, first.is_sure) == ("length", 4, True)


@dataclass(frozen=True)
class Seeded:
    """`find` becomes `put`, and a finding of the `kind` must then come first at the line that begins with `at`."""

    find: str
    put: str
    kind: str
    at: str


SEEDED = (
    Seeded(" g43 h1", "", "length", "n0030"),
    Seeded("n0060 g0 z2", "n0060 g0 z-2", "rapid in metal", "n0060"),
    Seeded("n0100 g0 z2", "n0100 g0", "rapid in metal", "n0110"),
    Seeded("n0090 x 7", "n0090 x 8", "gouge", "n0090"),
    Seeded("n0130 y10", "n0130 y-10", "gouge", "n0130"),
    Seeded("n0040 g1 z-0.5", "n0040 g1 z-5", "gouge", "n0040"),
    Seeded("n0190 g3 x13.5 y0 i-2.5", "n0190 g2 x13.5 y0 i-2.5", "gouge", "n0190"),
    Seeded("n0190 g3 x13.5 y0 i-2.5", "n0190 g3 x13.5 y0 i-2.4", "words", "n0190"),
    Seeded("n0320 g2", "n0320 g18 g2", "words", "n0320"),
    Seeded("n0490 g2 x69 r4", "n0490 g2 x69 r2", "words", "n0490"),
    Seeded("n0490 g2 x69 r4", "n0490 g3 x69 r4", "gouge", "n0490"),
    Seeded("m3 f20", "f20", "spindle", "n0040"),
    Seeded("m3 f20", "m3", "feed", "n0040"),
    Seeded("n0010 g21", "n0010 g20", "over-travel", "n0010"),
    Seeded("t1 m6", "t3 m6", "cutter", "n0030"),
    Seeded("n0600 g1 x81", "n0600 g1 x#81", "not known", "n0600"),
)


@pytest.mark.parametrize("seeded", SEEDED, ids=lambda seeded: seeded.put)
def test_a_fault_seeded_in_it_is_found_at_its_line(letters: str, seeded: Seeded) -> None:
    assert letters.count(seeded.find) == 1
    text = letters.replace(seeded.find, seeded.put)
    lines = text.splitlines()
    found = [(one.kind, lines[one.line - 1].split()[0]) for one in checked(text).value.findings]
    assert found[:1] == [(seeded.kind, seeded.at)], found[:4]


def test_a_program_of_others_without_its_end_is_not_told_to_end(letters: str) -> None:
    ends = {
        text: next(p.verdict for p in checked(text).proofs if p.unit == "yes = 1")
        for text in (letters, letters.replace("n0620 m2", ""))
    }
    assert list(ends.values()) == ["holds", "fails"]


IN = 25.4
SMALL = "nc-programs/rs274-py3-tests"
# worked by hand from their words, in inches: where the tip is at the end of every block that moves it, and each arc by
# its centre in its plane and its turns, against the clock as seen from the end of the third axis
ENDS = {
    "test02": "-1.2 2 3.4",
    "test03": "? ? 2 | 0 0 2 | 1 1 2 | 1 1 1.875 | 1 1.25 1.875 | 1 1.25 1.5 | 1 1.25 2 | "
    "2 1 2 | 2 1 1.875 | 2 1.25 1.875 | 2 1.25 1.5 | 2 1.25 2",
    "test04": "? ? 2 | 0 0 2 | 1 0 1 | 1 1.875 1 | 1 1.875 1.25 | 1 1.5 1.25 | 1 1.5 2 | "
    "2 1.5 1 | 2 1.875 1 | 2 1.875 1.25 | 2 1.5 1.25 | 2 1.5 2",
    "test05": "? ? 2 | 0 0 2 | 0 1 1 | 1.875 1 1 | 1.875 1 1.25 | 1.5 1 1.25 | 1.5 1 2 | "
    "1.5 2 1 | 1.875 2 1 | 1.875 2 1.25 | 1.5 2 1.25 | 1.5 2 2",
    "test07": "? ? 2 | 0 0 2 | 0 1 2 | 1 1 2 | 1 0 2 | 0 0 2",
}
ENDS["test06"] = ENDS["test03"]
ARCS = {
    "test03": ((XY, (1.0, 1.0), -1.0), (XY, (2.0, 1.0), 1.0)),
    "test04": ((ZX, (1.0, 1.0), -1.0), (ZX, (1.0, 2.0), 1.0)),
    "test05": ((YZ, (1.0, 1.0), -1.0), (YZ, (2.0, 1.0), 1.0)),
}
ARCS["test06"] = ARCS["test03"]


@pytest.mark.parametrize("name", ENDS)
def test_small_programs_of_others_come_to_their_end_points(outside_data: Path, name: str) -> None:
    text = (outside_data / SMALL / f"{name}.ngc").read_text()
    course = follow(read_program(text), Control(powers_on=REPORT_DEFAULTS))
    assert (course.notes, course.ended) == ((), True)
    moves = [item for item in course.items if isinstance(item, Motion)]
    wanted = [[None if v == "?" else IN * float(v) for v in point.split()] for point in ENDS[name].split("|")]
    for move, point in zip(moves, wanted, strict=True):
        assert list(move.end) == [None if v is None else pytest.approx(v, abs=1e-9) for v in point]
    arcs = [move.arc for move in moves if move.arc is not None]
    for arc, (plane, centre, turns) in zip(arcs, ARCS.get(name, ()), strict=True):
        assert arc.plane == plane
        assert arc.centre_mm == pytest.approx([IN * v for v in centre])
        assert (arc.radius_mm, arc.turn_rad) == pytest.approx((0.25 * IN, 2.0 * math.pi * turns))


def test_what_stands_behind_the_end_is_not_followed(outside_data: Path) -> None:
    """The one that stops at its second % mark has no word that ends it; nothing behind either is read."""
    course = follow(
        read_program((outside_data / SMALL / "test01.ngc").read_text()), Control(powers_on=REPORT_DEFAULTS)
    )  # fmt: skip
    assert (course.items, course.notes, course.ended) == ((), (), False)


def test_the_work_offset_that_a_program_sets_itself_is_its_own(outside_data: Path) -> None:
    """G10 L2 P1 X10 Y10 puts the first work zero 10 inches along machine X and Y."""
    text = (outside_data / SMALL / "test06.ngc").read_text()
    course = follow(read_program(text), Control(powers_on=REPORT_DEFAULTS, origins_mm={1: (1.0, 2.0, 3.0)}))
    (origin,) = {item.modes.origin_mm for item in course.items if isinstance(item, Motion)}
    assert origin == pytest.approx((10.0 * IN, 10.0 * IN, 3.0))
