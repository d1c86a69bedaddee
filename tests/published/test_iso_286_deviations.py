"""ISO 286-1: fundamental deviations (from memory, so the rows are frozen), and the standard's formulas beside them."""

from __future__ import annotations

import pytest

from proveout.quantities.deviations import (
    ABOVE,
    BELOW,
    FINE_STEPS_MM,
    LETTERS,
    STEPS_MM,
    hole_limits_mm,
    shaft_limits_mm,
)
from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import grade_mm

# frozen: class, size, upper and lower deviation in micrometres, as the tables of ISO 286-2 are remembered
SHAFTS = [
    ("g6", 25.0, -7, -20), ("f7", 20.0, -20, -41), ("e8", 50.0, -50, -89), ("d9", 30.0, -65, -117),
    ("h6", 25.0, 0, -13), ("js6", 10.0, 4.5, -4.5), ("k6", 25.0, 15, 2), ("k8", 25.0, 33, 0), ("m6", 10.0, 15, 6),
    ("n6", 25.0, 28, 15), ("p6", 25.0, 35, 22), ("k6", 3.0, 6, 0), ("g5", 8.0, -5, -11), ("c11", 25.0, -110, -240),
    ("b11", 60.0, -190, -380), ("a11", 45.0, -320, -480), ("r6", 60.0, 60, 41), ("s6", 25.0, 48, 35),
    ("u6", 20.0, 54, 41), ("t6", 28.0, 54, 41),
]  # fmt: skip
HOLES = [
    ("G7", 25.0, 28, 7), ("F8", 20.0, 53, 20), ("E9", 50.0, 112, 50), ("D10", 30.0, 149, 65), ("H7", 25.0, 21, 0),
    ("JS7", 20.0, 10.5, -10.5), ("K7", 20.0, 6, -15), ("M7", 25.0, 0, -21), ("N7", 25.0, -7, -28),
    ("N9", 16.0, 0, -43), ("P7", 25.0, -14, -35), ("K7", 3.0, 0, -10), ("N9", 3.0, -4, -29), ("P9", 25.0, -22, -74),
    ("M6", 300.0, -9, -41), ("K6", 100.0, 4, -18), ("C11", 25.0, 240, 110), ("R7", 25.0, -20, -41),
    ("S7", 25.0, -27, -48), ("U7", 25.0, -40, -61), ("R8", 25.0, -28, -61), ("S7", 3.0, -14, -24),
]  # fmt: skip
MIDDLES = [(low * high) ** 0.5 for low, high in zip((3.0, *STEPS_MM[1:-1]), STEPS_MM[1:], strict=True)]


@pytest.mark.parametrize(("name", "size_mm", "high_um", "low_um"), SHAFTS)
def test_shafts(name: str, size_mm: float, high_um: float, low_um: float) -> None:
    letter = name.rstrip("0123456789")
    low, high = shaft_limits_mm(letter=letter, grade=int(name[len(letter) :]), size_mm=size_mm)
    assert (1000.0 * (high - size_mm), 1000.0 * (low - size_mm)) == pytest.approx((high_um, low_um), abs=1e-6)


@pytest.mark.parametrize(("name", "size_mm", "high_um", "low_um"), HOLES)
def test_holes(name: str, size_mm: float, high_um: float, low_um: float) -> None:
    letter = name.rstrip("0123456789")
    low, high = hole_limits_mm(letter=letter, grade=int(name[len(letter) :]), size_mm=size_mm)
    assert (1000.0 * (high - size_mm), 1000.0 * (low - size_mm)) == pytest.approx((high_um, low_um), abs=1e-6)


@pytest.mark.parametrize(
    ("letter", "factor", "power"),
    [("d", 16.0, 0.44), ("e", 11.0, 0.41), ("f", 5.5, 0.41), ("g", 2.5, 0.34), ("n", 5.0, 0.34)],
)  # fmt: skip
def test_the_table_follows_the_formulas_of_the_standard(letter: str, factor: float, power: float) -> None:
    """Worked: factor times a power of the geometric mean of a step, rounded to round micrometres: up to 7 % or 0.7."""
    for top, middle in zip(STEPS_MM[1:], MIDDLES, strict=True):
        low, high = shaft_limits_mm(letter=letter, grade=7, size_mm=top)
        near_um = 1000.0 * (top - high if letter in BELOW else low - top)
        assert near_um == pytest.approx(factor * middle**power, rel=0.07, abs=0.7)


def test_m_is_the_difference_of_two_grades() -> None:
    """Worked by the standard's rule: m lies IT7 - IT6 above the size; the table rounds it by at most 1 micrometre."""
    for top in STEPS_MM[1:]:
        low, _ = shaft_limits_mm(letter="m", grade=7, size_mm=top)
        rule = grade_mm(grade=7, size_mm=top) - grade_mm(grade=6, size_mm=top)
        assert 1000.0 * (low - top) == pytest.approx(1000.0 * rule, abs=2.0)


FINE_MIDDLES = [
    (low * high) ** 0.5 for low, high in zip((3.0, *FINE_STEPS_MM[1:-1]), FINE_STEPS_MM[1:], strict=True)
]  # fmt: skip


def far(letter: str, middle: float, top: float) -> float:
    """The standard's formulas, in micrometres; IT7 and IT8 of the step."""
    it7, it8 = (1000.0 * grade_mm(grade=grade, size_mm=top) for grade in (7, 8))
    s = it8 + 2.5 if middle <= 50.0 else it7 + 0.4 * middle
    ends = (
        (6.0, 12),
        (10.0, 15),
        (18.0, 18),
        (30.0, 22),
        (50.0, 26),
        (80.0, 32),
        (120.0, 37),
        (180.0, 43),
        (250.0, 50),
    )
    p = next((value for end, value in ends if top <= end), 56)
    return {
        "a": 265.0 + 1.3 * middle if middle <= 120.0 else 3.5 * middle,
        "b": 140.0 + 0.85 * middle if middle <= 160.0 else 1.8 * middle,
        "c": 52.0 * middle**0.2 if middle <= 40.0 else 95.0 + 0.8 * middle,
        "r": (p * s) ** 0.5, "s": s, "t": it7 + 0.63 * middle, "u": it7 + middle, "x": it7 + 1.6 * middle,
        "z": it7 + 2.5 * middle,
    }[letter]  # fmt: skip


@pytest.mark.parametrize(
    ("letter", "from_mm"),
    [("a", 3.0), ("b", 3.0), ("c", 40.0), ("r", 3.0), ("s", 3.0), ("t", 30.0), ("u", 14.0), ("x", 14.0), ("z", 18.0)],
)
def test_letters_far_from_the_size_follow_the_formulas_of_the_standard(letter: str, from_mm: float) -> None:
    """Worked: entries beyond from_mm, rounded by the standard, within 5 % or 2 micrometres of its formula.

    Below from_mm the standard's own table leaves its formula: there the rows are remembered alone, and frozen.
    """
    for top, middle in zip(FINE_STEPS_MM[1:], FINE_MIDDLES, strict=True):
        if top <= from_mm:
            continue
        low, high = shaft_limits_mm(letter=letter, grade=7, size_mm=top)
        near_um = 1000.0 * (top - high if letter in BELOW else low - top)
        assert near_um == pytest.approx(far(letter, middle, top), rel=0.05, abs=2.0)


@pytest.mark.parametrize(
    ("size_mm", "a", "b", "c"),
    [(200.0, 660, 340, 240), (225.0, 740, 380, 260), (250.0, 820, 420, 280), (280.0, 920, 480, 300),
     (315.0, 1050, 540, 330)],
)  # fmt: skip
def test_printed_deviations_above_180_mm(size_mm: float, a: int, b: int, c: int) -> None:
    """Printed, as quoted: a textbook's table, upper deviations of shafts a, b and c."""
    for letter, printed in (("a", a), ("b", b), ("c", c)):
        assert 1000.0 * (shaft_limits_mm(letter=letter, grade=11, size_mm=size_mm)[1] - size_mm) == pytest.approx(
            -printed
        )


def test_a_and_b_have_no_class_up_to_one_millimetre() -> None:
    for letter in ("a", "b"):
        with pytest.raises(OutOfRange, match="small"):
            shaft_limits_mm(letter=letter, grade=11, size_mm=1.0)


@pytest.mark.parametrize("letter", LETTERS)
@pytest.mark.parametrize("size_mm", [2.0, 25.0, 300.0])
def test_a_class_is_as_wide_as_its_grade(letter: str, size_mm: float) -> None:
    size_mm = max(size_mm, 24.5) if letter == "t" else size_mm
    for limits, name in ((shaft_limits_mm, letter), (hole_limits_mm, letter.upper())):
        low, high = limits(letter=name, grade=7, size_mm=size_mm)
        assert high - low == pytest.approx(grade_mm(grade=7, size_mm=size_mm), abs=1e-12)


@pytest.mark.parametrize("letter", [*BELOW, "js"])
def test_a_clearance_hole_is_the_mirror_image_of_its_shaft(letter: str) -> None:
    low, high = shaft_limits_mm(letter=letter, grade=8, size_mm=40.0)
    assert hole_limits_mm(letter=letter.upper(), grade=8, size_mm=40.0) == pytest.approx((80.0 - high, 80.0 - low))


@pytest.mark.parametrize(
    ("letter", "grade"), [("V", 7), ("T", 7), ("R", 5), ("h", 7), ("K", 9), ("N", 5), ("H", 4), ("Js", 7)]
)
def test_a_hole_outside_the_table_is_refused(letter: str, grade: int) -> None:
    with pytest.raises(OutOfRange, match="table"):
        hole_limits_mm(letter=letter, grade=grade, size_mm=20.0)


@pytest.mark.parametrize(("letter", "grade"), [("v", 6), ("t", 6), ("H", 7), ("g", 15)])
def test_a_shaft_outside_the_table_is_refused(letter: str, grade: int) -> None:
    with pytest.raises(OutOfRange, match="table"):
        shaft_limits_mm(letter=letter, grade=grade, size_mm=20.0)


def test_letters_are_those_of_both_sides() -> None:
    assert {*BELOW, "js", *ABOVE} == set(LETTERS)
