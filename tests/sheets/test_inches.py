"""What a check tells in mm, told in inches."""

from __future__ import annotations

import pytest

from proveout.sheets.inches import in_inches


@pytest.mark.parametrize(
    ("told", "worked"),
    [
        ("0.1 mm too deep", "0.004 in too deep"),
        ("(worst 25.4 mm, limit 0.010 mm)", "(worst 1.000 in, limit 0.00039 in)"),
        ("-12.70 mm", "-0.5000 in"),
        ("from 10 to 20 mm", "from 0.39 to 0.79 in"),
        ("at 0 -25.4 254 mm of the solid", "at 0 -1.000 10.00 in of the solid"),
        ("100 x 60 x 30 mm", "3.94 x 2.36 x 1.18 in"),
        ("fed 1270.0 mm/min", "fed 50.000 in/min"),
        ("1e-05 mm", "0.0000004 in"),
        ("Ø6.35mm", "Ø0.2500in"),
        ("3 of 5 moves and 25 mm", "3 of 5 moves and 0.98 in"),
        ("0 mm", "0 in"),
        ("2 lines and 25.4 mm", "2 lines and 1.000 in"),
        ("25.4 mm and 12.70 mm", "1.000 in and 0.5000 in"),
    ],
)
def test_lengths_and_feeds_become_inches(told: str, worked: str) -> None:
    assert in_inches(told) == worked


@pytest.mark.parametrize(
    "text",
    [
        "12.5 mm³ of metal",
        "3 mm2",
        "240 N/mm²",
        "T12 mm",
        "face #40 mm",
        "plane +z 18.000 #8b70e5",
        "5 mmol",
        "3 min",
        "lines 3 and 5 mm",
        "3, or 5 mm",
    ],
)
def test_nothing_else_does(text: str) -> None:
    assert in_inches(text) == text


@pytest.mark.parametrize(
    ("told", "worked"),
    [
        ("end mill 12 mm meets the seat by 0.1 mm", "end mill 12 mm meets the seat by 0.004 in"),
        ("End mill 12 mm is fed 25.4 mm deep", "End mill 12 mm is fed 1.000 in deep"),
        ("end mill 12 mm long meets it", "end mill 12 mm long meets it"),
        ("the jaws of vise 125 mm, 25.4 mm between them", "the jaws of vise 125 mm, 1.000 in between them"),
        ("0.5 mm of drill 5", "0.020 in of drill 5"),
    ],
)
def test_names_keep_their_numbers(told: str, worked: str) -> None:
    """A name that holds another is told whole; one that is a length and nothing else keeps only its own."""
    names = ["end mill 12 mm", "end mill 12 mm long", "vise 125 mm", "drill 5", "5 mm", "plain"]
    assert in_inches(told, names) == worked
