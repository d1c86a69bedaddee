"""Every number on papers and page stands at an address of plan or shop, under a rounding that is redone here."""

from __future__ import annotations

import html
import json
import math
import re
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import msgspec
import pypdfium2
import pytest

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.model.target import Target
from proveout.sheets.ink import Ink, Printed
from proveout.sheets.names import digest_words
from proveout.sheets.papers import papers_document
from proveout.sheets.plan_html import html_of
from proveout.sheets.typesetting import typeset
from proveout.sheets.writer import Writer

MARKED = re.compile(r"‹[^‹›]*›", re.DOTALL)
DIGIT = re.compile(r"\d")
# the only figures that stand for themselves: page numbers, a unit, the name of a standard
LABELS = (
    r"\bpage \d+ / \d+",
    r"\b1/min\b",
    r"\bISO 2768-1\b",
    r"\bISO 2360\b",
    r"\bASTM B244\b",
    r"\bNFPA 484\b",
    r"\bAA F-1\b",
)
# how many of the unit inside make one printed unit; written a second time, from the definitions of the units
SCALES = {
    "": 1.0,
    "mm": 1.0,
    "kg": 1.0,
    "min:s": 1.0,
    "min": 60.0,
    "h": 3600.0,
    "1/min": 2 * math.pi / 60,
    "mm/min": 1 / 60,
    "°": math.pi / 180,
    "kN": 1000.0,
    "N m": 1000.0,
    "kW": 1e6,
    "cm²": 100.0,
    "dm²": 10_000.0,
    "cm³": 1000.0,
    "%": 0.01,
    "g": 0.001,
}


def pdf_text(made: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(made)
    texts = []
    for index in range(len(document)):
        page = document[index]
        textpage = page.get_textpage()
        texts.append(textpage.get_text_bounded())
        textpage.close()
        page.close()
    document.close()
    return texts


def page_text(page: str) -> str:
    """All words of a page that a person meets: text, names for readers of the screen, and the words inside its data."""
    data = re.search(r'<script type="application/json"[^>]*>(.*?)</script>', page, re.DOTALL)
    words = ""
    if data:
        held = json.loads(data.group(1))
        words = "\n".join([*held["names"], *held["notes"]])
    bare = re.sub(r"<(script|style)\b.*?</\1>", " ", page, flags=re.DOTALL)
    named = " ".join(re.findall(r'(?:aria-label|alt)="([^"]*)"', bare))
    bare = re.sub(r"<title[^>]*>[^<]*</title>", " ", bare, count=1)  # the name of the window repeats the heading
    return html.unescape(re.sub(r"<[^>]+>", " ", bare) + named) + words


def left_over(text: str) -> list[str]:
    """Figures outside every mark and label, each with what surrounds it."""
    bare = MARKED.sub("•", text)
    for label in (*LABELS, re.escape(digest_words("5f0c2a9be41d77c3"))):
        bare = re.sub(label, " ", bare)
    return [bare[max(0, m.start() - 25) : m.end() + 25] for m in DIGIT.finditer(bare)]


def at(root: Any, address: tuple[str | int, ...]) -> Any:
    for step in address:
        root = root[step]
    return root


def expected(entry: Printed, value: float) -> str:
    scaled = value if entry.as_is else value / SCALES.get(entry.unit, 1.0)
    if entry.unit == "min:s":
        seconds = int(Decimal(scaled).quantize(Decimal(1), rounding=ROUND_HALF_UP))
        return f"{seconds // 60}:{seconds % 60:02d}"
    return f"{scaled:.{entry.digits}f}".replace("-", "−")


def check_lines(writer: Writer, plan: Plan, shop: Shop, *, least: int = 100) -> None:
    roots = {name: json.loads(msgspec.json.encode(root)) for name, root in writer.ink.roots.items()}
    assert roots["plan"] == json.loads(msgspec.json.encode(plan))
    assert roots["shop"] == json.loads(msgspec.json.encode(shop))
    numbered = [str(n.balloon) for n in (*plan.survey.faces, *plan.survey.holes)] + [
        str(c.number) for c in plan.clampings
    ]
    named = re.findall(r"\d+(?:\.\d+)?", " ".join(c.name for c in (*shop.cutters, *shop.machines)))
    assert len(writer.ink.lines) > least
    for entry in writer.ink.lines:
        value = at(roots[str(entry.address[0])], entry.address[1:])
        if not entry.is_words:
            assert entry.text == expected(entry, value), entry
            continue
        source = set(re.findall(r"\d+(?:\.\d+)?", json.dumps(value, ensure_ascii=False))) | set(numbered) | set(named)
        assert set(re.findall(r"\d+(?:\.\d+)?", entry.text)) <= source, entry


def test_every_number_of_the_papers_stands_at_an_address(marked: Writer, plan: Plan, shop: Shop) -> None:
    text = "\n".join(pdf_text(typeset(papers_document(marked))))
    assert len(MARKED.findall(text)) > 300
    assert left_over(text) == []
    check_lines(marked, plan, shop)


def test_every_number_of_the_page_stands_at_an_address(marked: Writer, plan: Plan, shop: Shop, target: Target) -> None:
    text = page_text(html_of(marked, target))
    assert len(MARKED.findall(text)) > 200
    assert left_over(text) == []
    check_lines(marked, plan, shop)


def test_a_number_without_address_would_be_seen() -> None:
    assert left_over("lift ‹30› mm, then 12.5 more; page 3 / 11")[0].strip().startswith("lift • mm, then 1")


@pytest.mark.parametrize(
    ("value", "unit", "digits", "text"),
    [
        (-0.001, "mm", 2, "0.00"),
        (-0.4, "mm", 1, "−0.4"),
        (59.6, "min:s", 0, "1:00"),
        (0.4, "min:s", 0, "0:00"),
        (1000.0 / 60.0, "mm/min", 0, "1000"),
        (2.0 * math.pi * 100.0, "1/min", 0, "6000"),
        (60000.0, "N m", 0, "60"),
        (7.5e6, "kW", 1, "7.5"),
        (17500.0, "kN", 1, "17.5"),
        (math.pi / 6.0, "°", 1, "30.0"),
        (5400.0, "h", 1, "1.5"),
    ],
)
def test_units_are_converted_once_on_printing(value: float, unit: str, digits: int, text: str) -> None:
    """Worked: 1 m/min = 1000/60 mm/s; 100 turns a second = 6000 a minute; 60 N m = 60 000 N mm."""
    ink = Ink(roots={"plan": {"x": value}})
    assert ink.number("plan", "x", unit=unit, digits=digits, bare=True) == text
    assert ink.lines[0].address == ("plan", "x")
