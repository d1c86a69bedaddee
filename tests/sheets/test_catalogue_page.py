"""The page of a catalogue: its verdict first, every number at an address, links that stay in the folder."""

from __future__ import annotations

import csv
import re

import pytest
from fixture_shop import fact
from test_addresses import MARKED, expected, left_over, page_text
from test_page import read

from proveout.model.catalogue import (
    Catalogue,
    CatalogueEntry,
    CataloguePart,
    Changer,
    SharedCutter,
    SharedSection,
    Sharing,
)
from proveout.model.shop import Shop
from proveout.sheets.catalogue_csv import cutters_csv
from proveout.sheets.catalogue_html import catalogue_html, marked_catalogue
from proveout.sheets.ink import resolve


def part(number: str, *, ready: bool) -> CataloguePart:
    return CataloguePart(
        number=number, name="Clamp <jaw>", revision="A", quantity=150, folder=f"{number} x", ready=ready,
        open_count=0 if ready else 2, weakest="" if ready else "fails: the grip carries the cut",
        machine_ids=("mill3",), piece_s=fact(500.0, 600.0, 700.0, "s"),
        cost_each=fact(20.0, 22.5, 25.0, "money") if ready else None, batch=None,
    )  # fmt: skip


@pytest.fixture
def catalogue(shop: Shop) -> Catalogue:
    one, other = shop.cutters[0].id, shop.cutters[1].id
    changer = Changer(
        machine_id="mill3", places_count=20,
        cutters=(
            SharedCutter(cutter_id=one, parts=("EX-102", "EX-103"), piece_s=(61.0, None), place=1),
            SharedCutter(cutter_id=other, parts=("EX-103",), piece_s=(12.0,), place=None),
        ),
        guests={"EX-103": (other,)}, loads_count=1, bound_count=1, status="proved",
    )  # fmt: skip
    entries = (
        CatalogueEntry(path="jaw.toml", kind="job", folder="jaw", state="ready", parts=(part("EX-102", ready=True),)),
        CatalogueEntry(path="k.toml", kind="job", folder="k", state="not ready", parts=(part("EX-103", ready=False),)),
        CatalogueEntry(path="odd.toml", kind="job", folder="", state="refused", said="The file is no TOML, line 3"),
    )
    section = SharedSection(bar_id="30x20", parts=("EX-102", "EX-103"), pieces_count=318, bars_count=7, price=412.0)
    return Catalogue(
        schema_version=1, entries=entries, sharing=Sharing(changers=(changer,), sections=(section,)), proofs=(),
        notes=("each entry is planned by itself",),
    )  # fmt: skip


def test_what_is_not_ready_and_what_was_not_planned_stands_in_words(catalogue: Catalogue, shop: Shop) -> None:
    page = catalogue_html(catalogue, shop=shop, name="<i>lamps</i>")
    assert "Not every part is ready" in page.split("<main>", maxsplit=1)[0]
    assert "The file is no TOML, line 3" in page
    assert "Fails: the grip carries the cut" in page
    assert "For EX-103 load" in page
    assert "comes and goes" in page
    assert f"<pre>changer = [&quot;{shop.cutters[0].id}&quot;]</pre>" in page
    assert "mill3" not in page  # machines by their names
    assert not re.search(r"\bsafe", page, re.IGNORECASE)
    reader = read(page)
    assert (reader.faults, reader.open) == ([], [])
    assert "<i>" not in page
    assert "<jaw>" not in page
    assert not re.search(r"https?:|\b(src|action)=|@import", page)
    links = [link for link in re.findall(r'href="([^"]*)"', page) if not link.startswith("#")]
    assert links == [f"{n}%20x/{file}" for n in ("EX-102", "EX-103") for file in ("plan.html", "papers.pdf")]


def test_every_number_stands_at_an_address(catalogue: Catalogue, shop: Shop) -> None:
    page, ink = marked_catalogue(catalogue, shop=shop)
    text = page_text(page)
    assert len(MARKED.findall(text)) > 20
    assert left_over(text) == []
    for entry in ink.lines:
        value = resolve(ink.roots[str(entry.address[0])], entry.address[1:])
        if not entry.is_words:
            assert entry.text == expected(entry, value), entry


def test_the_table_has_a_row_for_each_machine_cutter_and_part(catalogue: Catalogue, shop: Shop) -> None:
    rows = list(csv.DictReader(cutters_csv(catalogue).splitlines()))
    one, other = shop.cutters[0].id, shop.cutters[1].id
    assert [(r["cutter"], r["place"], r["part"], r["seconds_a_piece"]) for r in rows] == [
        (one, "1", "EX-102", "61.0"), (one, "1", "EX-103", ""), (other, "", "EX-103", "12.0"),
    ]  # fmt: skip
