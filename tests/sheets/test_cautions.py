"""Each caution stands where the danger is: on the paper read there, and on the page of that station."""

from __future__ import annotations

import json
import re
from typing import Any

import fixture_plan as fixture
import msgspec
import pytest
from fixture_names import OPS
from test_route_page import sent_to

from proveout.model.fact import exact_fact
from proveout.model.measured import Response
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets import cautions as c
from proveout.sheets.pages_bench import bench_page
from proveout.sheets.pages_floor import SAMPLE_CAUTION, inspection_page
from proveout.sheets.pages_open import cautions_page
from proveout.sheets.pages_pack import pack_page
from proveout.sheets.pages_saw import saw_page
from proveout.sheets.pages_setup import caution_lines, setup_page
from proveout.sheets.plan_html import plan_html
from proveout.sheets.route_html import with_route
from proveout.sheets.station_html import station_html
from proveout.sheets.stations import Station
from proveout.sheets.writer import Writer

# what can hurt somebody, and the words that must be told of it
AREAS = {
    "workholding": r"thrown out of the jaws.*Friction, preload and cutting force are assumed.*vise's torque chart",
    "loads": r"thirty percent off or worse.*Never run a cutter faster",
    "chatter": r"natural frequency was measured.*unknown",
    "sawing": r"support the bar outside.*least clamping length.*both sides of the blade",
    "blasting and chips": r"dust burns.*hydrogen.*NFPA 484, AA F-1.*iron blast media apart.*no water.*two bar",
    "anodising": r"outside work: acids.*fatigue strength or electrical earthing",
    "threads": r"No thread of this part may carry a lifted load or pressure",
    "packing": r"hot and oily.*sharp until broken",
    "lifting": r"too heavy for one person goes by two, or by hoist",
}


def writer_of(plan: Plan, shop: Shop) -> Writer:
    return Writer(plan=plan, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT)


def turned(plan: Plan) -> Plan:
    """The plan with its second clamping tilted."""
    one = plan.clampings[1]
    tilts = (msgspec.structs.replace(one.tilts[0], a_rad=0.5), *one.tilts[1:])
    changed = msgspec.structs.replace(one, tilts=tilts)
    return msgspec.structs.replace(plan, clampings=(plan.clampings[0], changed, *plan.clampings[2:]))


def measured(shop: Shop) -> Shop:
    zero = exact_fact(0.0, "ratio", "test", "measured here")
    one = Response(
        machine_id="mill3", cutter_id="mill-6", stick_out_mm=30.0, error_ratio=zero, frequency_error_ratio=zero,
        measured="", file="", rows=(),
    )  # fmt: skip
    return msgspec.structs.replace(shop, responses=(one,))


def words(page: dict[str, Any] | None) -> str:
    assert page is not None
    return json.dumps(page, ensure_ascii=False)


@pytest.mark.parametrize("area", AREAS)
def test_every_danger_is_told_on_the_page_of_cautions_and_in_the_page_of_the_plan(
    area: str, plan: Plan, shop: Shop
) -> None:
    assert re.search(AREAS[area], words(cautions_page(writer_of(plan, shop))))
    page = plan_html(plan=plan, shop=shop, target=None, drawings={}, fingerprint=fixture.FINGERPRINT)
    section = page.split('<section id="cautions"')[1].split("</section>", maxsplit=1)[0]
    assert re.search(AREAS[area], section.replace("&#x27;", "'"))


def test_the_banner_stands_above_them(plan: Plan, shop: Shop) -> None:
    first = cautions_page(writer_of(plan, shop))["blocks"][0]
    assert "not a substitute for a competent machinist" in words(first)


def test_a_table_that_turns_is_cautioned_of_where_it_turns_and_nowhere_else(plan: Plan, shop: Shop) -> None:
    level, tilted = (c.plan_cautions(plan=p, shop=shop) for p in (plan, turned(plan)))
    assert (c.ROTARY in level, c.ROTARY in tilted) == (False, True)
    assert set(tilted) - set(level) == {c.ROTARY}
    writer = writer_of(turned(plan), shop)
    assert [c.ROTARY in station_page(writer, id) for id in OPS] == [False, True, False]
    assert any("signs and centres" in line and "dry" in line for line in caution_lines(writer, 1))
    assert not any("signs and centres" in line for line in caution_lines(writer, 0))


def test_a_head_under_metal_is_not_raised_after_a_stop(plan: Plan, shop: Shop) -> None:
    """Where a pass runs under metal the sheet at the machine names its cutter; elsewhere it says nothing of it."""
    first = next(p for p in plan.passes if p.clamping_id == plan.clampings[0].id)
    passes = tuple(msgspec.structs.replace(p, kind="undercut") if p is first else p for p in plan.passes)
    writer = writer_of(msgspec.structs.replace(plan, passes=passes), shop)
    name = next(one.name for one in shop.cutters if one.id == first.cutter_id)
    (line,) = [line for line in caution_lines(writer, 0) if c.UNDER in line]
    assert line == f"{name}: {c.UNDER}"
    assert not any(c.UNDER in line for line in caution_lines(writer_of(plan, shop), 0))
    assert not any(c.UNDER in line for line in caution_lines(writer, 1))


def test_chatter_is_unknown_but_for_what_was_measured(plan: Plan, shop: Shop) -> None:
    assert c.NO_RESPONSE in c.plan_cautions(plan=plan, shop=shop)
    some = c.plan_cautions(plan=plan, shop=measured(shop))
    assert c.SOME_RESPONSES in some
    assert c.NO_RESPONSE not in some


def station_page(writer: Writer, id: str) -> str:
    place = next(i for i, one in enumerate(with_route(writer).stations) if one.id == id)
    return station_html(writer, place, base="/parts/jaw").replace("&#x27;", "'")


def test_every_station_cautions_of_its_own_dangers(plan: Plan, shop: Shop) -> None:
    writer = writer_of(msgspec.structs.replace(plan, finish_orders=(sent_to("coat-house", coat=True),)), shop)
    stations: tuple[Station, ...] = with_route(writer).stations
    assert {one.kind for one in stations} == {*c.OF_STATION, "clamping"}
    for one in stations:
        wanted = c.OF_STATION.get(one.kind) or (c.HOLDING, c.GRIP, c.LOADS, c.PROVE, c.SPEED, c.NO_RESPONSE)
        care = station_page(writer, one.id).split('<section id="care"')[1].split("</section>", maxsplit=1)[0]
        assert all(line in care for line in wanted), one.id
        assert care.count("<li>") == len(wanted)


def test_the_papers_of_the_stations_caution_too(plan: Plan, shop: Shop) -> None:
    writer = writer_of(plan, shop)
    assert "Nothing shorter than the least tail is sawn, and no hand reaches past the guard" in words(saw_page(writer))
    assert "outer end supported" in words(saw_page(writer))
    assert c.AIR in words(bench_page(writer))
    for index in range(len(plan.clampings)):
        setup = words(setup_page(writer, index))
        assert "Check the jaw force on the vise's torque chart" in setup
        assert "nobody in line with the cutter plane. This sheet vouches for no set-up" in setup
    assert ["weight" in words(pack_page(writer)), SAMPLE_CAUTION in words(inspection_page(writer))] == [True, True]


def test_a_blast_is_cautioned_of_where_it_is_done(plan: Plan, shop: Shop) -> None:
    lines = plan.time.lines
    blasted = tuple(msgspec.structs.replace(line, text="blast") if line.station == "bench" else line for line in lines)
    other = tuple(msgspec.structs.replace(line, text="edges") if line.station == "bench" else line for line in lines)
    assert any(line.station == "bench" for line in lines)
    for some, told in ((blasted, True), (other, False)):
        changed = msgspec.structs.replace(plan, time=msgspec.structs.replace(plan.time, lines=some))
        assert (c.DUST in words(bench_page(writer_of(changed, shop)))) is told


@pytest.mark.parametrize(
    ("stage", "wanted"),
    [
        ("holding", (c.HOLDING, c.GRIP)), ("loads", (c.LOADS, c.SPEED, c.SLENDER, c.PROVE)),
        ("stability", (c.NO_RESPONSE,)),
        ("turning_over", (c.HOLDING,)), ("removal check", (c.PROVE,)), ("finishing", (c.COAT, c.THREADS)),
        ("bars", (c.SAWING,)), ("costing", ()),
    ],
)  # fmt: skip
def test_a_single_proof_has_the_cautions_of_its_stage(
    stage: str, wanted: tuple[str, ...], plan: Plan, shop: Shop
) -> None:
    assert c.proof_cautions(stage=stage, shop=shop, clampings=plan.clampings) == wanted
    more = (c.ROTARY,) if stage == "holding" else ()
    assert c.proof_cautions(stage=stage, shop=shop, clampings=turned(plan).clampings) == (*wanted, *more)
