"""Rows of the setup sheet: like passes joined, tilts in the operator's words, a sheet too full parted in two."""

from __future__ import annotations

import fixture_plan as fixture
import msgspec
import numpy as np
import pytest
from test_addresses import pdf_text

from proveout.geometry.frames import Frame
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.model.work import Tilt
from proveout.sheets.names import joined
from proveout.sheets.papers import papers_pdf
from proveout.sheets.pass_rows import pass_rows
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.writer import Writer


def doubled(plan: Plan, *, lower_mm: float) -> Plan:
    """The example with the tapping of its last clamping done twice, the second time lower by so much."""
    place, one = next((i, p) for i, p in enumerate(plan.passes) if p.kind == "tap")
    again = msgspec.structs.replace(one, id=f"{one.id} again")
    cut = next(c for c in plan.removal.passes if c.pass_id == one.id)
    line = next(x for x in plan.time.lines if x.pass_id == one.id)
    cuts = (*plan.removal.passes, msgspec.structs.replace(cut, pass_id=again.id, low_mm=cut.low_mm - lower_mm))
    lines = (*plan.time.lines, msgspec.structs.replace(line, pass_id=again.id))
    return msgspec.structs.replace(
        plan,
        passes=(*plan.passes[: place + 1], again, *plan.passes[place + 1 :]),
        removal=msgspec.structs.replace(plan.removal, passes=cuts),
        time=msgspec.structs.replace(plan.time, lines=lines),
    )


def test_like_neighbours_go_on_one_row_with_the_minutes_of_both(plan: Plan) -> None:
    """Worked: a hole tapped twice to one depth is one row of twice the seconds; 0.5 mm lower it is another row."""
    clamping = next(c for c in plan.clampings if any(p.kind == "tap" and p.clamping_id == c.id for p in plan.passes))
    single = pass_rows(plan=plan, clamping=clamping)
    same = pass_rows(plan=doubled(plan, lower_mm=0.0), clamping=clamping)
    lower = pass_rows(plan=doubled(plan, lower_mm=0.5), clamping=clamping)
    drilled = next(row for row in single if plan.passes[row.places[0]].kind == "tap")
    both = next(row for row in same if len(row.places) == 2)
    assert drilled.seconds is not None
    assert both.seconds == pytest.approx(2.0 * drilled.seconds)
    assert both.low_mm == drilled.low_mm
    assert (len(same), len(lower)) == (len(single), len(single) + 1)


def test_no_pass_is_lost_and_none_changes_its_place(plan: Plan) -> None:
    for clamping in plan.clampings:
        rows = pass_rows(plan=plan, clamping=clamping)
        listed = [place for row in rows for place in row.places]
        assert listed == [i for i, one in enumerate(plan.passes) if one.clamping_id == clamping.id]


def test_features_of_a_kind_are_one_phrase() -> None:
    assert joined(["hole 3"]) == "hole 3"
    assert joined(["hole 3", "hole 4", "hole 6"]) == "holes 3, 4 and 6"
    assert joined(["hole 3 Ø11.0", "hole 4 Ø11.0"]) == "holes 3 and 4, Ø11.0"
    assert joined(["hole 3 Ø11.0", "hole 4 Ø12.0"]) == "hole 3 Ø11.0; hole 4 Ø12.0"
    assert joined(["face 9", "hole 4"]) == "face 9; hole 4"


@pytest.mark.parametrize(
    ("toward", "words"),
    [
        ((0.0, 0.0, 1.0), "straight from above"),
        ((1.0, 0.0, 0.0), "from the right, level"),
        ((-1.0, 0.0, 0.0), "from the left, level"),
        ((0.0, -1.0, 0.0), "from you, level"),
        ((0.0, 0.5, 3.0**0.5 / 2.0), "from the fixed jaw, 60.0° above level"),
        ((0.875426, -0.408218, 0.258819), "from the right, turned 25.0° towards you, 15.0° above level"),
        ((0.0, -(3.0**0.5) / 2.0, -0.5), "from you, 30.0° below level"),
    ],
)
def test_a_tilt_is_told_as_the_operator_sees_it(
    plan: Plan, shop: Shop, toward: tuple[float, float, float], words: str
) -> None:
    """Worked: x runs to the operator's right and y away from him; atan(0.408218 / 0.875426) = 25, asin 0.258819 = 15.

    Each clamping's own frame is taken, so the words may not depend on how the part lies.
    """
    for index, clamping in enumerate(plan.clampings):
        z = np.array(toward) @ clamping.frame.turn
        z /= np.linalg.norm(z)
        x = np.cross(z, [0.31, 0.52, 0.79])
        x /= np.linalg.norm(x)
        y = np.cross(z, x)
        axes = [tuple(float(v) for v in axis) for axis in (x, y, z)]
        frame = Frame(x=axes[0], y=axes[1], z=axes[2], origin_mm=clamping.frame.origin_mm)  # type: ignore[arg-type]
        tilted = msgspec.structs.replace(clamping, tilts=(Tilt(id="t", frame=frame, a_rad=0.0, c_rad=0.0),))
        clampings = tuple(tilted if i == index else c for i, c in enumerate(plan.clampings))
        writer = Writer(plan=msgspec.structs.replace(plan, clampings=clampings), shop=shop, drawings={}, fingerprint="")
        assert writer.comes_from(clamping.id, "t") == words


def test_a_sheet_too_full_for_a_page_is_parted_before_its_passes(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    """What belongs to the clamping stays on the first page, every pass stands on the second with a title of its own."""
    own = [one for one in plan.passes if one.clamping_id == fixture.OPS[0]]
    many = tuple(
        msgspec.structs.replace(own[i % len(own)], id=f"pass {i}", kind=("drill", "bore")[i % 2]) for i in range(36)
    )
    others = tuple(one for one in plan.passes if one.clamping_id != fixture.OPS[0])
    full = msgspec.structs.replace(plan, passes=(*many, *others))
    texts = pdf_text(papers_pdf(plan=full, shop=shop, drawings=drawings, fingerprint=fixture.FINGERPRINT))
    first, second = [text for text in texts if "Setup sheet - Op 1" in text]
    assert "The passes stand on the next page" in first
    assert "rotation centre" in first or "work zero, measured" in first
    assert first.count("drill") < 3
    assert "mill, passes" in second
    assert second.count("drill") >= 18
    assert second.count("bore") >= 18
