"""A station opened, proofs in full and charts: every number at its address, nothing lost, well formed."""

from __future__ import annotations

import itertools
import re
from urllib.parse import unquote

import msgspec
import pytest
from fixture_names import OPS
from fixture_shop import fact
from test_addresses import MARKED, check_lines, left_over, page_text
from test_page import read
from test_route_page import sent_to, without_clampings, writer_of

from proveout.model.plan import PassLimit, Plan, WayOfHolding
from proveout.model.proof import Basis, MoveAt
from proveout.model.shop import Shop
from proveout.model.table_load import TableOption
from proveout.model.turn_push import PassPush
from proveout.sheets.charts_html import LIMIT_AT, bar, charts_html
from proveout.sheets.pass_rows import ALONE
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.proofs_html import proof_html, proof_list
from proveout.sheets.route_html import with_route
from proveout.sheets.station_html import WEAK_COUNT, station_html
from proveout.sheets.writer import Writer

IDS = ("buying", "saw", *OPS, "bench", "coat-house", "laser", "inspection", "packing")
BASE = "/parts/x"


def ways() -> tuple[WayOfHolding, ...]:
    """Invented: two sequences, of which the dearer was planned in full too."""
    return (
        WayOfHolding(
            why="+z up, then -z up", ups=("+z", "-z"), machines=("mill3", "mill3"), bound_each=9.0, tilts_each=0.25,
            leaning_each=0.0, reached_ratio=1.0, is_chosen=True,
        ),
        WayOfHolding(
            why="+y up, then -z up", ups=("+y", "-z"), machines=("mill3", "mill3"), bound_each=10.5, tilts_each=0.5,
            leaning_each=0.0, reached_ratio=1.0, open_count=2, cost_each=fact(20.0, 24.0, 29.0, "EUR"),
            opens=("holding: grip (fails)",),
        ),
    )  # fmt: skip


@pytest.fixture(scope="module")
def full(plan: Plan) -> Plan:
    """The example with what a real plan has beside: finishers, ways that lost, what binds the passes."""
    limits = tuple(
        PassLimit(
            pass_id=one.id, speed_by="top speed of the spindle", feed_by="tooth feed of the cutter", depth_by="grip",
            power_ratio=0.41 + 0.01 * i, reserve_ratio=1.25 + 0.1 * i,
        )
        for i, one in enumerate(plan.passes)
    )  # fmt: skip
    pushes = tuple(
        PassPush(
            pass_id=one.id, row=3 + i, moves_count=40 + i, tangential_n=310.0 + i, radial_n=187.0 + i,
            across_n=362.0 + i, axial_n=311.5 + i, mean_tangential_n=96.0 + i, mean_radial_n=58.0 + i,
            mean_axial_n=97.0 + i, by_pressure_n=310.0 + i, by_edges_n=None if i == 0 else 242.0 + i,
            torque_n_mm=1862.0 + i, mean_torque_n_mm=577.0 + i, power_mw=1.24e6, mean_power_mw=3.85e5,
            tooth_feed_mm=0.06, bent_mm=None if i == 0 else 0.021 + 0.001 * i,
        )
        for i, one in enumerate(plan.passes)
    )  # fmt: skip
    options = (
        TableOption(loads=(), text="one piece everywhere", machine_ids=("mill3",), seconds=480.0, each=12.5),
        TableOption(loads=("2 x a",), text="two pieces", machine_ids=("mill3",), seconds=470.0, each=13.0,
                    why_not="it costs more"),
    )  # fmt: skip
    decided = Basis(
        formula="F over 2 mu P", source="own-algorithm",
        inputs={"F, force": fact(800.0, 900.0, 1100.0, "N"), "mu": fact(0.15, 0.2, 0.25, "ratio")},
        move=MoveAt(pass_id=plan.passes[1].id, row=15),
    )  # fmt: skip
    proofs = tuple(
        msgspec.structs.replace(p, basis=decided) if p.id == "holding/slip/op1" else p for p in plan.proofs
    )  # fmt: skip
    return msgspec.structs.replace(
        plan, finish_orders=(sent_to("coat-house", coat=True), sent_to("laser", coat=False)), ways=ways(),
        pass_limits=limits, pass_pushes=pushes, table_options=options, proofs=proofs,
    )  # fmt: skip


def headings(page: str) -> list[int]:
    return [int(tag[1]) for tag, _ in read(page).seen if re.fullmatch(r"h[1-6]", tag)]


def sound(page: str) -> None:
    """Well formed, each id once, headings that leave none out below the page's own, no style of its own."""
    reader = read(page)
    assert reader.faults == []
    assert reader.open == []
    assert len(reader.ids) == len(set(reader.ids))
    levels = [1, *headings(page)]
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
    assert not re.search(r"<style|\sstyle=|\son\w+=", page)


def opened(writer: Writer, id: str) -> str:
    place = with_route(writer).place_of(id)
    assert place is not None
    return station_html(writer, place, base=BASE)


@pytest.mark.parametrize("id", IDS)
def test_every_number_of_a_station_stands_at_an_address(full: Plan, shop: Shop, id: str) -> None:
    writer = writer_of(full, shop, marked=True)
    page = opened(writer, id)
    assert left_over(page_text(page)) == []
    assert len(MARKED.findall(page_text(page))) > 3
    check_lines(writer, full, shop, least=3)
    sound(page)


def test_a_clamping_is_laid_out_from_the_picture_to_what_lost(
    full: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    page = opened(writer_of(full, shop, drawings=drawings), OPS[0])
    titles = re.findall(r"<h2[^>]*>(.*?)</h2>", page)
    assert titles == [
        "The work as it lies", "What to set", "Passes, and what binds them", "Loading, RIGHT and WRONG",
        "Take care", "Proofs of this station, weakest first", "What lost, and by how much",
    ]  # fmt: skip
    assert "From where you stand." in page
    for words in ("clamp torque", "60\u202fN m", "grip height", "toothed", "stick-out", "top speed of the spindle"):
        assert words in page
    assert page.index("From where you stand.") < page.index("clamp torque") < page.index("top speed of the spindle")


def test_what_the_passes_push_with_stands_below_them(full: Plan, shop: Shop) -> None:
    """The first pass of the operation: peak and mean of each way, a dash for what nobody knows; like ones the most."""
    page = opened(writer_of(full, shop), OPS[0])
    table = page.split("What the passes push with, at most</caption>")[1].split("</table>")[0]
    first = table.split("<tbody>")[1].split("</tr>")[0]
    cells = re.findall(r"<td[^>]*>(.*?)</td>", first)
    assert cells[1:] == [
        "310 / 96", "187 / 58", "312 / 97", "362", "1.86 / 0.58", "1.24 / 0.39", "-", "310 / -",
    ]  # fmt: skip
    assert page.count("<details>") >= 1
    without = opened(writer_of(msgspec.structs.replace(full, pass_pushes=()), shop), OPS[0])
    assert "push with, at most" not in without


def test_of_like_passes_the_one_that_pushes_hardest_is_told(full: Plan, shop: Shop) -> None:
    at = next(
        k for k, (one, two) in enumerate(itertools.pairwise(full.passes))
        if one.kind not in ALONE and one.clamping_id == two.clamping_id
    )  # fmt: skip
    passes = list(full.passes)
    passes[at + 1] = msgspec.structs.replace(passes[at], id=passes[at + 1].id)
    alike = msgspec.structs.replace(
        full, passes=tuple(passes), removal=msgspec.structs.replace(full.removal, passes=())
    )  # fmt: skip
    writer = writer_of(alike, shop)
    like = next(row for row in writer.derived.clampings[passes[at].clamping_id].rows if at in row.places)
    assert len(like.places) > 1
    table = opened(writer, passes[at].clamping_id).split("push with, at most</caption>")[1].split("</table>")[0]
    assert f">{362 + max(like.places)}<" in table
    assert f">{362 + at}<" not in table


def test_what_lost_is_told_with_what_it_would_cost_more(full: Plan, shop: Shop) -> None:
    """worked: 10.5 + 0.5 against 9.0 + 0.25 is 1.75 more; 13.0 against 12.5 is 0.50."""
    lost = opened(writer_of(full, shop), OPS[0]).split('id="lost"')[1]
    assert ">1.75\u202fEUR<" in lost
    assert "2 open" in lost
    assert "20.00 to 29.00\u202fEUR" in lost
    assert ">0.50\u202fEUR<" in lost
    assert "it costs more" in lost.lower()
    bars = opened(writer_of(full, shop), "saw").split('id="lost"')[1]
    assert "Flat 30 x 25 costs 0.43 more a piece." in bars


@pytest.mark.parametrize("id", IDS)
def test_all_proofs_of_a_station_are_on_its_page_weakest_first(full: Plan, shop: Shop, id: str) -> None:
    writer = writer_of(full, shop)
    place = with_route(writer).place_of(id)
    assert place is not None
    own = with_route(writer).stations[place].proofs
    told = re.findall(r'<a href="/parts/x/proofs/([^"]*)"', opened(writer, id))
    order = [full.proofs[i].id for i in own]
    assert [unquote(id) for id in told] == order


def test_open_proofs_are_never_folded_away(full: Plan, shop: Shop) -> None:
    """Of one station with more that hold than are shown at once: all that do not hold stand before the fold."""
    page = opened(writer_of(full, shop), OPS[0])
    before, folded = page.split('<details class="held">')
    assert 'class="fails"' in before or 'class="not-shown"' in before
    assert "fails" not in folded.split("</details>")[0]
    assert "not-shown" not in folded.split("</details>")[0]
    assert before.count('<li class="holds"') == WEAK_COUNT


def test_a_proof_in_full_can_be_redone(full: Plan, shop: Shop) -> None:
    titles = {"own-algorithm": "A method of this project (seen derived here)"}
    index = next(i for i, p in enumerate(full.proofs) if p.id == "holding/slip/op1")
    writer = writer_of(full, shop, marked=True)
    page = proof_html(writer, index, titles=titles)
    plain = re.sub("[‹›]", "", page_text(page))
    assert left_over(page_text(page)) == []
    check_lines(writer, full, shop, least=8)
    for words in (
        "F over 2 mu P",
        "A method of this project",
        "F, force",
        "800\u202fN",
        "1100\u202fN",
        "0.15",
        "15 of op 1",
    ):
        assert words in plain
    sound(page)


def test_what_is_not_shown_names_what_would_decide_it(full: Plan, shop: Shop) -> None:
    for index, proof in enumerate(full.proofs):
        page = proof_html(writer_of(full, shop), index, titles={})
        assert ("What would decide it" in page) == (proof.verdict == "not shown")
        if proof.verdict == "not shown":
            assert proof.decides[1:12] in page


def test_a_source_of_the_owner_keeps_his_words_and_an_unknown_one_its_key(full: Plan, shop: Shop) -> None:
    inputs = {
        "a": msgspec.structs.replace(fact(1.0, 2.0, 3.0, "mm"), source="shop-file: ten closings with a gauge"),
        "b": msgspec.structs.replace(fact(1.0, 2.0, 3.0, "mm"), source="nobody-knows-this"),
        "c": msgspec.structs.replace(fact(1.0, 2.0, 3.0, "mm2"), source="shop-file: known-key"),
    }  # fmt: skip
    first = msgspec.structs.replace(full.proofs[0], basis=Basis(formula="a + b", source="x", inputs=inputs))
    plan = msgspec.structs.replace(full, proofs=(first, *full.proofs[1:]))
    page = proof_html(writer_of(plan, shop), 0, titles={"known-key": "A printed table"})
    assert "the shop file: ten closings with a gauge" in page
    assert "nobody-knows-this" in page
    assert "the shop file: A printed table" in page
    assert "mm²" in page


def test_every_number_of_the_charts_stands_at_an_address(full: Plan, shop: Shop) -> None:
    writer = writer_of(full, shop, marked=True)
    page = charts_html(writer)
    assert left_over(page_text(page)) == []
    check_lines(writer, full, shop, least=60)
    sound(page)
    assert page.count("<details>") == 2
    assert "loads.csv, among the files of the plan, has every move" in page


def test_peak_and_mean_of_each_pass_stand_in_the_charts(full: Plan, shop: Shop) -> None:
    """Worked: the last pass pushes hardest, its bar is 202 long; the first has 310 of it."""
    page = charts_html(writer_of(full, shop))
    most = 310 + len(full.passes) - 1
    rows = [row for row in page.split('id="loads"')[1].split('id="bars"')[0].split("<tr>") if "<td" in row]
    assert len(rows) == len(full.passes)
    cells = re.findall(r"<td[^>]*>(.*?)</td>", rows[0])
    assert cells[5:] == ["310", "96"]
    assert f'width="{202.0 * 310 / most:.1f}"' in cells[4]
    assert any('width="202.0"' in row and f">{most}<" in row for row in rows)
    none = charts_html(writer_of(msgspec.structs.replace(full, pass_pushes=()), shop))
    assert re.findall(r"<td[^>]*>(.*?)</td>", none.split('id="loads"')[1].split("<tr>")[2])[4:] == [
        "", "not shown", "not shown",
    ]  # fmt: skip


def test_a_bar_reaches_its_limit_where_the_value_does() -> None:
    """worked: the mark stands at 140 of 204; half the way is 70; what is beyond crosses, but stays inside."""
    long = [
        float(re.findall(r'<rect[^>]*width="([\d.]+)"', bar(share, limit=True))[0]) for share in (0.5, 1.0, 1.2, 9.0)
    ]  # fmt: skip
    assert long[:3] == [LIMIT_AT / 2, LIMIT_AT, LIMIT_AT * 1.2]
    assert LIMIT_AT < long[3] < 204.0


def test_charts_of_a_plan_without_passes_or_metal_say_so(full: Plan, shop: Shop) -> None:
    bare = charts_html(writer_of(without_clampings(full), shop))
    assert "No pass is planned." in bare
    unknown = msgspec.structs.replace(full, metal_unknown="nobody said")
    page = charts_html(writer_of(unknown, shop))
    assert "Times and money are not shown: nobody said." in page
    assert "EUR" not in page_text(page)
    sound(page)


def test_stations_of_a_part_that_nothing_holds_open_all_the_same(full: Plan, shop: Shop) -> None:
    bare = without_clampings(full)
    for id in IDS:
        if id not in OPS:
            sound(opened(writer_of(bare, shop), id))


def test_the_list_of_proofs_keeps_its_order(full: Plan, shop: Shop) -> None:
    page = proof_list(writer_of(full, shop), (3, 1, 2), href=lambda id: f"/p/{id}")
    assert re.findall(r'href="/p/([^"]*)"', page) == [full.proofs[i].id for i in (3, 1, 2)]
