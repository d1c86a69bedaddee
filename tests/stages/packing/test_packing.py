"""What a full bag reads, and which missing item no scale sees: worked by hand in grams."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapes import fact

from proveout.model.packing import Bag, KitItem, Packing
from proveout.model.proof import Decision
from proveout.stages.packing.decide import decide

G = 1e-3


def item(name: str, count: int, low: float, high: float, **more: Any) -> KitItem:
    return KitItem(name=name, count=count, mass_kg=fact(low * G, (low + high) / 2.0 * G, high * G, "kg"), **more)


def packed(*kit: KitItem, bag: tuple[float, float] | None = (2.0, 2.2), step: float | None = 0.1) -> Decision[Packing]:
    mass = None if bag is None else fact(bag[0] * G, sum(bag) / 2.0 * G, bag[1] * G, "kg")
    return decide(
        kit=kit, bag=Bag(mass_kg=mass, pieces_a_box=40), scale_step_kg=None if step is None else step * G, quantity=150
    )


def test_the_window_is_the_sum_of_all_ends_and_a_step_of_the_scale() -> None:
    found = packed(item("screw", 2, 5.9, 6.1), item("shim", 1, 0.30, 0.34)).value
    assert found.low_kg == pytest.approx((2.0 + 2 * 5.9 + 0.30 - 0.1) * G)
    assert found.high_kg == pytest.approx((2.2 + 2 * 6.1 + 0.34 + 0.1) * G)


def test_a_screw_is_missed_and_a_shim_is_not_seen() -> None:
    # window 14.00 to 14.84 g; without a screw at most 8.74, without the shim at most 14.50: not below the window
    found = packed(item("screw", 2, 5.9, 6.1), item("shim", 1, 0.30, 0.34))
    screw, shim = found.value.lines
    assert screw.is_seen is True
    assert shim.is_seen is False
    assert shim.short_kg == pytest.approx(14.50 * G)
    verdicts = {p.subject: (p.verdict, p.found_high) for p in found.proofs}
    assert verdicts["screw"][0] == "holds"
    assert verdicts["shim"] == ("fails", pytest.approx(-0.5 * G))
    assert not any(p.blocks_release for p in found.proofs)
    assert "count shim by hand" in next(p.remedy for p in found.proofs if p.subject == "shim")


def test_a_gap_of_less_than_a_step_is_not_seen() -> None:
    # one item of 0.50 to 0.55 g in a bag of exactly 2 g, a step of 0.2: full bags from 2.30, short ones up to 2.20
    near = packed(item("washer", 1, 0.50, 0.55), bag=(2.0, 2.0), step=0.2)
    assert near.value.lines[0].is_seen is False
    wide = packed(item("washer", 1, 0.80, 0.85), bag=(2.0, 2.0), step=0.2)
    assert wide.value.lines[0].is_seen is True


@pytest.mark.parametrize(
    ("kit", "bag", "step", "named"),
    [
        ((KitItem(name="screw", count=1),), (2.0, 2.2), 0.1, "the mass of screw"),
        ((item("screw", 1, 5.9, 6.1),), None, 0.1, "the mass of the bag"),
        ((item("screw", 1, 5.9, 6.1),), (2.0, 2.2), None, "the step of the scale"),
    ],
)
def test_what_nobody_weighed_is_not_shown_and_named(
    kit: tuple[KitItem, ...], bag: tuple[float, float] | None, step: float | None, named: str
) -> None:
    found = packed(*kit, bag=bag, step=step)
    assert found.value.low_kg is None
    assert found.value.lines[0].is_seen is None
    (proof,) = found.proofs
    assert proof.verdict == "not shown"
    assert named in proof.decides


def test_packs_and_boxes_are_rounded_up() -> None:
    found = packed(item("screw", 2, 5.9, 6.1, pack_count=100)).value
    assert found.lines[0].pieces_count == 300
    assert found.lines[0].packs_count == 3
    assert found.boxes_count == 4  # 150 in boxes of 40
    assert packed(item("screw", 1, 5.9, 6.1, pack_count=100)).value.lines[0].packs_count == 2


def test_a_part_without_a_kit_has_nothing_to_prove() -> None:
    found = packed()
    assert found.value.lines == ()
    assert found.proofs == ()


@given(
    st.lists(st.tuples(st.integers(1, 4), st.floats(0.1, 9.0), st.floats(0.0, 0.6)), min_size=1, max_size=4), st.data()
)
def test_no_short_bag_that_is_called_seen_reads_like_a_full_one(
    rows: list[tuple[int, float, float]], data: st.DataObject
) -> None:
    kit = tuple(item(f"item {k}", n, low, low + spread) for k, (n, low, spread) in enumerate(rows))
    found = packed(*kit).value
    assert found.low_kg is not None
    at = data.draw(st.integers(0, len(kit) - 1))
    share = data.draw(st.floats(0.0, 1.0))
    reads = (2.0 + 0.2 * share) * G
    for k, one in enumerate(kit):
        assert one.mass_kg is not None
        count = one.count - (k == at)
        reads += count * (one.mass_kg.low + share * (one.mass_kg.high - one.mass_kg.low))
    reads += data.draw(st.floats(-0.1, 0.1)) * G
    if found.lines[at].is_seen:
        assert reads < found.low_kg
