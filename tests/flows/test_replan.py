"""An order after a bad morning: what is begun stays, the rest moves as little as it must, and says why."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from flows.ordered import part_of
from flows.small import SHOP, write_job

from proveout.intake.job_file import read_job
from proveout.intake.shop_file import read_shop
from proveout.jobs.replanning import replan_order
from proveout.model.fact import exact_fact
from proveout.model.order import OrderedPart
from proveout.model.schedule import OrderSchedule, Replanned, Trouble
from proveout.model.shop import Shop
from proveout.quantities.errors import BadInput
from proveout.sheets.dates_ics import replanned_dates
from proveout.sheets.schedule_csv import moved_csv
from proveout.stages.schedule.decide import decide
from proveout.stages.schedule.replan import replan

DAY_S = 8 * 3600.0


@pytest.fixture(scope="module")
def shop() -> Shop:
    return msgspec.structs.replace(read_shop(SHOP), scrap_ratio=exact_fact(0.0, "ratio", "x", "assumed"))


@pytest.fixture(scope="module")
def part(tmp_path_factory: pytest.TempPathFactory) -> OrderedPart:
    """worked: 48 pieces of 31 min at 4 thirds are 1984 min in lots, setting up 60: the mill ends in day 5."""
    from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]

    found = example_plan()
    level = msgspec.structs.replace(found.clampings[0].tilts[0], a_rad=0.0)
    alone = msgspec.structs.replace(found.clampings[0], machine_id="mill-3", tilts=(level,))
    plain = msgspec.structs.replace(found, clampings=(alone,), table_loads=(), table_options=(), finish_orders=())
    job = read_job(write_job(tmp_path_factory.mktemp("ordered")))
    return part_of((plain, job), pieces=48, sawn=48, minutes=30.0, due="2026-02-16", coat=True)


@pytest.fixture(scope="module")
def schedule(part: OrderedPart, shop: Shop) -> OrderSchedule:
    found = decide(parts=[part], shop=shop).schedule
    assert found is not None
    return found


def after(part: OrderedPart, shop: Shop, schedule: OrderSchedule, **trouble: object) -> Replanned:
    happened = msgspec.convert({"at": "2026-01-07", **trouble}, Trouble)
    return replan(parts=[part], shop=shop, start="2026-01-05", schedule=schedule, trouble=happened)


def test_nothing_happened_moves_nothing(part: OrderedPart, shop: Shop, schedule: OrderSchedule) -> None:
    found = after(part, shop, schedule)
    assert (found.moved, found.moved_s, found.done, found.faults) == ((), 0.0, schedule.done, ())
    assert found.notes[0] == f"Done {schedule.done}, as before, in time"
    assert found.steps == schedule.steps


def test_a_mill_that_stands_stretches_what_lies_in_it_and_moves_what_follows(
    part: OrderedPart, shop: Shop, schedule: OrderSchedule
) -> None:
    """The lot in the mill takes two days more; later lots move by two days, the coat waits a week for its Thursday."""
    found = after(part, shop, schedule, down_days={"mill-3": 2})
    assert found.faults == ()
    begun = [s for s in schedule.steps if s.begin_s - s.setup_s < 2 * DAY_S]
    now = {s.id: s for s in found.steps}
    assert all(now[s.id].begin_s == s.begin_s for s in begun)
    later = [s for s in schedule.steps if s.kind == "machine" and s.begin_s >= 2 * DAY_S]
    assert later
    assert [now[s.id].begin_s - s.begin_s for s in later] == [2 * DAY_S] * len(later)
    assert all("waits for" in m.why or "is taken" in m.why or "collection" in m.why for m in found.moved)
    away = next(s for s in found.steps if s.kind == "away")
    before = next(s for s in schedule.steps if s.kind == "away")
    assert away.begin_s == before.begin_s + (5 * DAY_S if before.day == "2026-01-15" and away.day > before.day else 0.0)
    assert found.notes[1].startswith(f"{len(found.moved)} of {len(found.steps)} steps moved, by ")
    (longer,) = found.longer
    was = next(s for s in schedule.steps if s.id == longer.id)
    assert (longer.by_s, longer.was_end_day, longer.why) == (2 * DAY_S, was.end_day, "3-axis mill stands")
    assert longer.end_day == now[longer.id].end_day > was.end_day
    assert f"{longer.what}: ends {longer.end_day}, was {longer.was_end_day}, as 3-axis mill stands" in found.notes
    assert longer.what == f"EX-102 lot {was.lot}, op 1"  # never the id of its clamping
    rows = moved_csv(found).splitlines()
    assert len(rows) == 1 + len(found.moved) + 1
    assert rows[-1].startswith(f'{longer.id},"{longer.what}",mill-3,lasts,')


def test_dates_after_replanning_carry_no_old_promise_and_no_old_verdict(
    part: OrderedPart, shop: Shop, schedule: OrderSchedule
) -> None:
    found = after(part, shop, schedule, down_days={"mill-3": 2})
    text = replanned_dates(found, start="2026-01-05", due="2026-02-16", name="again").decode().replace("\r\n ", "")
    assert f"again: done as replanned\r\nDTSTART;VALUE=DATE:{found.done.replace('-', '')}" in text
    assert "drawn cases" not in text
    assert "not shown" not in text
    assert f"Done {found.done}\\, as before" in text
    assert "again: wanted - in time at nominal values as replanned" in text
    late = msgspec.structs.replace(found, late_days=0.3)
    assert b"LATE at nominal values" in replanned_dates(late, start="2026-01-05", due="2026-01-19", name="again")


def test_a_late_finisher_moves_only_the_end(part: OrderedPart, shop: Shop, schedule: OrderSchedule) -> None:
    """worked: three days more at the finisher; nothing begins later, as nothing follows."""
    found = after(part, shop, schedule, late_days={"hard-coat": 3})
    assert found.moved == ()
    assert [(m.what, m.why) for m in found.longer] == [("EX-102, at black hard coat", "black hard coat takes longer")]
    assert found.notes[0].startswith(f"Done {found.done} instead of {schedule.done}")
    ends = [next(s.end_s for s in steps if s.kind == "away") for steps in (schedule.steps, found.steps)]
    assert ends[1] - ends[0] == 3 * DAY_S


def test_everybody_away_for_a_day_stops_what_needs_a_hand(
    part: OrderedPart, shop: Shop, schedule: OrderSchedule
) -> None:
    found = after(part, shop, schedule, away_count=2, away_days=1)
    assert found.faults == ()
    now = [s for s in found.steps if s.people_ratio > 0.0 and 2 * DAY_S <= s.begin_s < 3 * DAY_S]
    assert now == []


def test_one_person_of_two_away_keeps_the_bench_from_running_beside_the_mill(
    part: OrderedPart, shop: Shop, schedule: OrderSchedule
) -> None:
    """worked: a lot at the bench takes one person, loading the mill meanwhile some 3 %: one alone cannot do both."""
    found = after(part, shop, schedule, at="2026-01-06", away_count=1, away_days=1)
    assert found.faults == ()
    day = [s for s in found.steps if s.begin_s < 2 * DAY_S and s.end_s > DAY_S]
    lots = [s for s in day if s.kind == "bench"]
    mills = [s for s in day if s.kind == "machine"]
    assert found.moved
    for one in lots:
        assert not [m for m in mills if one.begin_s < min(m.end_s, 2 * DAY_S) and m.begin_s < one.end_s]


def test_what_the_order_does_not_use_is_refused(part: OrderedPart, shop: Shop, schedule: OrderSchedule) -> None:
    for trouble in ({"down_days": {"lathe": 1}}, {"late_days": {"painter": 1}}):
        with pytest.raises(BadInput, match="no such"):
            after(part, shop, schedule, **trouble)


def test_a_folder_without_an_order_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no planned order"):
        replan_order(tmp_path, trouble=Trouble(at="2026-01-07"))
