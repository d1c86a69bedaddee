"""Fits: the clearance of two coated parts at the worst corners of both, and what is said where it is not known."""

from __future__ import annotations

from itertools import product

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from stages.coated_parts import box_part, coat, job_of, ring_part

from proveout.intake.order_file import order_from_text
from proveout.model.fact import Fact, exact_fact
from proveout.model.job import Coat, Fit, FitSide, Size
from proveout.model.proof import Proof
from proveout.quantities.coat import clearance_mm, gap_after_coat_mm
from proveout.quantities.errors import BadInput, OutOfRange
from proveout.stages.finishing.decide import decide as decide_finishing
from proveout.stages.fits.decide import FitPart, decide


def ring(number: str, *sizes: Size, some: Coat | None = None, masked: tuple[int, ...] = ()) -> FitPart:
    """The ring: balloon 1 its bore of 20, 2 the bottom, 3 the outside of 30, 4 the top."""
    return finished(number, ring_part(), sizes, some or coat(), masked)


def box(number: str, *sizes: Size, some: Coat | None = None, masked: tuple[int, ...] = ()) -> FitPart:
    """The box of 10 x 20 x 30: balloons 1 to 6 are -x +x -y +y -z +z."""
    return finished(number, box_part(), sizes, some or coat(), masked)


def finished(number: str, made: tuple, sizes: tuple[Size, ...], some: Coat, masked: tuple[int, ...]) -> FitPart:
    solid, survey = made
    decision = decide_finishing(solid=solid, survey=survey, job=job_of(*sizes, coat=some, masked=masked))
    return FitPart(
        number=number, windows=decision.value.finishing.windows, faces=survey.faces,
        offset_mm=decision.value.finishing.offset_mm, proofs=decision.proofs, coat=some, bare_balloons=masked,
    )  # fmt: skip


def fit(one: str, other: str, low: float, high: float, *, gap: Fact | None = None) -> Fit:
    sides = [FitSide(part=text.split(" ")[0], mark=text.split(" ")[1]) for text in (one, other)]
    return Fit(
        name="slides", sides=(sides[0], sides[1]), clearance_low_mm=low, clearance_high_mm=high, gap_mm=gap
    )  # fmt: skip


def judged(some: Fit, *parts: FitPart) -> tuple[Proof, Proof]:
    enough, loose = decide(fits=(some,), parts=parts).proofs
    return enough, loose


BORE, PIN = Size(balloon=1, text="20 +0.15/+0.05"), Size(balloon=3, text="30 0/-0.10")


def test_two_sizes_clear_each_other_at_their_worst() -> None:
    """Worked: a bore of 20.05 to 20.15 over a part that measures 19.9 to 19.98 across: 0.07 to 0.25 of room."""
    around = ring("A", BORE)
    inside = box("B", Size(balloon=3, text="20 -0.02/-0.10", face_ids=("-y", "+y")))
    enough, loose = judged(fit("A 1", "B 3", 0.07, 0.25), around, inside)
    assert (enough.found_low, enough.found_high) == pytest.approx((0.07, 0.25), abs=1e-9)
    assert (enough.verdict, loose.verdict, enough.blocks_release) == ("holds", "holds", True)
    enough, loose = judged(fit("A 1", "B 3", 0.08, 0.24), around, inside)
    assert (enough.verdict, loose.verdict) == ("not shown", "not shown")
    enough, _ = judged(fit("A 1", "B 3", 0.26, 0.30), around, inside)
    assert enough.verdict == "fails"


def test_a_size_without_a_window_is_not_shown_and_says_what_first() -> None:
    around = ring("A", Size(balloon=1, text="H7"))
    inside = box("B", Size(balloon=3, text="20 -0.02/-0.10", face_ids=("-y", "+y")))
    enough, _ = judged(fit("A 1", "B 3", 0.0, 0.2), around, inside)
    assert (enough.verdict, enough.found_low) == ("not shown", None)
    assert enough.decides.startswith("first settle size 1 of A (H7)")


@pytest.mark.parametrize(
    ("one", "other", "said"),
    [
        ("A 9", "B 3", "write a size at balloon 9 of A"),
        ("C 1", "B 3", "name a part of this order: A, B; C is none"),
        ("A 3", "B 3", "A 3 is a shaft"),
        ("A 1", "A 1", "A 1 is a hole"),
        ("B 3", "A 3", "B 3 is an outside length"),
    ],
)
def test_what_a_fit_names_wrongly_is_told(one: str, other: str, said: str) -> None:
    around = ring("A", BORE, PIN)
    inside = box("B", Size(balloon=3, text="20 -0.02/-0.10", face_ids=("-y", "+y")))
    assert said in judged(fit(one, other, 0.0, 0.2), around, inside)[0].decides


def test_lengths_named_the_wrong_way_round_are_refused() -> None:
    """A slot of 20.05 to 20.15 around 19.9 to 19.98 clears; named the other way round it would seem to bind."""
    across = box("B", Size(balloon=3, text="20 -0.02/-0.10", face_ids=("-y", "+y")))
    (window,) = across.windows
    slot = msgspec.structs.replace(
        window, finished_low_mm=20.05, finished_high_mm=20.15, is_inside=True, text="20 +0.15/+0.05"
    )
    around = msgspec.structs.replace(across, number="A", windows=(slot,))
    assert judged(fit("A 3", "B 3", 0.07, 0.25), around, across)[0].verdict == "holds"
    wrong = fit("B 3", "A 3", -0.25, -0.07)
    enough, loose = judged(wrong, around, across)
    assert (enough.verdict, loose.verdict, enough.found_low) == ("not shown", "not shown", None)
    assert enough.decides.endswith("B 3 is an outside length")
    both = msgspec.structs.replace(around, number="C")
    assert judged(fit("A 3", "C 3", -1.0, 1.0), around, both)[0].decides.endswith("C 3 is a slot")


GAP = Fact(low=0.10, nominal=0.25, high=0.40, unit="mm", source="job", strength="owner's guess")


def test_two_coated_faces_keep_the_gap_within_what_their_coats_vary() -> None:
    """Worked: each face is cut 0.025 inside and grows 0.018 to 0.033: it stands off -0.007 to 0.008; the gap of
    0.10 to 0.40 becomes 0.084 to 0.414."""
    enough, loose = judged(fit("A 4", "B 5", 0.084, 0.414, gap=GAP), ring("A"), box("B"))
    assert (enough.found_low, enough.found_high) == pytest.approx((0.084, 0.414), abs=1e-9)
    assert (enough.verdict, loose.verdict) == ("holds", "holds")


def test_a_masked_face_stands_where_it_is_drawn() -> None:
    """Worked: only one face is coated: 0.092 to 0.407."""
    enough, _ = judged(fit("A 4", "B 5", 0.09, 0.5, gap=GAP), ring("A"), box("B", masked=(5,)))
    assert (enough.found_low, enough.found_high) == pytest.approx((0.092, 0.407), abs=1e-9)


def test_a_coat_that_was_not_reckoned_with_closes_the_gap() -> None:
    """The faces as cut for no coat at all, then coated: 0.10 - 2 x 0.033 is less than what is wanted."""
    bare = msgspec.structs.replace(box("B"), offset_mm=dict.fromkeys(box("B").offset_mm, 0.0))
    thin = msgspec.structs.replace(ring("A"), offset_mm=dict.fromkeys(ring("A").offset_mm, 0.0))
    enough, _ = judged(fit("A 4", "B 5", 0.05, 0.5, gap=GAP), thin, bare)
    assert enough.found_low == pytest.approx(0.034, abs=1e-9)
    assert enough.verdict == "not shown"


def test_an_etch_that_nobody_said_widens_the_gap_both_ways() -> None:
    """Worked: each surface may have lost up to 0.025 more: 0.414 + 2 x 0.025."""
    unsaid = msgspec.structs.replace(coat(), etch_mm=None)
    enough, _ = judged(fit("A 4", "B 5", 0.0, 1.0, gap=GAP), ring("A", some=unsaid), box("B", some=unsaid))
    assert (enough.found_low, enough.found_high) == pytest.approx((0.084, 0.464), abs=1e-9)


@given(*[st.floats(-0.1, 0.1) for _ in range(4)], st.floats(0.0, 0.2), st.floats(0.0, 0.2))
def test_no_corner_of_two_faces_leaves_the_gap_told(
    a: float, b: float, c: float, d: float, at: float, wide: float
) -> None:
    one, other, gap = sorted((a, b)), sorted((c, d)), (at, at + wide)
    low, high = gap_after_coat_mm(
        gap_low_mm=gap[0], gap_high_mm=gap[1], one_low_mm=one[0], one_high_mm=one[1], other_low_mm=other[0],
        other_high_mm=other[1],
    )  # fmt: skip
    found = [g - x - y for g, x, y in product(gap, one, other)]
    assert (min(found), max(found)) == pytest.approx((low, high), abs=1e-12)


def test_swapped_ends_are_refused() -> None:
    with pytest.raises(OutOfRange):
        clearance_mm(around_low_mm=2.0, around_high_mm=1.0, inside_low_mm=0.0, inside_high_mm=0.0)


ORDER = 'name = "o"\n[[item]]\njob = "a.toml"\nquantity = 1\n[[fit]]\nname = "slides"\n'


def test_a_fit_of_faces_is_read() -> None:
    text = (
        f'{ORDER}faces = ["EX-101 12", "EX 102 7b"]\ngap_mm = 0.2\nclearance_low_mm = 0.05\nclearance_high_in = 0.01\n'
    )
    (read,) = order_from_text(text).fits
    assert [side.words for side in read.sides] == ["EX-101 12", "EX 102 7b"]
    assert (read.clearance_low_mm, read.clearance_high_mm) == pytest.approx((0.05, 0.254))
    assert read.gap_mm is not None
    assert exact_fact(0.2, "mm", read.gap_mm.source, read.gap_mm.strength) == read.gap_mm


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ("", "two sizes or two faces"),
        ('sizes = ["A 1", "B 2"]\ngap_mm = 1', "two sizes have none"),
        ('faces = ["A 1", "B 2"]', "need the gap"),
        ('sizes = ["A 1"]', "names two sizes"),
        ('sizes = ["A", "B 2"]', "part number and a balloon"),
    ],
)
def test_a_fit_that_means_nothing_is_refused(lines: str, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        order_from_text(f"{ORDER}{lines}\nclearance_low_mm = 0\nclearance_high_mm = 1\n")


def test_clearances_the_wrong_way_round_are_refused() -> None:
    with pytest.raises(OutOfRange, match="least clearance"):
        order_from_text(f'{ORDER}sizes = ["A 1", "B 2"]\nclearance_low_mm = 2\nclearance_high_mm = 1\n')
