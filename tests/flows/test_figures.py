"""Formulas by name: inputs with units, answers as the functions give them, and the page that tells them."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from flows.small import proveout

from proveout.cutting.deflection import tool_deflection_mm
from proveout.cutting.power import milling_power_mw
from proveout.jobs.figures import answer_words, figure, figures, list_words, page, sources_of
from proveout.quantities.errors import BadInput, OutOfRange
from proveout.quantities.measures import MEASURES, bare_name, told, typed

# a measured curve, a set of coefficients, the parts of a beam or a whole cutter are no input that could be typed
OF_CURVES = {"limit-depths", "lobe-depth", "mean-slot-forces", "turning-forces"} | {
    "arcs", "edge", "edges-in-cut", "peak-chips", "turn-forces", "turn-means", "engagements-of", "stepped-deflections",
    "thrust-torques", "edge-torques",
}  # fmt: skip
OF_CURVES |= {
    "edge",
    "lasting-torque",
    "torques-at-edge",
    "highest-speed",
    "fastest-feed",
    "fastest-depth",
    "largest-feed",
}
OF_CURVES |= {
    "fit-unit-force",
    "limit-depths",
    "limit-depths-of-roots",
    "lobe-depth",
    "mean-slot-forces",
    "turning-forces",
}
OF_CURVES |= {"beam-give", "head-give", "most-give", "beam-stresses"}
BENT = ("stick-out=40mm", "diameter=10mm", "elasticity=600GPa", "diameter-ratio=80%")


@pytest.mark.parametrize(
    ("text", "name", "ends"),
    [
        ("10mm", "a_mm", (10.0, 10.0)), ("0.4 in", "a_mm", (10.16, 10.16)), ("9.9..10.1mm", "a_mm", (9.9, 10.1)),
        ("2thou", "a_mm", (0.0508, 0.0508)), ("90deg", "a_rad", (math.pi / 2.0, math.pi / 2.0)),
        ("60 N m", "torque_n_mm", (60000.0, 60000.0)), ("60Nm", "torque_n_mm", (60000.0, 60000.0)),
        ("12000rpm", "s_rad_per_s", (400.0 * math.pi, 400.0 * math.pi)), ("300 m/min", "v_mm_per_s", (5000.0, 5000.0)),
        ("1.5kW", "p_mw", (1.5e6, 1.5e6)), ("45..55%", "share_ratio", (0.45, 0.55)), ("3", "teeth_count", (3.0, 3.0)),
        ("1psi", "e_mpa", (0.006894757, 0.006894757)), ("1hp", "p_mw", (745699.87, 745699.87)),
    ],
)  # fmt: skip
def test_numbers_are_read_with_their_units(text: str, name: str, ends: tuple[float, float]) -> None:
    assert typed(text, name=name) == pytest.approx(ends, rel=1e-7)


@pytest.mark.parametrize(
    ("text", "name", "words"),
    [
        ("10", "a_mm", "needs its unit.*mm, in"), ("10 N", "a_mm", "none of this quantity's"),
        ("ten", "a_mm", "no number"), ("5..4mm", "a_mm", "ends are swapped"), ("3mm", "teeth_count", "none of this"),
    ],
)  # fmt: skip
def test_what_makes_no_sense_is_refused_with_what_would(text: str, name: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        typed(text, name=name)


def test_every_unit_goes_there_and_back() -> None:
    for ending, units in MEASURES.items():
        for unit in units:
            assert typed(told(3.25, name=f"x{ending}", unit=unit), name=f"x{ending}")[0] == pytest.approx(
                3.25, rel=1e-5
            )


def test_an_answer_is_that_of_the_function_and_an_interval_its_ends() -> None:
    got = figure("tool-deflection", ("force=150..200N", *BENT))
    low, high = (
        tool_deflection_mm(
            force_n=f, stick_out_mm=40.0, diameter_mm=10.0, elasticity_mpa=600000.0, diameter_ratio=0.8
        )
        for f in (150.0, 200.0)
    )  # fmt: skip
    assert got.results == (("tool_deflection_mm", pytest.approx(low), pytest.approx(high)),)
    words = "\n".join(answer_words(got))
    assert "tool deflection: 0.0265258 mm to 0.0353678 mm (0.00104432 in to 0.00139243 in)" in words
    assert "Formula: delta = F L^3 / (3 E I)" in words
    assert "beam_identities: Deflection of a cantilever" in words
    assert "published as quoted" in words


def test_every_interval_is_tried_at_both_ends_against_each_other() -> None:
    """The least power has the least feed and the best efficiency, the greatest the greatest feed and the worst."""
    got = figure("milling-power", ("axial-depth=5mm", "radial-engagement=6mm", "table-feed=1..2m/min",
                                   "specific-force=700MPa", "efficiency=0.7..0.9"))  # fmt: skip

    def power(feed: float, efficiency: float) -> float:
        return milling_power_mw(
            axial_depth_mm=5.0, radial_engagement_mm=6.0, table_feed_mm_per_s=feed, specific_force_mpa=700.0,
            efficiency_ratio=efficiency,
        )  # fmt: skip

    assert got.results[0][1:] == pytest.approx((power(1000.0 / 60.0, 0.9), power(2000.0 / 60.0, 0.7)))


def test_several_results_and_windows_are_told_each_by_its_name() -> None:
    window = figure("before-coat-window", (
        "size=bore", "finished-low=20mm", "finished-high=20.033mm", "thickness-low=40um", "thickness-high=60um",
        "share-low=0.45", "share-high=0.55",
    ))  # fmt: skip
    assert {name: low for name, low, _ in window.results} == pytest.approx({"low_mm": 20.066, "high_mm": 20.069})


@pytest.mark.parametrize(
    ("name", "inputs", "words"),
    [
        ("deflection", (), "There is no formula.*tool-deflection"),
        ("tool-deflection", ("force=1N",), "An input is missing.*stick-out"),
        ("tool-deflection", ("weight=1N", *BENT), "no input of the formula.*force"),
        ("before-coat-window", ("size=hole",), "word is not known here.*bore"),
    ],
)  # fmt: skip
def test_a_wrong_call_says_what_would_be_right(name: str, inputs: tuple[str, ...], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        figure(name, inputs)


def test_what_the_formula_refuses_is_refused() -> None:
    with pytest.raises(OutOfRange, match="diameter"):
        figure("tool-deflection", ("force=1N", *BENT[:1], "diameter=0mm", *BENT[2:]))


def test_the_list_holds_every_formula_of_the_engines_with_a_source_of_its_own() -> None:
    """Each public formula of scalars in `cutting` is there, and each names a source that is listed."""
    import inspect

    from proveout import cutting

    folder = Path(str(inspect.getfile(cutting))).parent
    formulas = [
        bare_name(line.split("(")[0].removeprefix("def "))
        for path in folder.glob("*.py")
        for block in path.read_text(encoding="utf-8").split("\n\n\n")
        if "    Formula:" in block
        for line in block.splitlines()
        if line.startswith("def ")
    ]
    assert len(formulas) >= 25
    assert set(formulas) - OF_CURVES <= set(figures())
    assert all(sources_of(one) for one in figures().values())
    assert len(list_words()) == 2 * len(figures())
    assert all(len({g.bare for g in one.given}) == len(one.given) for one in figures().values())


def test_the_page_of_the_documentation_is_up_to_date(root: Path) -> None:
    assert (root / "docs" / "figures.md").read_text(encoding="utf-8") == page()


def test_the_command_prints_answers_lists_and_refusals(tmp_path: Path) -> None:
    ran = proveout("figure", "tool-deflection", "force=200N", *BENT, cwd=tmp_path)
    assert ran.returncode == 0
    assert "0.0353678 mm" in ran.stdout
    bare = proveout("figure", cwd=tmp_path)
    assert "tool-deflection" in bare.stdout
    wrong = proveout("figure", "tool-deflection", "force=200", cwd=tmp_path)
    assert wrong.returncode == 2
    assert "The number needs its unit" in wrong.stderr
