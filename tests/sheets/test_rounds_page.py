"""What the rounds tightened, which proof asked, and what it cost: worked on invented rounds."""

from __future__ import annotations

import html
import re

import msgspec
import pytest
from fixture_names import OPS
from test_addresses import check_lines, left_over, page_text
from test_route_page import writer_of
from test_station_pages import sound

from proveout.cli.words import tightened_lines
from proveout.model.limits import QUANTITIES
from proveout.model.plan import Plan, Round
from proveout.model.proof import Tighten
from proveout.model.shop import Shop
from proveout.sheets.rounds_html import NOTHING, OPEN, WORDS, rounds_html


def rounds_of(plan: Plan, *, failing: tuple[str, ...] = ()) -> tuple[Round, ...]:
    """Invented: a level and a feed in the first round, the vise in the second; 9:31, 9:50 and 10:05 at feed."""
    proof = next(p for p in plan.proofs if p.stage == "holding")
    cutter_id = plan.passes[0].cutter_id
    level = Tighten(subject=f"{OPS[0]}/{cutter_id}", quantity="axial_ratio", bound=0.41, unit="of the usual")
    feed = Tighten(subject=f"{OPS[0]}/{cutter_id}", quantity="feed_ratio", bound=0.9, unit="of the usual")
    vise = Tighten(subject=OPS[1], quantity="preload_ratio", bound=0.75, unit="of the usual")
    asked = (proof.id, "holding:gone:grip")
    return (
        Round(number=1, tightened=(level, feed), failing=asked, piece_s=571.0, asked_by=asked),
        Round(number=2, tightened=(vise,), failing=(proof.id,), piece_s=590.0, asked_by=(proof.id,)),
        Round(number=3, tightened=(), failing=failing, piece_s=605.0),
    )


@pytest.fixture(scope="module")
def eased(plan: Plan) -> Plan:
    return msgspec.structs.replace(plan, rounds=rounds_of(plan))


def rows_of(page: str) -> list[list[str]]:
    body = page.split("<tbody>")[1].split("</tbody>", maxsplit=1)[0]
    return [
        [html.unescape(c) for c in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row)] for row in body.split("</tr>")[:-1]
    ]


def test_each_thing_tightened_has_its_row_with_who_asked_and_what_it_cost(eased: Plan, shop: Shop) -> None:
    """Worked: 590 - 571 is 19 s, 605 - 590 is 15, in all 34 of them."""
    page = rounds_html(writer_of(eased, shop))
    rows = rows_of(page)
    assert [row[0] for row in rows] == ["1", "1", "2"]
    assert [row[3:] for row in rows] == [["9:31", "9:50", "0:19"], ["", "", ""], ["9:50", "10:05", "0:15"]]
    assert "levels no deeper than 0.410 of the cutter's diameter" in rows[0][1]
    assert "at most 0.900 of the feed of a tooth" in rows[1][1]
    assert rows[2][1] == "Op 2: the vise closed with 0.750 of its usual torque"
    claim = next(p.claim for p in eased.proofs if p.stage == "holding").partition(";")[0]
    assert rows[0][2].lower() == rows[2][2].lower() == claim.lower()
    assert "gone" in rows[1][2]  # a proof that the plan has no more is told by its name
    assert "In all 0:34 min at feed a piece more: 9:31 before, 10:05 after." in page
    assert OPEN not in page
    sound(page)


def test_every_number_of_it_stands_at_an_address(eased: Plan, shop: Shop) -> None:
    writer = writer_of(eased, shop, marked=True)
    page = rounds_html(writer)
    assert left_over(page_text(page)) == []
    check_lines(writer, eased, shop, least=10)


def test_where_nothing_was_tightened_or_nothing_helps_it_says_so(plan: Plan, shop: Shop) -> None:
    only = (Round(number=1, tightened=(), failing=(), piece_s=571.0),)
    assert (
        html.unescape(rounds_html(writer_of(msgspec.structs.replace(plan, rounds=only), shop))) == f"<p>{NOTHING}</p>"
    )
    stuck = msgspec.structs.replace(plan, rounds=rounds_of(plan, failing=("holding/tip/op1",)))
    assert OPEN in rounds_html(writer_of(stuck, shop))


def test_of_another_metal_no_minutes_are_told(eased: Plan, shop: Shop) -> None:
    unknown = msgspec.structs.replace(eased, metal_unknown="write the figures of this metal")
    page = rounds_html(writer_of(unknown, shop))
    assert "What it cost in minutes is not shown." in page
    assert not re.search(r"\d:\d\d", page)


def test_every_limit_that_can_be_tightened_has_its_words() -> None:
    assert set(WORDS) == set(QUANTITIES)


def test_the_command_line_says_what_it_cost(eased: Plan, plan: Plan) -> None:
    """Worked: 571 s are 9.5 min, 605 are 10.1."""
    told = " ".join(" ".join(tightened_lines(eased)).split())
    assert told.startswith("Tightened 3 limits in 2 rounds: 9.5 min at feed a piece before, 10.1 after;")
    kept = msgspec.structs.replace(plan, rounds=plan.rounds[-1:])
    assert tightened_lines(kept) == []
