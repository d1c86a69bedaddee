"""The price page and the curve of the cost, read back from the typeset page, the picture and the table."""

from __future__ import annotations

import csv
import io
import json
import re

import msgspec
import pypdfium2
import pytest
from fixture_cost import cost_band, span

from proveout.cli.words import band_lines
from proveout.model.cost_band import CostBand
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets.curve_csv import HEAD, curve_csv
from proveout.sheets.curve_picture import HEIGHT_MM, WIDTH_MM, curve_svg
from proveout.sheets.pages_price import price_html, price_page
from proveout.sheets.papers import papers_document
from proveout.sheets.typesetting import typeset
from proveout.sheets.writer import Writer


def with_band(plan: Plan, band: CostBand | None) -> Plan:
    return msgspec.structs.replace(plan, cost=msgspec.structs.replace(plan.cost, band=band))


def writer_of(plan: Plan, shop: Shop) -> Writer:
    return Writer(plan=plan, shop=shop, drawings={}, fingerprint="ab" * 32)


def typeset_price(plan: Plan, shop: Shop) -> list[str]:
    """Texts of the pages of the price sheet alone."""
    document = papers_document(writer_of(plan, shop))
    document["pages"] = [page for page in document["pages"] if page["sheet"] == "Price"]
    pdf = pypdfium2.PdfDocument(typeset(document))
    texts = [pdf[k].get_textpage().get_text_bounded() for k in range(len(pdf))]
    pdf.close()
    return texts


def test_everything_of_the_price_stands_on_one_page(plan: Plan, shop: Shop) -> None:
    (text,) = typeset_price(plan, shop)
    flat = " ".join(text.split())
    for words in (
        "22.93", "20.71", "25.44", "Rates an hour", "Work the rate out", "21.34 to 24.61", "prices of the finishers",
        "good pieces at once", "this batch, 150: 22.93", "minimum charge of coat-works", "fair", "9.70 (7.19 to 11.92)",
        "making saves 6.20 a piece", "99 % of the draws", "5 spares are enough", "no second set-up",
        "lot ride 155 pieces of EX-101: what lacks to the minimum charge is shared by pieces",
        "Riding with 1 other part", "174 to 343", "Without cliffs: 271",
    ):  # fmt: skip
        assert words in flat, words


def test_the_fullest_page_is_still_one(plan: Plan, shop: Shop) -> None:
    band = cost_band()
    lines = tuple(msgspec.structs.replace(band.lines[k % 6], text=f"line {'abcdefghijklmnop'[k]}") for k in range(16))
    channels = tuple(msgspec.structs.replace(band.channels[0], channel=f"way-{'abcd'[k]}") for k in range(4))
    full = msgspec.structs.replace(band, lines=lines, channels=channels)
    assert len(typeset_price(with_band(plan, full), shop)) == 1


def test_what_one_page_cannot_hold_is_parted_before_how_many_at_once(plan: Plan, shop: Shop) -> None:
    """A few words alone at the top of a second page are no page: its own heading goes with all that belongs to it."""
    band = cost_band()
    lines = tuple(msgspec.structs.replace(band.lines[k % 6], text=f"line {chr(97 + k)}") for k in range(22))
    first, second = typeset_price(with_band(plan, msgspec.structs.replace(band, lines=lines)), shop)
    assert "How many to make at once stands on the next page." in first
    assert "Without cliffs" not in first
    for words in ("Price, how many at once", "Riding with 1 other part", "Without cliffs: 271"):
        assert words in " ".join(second.split())


def test_without_band_there_is_no_page_and_without_demand_it_says_what_to_write(plan: Plan, shop: Shop) -> None:
    assert price_page(writer_of(with_band(plan, None), shop)) is None
    assert price_html(writer_of(with_band(plan, None), shop)) == ""
    bare = msgspec.structs.replace(cost_band(), lots=None, channels=(), bought_saving=None, made_ratio=None)
    (text,) = typeset_price(with_band(plan, bare), shop)
    flat = " ".join(text.split())
    assert "How many to make: not shown" in flat
    assert "left of the price" not in flat
    assert "How many to make: not shown" in price_html(writer_of(with_band(plan, bare), shop))


def points(svg: str, width: str) -> list[tuple[float, float]]:
    """Corners of the line drawn in that width."""
    (found,) = re.findall(rf'<path d="M([^"Z]*)" fill="none" stroke="#000" stroke-width="{width}"/>', svg)
    return [tuple(map(float, pair.split())) for pair in found.split("L")]  # type: ignore[misc]


def test_the_middle_line_is_drawn_to_scale_and_inside_the_paper(plan: Plan, shop: Shop) -> None:
    """Heights above the axis go as the money, distances along it as the quantities."""
    svg = curve_svg(writer_of(plan, shop))
    drawn, band = points(svg, "0.7"), cost_band()
    assert len(drawn) == len(band.curve)
    assert all(0.0 <= x <= WIDTH_MM and 0.0 <= y <= HEIGHT_MM for x, y in drawn)
    (x0, y0), (x1, y1) = drawn[0], drawn[-1]
    assert y0 < y1 - 10.0  # the few pieces are dear, and dear is up
    per_piece = (x1 - x0) / (band.curve[-1].quantity - band.curve[0].quantity)
    axis = float(re.findall(r"L[\d.]+ ([\d.]+)L176 ", svg)[-1])  # the corner of the two axes, drawn after the lines
    scale = (axis - drawn[-1][1]) / band.curve[-1].each.p50
    for (x, y), point in zip(drawn, band.curve, strict=True):
        assert x == pytest.approx(x0 + per_piece * (point.quantity - band.curve[0].quantity), abs=0.02)
        assert axis - y == pytest.approx(scale * point.each.p50, abs=0.02)


def test_the_curve_is_written_as_a_table(plan: Plan) -> None:
    rows = list(csv.reader(io.StringIO(curve_csv(plan))))
    band = cost_band()
    assert rows[0] == list(HEAD)
    assert [int(row[0]) for row in rows[1:]] == [point.quantity for point in band.curve]
    by_quantity = {int(row[0]): row for row in rows[1:]}
    assert by_quantity[125][6:] == ["more bars for one more piece", "55.69"]
    assert float(by_quantity[150][2]) == pytest.approx(17.9 + 741.0 / 150)
    assert float(by_quantity[150][4]) == pytest.approx(17.9 * 150 + 741.0, abs=0.01)
    assert curve_csv(with_band(plan, None)).count("\n") == 1


def test_a_line_that_nothing_written_moves_says_so(plan: Plan, shop: Shop) -> None:
    html = price_html(writer_of(plan, shop))
    assert re.search(r"Coat</th>.*?nothing written", html)
    assert span(1.0, 2.0, 4.0).width == 3.0


def test_money_of_what_is_planned_alone_is_called_so(plan: Plan, shop: Shop) -> None:
    assert plan.not_cut
    assert "the whole part costs more" in " ".join(typeset_price(plan, shop)[0].split())
    whole = msgspec.structs.replace(plan, not_cut=())
    assert "the whole part costs more" not in " ".join(typeset_price(whole, shop)[0].split())
    assert price_page(writer_of(msgspec.structs.replace(plan, passes=()), shop)) is None


def test_the_command_line_tells_the_band_and_what_to_measure_first(plan: Plan) -> None:
    told = " ".join(" ".join(band_lines(plan)).split())
    assert told.startswith("Drawn 22.93 in the middle, eight draws in ten 20.71 to 25.44")
    assert "rates an hour: 37 % narrower once known; work the rate out" in told
    assert band_lines(with_band(plan, None)) == []


def test_a_process_that_holds_the_finisher_s_id_is_named_once(plan: Plan, shop: Shop) -> None:
    """The short name of the id would stand in its own process: laser marking marking."""
    coater = msgspec.structs.replace(shop.finishers[0], id="laser", process="laser marking")
    marked = msgspec.structs.replace(shop, finishers=(coater,))
    band = cost_band()
    line = msgspec.structs.replace(band.lines[4], text="outside: laser marking")
    html = price_html(writer_of(with_band(plan, msgspec.structs.replace(band, lines=(line,))), marked))
    assert "Outside: laser marking<" in html


@pytest.mark.parametrize("is_of_floor", [False, True])
def test_papers_of_the_floor_show_no_money(plan: Plan, shop: Shop, *, is_of_floor: bool) -> None:
    """Over all words of all pages but their drawings; with money they are those of the office."""
    writer = Writer(plan=plan, shop=shop, drawings={}, fingerprint="ab" * 32, is_of_floor=is_of_floor)
    made = papers_document(writer)
    sheets = [page["sheet"] for page in made["pages"]]
    told = json.dumps(made, ensure_ascii=False)
    has_money = re.search(rf"\b{re.escape(shop.currency)}\b|\b(price|cost)s?\b", told, re.IGNORECASE) is not None
    assert has_money is not is_of_floor
    floor_needs = {"Saw ticket", "Inspection sheet", "Bench card", "Receiving check"}
    assert floor_needs <= set(sheets), sheets
