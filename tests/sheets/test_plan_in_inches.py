"""The pages of a plan in inches: numbers exact, words as they were told, no limit wider than in mm."""

# pyright: reportMissingImports=false
from __future__ import annotations

import re
from decimal import Decimal
from html import unescape

import msgspec
import pytest
from fixture_plan import example_plan as plan
from fixture_shop import example_shop as shop

from proveout.model.fact import exact_fact
from proveout.model.features import Feature
from proveout.model.plan import ClampForce
from proveout.sheets.charts_html import charts_html
from proveout.sheets.ink import IN_INCHES, INCH_FOR, Ink, printed
from proveout.sheets.plan_in_inches import PlanInInches
from proveout.sheets.proofs_html import proof_html, proof_list
from proveout.sheets.route_html import head_html, route_html, with_route
from proveout.sheets.station_html import station_html
from proveout.sheets.writer import Writer

NUMBER = re.compile(r"\d+(?:\.\d+)?")
NAMED = ("pocket 36 × 50, 12 deep, corners R4, open to +z", "thread M6 6H in hole Ø5, 14 deep, from −z")


def words() -> PlanInInches:
    origin, up = (0.0, 0.0, 0.0), (0.0, 0.0, 1.0)
    features = tuple(
        Feature(id=name, kind="pocket", form="closed", name=name, face_ids=(), sizes_mm={}, place_mm=origin, opens=up)
        for name in NAMED
    )
    whole = plan()
    whole = msgspec.structs.replace(whole, survey=msgspec.structs.replace(whole.survey, features=features))
    return PlanInInches([whole], shop())


@pytest.mark.parametrize(
    ("told", "worked"),
    [
        ("floor of pocket 36 × 50", "floor of pocket 1.417 × 1.969"),
        (NAMED[0], "pocket 1.417 × 1.969, 0.472 deep, corners R0.157, open to +z"),
        (NAMED[1], "thread M6 6H in hole Ø0.197, 0.551 deep, from −z"),
        ("Pocket 36 × 50: face 8 and 7 more", "Pocket 1.417 × 1.969: face 8 and 7 more"),
        ("counterbore, hole 7 Ø12.0", "counterbore, hole 7 Ø0.472"),
        ("outside fillet R0.8: face 12", "outside fillet R0.031: face 12"),
        ("R0.76 or more on the drawing", "R0.0300 or more on the drawing"),
        ("Hole 1, mouth at x 38.00, y −76.20, z 0.00", "Hole 1, mouth at x 1.4961, y −3.0000, z 0"),
        ("Ø12 from 0 to 7.025 deep; opens to (0.875, -0.408, 0.259) at (112.9, 25.4, 0)",
         "Ø0.472 from 0 to 0.27657 deep; opens to (0.875, -0.408, 0.259) at (4.445, 1.000, 0)"),
        ("cut length, mm", "cut length, in"),
        ("Cut across the jaws, mm.", "Cut across the jaws, inches."),
        ("All sizes in mm at the machine", "All sizes in inches at the machine"),
        ("0.003 mm per mm over 101.6 mm", "0.00012 in per in over 4.000 in"),
        ("at most 0.05 mm, at least 0.05 mm", "at most 0.0019 in, at least 0.0020 in"),
        ("112.90 ± 0.20 mm", "4.4449 ± 0.0078 in"),
        ("5.350 – 5.500 mm", "0.21063 – 0.21654 in"),
    ],
)  # fmt: skip
def test_words_and_names_become_inches(told: str, worked: str) -> None:
    """Worked by hand: a number of mm divided by 25.4; a limit rounded inwards."""
    assert words().said(told) == worked


@pytest.mark.parametrize(
    "text",
    ["20 H8", "cap screw M6 x 25", "2 wide x 4 high", "Day and h:mm into the shift", "75 mm²", "3 mm³", "face 12",
     "revision R2-a", "tap M6 × 1", "lines 3 and 5 mm", "kerf_mm 1.8", f"Ø{IN_INCHES}1.969"],
)  # fmt: skip
def test_all_else_stays(text: str) -> None:
    assert words().said(text) == text.replace(IN_INCHES, "")


def test_names_of_the_shop_stay_as_typed() -> None:
    cutter = msgspec.structs.replace(shop().cutters[0], name="drill 12 mm")
    known = PlanInInches([plan()], msgspec.structs.replace(shop(), cutters=(cutter,)))
    assert known.said("drill 12 mm goes 12 mm deep") == "drill 12 mm goes 0.47 in deep"


def test_a_form_keeps_what_is_typed_and_a_program_its_text() -> None:
    page = (
        '<p title="12 mm">12 mm</p><form><label>grip, mm</label><input value="12 mm">'
        '<p class="hint">R4 ±0.2</p>floor of pocket 36 × 50, hole 7 Ø12.0</form><code>(12 mm)</code><img alt="12 mm">'
    )
    assert words().page(page) == (
        '<p title="0.47 in">0.47 in</p><form><label>grip, mm</label><input value="12 mm">'
        '<p class="hint">R4 ±0.2</p>floor of pocket 1.417 × 1.969, hole 7 Ø0.472</form>'
        '<code>(12 mm)</code><img alt="0.47 in">'
    )


def test_a_number_of_the_ink_is_not_turned_over_again() -> None:
    ink = Ink(roots={"shop": shop()}, is_inch=True)
    diameter = ink.number("shop", "cutters", 0, "diameter_mm", digits=1)
    bare = diameter.removeprefix(IN_INCHES)
    assert abs(float(bare) - shop().cutters[0].diameter_mm / 25.4) < 0.001
    assert words().page(f"<td>Ø{diameter}</td>") == f"<td>Ø{bare}</td>"


def test_a_torque_is_no_length() -> None:
    """Its unit N mm is no mm."""
    vise = ClampForce(clamping_id="c1", force_n=None, torque_n_mm=60000.0, ratio=1.0)
    ink = Ink(roots={"plan": msgspec.structs.replace(plan(), clamp_forces=(vise,))}, is_inch=True)
    assert ink.number("plan", "clamp_forces", 0, "torque_n_mm", digits=0) == "60000"


def _pages(*, is_inch: bool) -> tuple[str, Ink]:
    """Everything that the desk prints of the example plan."""
    writer = Writer(plan=plan(), shop=shop(), drawings={}, fingerprint="", is_inch=is_inch)
    made = [head_html(writer), route_html(writer, base=""), charts_html(writer)]
    made += [station_html(writer, place, base="") for place in range(len(with_route(writer).stations))]
    proofs = range(len(writer.plan.proofs))
    made += [proof_list(writer, list(proofs), href=str), *(proof_html(writer, i, titles={}) for i in proofs)]
    return "".join(made), writer.ink


def test_every_length_of_every_page_is_told_in_inches() -> None:
    """Both times the same things are printed; each number is the same, or 25.4 times smaller where it is a length."""
    (in_mm, mm), (in_inches, inch) = _pages(is_inch=False), _pages(is_inch=True)
    assert [one.address for one in mm.lines] == [one.address for one in inch.lines]
    turned = 0
    for before, after in zip(mm.lines, inch.lines, strict=True):
        if before.is_words or before.text == after.text:
            continue
        assert after.unit in ("in", "in/min", "in/s", "in/s²", "in/s³"), before
        value = float(mm.at(*before.address)) * (60.0 if after.unit == "in/min" else 1.0) / 25.4
        assert abs(value - float(after.text.replace("−", "-"))) <= 1.0 * 10.0**-after.digits, before
        turned += 1
    assert turned > 100
    lengths = [one for one in mm.lines if one.unit in INCH_FOR or str(one.address[-1]).endswith("_mm")]
    still = [one for one in lengths if one in inch.lines and not str(one.address[-1]).endswith("_n_mm")]
    assert still == []
    told = unescape(re.sub(r"<[^>]*>", "\n", PlanInInches([plan()], shop()).page(in_inches)))
    left = [line for line in told.split("\n") if re.search(r"(?<![\w:])mm(?![\w²³])", line)]
    assert left == []
    assert IN_INCHES not in told
    assert "mm" in in_mm


def test_no_limit_grows_and_nothing_found_shrinks_in_inches() -> None:
    """Printed back in mm, a limit is never wider and what was found never smaller than it is."""
    _, ink = _pages(is_inch=True)
    seen = 0
    for one in ink.lines:
        field = one.address[-1]
        if one.unit != "in" or field not in ("limit", "found_low", "found_high"):
            continue
        proof = ink.at(*one.address[:-1])
        value, told = (
            Decimal(repr(round(ink.at(*one.address), 7))),
            Decimal(one.text.replace("−", "-")) * Decimal("25.4"),
        )
        is_up = proof.sense == "at least" if field == "limit" or value == proof.limit else field == "found_high"
        assert told >= value if is_up else told <= value, one
        seen += 1
    assert seen > 10


@pytest.mark.parametrize(("towards", "worked"), [(-1, "0.0019"), (0, "0.0020"), (1, "0.0020")])
def test_a_number_is_rounded_the_way_that_is_asked(towards: int, worked: str) -> None:
    assert printed(0.05, unit="in", digits=4, towards=towards) == worked


def test_dust_of_adding_up_is_no_number() -> None:
    assert printed(1e-12, unit="in", digits=5, towards=1) == "0.00000"
    assert printed(-1e-12, unit="in", digits=5, towards=-1) == "0.00000"


@pytest.mark.parametrize(("inside", "shown", "said"), [
    ("mm/s", "mm/s", "229.65\u202fin/s"), ("mm/s2", "mm/s²", "229.65\u202fin/s²"), ("N/mm", "N/mm", "5833.0\u202fN/mm"),
])  # fmt: skip
def test_a_speed_among_inputs_is_told_in_inches_and_a_force_is_not(inside: str, shown: str, said: str) -> None:
    ink = Ink(roots={"fact": exact_fact(5833.0, inside, "worked", "assumed")}, is_inch=True)
    assert ink.number("fact", "high", unit=shown, as_is=True, digits=1).removeprefix(IN_INCHES) == said
