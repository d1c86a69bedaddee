"""The days that a plan's work was scheduled for come onto the papers of a released batch while they are to come."""

# pyright: reportMissingImports=false
# (the fixtures of the sheets are found by a path that is set by runnable_home)
from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import msgspec
import pytest
from fixture_shop import example_shop
from runnable_home import MARA, drawer, fixture_plan, runnable_home, with_quick_papers

from proveout.jobs.days_kept import DAYS, days_bytes, days_kept
from proveout.jobs.packets import packet_folder
from proveout.jobs.place import Place
from proveout.jobs.releasing import ask, release, waive
from proveout.jobs.writing import fingerprint_of
from proveout.model.schedule import ScheduledStep
from proveout.records.records import Records


@pytest.fixture
def records(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Records]:
    monkeypatch.setattr(Place, "shop", property(lambda _: example_shop()))
    with Records(str(tmp_path / "records.sqlite"), asks_for_plans=True) as made:
        yield made


def step(day: str, part: str = "EX-102") -> ScheduledStep:
    return ScheduledStep(
        id=f"{part} hard-coat 1", kind="away", parts=(part,), what="black hard coat", station="hard-coat", lot=0,
        pieces_count=150, begin_s=0.0, end_s=1.0, setup_s=0.0, people_ratio=0.0, day=day, end_day="2026-03-20",
        into_shift="0:00",
    )  # fmt: skip


def test_days_are_told_until_the_first_of_them_is_past(tmp_path: Path) -> None:
    (tmp_path / DAYS).write_bytes(days_bytes([step("2026-03-12"), step("2026-03-10")], plan="abc"))
    assert len(days_kept(tmp_path, plan="abc", part="EX-102", today=date(2026, 3, 10))) == 2
    assert days_kept(tmp_path, plan="abc", part="EX-102", today=date(2026, 3, 11)) == ()


def test_days_of_another_plan_or_part_and_broken_ones_are_not_told(tmp_path: Path) -> None:
    assert days_kept(tmp_path, plan="abc", part="EX-102", today=date(2026, 3, 1)) == ()
    (tmp_path / DAYS).write_bytes(days_bytes([step("2026-03-12")], plan="abc"))
    assert days_kept(tmp_path, plan="abd", part="EX-102", today=date(2026, 3, 1)) == ()
    assert days_kept(tmp_path, plan="abc", part="EX-103", today=date(2026, 3, 1)) == ()
    for broken in (b"", b"{", b'{"plan": "abc", "steps": [{}]}', days_bytes([step("soon")], plan="abc")):
        (tmp_path / DAYS).write_bytes(broken)
        assert days_kept(tmp_path, plan="abc", part="EX-102", today=date(2026, 3, 1)) == ()


@pytest.mark.parametrize(("today", "told"), [(date(2026, 3, 1), 1), (date(2026, 3, 11), 0)])
def test_the_papers_of_a_packet_carry_them(
    tmp_path: Path, records: Records, monkeypatch: pytest.MonkeyPatch, today: date, told: int
) -> None:
    with_quick_papers(monkeypatch)
    asked_of: list[dict[str, Any]] = []

    def papers(**given: Any) -> bytes:
        asked_of.append(given)
        return b"%PDF-1.7 papers"

    monkeypatch.setattr("proveout.sheets.papers.papers_pdf", papers)
    home = runnable_home(tmp_path, fixture_plan.example_plan(ready=True))
    place = home.place("jaw")
    (place.folder / DAYS).write_bytes(days_bytes([step("2026-03-10")], plan=fingerprint_of(place.plan)))
    count = place.plan.part.quantity
    for one in ask(home, records, "jaw", batch="B-1", wanted_count=count, signed=MARA).unwaived:
        waive(records, batch="B-1", proof_id=one.id, reason="looked at and agreed with the designer", signed=MARA)
    release(home, records, drawer(), batch="B-1", signed=MARA, today=today)
    assert [given["is_of_floor"] for given in asked_of] == [False, True]
    assert [len(given["schedule"]) for given in asked_of] == [told, told]
    assert (packet_folder(home, "B-1") / DAYS).is_file() == bool(told)
    assert msgspec.json.decode((place.folder / DAYS).read_bytes())["steps"][0]["day"] == "2026-03-10"
