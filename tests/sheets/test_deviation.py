"""The picture of what was left and cut too deep says what the check found, face by face."""

from __future__ import annotations

import json
import re
from itertools import pairwise
from pathlib import Path

import foreign_program as given
import msgspec
import numpy as np
import pytest
from shapes import box, cut_box, solid_of, target_of

from proveout.jobs.check_program import Checked, Finished, write_check
from proveout.model.run import Run
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.running import follow
from proveout.removal.fields import Fields
from proveout.sheets.deviation import ACCENT, hatch_lines, label_places
from proveout.sheets.visible import look
from proveout.stages import survey
from proveout.stages.removal_check.program import decide

# 60 x 40 x 20 with a pocket 8 mm deep, on a blank 1 mm higher; the pocket's floor is cut 0.3 mm too deep by line 7
PROGRAM = """G21 G17 G40 G49 G80 G90 G94 G54
G53 G0 Z0
T2 M6
S6000 M3
G0 X20 Y15 G43 H2 Z20
G1 Z-8 F300
G1 X40 Z-8.3
G1 Y25 Z-8
G1 X20
G1 Y15
G0 Z20
G53 G0 Z0
M30
"""


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that a check of the program above is written into."""
    solid = solid_of(cut_box(box(60, 40, 20), (15, 10, 12), (45, 30, 21)))
    target = target_of(solid)
    stands = msgspec.structs.replace(given.standing(), obstacles=())
    course = follow(read_program(PROGRAM), given.control())
    fields = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([60.0, 40.0, 21.0]), pitch_mm=0.4)
    decided = decide(course, fields=fields, target=target, standing=stands, table=given.table(), lines_count=13,
                     run=Run())  # fmt: skip
    numbered = survey.decide(solid=solid, run=Run()).value
    checked = Checked(
        program=Path("pocket.nc"), fingerprint="0", check=decided.value, proofs=decided.proofs, course=course,
        finished=Finished(target=target, solid=solid, survey=numbered), fields=fields, taken=(),
    )  # fmt: skip
    out = tmp_path_factory.mktemp("picture") / "out"
    write_check(out, checked)
    return out


def test_the_numbers_of_the_picture_are_those_of_the_check(written: Path) -> None:
    faces = json.loads((written / "check.json").read_text())["check"]["faces"]
    page = (written / "deviation.html").read_text(encoding="utf-8")
    rows = re.findall(r'<tr><th scope="row">(.*?)</th><td>.*?</td><td class="n">\+?(.*?)</td><td class="n">\u2212?(.*?)'
                      r'</td><td class="n">(.*?)</td></tr>', page)  # fmt: skip
    told = sorted((float(left), float(gouge), line) for _, left, gouge, line in rows)
    line_of = {None: ""}
    assert told == sorted(
        (round(f["leftover_mm"], 3), round(f["gouge_mm"], 3), line_of.get(f["gouge_line"], str(f["gouge_line"])))
        for f in faces
    )
    floor = max(faces, key=lambda f: f["gouge_mm"])
    assert floor["gouge_mm"] == pytest.approx(0.3, abs=0.01)
    assert floor["gouge_line"] in (7, 8)
    # beside the views: the gouged floor below zero and no other, the top above
    labels = re.findall(r">(\d+): ([^<]*) mm</text>", page)
    shown = [value for _, value in labels]
    wanted = [f"\u2212{f['gouge_mm']:.3f}" for f in faces if f["gouge_mm"] > 0.01]
    wanted += [f"+{f['leftover_mm']:.3f}" for f in faces if f["leftover_mm"] > 0.05 and f["gouge_mm"] <= 0.01]
    assert sorted(set(shown)) == sorted(set(wanted))
    assert len(wanted) >= 2


def test_a_gouged_face_is_cross_hatched_and_one_with_metal_left_hatched_once(written: Path) -> None:
    page = (written / "deviation.html").read_text(encoding="utf-8")
    assert ACCENT in re.sub("<style>.*?</style>", "", page, flags=re.DOTALL)
    faces = json.loads((written / "check.json").read_text())["check"]["faces"]
    gouged, left = sum(f["gouge_mm"] > 0.01 for f in faces), sum(f["leftover_mm"] > 0.05 for f in faces)
    assert 0 < gouged < len(faces)
    assert f"{gouged} faces are cross-hatched as gouged, {left} hatched as left over" in page


@pytest.mark.parametrize("slope", [1, -1])
def test_strokes_stay_on_their_face_and_run_its_whole_length(slope: int) -> None:
    """Worked: seen from above the top of a block 60 x 40 is a rectangle; a stroke at 45 degrees is no longer than the
    shorter side times the square root of two, and the longest of them is that long."""
    solid = solid_of(box(60, 40, 20))
    sight = look(solid, view_direction=(0.0, 0.0, -1.0), up=(0.0, 1.0, 0.0))
    top = next(i for i in range(len(solid.faces)) if (sight.owner == i).any())
    lines = hatch_lines(sight, top, step_mm=3.0, slope=slope)
    ends = np.array(lines)
    assert (ends >= -0.01).all()
    assert (ends[..., 0] <= 60.01).all()
    assert (ends[..., 1] <= 40.01).all()
    steps = ends[:, 1] - ends[:, 0]
    assert np.allclose(steps[:, 0], slope * steps[:, 1])
    assert float(np.linalg.norm(steps, axis=1).max()) == pytest.approx(40.0 * np.sqrt(2.0), abs=0.3)
    assert len(lines) == pytest.approx(100.0 / (3.0 * np.sqrt(2.0)), abs=1.5)


def test_labels_do_not_lie_on_one_another() -> None:
    ends = {i: np.array([10.0 + 0.1 * i, 20.0 + 0.3 * i]) for i in range(14)}
    places = label_places(ends, np.array([[5.0, 10.0], [95.0, 45.0]]))
    for x in {float(p[0]) for p in places.values()}:
        heights = sorted(float(p[1]) for p in places.values() if float(p[0]) == x)
        assert all(b - a > 5.0 for a, b in pairwise(heights))
