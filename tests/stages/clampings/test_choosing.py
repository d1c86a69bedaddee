"""The choice of clampings and tilts against going through every subset."""

from __future__ import annotations

import itertools

import pytest
from choices import instance, way_of

from proveout.quantities.errors import OutOfRange
from proveout.stages.clampings.choosing import Look, choose


@pytest.mark.parametrize("seed", range(30))
def test_the_choice_is_the_best_of_all_subsets(seed: int) -> None:
    made = instance(seed, first=2, later=3, tilts=2)
    found = made.chosen()
    assert found.is_proved
    assert found.found[0].rank == pytest.approx(made.best())


def test_the_kept_ones_come_in_order_and_differ() -> None:
    made = instance(5, first=2, later=3, tilts=2)
    found = made.chosen(kept=4).found
    assert len({f.ways for f in found}) == 4
    assert [f.rank for f in found] == sorted(f.rank for f in found)


def always(reached: int) -> float:
    """Two items are wanted."""
    return float((0b11 & ~reached).bit_count())


def test_a_tilt_that_the_next_clamping_makes_needless_is_not_taken() -> None:
    """Turned over, item 1 is reached straight down; the first clamping's tilt to it would cost 0.3."""
    first = way_of("a", 1.0, (Look(0b01), Look(0b10, 0.3)), ends=False)
    over = way_of("b", 1.0, (Look(0b10),))
    found = choose(
        [first], lambda ways: [over] if len(ways) == 1 else [], wanted=0b11, lacks=always, still=lambda _: 0b11
    )
    assert found.found[0].looks == ((0,), (0,))
    assert found.found[0].cost == pytest.approx(2.0)


def test_a_tilt_that_makes_what_the_next_clamping_is_held_by_is_taken() -> None:
    first = way_of("a", 1.0, (Look(0b01), Look(0b10, 0.3)), ends=False)
    over = way_of("b", 1.0, (Look(0b10),), needs=0b10)
    found = choose(
        [first], lambda ways: [over] if len(ways) == 1 else [], wanted=0b11, lacks=always, still=lambda _: 0b11
    )
    assert found.found[0].looks == ((0, 1), (0,))
    assert found.found[0].cost == pytest.approx(2.3)


def test_what_is_not_reached_outranks_money_and_an_unfinished_strip_outranks_both() -> None:
    strip = way_of("a", 0.1, (Look(0b11),), ends=False)
    cheap = way_of("b", 0.1, (Look(0b00),))
    first = way_of("c", 5.0, (Look(0b01),), ends=False)
    dear = way_of("d", 9.0, (Look(0b10),))
    found = choose(
        [strip, first], lambda ways: [cheap] if ways == (strip,) else [dear] if ways == (first,) else [], wanted=0b11,
        lacks=always,
        still=lambda _: 0b11, kept=4,
    ).found  # fmt: skip
    assert [[w.thing for w in f.ways] for f in found] == [["a", "b"], ["c", "d"], ["a"], ["c"]]


def test_samples_that_only_one_tilt_reaches_are_noise_below_the_least_count() -> None:
    """Items 0 to 3 are one face: a tilt for one of them is not worth it, a tilt for two is."""
    for extra, taken in ((0b0001, ((0,),)), (0b0011, ((0, 1),))):
        way = way_of("a", 1.0, (Look(0b1111 & ~extra), Look(extra, 0.2)))
        found = choose(
            [way],
            lambda _: [],
            wanted=0b1111,
            lacks=lambda _: 0.0,
            still=lambda _: 0,
            parts=(0b1111,),
            least_count=2,
            kept=1,
        )
        assert found.found[0].looks == taken


def test_beyond_its_limit_nothing_is_called_proved() -> None:
    made = instance(3, first=2, later=3, tilts=1)
    first, later = list(made.first), list(made.later)
    found = choose(
        first, lambda ways: [w for w in later if w not in ways], wanted=made.wanted, lacks=made.lacks,
        still=lambda _: made.wanted, leaves_max=2,
    )  # fmt: skip
    assert not found.is_proved
    with pytest.raises(OutOfRange, match="At least one"):
        choose(first, lambda _: [], wanted=1, lacks=made.lacks, still=lambda _: 0, kept=0)


def test_made_up_choices_have_tilts_and_needs_that_bind() -> None:
    """Else the comparison above would prove little."""
    seen = [instance(seed, first=2, later=3, tilts=2).chosen().found[0] for seed in range(30)]
    assert sum(any(len(used) > 1 for used in f.looks) for f in seen) > 10
    assert sum(any(way.needs for way in f.ways[1:]) for f in seen) > 10
    assert len({tuple(itertools.chain.from_iterable(f.looks)) for f in seen}) > 10
