"""Drawings of a plan that lies in its folder: of the right solid or none, made once, found again."""

# pyright: reportMissingImports=false
# (the fixtures of the sheets are found by a path that is set here)
from __future__ import annotations

import sys
import threading
import time
from pathlib import Path

import msgspec
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "sheets"))

import fixture_plan
from flows.small import write_plate

from proveout.intake.step import read_solid
from proveout.jobs import plan_drawings
from proveout.jobs.plan_drawings import Drawable, Drawer, PlanDrawings
from proveout.jobs.store import Store, code_digest
from proveout.model.plan import Plan
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.route_picture import ALONE


def example() -> Plan:
    return fixture_plan.example_plan()


@pytest.fixture
def step(tmp_path: Path) -> Path:
    path = tmp_path / "part.step"
    path.write_text("ISO-10303-21;\n", encoding="ascii")
    return path


def counted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Every making of drawings, by what was needed, in place of the kernel."""
    made: list[str] = []

    def draw(*, need: str, run: object, **_: object) -> PlanDrawings:
        assert run is not None
        made.append(need)
        return PlanDrawings(by_name={need: ClampingDrawings()})

    monkeypatch.setattr(plan_drawings, "_draw", draw)
    return made


def test_each_part_is_made_once_and_found_by_the_next_run(
    tmp_path: Path, step: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made, what = counted(monkeypatch), Drawable(example(), step, "")
    first = Drawer(Store(tmp_path / "store"))
    both = first.drawn(what, ("lying", "wrong"), is_waiting=True)
    assert set(both.by_name) == {"lying", "wrong"}
    assert not both.is_coming
    assert first.drawn(what, ("lying",)).by_name.keys() == {"lying"}
    again = Drawer(Store(tmp_path / "store"))
    assert again.drawn(what, ("lying", "wrong")).by_name.keys() == {"lying", "wrong"}
    assert made == ["lying", "wrong"]


def test_a_store_that_keeps_nothing_draws_once_a_run_too(step: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made, what = counted(monkeypatch), Drawable(example(), step, "")
    drawer = Drawer(Store(None))
    for _ in range(3):
        assert drawer.drawn(what, ("lying",), is_waiting=True).by_name
    assert made == ["lying"]


def test_another_file_and_another_lie_are_drawn_anew(
    tmp_path: Path, step: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made, plan = counted(monkeypatch), example()
    drawer = Drawer(Store(tmp_path / "store"))
    drawer.drawn(Drawable(plan, step, ""), ("lying",), is_waiting=True)
    turned = msgspec.structs.replace(plan, clampings=plan.clampings[:2])
    drawer.drawn(Drawable(turned, step, ""), ("lying",), is_waiting=True)
    step.write_text("ISO-10303-21; \n", encoding="ascii")
    drawer.drawn(Drawable(plan, step, ""), ("lying",), is_waiting=True)
    assert made == ["lying"] * 3


def test_what_cannot_be_drawn_says_why(tmp_path: Path, step: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan_drawings, "WAIT_S", 300.0)
    drawer = Drawer(Store(tmp_path / "store"))
    gone = drawer.drawn(Drawable(example(), tmp_path / "gone.step", ""), ("lying",), is_waiting=True)
    assert "not in the result folder" in gone.why_not
    broken = drawer.drawn(Drawable(example(), step, ""), ("lying",), is_waiting=True)
    assert broken.why_not.startswith("The STEP file cannot be drawn: ")
    assert broken.by_name == {}
    assert not broken.is_coming


def test_a_real_part_is_drawn_and_another_solid_is_not(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A plate of which no clamping is known lies as on a bench; of a plan of something else nothing is drawn."""
    monkeypatch.setattr(plan_drawings, "WAIT_S", 300.0)
    step = write_plate(tmp_path / "part.step")
    solid = read_solid(step).solid
    plan = msgspec.structs.replace(example(), clampings=(), passes=(), loading=())
    own = msgspec.structs.replace(plan, part=msgspec.structs.replace(plan.part, solid_digest=solid.digest))
    drawer = Drawer(Store(tmp_path / "store"))
    drawn = drawer.drawn(Drawable(own, step, ""), ("lying",), is_waiting=True)
    assert drawn.why_not == ""
    operator = drawn.by_name[ALONE].operator
    assert operator is not None
    assert len(operator.visible_mm) >= 9
    other = drawer.drawn(Drawable(plan, step, ""), ("lying",), is_waiting=True)
    assert "holds another solid" in other.why_not
    assert other.by_name == {}


def test_drawings_that_nobody_looks_at_are_let_go_and_made_again(step: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made, plan = counted(monkeypatch), example()
    monkeypatch.setattr(plan_drawings, "HELD_COUNT", 2)
    drawer = Drawer(Store(None))
    for need in ("lying", "wrong", "sides", "lying", "sides"):
        assert drawer.drawn(Drawable(plan, step, ""), (need,), is_waiting=True).by_name
        assert len(drawer._found) <= 2
    assert made == ["lying", "wrong", "sides", "lying"]


def test_what_was_asked_for_last_is_drawn_first_and_no_queue_grows(step: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty plans are opened while one is drawn: the newest is next, the oldest wait until asked for again."""
    begun, go, made = threading.Event(), threading.Event(), []

    def draw(*, solid_name: str, **_: object) -> PlanDrawings:
        begun.set()
        assert go.wait(10.0)
        made.append(solid_name)
        return PlanDrawings(by_name={solid_name: ClampingDrawings()})

    monkeypatch.setattr(plan_drawings, "_draw", draw)
    drawer, plan = Drawer(Store(None)), example()
    drawer.drawn(Drawable(plan, step, "0"), ("lying",))
    assert begun.wait(10.0)
    for number in range(1, 21):
        assert drawer.drawn(Drawable(plan, step, str(number)), ("lying",)).is_coming
    assert len(drawer._wanted) == plan_drawings.WANTED_MOST
    assert sum(thread.name == "drawing" for thread in threading.enumerate()) == 1
    go.set()
    assert drawer.drawn(Drawable(plan, step, "10"), ("lying",), is_waiting=True).by_name
    assert made[:3] == ["0", "10", "20"] or made[:3] == ["0", "20", "19"]
    assert drawer.drawn(Drawable(plan, step, "1"), ("lying",), is_waiting=True).by_name


def test_nobody_waits_for_drawings_for_ever(step: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    go = threading.Event()

    def draw(**_: object) -> PlanDrawings:
        go.wait(10.0)
        return PlanDrawings()

    monkeypatch.setattr(plan_drawings, "_draw", draw)
    monkeypatch.setattr(plan_drawings, "WAIT_S", 0.5)
    code_digest()  # which takes longer the first time
    begin = time.monotonic()
    assert Drawer(Store(None)).drawn(Drawable(example(), step, ""), ("lying", "sides"), is_waiting=True).is_coming
    assert time.monotonic() - begin < 5.0
    monkeypatch.setattr(plan_drawings, "WAIT_S", 60.0)
    monkeypatch.setattr(plan_drawings, "WAITERS_MOST", 0)
    assert Drawer(Store(None)).drawn(Drawable(example(), step, ""), ("lying", "sides"), is_waiting=True).is_coming
    assert time.monotonic() - begin < 5.0, "as many wait as may"
    go.set()
