"""Thin work between the jaws, worked by hand."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
import pytest
from shapes import CUTTERS, MILL, TOOTHED, VISE, fact
from stages.gripped import CLAMPING, PRESSURE, YIELD

from proveout.geometry.frames import Frame
from proveout.grip.strip import buckling_load_n
from proveout.model.limits import Limits
from proveout.model.proof import Proof
from proveout.model.run import Run
from proveout.model.shop import Vise
from proveout.model.strip_left import StripLeft
from proveout.model.work import PassPlan
from proveout.stages import holding
from proveout.stages.holding.gripping import grip_of
from proveout.stages.holding.squeeze import Work, bow_force_n, squeeze_proofs, thickness_mm

MODULUS = fact(68_900.0, 68_900.0, 68_900.0, "MPa")
WIDE = msgspec.structs.replace(CLAMPING, gap_mm=100.0, surface="finished")  # patch 80 mm long
FIRM = msgspec.structs.replace(VISE, preload_n=fact(15_000.0, 17_500.0, 20_000.0, "N"))


def plate(thick: float, **more: Any) -> Work:
    """A plate 80 x 100 mm lying flat, sawn with a strip of 5 mm below it."""
    given: dict[str, Any] = {"elastic_mpa": MODULUS, **more}
    return Work(
        blank_low_mm=(0.0, -100.0, -5.0), blank_high_mm=(80.0, 0.0, thick + 1.0), part_low_mm=(0.0, -100.0, 0.0),
        part_high_mm=(80.0, 0.0, thick), **given,
    )  # fmt: skip


def squeezed(work: Work, *, vise: Vise = FIRM, clamping: Any = WIDE, limits: Limits | None = None) -> Proof:
    grip = grip_of(
        clamping=clamping, vise=vise, jaws=TOOTHED, yield_mpa=YIELD, pressure_mpa=PRESSURE, limits=limits or Limits()
    )  # fmt: skip
    (proof,) = squeeze_proofs(grip, work)
    return proof


def test_the_load_that_bows_a_plate_of_3_mm() -> None:
    """Worked: I = 80 x 27 / 12 = 180 mm^4; 9.8696 x 68 900 x 180 / 10 000 = 12 240 N. Twice as thick carries eightfold,
    half as long fourfold, and which side is called the width does not matter."""
    load = buckling_load_n(elastic_mpa=68_900.0, width_mm=80.0, thickness_mm=3.0, length_mm=100.0)
    assert load == pytest.approx(12_240.3, abs=0.5)
    thick = buckling_load_n(elastic_mpa=68_900.0, width_mm=80.0, thickness_mm=6.0, length_mm=100.0)
    assert thick == pytest.approx(8.0 * load)
    short = buckling_load_n(elastic_mpa=68_900.0, width_mm=3.0, thickness_mm=80.0, length_mm=50.0)
    assert short == pytest.approx(4.0 * load)


def test_a_plate_of_3_mm_is_squeezed_flat_and_one_of_10_is_not() -> None:
    """Worked: 12 240 / 20 000 = 0.612 and / 15 000 = 0.816, both below 2; 10 mm carries 37.04 times that, 22.67."""
    thin = squeezed(plate(3.0))
    assert (thin.verdict, thin.blocks_release, thin.limit) == ("fails", True, 2.0)
    assert (thin.found_low, thin.found_high) == pytest.approx((0.6120, 0.8160), abs=1e-3)
    assert set(thin.basis.inputs) == {
        "t, thickness", "w, patch length", "g, between the jaws", "P, jaw force", "E, elastic modulus",
    }  # fmt: skip
    # half of 0.612 is 0.306: 0.30 of the usual force would do, which is as soft as a vise closes evenly
    assert thin.tighten is not None
    assert thin.tighten.bound == 0.3
    assert squeezed(plate(2.9)).tighten is None
    thick = squeezed(plate(10.0))
    assert thick.verdict == "holds"
    assert thick.found_low == pytest.approx(22.67, abs=0.01)


def test_where_a_softer_vise_would_do_it_is_asked_for() -> None:
    """Worked: 4 mm carry 29 014 N, 1.4507 of 20 kN; half of that is 0.7253, so in steps 0.70 of the usual force."""
    found = squeezed(plate(4.0))
    assert found.verdict != "holds"
    assert found.tighten is not None
    assert (found.tighten.subject, found.tighten.quantity, found.tighten.bound) == ("c1", "preload_ratio", 0.7)
    softer = Limits().tightened((found.tighten,))
    assert squeezed(plate(4.0), limits=softer).verdict == "holds"


def test_on_the_raw_bar_the_grip_strip_stiffens_the_work() -> None:
    """Worked: 3 + 5 = 8 mm; lying on another side it is the box's other length."""
    raw = msgspec.structs.replace(WIDE, surface="raw")
    assert thickness_mm(raw, plate(3.0)) == pytest.approx(8.0)
    assert thickness_mm(WIDE, plate(3.0)) == pytest.approx(3.0)
    turned = Frame(x=(0.0, 1.0, 0.0), y=(0.0, 0.0, 1.0), z=(1.0, 0.0, 0.0), origin_mm=(0.0, 0.0, 0.0))
    assert thickness_mm(msgspec.structs.replace(WIDE, frame=turned), plate(3.0)) == pytest.approx(80.0)
    assert squeezed(plate(3.0), clamping=raw).verdict == "holds"


def test_without_a_known_force_or_modulus_it_is_not_shown() -> None:
    unknown = squeezed(plate(10.0), vise=msgspec.structs.replace(VISE, preload_n=None))
    assert (unknown.verdict, unknown.blocks_release) == ("not shown", True)
    assert "jaw force" in unknown.decides
    assert "elastic modulus" in squeezed(plate(10.0, elastic_mpa=None)).decides
    assert np.isfinite(squeezed(plate(10.0)).margin or np.nan)


def left(least: float, most: float = 0.0, *, after: str = "c1/t/mill 6/rough/pocket") -> StripLeft:
    return StripLeft(
        clamping_id="c1", pass_id=after, least_mm4=(least,) * 40, most_mm4=(max(least, most),) * 40
    )  # fmt: skip


def test_a_pocket_down_to_a_thin_floor_is_judged_by_what_is_left() -> None:
    """Worked. As a full plate 20 mm thick it bears 181 times the jaw force. Once a pocket is down to a floor of 3 mm
    all across, I = 180 mm4 as for the plate of 3: 0.612; from 0.612 to 0.816 where nothing else helps it: fails."""
    assert squeezed(plate(20.0)).verdict == "holds"
    whole, floor = left(80.0 * 8000.0 / 12.0, after=""), left(180.0)
    found = squeezed(plate(20.0, strips=(whole, floor)))
    assert (found.verdict, found.blocks_release) == ("fails", True)
    assert (found.found_low, found.found_high) == pytest.approx((0.6120, 0.8160), rel=2e-3)
    assert found.subject == "clamping 1, from c1/t/mill 6/rough/pocket on"
    for told in (found, squeezed(plate(20.0))):  # what is not judged here is said here
        assert "a wall before a hollow that a jaw bends in by itself is judged apart from it" in told.basis.formula
    assert "after c1/t/mill 6/rough/pocket" in found.basis.formula
    assert found.tighten is not None
    # walls that would stiffen it if all bent as one: it may hold
    walls = squeezed(plate(20.0, strips=(whole, left(180.0, 6000.0))))
    assert walls.verdict == "not shown"
    assert walls.found_high == pytest.approx(0.8160 * 6000.0 / 180.0, rel=2e-3)


def test_the_first_pass_that_leaves_too_little_is_named_and_the_least_counts() -> None:
    steps = [left(value, after=f"c1/t/mill 6/rough/{value:g}") for value in (5000.0, 500.0, 300.0, 250.0)]
    other = msgspec.structs.replace(left(1.0), clamping_id="c2")
    found = squeezed(plate(20.0, strips=(*steps, other)))
    # 2 x 20 kN asks for 588 mm4
    assert found.subject == "clamping 1, from c1/t/mill 6/rough/500 on"
    assert found.found_low == pytest.approx(0.6120 * 250.0 / 180.0, rel=2e-3)
    held = squeezed(plate(20.0, strips=(left(900.0, after=""), left(800.0, after="c1/t/mill 6/rough/b"))))
    assert (held.verdict, held.subject) == ("holds", "clamping 1, least after c1/t/mill 6/rough/b")
    put_in = squeezed(plate(20.0, strips=(left(100.0, after=""), left(90.0))))
    assert put_in.subject == "clamping 1, as it is put in"


def test_where_nobody_knows_force_or_modulus_what_is_left_is_not_shown() -> None:
    found = squeezed(plate(20.0, strips=(left(180.0),), elastic_mpa=None))
    assert (found.verdict, found.found_low) == ("not shown", None)


def test_where_what_is_left_lies_askew_it_is_not_shown_instead_of_a_full_plate() -> None:
    """A plate of 20 mm would bear 181 times the jaw force; of a moment that nobody followed nothing is known."""
    unseen = StripLeft(clamping_id="c1", pass_id="c1/t/mill 6/rough/b", least_mm4=(), most_mm4=())  # noqa: S106 - the id of a pass, no word to pass by
    for strips in ((unseen,), (left(9000.0, after=""), unseen)):
        found = squeezed(plate(20.0, strips=strips))
        assert (found.verdict, found.blocks_release, found.found_low) == ("not shown", True, None)
        assert "after c1/t/mill 6/rough/b" in found.basis.formula
        assert "askew" in found.decides
        assert bow_force_n(WIDE, plate(20.0, strips=strips)) is None
    other = msgspec.structs.replace(unseen, clamping_id="c2")
    assert squeezed(plate(20.0, strips=(other,))).verdict == "holds"
    assert "through the middle of its sections" in found.claim


def test_the_jaw_force_that_bows_it_is_that_of_what_is_left() -> None:
    full, thin = plate(20.0), plate(20.0, strips=(left(9000.0, after=""), left(180.0)))
    whole, least = bow_force_n(WIDE, full), bow_force_n(WIDE, thin)
    assert whole is not None
    assert least == pytest.approx(12_240.3 / 2.0, rel=2e-3)
    assert whole > 100.0 * (least or 1.0)


def test_it_is_asked_of_every_clamping() -> None:
    clampings = (WIDE, msgspec.structs.replace(WIDE, id="c2", number=2))
    found = holding.decide(
        plan=PassPlan(passes=(), not_cut=(), moves={}), loads=(), clampings=clampings, vises=(FIRM,), jaws=(TOOTHED,),
        machines=(MILL,), cutters=CUTTERS, yield_mpa=YIELD, pressure_mpa=PRESSURE, limits=Limits(), work=plate(10.0),
        run=Run(),
    )  # fmt: skip
    verdicts = {p.subject: p.verdict for p in found.proofs if p.id.endswith(":squeezed flat")}
    assert verdicts == {"clamping 1": "holds", "clamping 2": "holds"}
