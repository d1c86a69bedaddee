"""A part's route: one scale for all its pictures, minutes, money and proofs of each station, every number addressed."""

from __future__ import annotations

import re

import fixture_plan as fixture
import msgspec
import numpy as np
import pytest
from fixture_names import BACK, OPS, TAPPED
from fixture_shop import fact
from test_addresses import MARKED, check_lines, left_over, page_text
from test_page import read

from proveout.model.finish_order import FinishOrder
from proveout.model.plan import CostLine, Plan, TimeLine
from proveout.model.proof import Basis, MoveAt, Proof, prove
from proveout.model.shop import Shop
from proveout.sheets.picture import ClampingDrawings, operator_view
from proveout.sheets.route_html import head_html, proof_address, route_html, with_route
from proveout.sheets.route_picture import route_svgs
from proveout.sheets.stations import homes_of, route_of
from proveout.sheets.writer import Writer

DOOR = {"-y": (0.0, -1.0, 0.0)}


def sent_to(finisher_id: str, *, coat: bool) -> FinishOrder:
    """An invented order to a finisher."""
    return FinishOrder(
        finisher_id=finisher_id, process=f"work of {finisher_id}", part="EX-102", name="Clamp jaw", revision="B",
        pieces_count=155, alloy="6061-T6", prior="milled", thickness_mm=fact(0.04, 0.05, 0.06, "mm") if coat else None,
        build_up_mm=fact(0.02, 0.025, 0.03, "mm") if coat else None, coated_area_mm2=9004.0 if coat else 0.0, masks=(),
        watch=(), rack_may=(), rack_not=(), show=(), readings=(), certificate=None, due="", days_low=6, days_high=8,
        after=(), same_load=(), lacks=(),
    )  # fmt: skip


def writer_of(
    plan: Plan, shop: Shop, *, marked: bool = False, drawings: dict[str, ClampingDrawings] | None = None
) -> Writer:  # fmt: skip
    return Writer(plan=plan, shop=shop, drawings=drawings or {}, fingerprint=fixture.FINGERPRINT, marked=marked)


def without_clampings(plan: Plan) -> Plan:
    """The same part where no way of holding it was found."""
    kept = tuple(line for line in plan.time.lines if not line.pass_id and line.station not in OPS)
    time = msgspec.structs.replace(plan.time, lines=kept, cycle_s={})
    return msgspec.structs.replace(plan, clampings=(), passes=(), time=time, jaw_forms=(), jaw_programs=())


@pytest.fixture
def sent(plan: Plan) -> Plan:
    return msgspec.structs.replace(plan, finish_orders=(sent_to("coat-house", coat=True), sent_to("laser", coat=False)))


def test_every_number_of_the_route_stands_at_an_address(sent: Plan, shop: Shop) -> None:
    writer = writer_of(sent, shop, marked=True)
    text = page_text(head_html(writer) + route_html(writer, base="/parts/x"))
    assert len(MARKED.findall(text)) > 30
    assert left_over(text) == []
    check_lines(writer, sent, shop, least=30)


def test_the_stations_stand_in_the_order_of_the_work(sent: Plan) -> None:
    kinds = [one.kind for one in route_of(sent).stations]
    assert kinds == [
        "buying", "saw", "clamping", "clamping", "clamping", "bench", "finisher", "finisher", "inspection", "packing",
    ]  # fmt: skip
    twice = msgspec.structs.replace(sent, finish_orders=(sent.finish_orders[1], sent.finish_orders[1]))
    assert [one.id for one in route_of(twice).stations if one.kind == "finisher"] == ["laser", "laser-2"]


def timed(station: str, text: str, per: str, seconds: float) -> TimeLine:
    return TimeLine(station=station, text=text, per=per, seconds=fact(seconds * 0.8, seconds, seconds * 1.5, "s"))  # type: ignore[arg-type]


def priced(text: str, money: float) -> CostLine:
    return CostLine(text=text, each=fact(money * 0.8, money, money * 1.5, "EUR"), how="x")


def test_stations_and_the_rest_make_the_price_of_a_piece(sent: Plan) -> None:
    """worked: op 1 has 600 of 900 s, so 10 of 15, and 1800 of 2700 s of set-ups, so 2 of 3: 12 in all."""
    lines = (
        timed("mill3", f"{OPS[0]}: cutting", "piece", 600.0), timed("mill3", f"{OPS[1]}: cutting", "piece", 300.0),
        timed("mill3", f"{OPS[0]}: set up", "batch", 1800.0), timed("mill3", f"{OPS[1]}: set up", "batch", 900.0),
        timed("bench", "gauge", "piece", 20.0), timed("bench", "kit and box", "piece", 60.0),
        timed("bench", "break edges by hand", "piece", 120.0), timed("bench", "programming", "design", 9000.0),
        timed("saw", "set up", "batch", 900.0),
    )  # fmt: skip
    money = (
        priced("material", 4.0), priced("machine mill3", 15.0), priced("bench", 2.0), priced("set-ups on mill3", 3.0),
        priced("saw, whole batch", 0.5), priced("programming", 1.0), priced("outside: work of laser", 0.9),
    )  # fmt: skip
    plan = msgspec.structs.replace(
        sent, time=msgspec.structs.replace(sent.time, lines=lines),
        cost=msgspec.structs.replace(sent.cost, lines=money),
    )  # fmt: skip
    route = route_of(plan)
    each = {one.id: one.each for one in route.stations if one.each is not None}
    nominal = {id: round(fact.nominal, 9) for id, fact in each.items()}
    assert nominal == {
        "buying": 4.0, "saw": 0.5, OPS[0]: 12.0, OPS[1]: 6.0, "bench": 1.2, "inspection": 0.2, "packing": 0.6,
        "laser": 0.9,
    }  # fmt: skip
    assert route.rest is not None
    for end in ("low", "nominal", "high"):
        stations = sum(getattr(fact, end) for fact in each.values())
        assert stations + getattr(route.rest, end) == pytest.approx(sum(getattr(line.each, end) for line in money))
    piece = {one.id: one.piece_s.high for one in route.stations if one.piece_s is not None}
    assert piece == {OPS[0]: 900.0, OPS[1]: 450.0, "bench": 180.0, "inspection": 30.0, "packing": 90.0}
    assert [one.batch_s.low for one in route.stations if one.batch_s is not None] == [720.0, 1440.0, 720.0]


def claimed(id: str, subject: str, *, stage: str = "", move: str = "") -> Proof:
    basis = Basis(formula="x", source="x", move=MoveAt(pass_id=move, row=1) if move else None)
    return prove(
        id=id, stage=stage or re.split("[:/]", id)[0], subject=subject, claim="x", sense="at most", found_low=1.0,
        found_high=1.0, limit=2.0, unit="mm", blocks_release=True, basis=basis,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("proof", "homes"),
    [
        (claimed(f"holding:{OPS[1]}:grip", "x"), (OPS[1],)),
        (claimed(f"passes/{OPS[0]}/every-face", "x"), (OPS[0],)),
        (claimed(f"program:{OPS[2]}-jaws:zero", "x"), (OPS[2],)),
        (claimed(f"program:{OPS[0]} in place 12:end", "x"), (OPS[0],)),
        (claimed(f"timing:2 x {OPS[0]} + {OPS[1]}:every piece", "x"), (OPS[0], OPS[1])),
        (claimed("holding:x:crush", "clamping 3, jaws"), (OPS[2],)),
        (claimed("holding:x:crush", "clamping 31"), ()),
        (claimed("loads:mill3:drill-5:rated speed", "drill 5"), (OPS[2],)),
        (claimed("loads:mill3:edge-6:rated speed", "edge break 6"), (OPS[0], OPS[1])),
        (claimed("cutters:mill3:places", "mill3"), OPS),
        (claimed("removal check:gouge", BACK), (OPS[0],)),
        (claimed("removal check:gouge", "all faces"), ()),
        (claimed("removal check:gouge", TAPPED), (OPS[2],)),
        (claimed("blank:square-25:length", "square-25"), ("saw",)),
        (claimed("bars:square-25:pieces", "square-25"), ("saw",)),
        (claimed("sending:laser:order-says-all", "laser"), ("laser",)),
        (claimed("costing:laser:lot-reaches-the-minimum", "laser"), ("laser",)),
        (claimed("sending:heats:one-heat-a-lot", "heats"), ("coat-house",)),
        (claimed("inspection:1:gauge-can-tell", "size 1"), ("inspection",)),
        (claimed("packing:screw:missing-one-is-seen", "screw"), ("packing",)),
        (claimed("survey:solid:mesh closed", "solid"), ()),
    ],
)  # fmt: skip
def test_a_proof_is_of_the_stations_that_it_names(sent: Plan, proof: Proof, homes: tuple[str, ...]) -> None:
    assert homes_of(proof, plan=sent, finishers=("coat-house", "laser")) == homes


def test_a_proof_that_one_move_decides_is_of_its_clamping(sent: Plan) -> None:
    move = claimed("loads:x", "all passes", move=sent.passes[-1].id)
    assert homes_of(move, plan=sent, finishers=()) == (OPS[2],)


def test_every_proof_is_told_somewhere_and_the_weakest_of_a_station_first(sent: Plan, shop: Shop) -> None:
    route = route_of(sent)
    told = {place for one in route.stations for place in one.proofs} | set(route.proofs)
    assert told == set(range(len(sent.proofs)))
    order = {index: rank for rank, (index, _) in enumerate(writer_of(sent, shop).weakest())}
    for one in (*route.stations, route):
        assert [order[i] for i in one.proofs] == sorted(order[i] for i in one.proofs)
    page = route_html(writer_of(sent, shop), base="/parts/x")
    for one in route.stations:
        if one.proofs:
            assert proof_address("/parts/x", sent.proofs[one.proofs[0]].id) in page


def sizes(svg: str) -> tuple[str, list[np.ndarray]]:
    """The frame, and the corners of every line that is drawn as the work's own: half a millimetre wide."""
    frame = re.search(r'viewBox="([^"]*)"', svg)
    assert frame
    lines = []
    for d in re.findall(r'<path d="([^"]*)"[^>]*stroke-width="0.5"/>', svg):
        runs = [run.split("L") for run in d.rstrip("Z").split("M")[1:]]
        lines += [np.array([[float(v) for v in point.split()] for point in run]) for run in runs]
    return frame.group(1), lines


def test_all_pictures_are_to_one_scale(sent: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]) -> None:
    """The part is as wide and tall on the bench as at every station after it, and the sawn piece as it lies in op 1."""
    writer = writer_of(sent, shop, drawings=drawings)
    made = route_svgs(writer, with_route(writer))
    frames, spans = {}, {}
    for id, svg in made.items():
        frames[id], lines = sizes(svg)
        points = np.vstack(lines)
        spans[id] = np.ptp(points, axis=0)
    assert len(set(frames.values())) == 1
    for id in ("coat-house", "laser", "inspection", "packing"):
        assert spans[id] == pytest.approx(spans["bench"], abs=0.03)
    wide = [float(np.ptp(line[:, 0])) for line in sizes(made[OPS[0]])[1]]
    pieces = [float(np.ptp(line[:, 0])) for line in sizes(made["saw"])[1]]
    assert max(wide) == pytest.approx(max(pieces), abs=0.03)


def test_the_operator_looks_from_the_side_of_the_door(plan: Plan, shop: Shop) -> None:
    """The eye stands on the door's side of every clamping: the moving jaw, which it closes, is the nearer one."""
    for clamping in plan.clampings:
        towards = clamping.frame.turn @ np.array(operator_view(clamping).towards_viewer)
        assert float(towards @ np.array(DOOR[shop.door_side])) > 0.5
        writer = writer_of(plan, shop)
        operator, _ = writer.pictures(plan.clampings.index(clamping))
        height = {label.text: label.y_mm for label in operator.labels}
        assert height["you stand here"] < height["moving jaw"] < height["fixed jaw"]


def test_a_part_that_nothing_holds_has_its_route_all_the_same(sent: Plan, shop: Shop) -> None:
    bare = without_clampings(sent)
    page = route_html(writer_of(bare, shop), base="/parts/x")
    assert "No way of holding this part was found" in page
    assert [one.kind for one in route_of(bare).stations][:3] == ["buying", "saw", "bench"]
    assert read(page).faults == []


def test_of_an_unknown_metal_no_minutes_and_no_money_are_told(sent: Plan, shop: Shop) -> None:
    unknown = msgspec.structs.replace(sent, metal_unknown="nobody said for which alloys its figures are")
    writer = writer_of(unknown, shop, marked=True)
    text = page_text(head_html(writer) + route_html(writer, base="/parts/x"))
    assert "Times and money are not shown: nobody said" in text
    assert "EUR" not in text
    assert " min" not in text.replace("minutes", "").replace("minimum", "")
    assert all(one.each is None and one.piece_s is None and one.batch_s is None for one in route_of(unknown).stations)


def test_the_route_is_well_formed_and_brings_no_style_of_its_own(sent: Plan, shop: Shop) -> None:
    bad = "<script>alert(1)</script>"
    odd = msgspec.structs.replace(
        sent, proofs=tuple(msgspec.structs.replace(p, claim=bad) for p in sent.proofs),
        finish_orders=(msgspec.structs.replace(sent.finish_orders[0], process=bad),),
    )  # fmt: skip
    writer = writer_of(odd, shop)
    page = head_html(writer) + route_html(writer, base="/parts/x")
    reader = read(page)
    assert reader.faults == []
    assert reader.open == []
    assert len(reader.ids) == len(set(reader.ids))
    assert bad not in page
    assert not re.search(r"<style|\sstyle=|\son\w+=", page)


def test_a_plan_that_is_ready_says_so_first(ready_plan: Plan, plan: Plan, shop: Shop) -> None:
    assert "Ready: every proof" in head_html(writer_of(ready_plan, shop))
    assert "Not ready - do not cut." in head_html(writer_of(plan, shop))
