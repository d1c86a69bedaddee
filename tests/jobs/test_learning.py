"""What batches propose of a shop's numbers, what the owner takes over, and what no batch may ever touch."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any, get_args

import msgspec
import pytest
import run_batches
from learning_year import folded

from proveout.cli.main import main
from proveout.intake.shop_file import read_shop, shop_from_text
from proveout.intake.toml_blocks import edited
from proveout.jobs.learning import accepted_values, lesson, puts_of
from proveout.model.close_out import CloseOut
from proveout.model.events import Event
from proveout.model.fact import Fact
from proveout.model.learned import Key, LearnedKind, Proposal, key_of
from proveout.model.shop_events import ValueAccepted
from proveout.quantities.errors import BadInput
from proveout.records.records import Records

SLOW = {"c1_s": 150.0, "second_s": 60.0, "edges_s": 70.0}


def closed(batch: str, **asked: Any) -> CloseOut:
    events: list[Event] = []
    run_batches.Run(events.append, batch).whole(**asked)
    return run_batches.closed(folded(events, batch), events)


def batches(count: int, **asked: float) -> list[CloseOut]:
    one = closed("B000", **asked)
    return [msgspec.structs.replace(one, batch=f"B{number:03d}") for number in range(count)]


def proposed(told: tuple[Proposal, ...], key: str) -> Proposal:
    return next(one for one in told if one.key.words == key)


def test_slow_batches_raise_minutes_and_seconds_with_what_they_rest_on() -> None:
    """Worked: the second clamping roughs 50 s in 60; of the first one's 150 s that leaves 114 for the other 100."""
    told = lesson(run_batches.shop(), batches(6, **SLOW))
    rough = proposed(told.proposals, "minutes.mill-3.roughing")
    assert rough.was is None
    assert rough.now.low < 60.0 / 50.0 < rough.now.high  # the second clamping is roughing alone
    finish = proposed(told.proposals, "minutes.mill-3.finishing")
    assert finish.now.low < (150.0 - 36.0) / 100.0 < finish.now.high
    assert rough.batches == tuple(f"B{n:03d}" for n in range(6))
    assert rough.now.source == "batches B000 to B005 of this shop, 6 of them"
    assert rough.events_count == 6 * 8
    edges = proposed(told.proposals, "bench.deburr")
    assert edges.now.nominal == pytest.approx(70.0, rel=0.05)
    assert edges.was is not None
    assert edges.was.nominal == 55.0
    days = proposed(told.proposals, "days.hard-coat")
    assert days.now.low <= 7.0 <= days.now.high
    scrap = proposed(told.proposals, "scrap")
    assert scrap.now.nominal < 0.02
    growth = proposed(told.proposals, "growth.hard-coat")
    assert growth.taken.low < growth.now.low < 0.022 < growth.now.high < growth.taken.high
    assert growth.at_mm == 0.05


def test_the_machines_own_stream_takes_the_place_of_the_taps() -> None:
    """Worked: 110 s of 100 planned ran, 40 s of 30 by hand; the taps hold both."""
    told = lesson(run_batches.shop(), batches(40, c1_s=150.0, second_s=50.0, cycles_s=110.0)).proposals
    assert proposed(told, "minutes.mill-3.loading").now.nominal == pytest.approx(40.0 / 30.0, rel=0.1)


def test_days_hold_every_lot_that_was_not_odd() -> None:
    """Sixty lots were away from 6 to 8 days, one of them 9: schedules take the ends as the fewest and the most."""
    told = []
    for number, one in enumerate(batches(60)):
        (away,) = one.away
        days = 9 if number == 4 else 6 + number % 3
        told.append(msgspec.structs.replace(one, away=(msgspec.structs.replace(away, days=days),)))
    days = proposed(lesson(run_batches.shop(), told).proposals, "days.hard-coat")
    assert (days.now.low, days.now.high) == (6.0, 9.0)


def test_two_batches_propose_nothing_and_say_so() -> None:
    told = lesson(run_batches.shop(), batches(2, **SLOW))
    assert told.proposals == ()
    assert any("2 of at least 3 batches" in words for words in told.silent)


def test_what_was_accepted_is_written_with_comments_kept_and_not_counted_twice(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plans = run_batches.write_plans(tmp_path / "plans")
    records = tmp_path / "r.sqlite"
    run_batches.run_records(records, [SLOW] * 3).close()
    shop = tmp_path / "shop.toml"
    shop.write_bytes(run_batches.worked_home.SHOP_FILE.read_bytes())
    before = shop.read_text(encoding="utf-8")
    given = ["learn", "--records", str(records), "--shop", str(shop), "--plans", str(plans)]
    assert main(given) == 0
    said = capsys.readouterr().out
    assert "bench.deburr: 55 (30 to 110) -> " in said
    assert "pull tests alone" in said
    assert main([*given, "--accept", "bench.deburr"]) == 2  # nobody answers for it
    assert main([*given, "--accept", "growth.no-such", "--person", "mara"]) == 2
    assert main([*given, "--accept", "minutes.mill-3.roughing", "bench.deburr", "--person", "mara"]) == 0
    capsys.readouterr()
    after = shop.read_text(encoding="utf-8")
    comments = [line for line in before.splitlines() if "#" in line]
    assert [line for line in comments if line not in after] == []
    written = read_shop(shop)
    assert written.machines[0].minutes is not None
    assert written.machines[0].minutes.roughing is not None
    assert written.machines[0].minutes.loading is not None  # learned together, written together
    assert written.bench.deburr_s.strength == "measured here"
    assert written.bench.deburr_s.source.endswith("batches B0, B1, B2 of this shop")
    with Records(str(records)) as opened:
        values = accepted_values(opened.events())
    assert {one.key for one in values} >= {"minutes.mill-3.roughing", "bench.deburr"}
    assert values[0].batches == ("B0", "B1", "B2")
    assert main([*given, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {one["key"]["kind"] for one in told["proposals"]} == {"days", "scrap", "growth"}
    shop.write_text(before, encoding="utf-8")  # the owner put his own number back: the batches tell it anew
    assert main([*given, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {one["key"]["kind"] for one in told["proposals"]} >= {"minutes", "bench"}


def test_a_number_written_in_minutes_still_stands_as_it_was_accepted() -> None:
    """Worked: 59.86 s is 0.997667 min in six figures, which is 59.86002 s again."""
    now = Fact(low=59.86, nominal=60.01, high=61.43, unit="s", source="x", strength="measured here")
    key = Key(kind="bench", stem="deburr")
    ((path, inline),) = ((put.path, put.value) for put in puts_of(key, now, {"bench": {"deburr_min": 1.0}}))
    assert path == ("bench", "deburr_min")
    read = msgspec.structs.replace(
        now, **{end: inline[end] * 60.0 for end in ("low", "nominal", "high")}
    )  # fmt: skip
    assert abs(read.low - 59.86) > 1e-5
    own = run_batches.shop()
    shop = msgspec.structs.replace(own, bench=msgspec.structs.replace(own.bench, deburr_s=read))
    told = batches(6, **SLOW)
    taken = ValueAccepted(shop=shop.name, key=key.words, was=None, now=now, pieces_count=1,
                          batches=tuple(one.batch for one in told))  # fmt: skip
    assert [one for one in lesson(shop, told, accepted=(taken,)).proposals if one.key.kind == "bench"] == []


def test_a_batch_whose_plan_is_lost_is_left_out_by_name(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    records = tmp_path / "r.sqlite"
    run_batches.run_records(records, [SLOW]).close()
    shop = run_batches.worked_home.SHOP_FILE
    assert main(["learn", "--records", str(records), "--shop", str(shop), "--plans", str(tmp_path)]) == 0
    assert "left out: B0: its plan is not below" in capsys.readouterr().out


def test_two_hundred_batches_without_a_slip_change_nothing_that_holds_the_work() -> None:
    shop = run_batches.shop()
    told = lesson(shop, batches(200)).proposals
    assert {one.key.kind for one in told} == {"minutes", "bench", "days", "scrap", "growth"}
    text = run_batches.worked_home.SHOP_FILE.read_text(encoding="utf-8")
    raw = tomllib.loads(text)
    puts = [put for one in told if one.is_writable for put in puts_of(one.key, one.now, raw, at_mm=one.at_mm)]
    assert len(puts) > 8
    after = shop_from_text(edited(text, puts))
    assert after != shop
    assert after.jaws == shop.jaws  # friction and grip
    assert after.vises == shop.vises  # clamp force, its rating and torque
    assert after.yield_mpa == shop.yield_mpa
    assert after.cutting_pressure_mpa == shop.cutting_pressure_mpa


def test_no_key_leads_to_what_holds_the_work() -> None:
    """By every kind of key that there is, with any name: a section that holds no work, or a refusal."""
    raw = {"machine": [{"id": "x"}], "finisher": [{"id": "x"}], "jaws": [{"id": "x"}], "vise": [{"id": "x"}]}
    fact = Fact(low=1.0, nominal=1.0, high=1.0, unit="", source="x", strength="measured here")
    reached = set()
    for kind in get_args(LearnedKind):
        for stem in ("deburr", "friction", "preload", "grip_mm"):
            try:
                puts = puts_of(Key(kind=kind, of="x", stem=stem), fact, raw)
            except (BadInput, StopIteration):
                continue
            reached |= {put.path[0] for put in puts}
            assert not any(put.path[-1] in ("friction", "preload_kn", "grip_mm") and put.path[2] != "minutes"
                           for put in puts if len(put.path) > 2)  # fmt: skip
    assert reached == {"machine", "finisher", "material", "bench"}
    with pytest.raises(msgspec.ValidationError):
        msgspec.json.decode(b'{"kind": "friction", "of": "x", "stem": ""}', type=Key)


def test_every_key_is_found_again_by_its_words() -> None:
    for key in (
        Key(kind="minutes", of="mill.3", stem="roughing"), Key(kind="bench", stem="deburr"), Key(kind="scrap"),
        Key(kind="days", of="hard.coat"), Key(kind="growth", of="hard-coat"),
    ):  # fmt: skip
        assert key_of(key.words) == key
    assert key_of("friction.mill-3") is None
    assert Key(kind="minutes", of="mill.3", stem="roughing").group == "minutes.mill.3"
