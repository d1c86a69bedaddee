"""A release that is killed at any step blocks no name, releases nothing, and is told."""

# pyright: reportMissingImports=false
from __future__ import annotations

import os
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from example_home import fixture_shop
from runnable_home import MARA, drawer, ready_plan, runnable_home, with_quick_papers

from proveout.jobs import left_packets, packets, releasing
from proveout.jobs.home import Home
from proveout.jobs.left_packets import LEFT, left_lying, set_aside_of
from proveout.jobs.packets import packet_folder
from proveout.jobs.place import Place
from proveout.jobs.plan_drawings import PlanDrawings
from proveout.jobs.releasing import ask, batch_of, packet_place, release
from proveout.jobs.results import PACKETS
from proveout.model.batch_events import Released
from proveout.model.events import Event
from proveout.quantities.errors import BadInput, Busy, Refused
from proveout.records.records import Records

Steps = dict[str, tuple[Any, str, bool]]
STEPS: Steps = {
    "while files are copied": (packets.shutil, "copyfile", False),
    "before the manifest": (packets, "Manifest", False),
    "once all is read-only, beside": (Path, "replace", False),
    "once the packet lies there": (Records, "post", False),
    "once the event is written": (Records, "post", True),
}
"""Where somebody pulls the plug: in whose name, and whether after it was done."""


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    with_quick_papers(monkeypatch)
    monkeypatch.setattr(Place, "shop", property(lambda _: fixture_shop.example_shop()))


@pytest.fixture
def home(tmp_path: Path) -> Home:
    made = runnable_home(tmp_path, ready_plan())
    with opened(made) as records:
        ask(made, records, "jaw", batch="B-1", wanted_count=150, signed=MARA)
    return made


def opened(home: Home) -> Records:
    return Records(str(home.plans / "records.sqlite"), asks_for_plans=True)


@pytest.fixture
def killed(home: Home) -> Callable[..., None]:
    """Releases the batch in a child that is killed at a step."""

    def run(owner: Any, name: str, *, is_after: bool) -> None:
        child = os.fork()
        if child == 0:  # whatever happens in it, it never comes back into the test
            try:
                right = getattr(owner, name)

                def plug(*given: Any, **named: Any) -> Any:
                    if name == "post" and not isinstance(next(o for o in given if isinstance(o, Event)).of, Released):
                        return right(*given, **named)
                    if is_after:
                        right(*given, **named)
                    return os.kill(os.getpid(), signal.SIGKILL)

                setattr(owner, name, plug)
                with opened(home) as records:
                    release(home, records, drawer(), batch="B-1", signed=MARA)
            finally:
                os._exit(1)
        assert os.WTERMSIG(os.waitpid(child, 0)[1]) == signal.SIGKILL

    return run


@pytest.mark.parametrize("step", STEPS)
def test_a_release_that_is_killed_at_any_step_can_be_done_again(
    home: Home, killed: Callable[..., None], step: str
) -> None:
    owner, name, is_after = STEPS[step]
    killed(owner, name, is_after=is_after)
    with opened(home) as records:
        found = batch_of(records, "B-1")
        assert found.is_released is is_after
        if is_after:
            assert packet_place(home, found).plan
            with pytest.raises(Refused, match="released already"):
                release(home, records, drawer(), batch="B-1", signed=MARA)
        else:
            lay = step == "once the packet lies there"
            assert (left_lying(home, found) is not None) is lay
            found = release(home, records, drawer(), batch="B-1", signed=MARA)
            assert found.is_released
            assert [path.name for path in set_aside_of(home, "B-1")] == (["B-1@1"] if lay else [])
        assert left_lying(home, found) is None
        assert packet_place(home, found).plan
    beside = {path.name for path in (home.plans / PACKETS).iterdir()} - {".lock", LEFT}
    assert beside == {"B-1"}


def test_it_is_killed_time_and_again_also_while_it_sets_aside(home: Home, killed: Callable[..., None]) -> None:
    for _ in range(2):
        killed(Records, "post", is_after=False)
    killed(left_packets, "_move", is_after=True)
    killed(releasing, "freeze", is_after=False)
    with opened(home) as records:
        found = release(home, records, drawer(), batch="B-1", signed=MARA)
        assert packet_place(home, found).plan
    assert [path.name for path in set_aside_of(home, "B-1")] == ["B-1@1", "B-1@2"]
    assert set_aside_of(home, "B") == ()


def test_a_packet_that_was_released_meanwhile_is_put_back(
    home: Home, killed: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The database kept the event, though it was not there to be read: then its packet is the one that lay there."""
    killed(Records, "post", is_after=False)
    before = (packet_folder(home, "B-1") / "manifest.json").stat().st_ino

    def refused(*_: object, **__: object) -> None:
        raise Refused("This batch is released already")

    with opened(home) as records:
        monkeypatch.setattr(records, "post", refused)
        with pytest.raises(Refused):
            release(home, records, drawer(), batch="B-1", signed=MARA)
    assert (packet_folder(home, "B-1") / "manifest.json").stat().st_ino == before
    assert set_aside_of(home, "B-1") == ()


def test_a_packet_of_another_batch_is_left_where_it_is(home: Home, killed: Callable[..., None]) -> None:
    """A disk that takes B-1 and b-1 for the same shows another's packet under the name."""
    killed(Records, "post", is_after=False)
    lying = packet_folder(home, "B-1")
    with opened(home) as records:
        found = batch_of(records, "B-1")
        assert left_lying(home, found) == lying
        path = lying / "manifest.json"
        path.chmod(0o644)
        path.write_text(path.read_text().replace('"B-1"', '"b-1"'))
        assert left_lying(home, found) is None
        with pytest.raises(BadInput, match="a packet of this batch already"):
            release(home, records, drawer(), batch="B-1", signed=MARA)
    assert lying.is_dir()


@pytest.mark.parametrize(
    ("name", "says"),
    [("CON", "for a device"), ("nul.7", "for a device"), ("Lpt1", "for a device"), ("b-1", "large and small letters")],
)
def test_a_batch_is_asked_for_by_a_name_that_every_system_keeps(home: Home, name: str, says: str) -> None:
    with opened(home) as records, pytest.raises(BadInput, match=says):
        ask(home, records, "jaw", batch=name, wanted_count=150, signed=MARA)


def test_no_packet_is_frozen_while_its_drawings_are_being_made(home: Home) -> None:
    """On a busy machine: papers without maps and numbers would lie read-only in the packet for good."""
    busy = drawer()
    waited: list[float] = []

    def coming(*_: Any, wait_s: float, **__: Any) -> PlanDrawings:
        waited.append(wait_s)
        return PlanDrawings(is_coming=True)

    busy.drawn = coming  # type: ignore[method-assign] - a desk too busy to draw
    with opened(home) as records:
        with pytest.raises(Busy, match=r"still being made.*release again in a minute: nothing was written"):
            release(home, records, busy, batch="B-1", signed=MARA)
        found = batch_of(records, "B-1")
        assert not found.is_released
        assert left_lying(home, found) is None
        assert waited == [releasing.DRAWN_WITHIN_S]
        assert release(home, records, drawer(), batch="B-1", signed=MARA).is_released
