"""An order sawn together: what is shared, what comes from the rack, and what a shop can count on paper."""

from __future__ import annotations

import itertools

import msgspec
import numpy as np
import pytest
from stages.sawn_parts import BAR, BLANK, SAW

from proveout.model.proof import Decision, Proof
from proveout.model.sawing import BlankTogether, Lot, OrderSawing, SectionSawing
from proveout.model.shop import Bar
from proveout.model.stock import Remnant
from proveout.stages.bars import blanks_together, together
from proveout.stages.bars.blanks_together import PartBlanks, choose_together
from proveout.stages.bars.together import saw_together

DENSITY = 2.7e-6
PRICE = 104.247  # of a bar of 3 m: 3000 x 45 x 26 x 2.7e-6 kg at 11


def lot(part: str, cut_mm: float, pieces: int, bar: str = "45 x 26") -> Lot:
    return Lot(part=part, bar_id=bar, cut_length_mm=cut_mm, pieces_count=pieces, spare_count=0)


def sawn(*lots: Lot, remnants: tuple[Remnant, ...] = (), bars: tuple[Bar, ...] = (BAR,)) -> Decision[OrderSawing]:
    return saw_together(lots=lots, bars=bars, saw=SAW, remnants=remnants, density_kg_per_mm3=DENSITY)


def only(decision: Decision[OrderSawing]) -> SectionSawing:
    (section,) = decision.value.sections
    return section


def proof(proofs: tuple[Proof, ...], ending: str) -> Proof:
    return next(one for one in proofs if one.id.endswith(ending))


def test_two_half_bars_are_one_bar_when_sawn_together() -> None:
    """worked: room 3000 - 6 - 65 + 1.8 = 2930.8; 15 of 92.5 take 1414.5, 15 of 90 take 1377: both go into one bar."""
    decision = sawn(lot("A", 92.5, 15), lot("B", 90.0, 15))
    section = only(decision)
    assert section.price == pytest.approx(PRICE, abs=1e-3)
    assert section.alone_price == pytest.approx(2 * PRICE, abs=1e-3)
    assert (section.bars_count, section.status) == (1, "proved")
    assert section.rows[0].pieces == ((92.5, 15), (90.0, 15))
    assert all(one.verdict == "holds" for one in decision.proofs)


def test_a_last_piece_that_the_tolerance_can_take_away_is_told_and_blocks_nothing() -> None:
    """worked: 6 + 31 x 92.74 + 30 x 1.8 + 65 = 2999.94 of 3000, and 31 x 0.2 = 6.2 more or less with the tolerance."""
    decision = sawn(lot("A", 92.74, 31))
    found = proof(decision.proofs, "last-pieces-come-out")
    assert (found.found_low, found.found_high) == (pytest.approx(-6.26), pytest.approx(6.14))
    assert (found.verdict, found.blocks_release) == ("not shown", False)
    fit = proof(decision.proofs, "pieces-fit-their-bars")
    assert (fit.found_high, fit.verdict, fit.blocks_release) == (pytest.approx(-0.06), "holds", True)
    assert only(decision).rows[0].is_last_in_doubt
    rack = (Remnant(id="R1", bar_id="45 x 26", length_mm=824.0, heat="H1"),)
    (row,) = only(sawn(lot("A", 92.5, 8), remnants=rack)).rows
    assert (row.tag, row.is_last_in_doubt) == ("R1", True)  # 823.6, and 825.2 with the tolerance


def test_lots_of_one_cut_length_are_counted_together() -> None:
    section = only(sawn(lot("A", 92.5, 15), lot("B", 92.5, 16)))
    assert sum(row.bundle_count * row.times * n for row in section.rows for _, n in row.pieces) == 31
    assert section.bars_count == 1


def test_a_lot_comes_from_one_heat_of_the_rack_or_from_new_bars() -> None:
    """worked: 8 of 92.5 need 6 + 8 x 92.5 + 7 x 1.8 + 65 = 823.6. H1 has one remnant of 850; H2 two of 430, each of
    which gives 3: six of eight; two heats together would suffice and may not be mixed."""
    rack = (
        Remnant(id="R1", bar_id="45 x 26", length_mm=850.0, heat="H1"),
        Remnant(id="R2", bar_id="45 x 26", length_mm=430.0, heat="H2"),
        Remnant(id="R3", bar_id="45 x 26", length_mm=430.0, heat="H2"),
    )
    section = only(sawn(lot("A", 92.5, 8), remnants=rack))
    assert (section.price, section.from_heat, section.rows[0].tag, section.rows[0].heat) == (
        0.0, (("A", "H1"),), "R1", "H1",
    )  # fmt: skip
    section = only(sawn(lot("A", 92.5, 8), remnants=rack[1:]))
    assert (section.from_heat, section.bars_count) == ((), 1)
    section = only(sawn(lot("A", 92.5, 9), remnants=rack))
    assert (section.from_heat, section.bars_count) == ((), 1)


def test_a_remnant_without_a_heat_is_in_no_lot() -> None:
    rack = (Remnant(id="R1", bar_id="45 x 26", length_mm=2000.0),)
    assert only(sawn(lot("A", 92.5, 8), remnants=rack)).bars_count == 1


def test_the_rack_serves_the_lot_that_saves_most() -> None:
    """worked: one bar gives 31 of 92.5; with 8 of B as well a second bar is bought, unless the rack gives B."""
    rack = (Remnant(id="R1", bar_id="45 x 26", length_mm=850.0, heat="H1"),)
    section = only(sawn(lot("A", 92.5, 31), lot("B", 92.5, 8), remnants=rack))
    assert (section.from_heat, section.bars_count) == ((("B", "H1"),), 1)
    assert section.lower_bound == pytest.approx(PRICE, abs=1e-3)


def test_where_heats_are_left_out_nothing_is_shown_of_the_cheapest(monkeypatch: pytest.MonkeyPatch) -> None:
    """worked: H1 gives 8 of 92.5 from 850, H0 nothing from 200; two lots and two heats are 9 ways, one heat 4."""
    rack = (
        Remnant(id="R0", bar_id="45 x 26", length_mm=200.0, heat="H0"),
        Remnant(id="R1", bar_id="45 x 26", length_mm=850.0, heat="H1"),
    )
    lots = lot("A", 92.5, 31), lot("B", 92.5, 8)
    whole = sawn(*lots, remnants=rack)
    assert (only(whole).ways_count, only(whole).heats_left_out, only(whole).bars_count) == (9, (), 1)
    assert proof(whole.proofs, "no-cheaper-bars-together").verdict == "holds"
    monkeypatch.setattr(together, "MOST_WAYS", 8)
    cut = sawn(*lots, remnants=rack)
    section = only(cut)
    assert (section.ways_count, section.heats_left_out, section.bars_count) == (4, ("H1",), 2)
    assert (section.status, section.lower_bound) == ("not proved", 0.0)
    found = proof(cut.proofs, "no-cheaper-bars-together")
    assert (found.verdict, found.blocks_release) == ("not shown", False)
    assert "leave out heats H1" in found.basis.formula
    assert "H1" in found.decides


def test_bars_too_heavy_for_one_person_and_remnants_worth_keeping_are_marked() -> None:
    """worked: 45.2 x 26.2 x 3000 x 2.7e-6 = 9.59 kg at the most; of 3000 one piece leaves 2899.7 after its cut."""
    decision = saw_together(
        lots=(lot("A", 92.5, 1),), bars=(BAR,), saw=msgspec.structs.replace(SAW, lift_limit_kg=9.5), remnants=(),
        density_kg_per_mm3=DENSITY,
    )  # fmt: skip
    (row,) = only(decision).rows
    assert (row.bar_mass_kg, row.needs_two, row.is_kept, row.remnant_mm) == (9.592, True, True, 2899.7)
    fine = only(sawn(lot("A", 92.5, 31))).rows[0]
    assert (fine.needs_two, fine.is_kept) == (False, False)


def test_each_section_stands_for_itself() -> None:
    other = msgspec.structs.replace(BAR, id="50 x 20", width_mm=50.0, height_mm=20.0)
    value = sawn(lot("A", 92.5, 15), lot("B", 90.0, 15, "50 x 20"), bars=(other, BAR)).value
    assert [one.bar_id for one in value.sections] == ["45 x 26", "50 x 20"]
    assert value.price == pytest.approx(sum(one.price for one in value.sections))


@pytest.mark.parametrize("seed", range(4))
def test_together_is_never_dearer_than_alone_and_counts_over(seed: int) -> None:
    draw = np.random.default_rng(seed)
    both = msgspec.structs.replace(BAR, lengths_mm=(3000.0, 5000.0))
    lots = tuple(
        lot(f"P{n}", round(float(draw.uniform(40.0, 140.0)), 1), int(draw.integers(5, 120)))
        for n in range(int(draw.integers(1, 4)))
    )
    rack = tuple(
        Remnant(id=f"R{n}", bar_id="45 x 26", length_mm=float(draw.integers(200, 2500)), heat=f"H{draw.integers(0, 2)}")
        for n in range(4)
    )
    decision = sawn(*lots, remnants=rack, bars=(both,))
    section = only(decision)
    assert section.price <= section.alone_price + 1e-3
    made: dict[float, int] = {}
    tags: list[str] = []
    for row in section.rows:
        used = sum(length * n for length, n in row.pieces) + (sum(n for _, n in row.pieces) - 1) * SAW.kerf_mm
        assert SAW.trim_mm + used + SAW.tail_mm <= row.bar_length_mm + 1e-6
        tags += row.tag.split(", ") if row.tag else []
        assert len(row.tag.split(", ")) == row.bundle_count * row.times if row.tag else not row.heat
        for length, n in row.pieces:
            made[length] = made.get(length, 0) + row.bundle_count * row.times * n
    assert len(tags) == len(set(tags))
    assert all(made[one.cut_length_mm] >= one.pieces_count for one in lots)
    assert proof(decision.proofs, "all-lots-come-out").verdict == "holds"


def test_blanks_are_chosen_together_where_sharing_a_section_is_cheaper() -> None:
    """worked: A takes half a bar of 45 x 26. B planned from 50 x 20 takes a bar of its own at 50 x 20 x 3000 x 2.7e-6
    x 11 = 89.10; from 45 x 26 it shares A's bar and costs 0.20 a piece more in chips, 3.00 for 15."""
    other = msgspec.structs.replace(BAR, id="50 x 20", width_mm=50.0, height_mm=20.0)
    own = msgspec.structs.replace(BLANK, bar_id="50 x 20", cut_length_mm=90.0, beside_price_each=1.0)
    shared = msgspec.structs.replace(BLANK, cut_length_mm=90.0, beside_price_each=1.2)
    first = msgspec.structs.replace(BLANK, beside_price_each=1.0)
    parts = (
        PartBlanks(part="A", quantity=15, pieces_count=15, blanks=(first,)),
        PartBlanks(part="B", quantity=15, pieces_count=15, blanks=(own, shared)),
    )
    decision = choose_together(parts=parts, bars=(BAR, other), saw=SAW, density_kg_per_mm3=DENSITY)
    found = decision.value
    assert found is not None
    assert [(one.bar_id, one.is_planned) for one in found.blanks] == [("45 x 26", True), ("45 x 26", False)]
    assert found.planned_price == pytest.approx(PRICE + 89.10 + 30.0, abs=1e-2)
    assert found.price == pytest.approx(PRICE + 15.0 + 18.0, abs=1e-2)
    assert found.lower_bound == found.price
    (claim,) = decision.proofs
    assert (claim.verdict, claim.blocks_release) == ("fails", False)
    assert "plan B as 45 x 26" in claim.remedy
    assert f"{found.planned_price - found.price:.2f} less" in claim.remedy


def test_planned_blanks_that_nothing_beats_are_kept_and_proved() -> None:
    parts = (PartBlanks(part="A", quantity=15, pieces_count=15, blanks=(BLANK, BLANK)),)
    decision = choose_together(parts=parts, bars=(BAR,), saw=SAW, density_kg_per_mm3=DENSITY)
    assert decision.value is not None
    assert decision.value.blanks[0].is_planned
    assert decision.proofs[0].verdict == "holds"


@pytest.mark.parametrize("seed", range(6))
def test_the_choice_is_that_of_trying_every_one_by_itself(seed: int) -> None:
    """Prices by one lot a section are sums of whole bars: three parts, up to three blanks each, no section shared."""
    draw = np.random.default_rng(seed)
    bars = tuple(msgspec.structs.replace(BAR, id=f"s{n}", width_mm=float(draw.integers(30, 60))) for n in range(6))
    parts = tuple(
        PartBlanks(
            part=f"P{n}", quantity=20, pieces_count=20,
            blanks=tuple(
                msgspec.structs.replace(
                    BLANK, bar_id=f"s{2 * n + k}", cut_length_mm=float(draw.integers(60, 160)),
                    beside_price_each=float(draw.integers(0, 5)),
                )
                for k in range(2)
            ),
        )
        for n in range(3)
    )  # fmt: skip
    found = choose_together(parts=parts, bars=bars, saw=SAW, density_kg_per_mm3=DENSITY).value

    def alone(one: PartBlanks, at: int) -> float:
        blank = one.blanks[at]
        bar = next(b for b in bars if b.id == blank.bar_id)
        each = int(2930.8 // (blank.cut_length_mm + 1.8) + 1e-9)
        price = 3000.0 * bar.width_mm * bar.height_mm * DENSITY * bar.price_per_kg
        return -(-20 // each) * price + 20 * blank.beside_price_each

    tried = [sum(alone(one, at) for one, at in zip(parts, choice, strict=True))
             for choice in itertools.product((0, 1), repeat=3)]  # fmt: skip
    assert found is not None
    assert found.price == pytest.approx(min(tried), abs=1e-2)
    assert found.planned_price == pytest.approx(tried[0], abs=1e-2)


def test_where_single_changes_alone_were_tried_no_more_is_claimed(monkeypatch: pytest.MonkeyPatch) -> None:
    """worked: half a bar each of 50 x 20, so one together, 89.10; one part alone in 45 x 26 pays 104.25 beside that,
    both in it share one bar at 104.25 and save 1.00 a piece in chips, 30: that is two changes at once."""
    other = msgspec.structs.replace(BAR, id="50 x 20", width_mm=50.0, height_mm=20.0)
    own = msgspec.structs.replace(BLANK, bar_id="50 x 20", beside_price_each=2.0)
    changed = msgspec.structs.replace(BLANK, beside_price_each=1.0)
    parts = tuple(PartBlanks(part=name, quantity=15, pieces_count=15, blanks=(own, changed)) for name in "AB")

    def choose() -> tuple[BlankTogether, Proof]:
        decision = choose_together(parts=parts, bars=(BAR, other), saw=SAW, density_kg_per_mm3=DENSITY)
        assert decision.value is not None
        return decision.value, decision.proofs[0]

    found, claim = choose()
    assert (found.is_whole, claim.verdict) == (True, "fails")
    assert "no other choice" in claim.claim
    monkeypatch.setattr(blanks_together, "MOST_CHOICES", 3)
    found, claim = choose()
    assert (found.is_whole, found.choices_count, claim.verdict) == (False, 3, "holds")
    assert claim.claim.startswith("no change of one part alone to another of the blanks")
