"""What has changed since a batch was released, before it is made once more."""

from __future__ import annotations

from pathlib import Path

import pytest
import runnable_home

from proveout.cli.main import main
from proveout.jobs.home import Home
from proveout.jobs.running_again import differences, run_again
from proveout.jobs.signed import Signed
from proveout.model.fact import Fact
from proveout.model.shop_events import ValueAccepted
from proveout.model.stock_events import EdgeChanged
from proveout.quantities.errors import Refused
from proveout.records.records import Records


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Home:
    """A home with one batch released, and its records beside the plans."""
    runnable_home.with_quick_papers(monkeypatch)
    monkeypatch.delenv("PROVEOUT_RECORDS", raising=False)
    found = runnable_home.runnable_home(tmp_path, runnable_home.ready_plan())
    with Records(str(found.plans / "records.sqlite"), asks_for_plans=True) as records:
        runnable_home.released(found, records)
    return found


def test_files_are_told_apart_by_key_and_rows_by_their_ids() -> None:
    was = {"a": 1, "jaws": [{"id": "x", "grip_mm": 3.0}, {"id": "y"}], "gone": {"b": 2}}
    now = {"a": 1, "jaws": [{"id": "y"}, {"id": "x", "grip_mm": {"low": 2, "nominal": 3, "high": 4}}], "new": [1]}
    assert list(differences(was, now)) == [
        ("jaws.x.grip_mm", "3.0", "3 (2 to 4)"), ("gone", "a section", "nothing"), ("new", "nothing", "[1]")
    ]  # fmt: skip


def test_where_nothing_changed_it_may_run_as_it_is(home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["again", "B-1", "--home", str(home.root)]) == 0
    said = capsys.readouterr().out
    assert "The solid is the same." in said
    assert "Nothing that it was planned from has changed." in said


def test_changed_keys_edges_and_accepted_numbers_are_named(home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    text = home.shop_path.read_text(encoding="utf-8")
    home.shop_path.write_text(text.replace("cutter_change_s = 5", "cutter_change_s = 9", 1), encoding="utf-8")
    with Records(str(home.plans / "records.sqlite")) as records:
        use = home.place("jaw").plan.cutter_uses
        say = Signed(person="mara")
        for one in use[:1]:
            records.post(say.says(EdgeChanged(machine=one.machine_id, cutter=one.cutter_id, life_s=1.0)))
        now = Fact(low=0.01, nominal=0.02, high=0.03, unit="ratio", source="batch B-1", strength="measured here")
        records.post(
            say.says(ValueAccepted(shop="x", key="scrap", was=None, now=now, batches=("B-1",), pieces_count=1))
        )
        told = run_again(home, records, "B-1")
    assert [(one.key, one.was, one.now) for one in told.keys] == [("machine.mill-5.cutter_change_s", "5", "9")]
    assert told.learned == ("scrap",)
    assert not told.may_run_as_is
    assert told.is_same_solid
    assert [one.is_enough for one in told.edges[:1]] == [False] * len(use[:1])
    assert all(one.is_enough is None for one in told.edges[1:])
    assert main(["again", "B-1", "--home", str(home.root)]) == 3
    assert "Plan it again" in capsys.readouterr().out


def test_a_packet_that_was_touched_is_refused(home: Home) -> None:
    paper = home.plans / "packets" / "B-1" / "papers.pdf"
    paper.chmod(0o644)
    paper.write_bytes(b"other")
    with Records(str(home.plans / "records.sqlite")) as records, pytest.raises(Refused):
        run_again(home, records, "B-1")
