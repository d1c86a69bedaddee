"""What stands in the other places: boxes that a person could measure, and what meets them."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
import two_places as given

from proveout.model.shop import Vise
from proveout.model.table_load import Laid, TableLoad, places_of
from proveout.stages.removal_check.neighbours import OTHERS, bodies_at, others_about, piece_at, struck_by


def load_of(vise: Vise) -> TableLoad:
    places = places_of(given.MILL, (vise,))
    laid = tuple(Laid(clamping_id="c1", place=p, work_offset=f"G5{4 + n}") for n, p in enumerate(places))
    return TableLoad(
        machine_id="mill", clamping_ids=("c1",), pieces_count=len(laid), laid=laid, steps=(), clear_mm=-250.0,
        fillings=(),
    )  # fmt: skip


def others(vise: Vise, at: int) -> dict[str, Any]:
    found = others_about(
        load_of(vise), at, clampings={"c1": given.clamping(1)}, vises={vise.id: vise}, machine=given.MILL,
        blank=given.BLANK,
    )  # fmt: skip
    assert found.unmeasured == ()
    return {body.name: body for body in found.bodies}


def struck(vise: Vise) -> str:
    return struck_by(
        load_of(vise), clampings={"c1": given.clamping(1)}, vises={vise.id: vise}, machine=given.MILL,
        blank=given.BLANK, plan=given.ONE, cutters=given.CUTTERS,
    )  # fmt: skip


def test_the_other_vise_stands_where_it_was_measured() -> None:
    """worked: the second vise stands 180 right, 0.5 nearer and 1 lower; its jaws run from 30 - 60 to 30 + 60."""
    found = others(given.VISE, 0)
    assert found["fixed jaw of place 2"].low_mm == pytest.approx((150.0, -0.5, -41.0))
    assert found["fixed jaw of place 2"].high_mm == pytest.approx((270.0, 39.5, 2.0))
    assert found["moving jaw of place 2"].high_mm == pytest.approx((270.0, -42.5, 2.0))
    assert found["piece of place 2"].low_mm == pytest.approx((180.0, -42.5, -1.0))
    assert found["piece of place 2"].high_mm == pytest.approx((240.0, -0.5, 24.0))
    assert others(given.VISE, 1)["piece of place 1"].low_mm == pytest.approx((-180.0, -41.5, 1.0))


def test_behind_a_middle_jaw_the_work_lies_the_other_way_round() -> None:
    """worked: zero of the back piece at its right end, 60 right and 30 behind that of the front one."""
    found = others(given.DOUBLE, 0)
    assert found["piece of place 2"].low_mm == pytest.approx((0.0, 30.0, 0.0))
    assert found["piece of place 2"].high_mm == pytest.approx((60.0, 72.0, 25.0))
    assert found["moving jaw of place 2"].low_mm[1] == pytest.approx(72.0)
    # both places speak of one and the same middle jaw
    front = next(b for b in bodies_at(given.clamping(1), places_of(given.MILL, (given.DOUBLE,))[0], given.DOUBLE, None)
                 if b.name == "fixed jaw")  # fmt: skip
    assert found["fixed jaw of place 2"].low_mm == pytest.approx(front.low_mm)
    assert found["fixed jaw of place 2"].high_mm == pytest.approx(front.high_mm)


def test_one_side_alone_meets_the_other_jaw_wherever_it_may_stand() -> None:
    one = places_of(given.MILL, (given.DOUBLE,))[0]
    body = next(b for b in bodies_at(given.clamping(1), one, given.DOUBLE, None) if "other side" in b.name)
    assert not body.is_sure
    assert (body.low_mm[1], body.high_mm[1]) == (30.0, 30.0 + 150.0 + 40.0)
    assert not [name for name in others(given.DOUBLE, 0) if "other side" in name]


def test_vises_too_close_together_are_met() -> None:
    assert struck(given.VISE) == ""
    close = msgspec.structs.replace(given.VISE, more_stand_mm=((270.0, -200.0, -300.0),))
    assert "place 2" in struck(close)
    higher = msgspec.structs.replace(given.VISE, more_stand_mm=((300.0, -200.0, -270.0),))
    assert "met" in struck(higher)


def test_unmeasured_places_are_not_taken_for_clear() -> None:
    load = load_of(given.UNMEASURED)
    found = others_about(
        load, 0, clampings={"c1": given.clamping(1)}, vises={"vise": given.UNMEASURED}, machine=given.MILL,
        blank=given.BLANK,
    )  # fmt: skip
    assert found.bodies == ()
    assert found.unmeasured == (OTHERS,)


def test_a_piece_reaches_no_lower_than_its_seat() -> None:
    sunk = msgspec.structs.replace(given.BLANK, low_mm=(0.0, -42.0, -7.0))
    place = places_of(given.MILL, (given.VISE,))[0]
    assert piece_at(given.clamping(1), place, sunk).low_mm == (0.0, -42.0, 0.0)
