"""A job drafted from a bare STEP file: its numbered drawing, and that it plans as it stands."""

from __future__ import annotations

import itertools
import math
import re
import tomllib
from pathlib import Path

import msgspec
import numpy as np
import pytest
from flows.small import JOB, SHOP, plan, write_plate
from shapes import box, cut_box, drilled, solid_of

from proveout.cli import main as door
from proveout.intake.job_file import job_from_text, read_job
from proveout.intake.toml_edit import set_value
from proveout.model.run import Run
from proveout.model.solid import Drawing, Solid
from proveout.model.work import Survey
from proveout.sheets.numbered import NUMBERED_VIEWS, RADIUS_MM, PartViews, numbered_svg, spread_balloons
from proveout.sheets.papers import papers_document
from proveout.sheets.visible import look, seen_faces
from proveout.sheets.writer import Writer
from proveout.solids.drawing import hidden_line_drawing
from proveout.stages import survey


@pytest.fixture(scope="module")
def blind() -> Solid:
    """A block 40 x 30 x 20 with a blind hole from above and a pocket from below that no outside view sees into."""
    shape = drilled(box(40.0, 30.0, 20.0), at=(10.0, 10.0, 21.0), along=(0.0, 0.0, -1.0), dia=6.0, deep=9.0)
    return solid_of(cut_box(shape, (20.0, 5.0, -1.0), (35.0, 25.0, 4.0)))


@pytest.fixture(scope="module")
def numbered(blind: Solid) -> Survey:
    return survey.decide(solid=blind, run=Run()).value


@pytest.fixture(scope="module")
def seen(blind: Solid) -> list[Drawing]:
    return [hidden_line_drawing(blind.brep, view_direction=v.view_direction, up=v.up) for v in NUMBERED_VIEWS]


def _balloons(svg: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r'<circle class="balloon" cx="([\d.]+)" cy="([\d.]+)"', svg)]


def test_every_number_stands_once_and_no_two_balloons_overlap(
    blind: Solid, numbered: Survey, seen: list[Drawing]
) -> None:
    svg = numbered_svg(blind, numbered, drawings=seen)
    wanted = sorted({n.balloon for n in numbered.faces if not n.hole_id} | {h.balloon for h in numbered.holes})
    words = [int(t) for t in re.findall(r">(\d+)</text>", re.sub(r'<text[^>]*class="rim">[^<]*</text>', "", svg))]
    assert sorted(words) == wanted
    centres = _balloons(svg)
    assert len(centres) == len(wanted)
    for a, b in itertools.combinations(centres, 2):
        assert math.dist(a, b) >= 2.0 * RADIUS_MM


def test_only_the_numbers_asked_for_are_drawn(blind: Solid, numbered: Survey, seen: list[Drawing]) -> None:
    """On papers, where a drawing shows what they name, and at the width of the paper."""
    hole = numbered.holes[0].balloon
    svg = numbered_svg(blind, numbered, drawings=seen, only=frozenset({hole}), column_mm=90.0, row_mm=63.0)
    assert len(_balloons(svg)) == 1
    assert f">{hole}</text>" in svg
    assert 'viewBox="0 0 180 ' in svg
    assert all(0.0 <= x <= 180.0 for x, _ in _balloons(svg))


def test_the_papers_draw_the_numbers_that_they_name(blind: Solid, numbered: Survey, seen: list[Drawing]) -> None:
    """The inspection sheet names the hole: the page of numbers shows its balloon, and the table tells it in words."""
    from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]
    from fixture_shop import example_shop  # pyright: ignore[reportMissingImports]

    plan = example_plan()
    hole = numbered.holes[0].balloon
    line = msgspec.structs.replace(plan.inspection[0], balloon=hole)
    named = msgspec.structs.replace(plan, survey=numbered, inspection=(line,), passes=(), not_cut=(), proofs=())
    views = PartViews(solid=blind, drawings=tuple(seen))
    writer = Writer(plan=named, shop=example_shop(), drawings={}, fingerprint="", views=views)
    drawn, listed = [p for p in papers_document(writer)["pages"] if p["sheet"] == "Faces and holes by number"]
    assert re.findall(r">(\d+)</text>", drawn["blocks"][0]["pictures"][0]["svg"])[-1] == str(hole)
    assert [row[0]["text"] for row in listed["blocks"][0]["rows"]] == [f"hole {hole}"]


def test_same_solid_same_drawing(blind: Solid, numbered: Survey, seen: list[Drawing]) -> None:
    assert numbered_svg(blind, numbered, drawings=seen) == numbered_svg(blind, numbered, drawings=tuple(seen))


def test_a_view_sees_the_faces_that_look_at_it_and_no_others(blind: Solid) -> None:
    """worked: from above the top and the bottom of the hole; from below the underside and the floor of the pocket."""
    above = seen_faces(blind, look(blind, view_direction=(0.0, 0.0, -1.0), up=(0.0, 1.0, 0.0)))
    heights = sorted(round(blind.faces[i].centroid_mm[2], 6) for i in above)
    assert heights == [12.0, 20.0]
    below = seen_faces(blind, look(blind, view_direction=(0.0, 0.0, 1.0), up=(0.0, 1.0, 0.0)))
    assert sorted(round(blind.faces[i].centroid_mm[2], 6) for i in below) == [0.0, 4.0]
    floor = next(s for i, s in below.items() if blind.faces[i].centroid_mm[2] > 3.0)
    # the page's x runs along -x of the part when it is seen from below; the roomiest circle of 15 x 20 has radius 7.5
    assert floor.room_mm == pytest.approx(7.5, abs=0.1)
    assert -floor.at_mm[0] == pytest.approx(27.5, abs=0.1)


def test_a_wall_behind_another_is_not_seen(blind: Solid) -> None:
    """The far wall of the pocket looks the same way as the block's right side, which stands before it."""
    right = seen_faces(blind, look(blind, view_direction=(-1.0, 0.0, 0.0), up=(0.0, 0.0, 1.0)))
    assert [round(blind.faces[i].centroid_mm[0], 6) for i in right] == [40.0]


def test_a_point_behind_metal_does_not_show(blind: Solid) -> None:
    sight = look(blind, view_direction=(0.0, 0.0, -1.0), up=(0.0, 1.0, 0.0))
    assert sight.shows((10.0, 10.0, 12.0), hair_mm=0.01)
    assert sight.shows((5.0, 5.0, 20.0), hair_mm=0.01)
    assert not sight.shows((27.0, 15.0, 4.0), hair_mm=0.01)


def test_many_balloons_are_pushed_apart_in_the_order_of_their_ends() -> None:
    """Thirty ends in one corner of a box."""
    rng = np.random.default_rng(4)
    ends = {n: rng.uniform((10.0, 10.0), (25.0, 20.0)) for n in range(30)}
    centres = spread_balloons(ends, np.array([[0.0, 0.0], [110.0, 90.0]]))
    assert set(centres) == set(ends)
    for a, b in itertools.combinations(centres.values(), 2):
        assert float(np.linalg.norm(a - b)) >= 2.0 * RADIUS_MM
    for centre in centres.values():
        assert not (0.0 <= centre[0] <= 110.0 and 0.0 <= centre[1] <= 90.0)


def test_a_drafted_job_is_planned_as_it_stands_and_its_comments_survive_an_edit(
    tmp_path: Path, store: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    step = write_plate(tmp_path / "plate.step")
    assert door.main(["new-job", str(step)]) == 0
    said = capsys.readouterr().out
    job = tmp_path / "plate.toml"
    assert f"Written: {job} and its numbered drawing {tmp_path / 'plate.svg'}" in said
    text = job.read_text(encoding="utf-8")
    numbers = {int(n) for n in tomllib.loads(text)["balloons"]}
    assert len(_balloons((tmp_path / "plate.svg").read_text(encoding="utf-8"))) == len(numbers)
    assert read_job(job).sizes == ()
    outcome = plan(job, tmp_path / "out", shop=SHOP, store=store)
    assert outcome.parts[0].plan.part.quantity == 100
    assert outcome.parts[0].plan.clampings
    edited = set_value(text, ("sizes", "1"), "H11")
    comments = [line.partition("#")[2] for line in text.splitlines()]
    assert [line.partition("#")[2] for line in edited.splitlines()] == comments
    job.write_text(edited, encoding="utf-8")
    assert [(s.balloon, s.text) for s in read_job(job).sizes] == [(1, "H11")]


def test_a_size_at_a_hole_is_tied_to_its_number_and_one_at_a_face_to_the_face() -> None:
    hole, face = "hole +z dia 6.600 at 8.000,20.000,12.900", "plane +z 12.900"
    job = job_from_text(f'{JOB}1 = "6.6 H13"\n2 = "12.9 ±0.05"\n[balloons]\n1 = "{hole}"\n2 = "{face}"\n')
    assert {size.balloon: size.face_ids for size in job.sizes} == {1: (), 2: (face,)}


def test_sizes_typed_at_a_hole_and_a_face_of_a_draft_are_planned_and_inspected(tmp_path: Path, store: Path) -> None:
    """Worked: 6.6 H13 is 6.600 to 6.820; 12.9 ±0.05 is 12.850 to 12.950. The numbers are not those of the survey."""
    step = write_plate(tmp_path / "plate.step")
    assert door.main(["new-job", str(step)]) == 0
    job = tmp_path / "plate.toml"
    text = job.read_text(encoding="utf-8")
    balloons = tomllib.loads(text)["balloons"]
    hole = next(n for n, id in balloons.items() if id.startswith("hole "))
    face = next(n for n, id in balloons.items() if id.startswith("plane +z 12.9"))
    text = re.sub(rf"(?m)^{hole} =", "71 =", text)  # as if the solid had been numbered otherwise when it was drafted
    text = set_value(set_value(text, ("sizes", "71"), "H13"), ("sizes", face), "12.9 ±0.05")
    job.write_text(text, encoding="utf-8")
    found = plan(job, tmp_path / "out", shop=SHOP, store=store).parts[0].plan
    assert not [p.id for p in found.proofs if p.id.endswith("size-is-understood")]
    windows = {w.balloon: (w.kind, w.finished_low_mm, w.finished_high_mm) for w in found.finishing.windows}
    assert windows == {71: ("hole", 6.6, 6.82), int(face): ("length", 12.85, 12.95)}
    assert [(line.balloon, line.text) for line in found.inspection] == [(int(face), "12.9 ±0.05"), (71, "H13")]
    assert {h.balloon for h in found.survey.holes} == {71, 3 - int(hole)}


def test_a_job_or_drawing_that_is_there_is_not_touched(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    step = write_plate(tmp_path / "plate.step")
    for name in ("plate.toml", "plate.svg"):
        (tmp_path / name).write_text("mine")
        assert door.main(["new-job", str(step)]) == 2
        assert "there already" in capsys.readouterr().err
        assert (tmp_path / name).read_text() == "mine"
        (tmp_path / name).unlink()
        assert [p.name for p in tmp_path.iterdir()] == ["plate.step"]
