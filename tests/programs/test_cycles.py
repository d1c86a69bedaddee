"""Canned cycles: what the steps of the report come to for a hole at (4, 5), worked by hand, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from proveout.geometry.arcs import XY, YZ, ZX
from proveout.programs.reading.cycles import Cycle, CycleFault, return_height, steps_of

HOLE = Cycle(
    code=81, plane=XY, bottom_mm=-6.0, near_mm=2.0, back_mm=3.0, peck_mm=3.0, back_off_mm=0.5, dwell_s=0.25,
    aside_mm=(0.5, 0.0), top_mm=-4.0,
)  # fmt: skip
ABOVE = (4.0, 5.0, 3.0)


def told(code: int) -> list[str]:
    """The steps at one place, from above it, as words: `feed -6` goes down to Z -6 at feed."""
    words = []
    for step in steps_of(replace(HOLE, code=code), at=ABOVE, places_mm=[(4.0, 5.0)]):
        aside = " aside" if step.to is not None and step.to[0] != 4.0 else ""
        number = f" {step.to[2]:g}" if step.to is not None else f" {step.dwell_s:g} s" if step.dwell_s else ""
        words.append(f"{step.kind}{number}{aside}")
    return words


@pytest.mark.parametrize(
    ("code", "worked"),
    [
        (81, ["rapid 2", "feed -6", "rapid 3"]),
        (82, ["rapid 2", "feed -6", "dwell 0.25 s", "rapid 3"]),
        # pecks of 3 from 2: to -1, to -4, to the bottom at -6; between them back to 3 and down to half a mm above
        (83, [
            "rapid 2", "feed -1", "rapid 3", "rapid -0.5", "feed -4", "rapid 3", "rapid -3.5", "feed -6", "rapid 3",
        ]),
        (
            84,
            ["rapid 2", "feed -6", "stop spindle", "reverse spindle", "feed 3", "stop spindle", "start spindle"],
        ),
        (85, ["rapid 2", "feed -6", "feed 3"]),
        (86, ["rapid 2", "feed -6", "dwell 0.25 s", "stop spindle", "rapid 3", "start spindle"]),
        (
            87,
            [
                "rapid 2", "rapid 2 aside", "orient spindle", "rapid -6 aside", "rapid -6", "start spindle", "feed -4",
                "feed -6", "orient spindle", "rapid -6 aside", "rapid 3 aside", "rapid 3", "start spindle",
            ],
        ),
        (88, ["rapid 2", "feed -6", "dwell 0.25 s", "stop spindle", "hand 3", "start spindle"]),
        (89, ["rapid 2", "feed -6", "dwell 0.25 s", "feed 3"]),
    ],
)  # fmt: skip
def test_each_cycle_does_what_the_report_lists(code: int, worked: list[str]) -> None:
    assert told(code) == worked


@pytest.mark.parametrize(
    ("plane", "at", "down"),
    [
        (XY, (1.0, 2.0, 9.0), (4.0, 5.0, -6.0)),
        (ZX, (2.0, 9.0, 1.0), (5.0, -6.0, 4.0)),
        (YZ, (9.0, 1.0, 2.0), (-6.0, 4.0, 5.0)),
    ],
)
def test_a_cycle_goes_down_along_the_third_axis(
    plane: tuple[int, int], at: tuple[float, float, float], down: tuple[float, float, float]
) -> None:
    steps = steps_of(replace(HOLE, plane=plane), at=at, places_mm=[(4.0, 5.0)])
    assert [step.to for step in steps if step.kind == "feed"] == [down]


def test_from_below_it_first_rises() -> None:
    steps = steps_of(HOLE, at=(1.0, 2.0, 1.0), places_mm=[(4.0, 5.0)])
    assert [step.to for step in steps[:3]] == [(1.0, 2.0, 2.0), (4.0, 5.0, 2.0), (4.0, 5.0, -6.0)]


def test_the_height_of_the_return() -> None:
    assert return_height(before_mm=3.0, near_mm=2.8, returns_to_start=True) == 3.0
    assert return_height(before_mm=3.0, near_mm=4.8, returns_to_start=True) == 4.8
    assert return_height(before_mm=3.0, near_mm=2.8, returns_to_start=False) == 2.8


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        (replace(HOLE, bottom_mm=2.5), "the R height 2 mm lies below the bottom 2.5 mm"),
        (replace(HOLE, code=83, peck_mm=None), "G83 needs a Q above 0"),
        (replace(HOLE, code=83, peck_mm=0.0), "G83 needs a Q above 0"),
        (replace(HOLE, code=83, peck_mm=1e-9), "Q of 1e-09 mm makes more than 1000 pecks of the hole"),
        (replace(HOLE, code=83, peck_mm=0.0075), "Q of 0.0075 mm makes more than 1000 pecks of the hole"),
        (replace(HOLE, code=82, dwell_s=None), "G82 needs a P that is not below 0"),
        (replace(HOLE, code=89, dwell_s=-1.0), "G89 needs a P that is not below 0"),
        (replace(HOLE, code=87, top_mm=None), "G87 needs a K"),
        (replace(HOLE, code=80), "G80 is no canned cycle that is known"),
    ],
)
def test_a_cycle_that_a_control_refuses_is_refused(wrong: Cycle, why: str) -> None:
    with pytest.raises(CycleFault, match=f"^{why}$"):
        steps_of(wrong, at=ABOVE, places_mm=[(4.0, 5.0)])
