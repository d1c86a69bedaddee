"""What was read of a finisher's coat takes the place of what was said: where it was read, and at its worst ends."""

from __future__ import annotations

import msgspec
import pytest
from stages.coated_parts import bore, coat, job_of, only_window, proof

from proveout.intake.starting_shop import starting_shop
from proveout.model.coat_growth import as_read, growth_of
from proveout.model.fact import Fact
from proveout.model.job import Coat, Size
from proveout.model.shop import Finisher

READ = Fact(low=0.0203, nominal=0.0220, high=0.0237, unit="mm", source="batches B0 to B5 of this shop",
            strength="measured here")  # fmt: skip


def read_coat(**more: object) -> Coat:
    return msgspec.structs.replace(coat(), grown_mm=READ, **more)


def test_a_bore_that_could_not_be_held_can_once_its_coat_was_read_and_the_proof_says_by_what() -> None:
    """Worked: 20.000 + 2 x 0.0237 to 20.033 + 2 x 0.0203, 26 um where what was said leaves 3."""
    decision = bore(coat=read_coat())
    window = only_window(decision)
    assert (window.before_low_mm, window.before_high_mm) == pytest.approx((20.0474, 20.0736), abs=1e-9)
    held = proof(decision, "finishing:1:window-can-be-held")
    assert held.verdict == "holds"
    (fact,) = [fact for name, fact in held.basis.inputs.items() if "growth" in name]
    assert (fact.source, fact.strength) == (READ.source, "measured here")
    assert "coat thickness" not in held.basis.inputs
    assert "g growth of a surface as read" in held.basis.formula
    assert set(decision.value.target.face_offset_mm) <= {0.022, 0.0}.union(
        decision.value.finishing.offset_mm[face] for face in window.face_ids
    )  # faces without a size stand in by the middle of what was read


def test_readings_hold_the_etch_so_that_nobody_is_asked_for_it_but_deep_holes_ask_again() -> None:
    plain = growth_of(read_coat(etch_mm=None), depth_ratio=0.0)
    assert plain.asks == ()
    assert plain.build_up_mm == (READ.low, READ.high)
    deep = growth_of(read_coat(etch_mm=None), depth_ratio=3.0)
    assert len(deep.asks) == 2
    assert deep.build_up_mm == pytest.approx((-0.025, READ.high))  # no coat at all, all of the etch


def test_a_share_in_a_blind_hole_counts_on_what_was_read() -> None:
    """Worked: t s = g + e, so q (g + e) - e = q g - (1 - q) e: 0.5 x 0.0203 - 0.5 x 0.004 and 0.5 x 0.0237."""
    etch = Fact(low=0.0, nominal=0.002, high=0.004, unit="mm", source="x", strength="owner's guess")
    growth = growth_of(read_coat(etch_mm=etch), depth_ratio=0.0)
    half = Fact(low=0.5, nominal=0.5, high=0.5, unit="ratio", source="x", strength="owner's guess")
    found = msgspec.structs.replace(growth, share_ratio=half).build_up_mm
    assert found == pytest.approx((0.5 * READ.low - 0.002, 0.5 * READ.high))


def test_flanks_of_a_thread_bear_what_was_said_as_well() -> None:
    """Worked: said 0.040 x 0.45 = 0.018 to 0.060 x 0.55 = 0.033; nobody read a flank."""
    said, read = growth_of(coat(), depth_ratio=0.0), growth_of(read_coat(), depth_ratio=0.0)
    assert read.window("internal thread", 5.0, 5.2) == said.window("internal thread", 5.0, 5.2)
    assert read.window("bore", 5.0, 5.2).width_mm > said.window("bore", 5.0, 5.2).width_mm
    wide = msgspec.structs.replace(READ, high=0.040)
    more = growth_of(msgspec.structs.replace(coat(), grown_mm=wide), depth_ratio=0.0)
    assert more.window("internal thread", 5.0, 5.2).low_mm == pytest.approx(5.0 + 4.0 * 0.040)


def test_only_that_finisher_at_that_thickness_is_taken_as_read() -> None:
    own: Finisher = msgspec.structs.replace(
        starting_shop().finishers[0], id="hc", coat_growth_mm=READ, coat_growth_at_mm=0.05
    )
    job = job_of(Size(balloon=1, text="H8", is_critical=True), coat=msgspec.structs.replace(coat(), finisher="hc"))
    taken = as_read(job, (own,)).coat
    assert taken is not None
    assert taken.grown_mm == READ
    for other in (
        msgspec.structs.replace(own, id="another"), msgspec.structs.replace(own, coat_growth_at_mm=0.025),
        msgspec.structs.replace(own, coat_growth_mm=None, coat_growth_at_mm=None),
    ):  # fmt: skip
        assert as_read(job, (other,)) == job
