"""Reach of every face on the page: the dearest first, minutes of the quickest that reaches it whole, all addressed."""

from __future__ import annotations

import fixture_plan
import msgspec
from test_addresses import check_lines, left_over, page_text

from proveout.model.plan import Plan
from proveout.model.reach import FaceReach, ReachedBy
from proveout.model.shop import Shop
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.plan_html import html_of
from proveout.sheets.reach_html import TITLE, reach_html
from proveout.sheets.writer import Writer

UP = (0.0, 0.0, 1.0)


def by(cutter_id: str, ratio: float, seconds: float | None, direction: tuple[float, float, float] = UP) -> ReachedBy:
    return ReachedBy(
        clamping_number=2, direction=direction, cutter_id=cutter_id, manner="wall", reached_ratio=ratio, cut_s=seconds
    )


def with_reach(plan: Plan, shop: Shop) -> Plan:
    first, second, third = (note.face_id for note in plan.survey.faces[:3])
    mills = [c.id for c in shop.cutters][:2]
    reach = (
        FaceReach(face_id=first, is_reached=True, by=(by(mills[0], 1.0, 12.0),), least_s=12.0),
        FaceReach(
            face_id=second, is_reached=True, by=(by(mills[1], 1.0, None), by(mills[0], 0.96, 93.0, (0.6, 0.0, 0.8))),
            least_s=93.0,
        ),
        FaceReach(face_id=third, is_reached=False, by=(), why_not="it looks away", would_reach="a ball cutter"),
    )  # fmt: skip
    return msgspec.structs.replace(plan, survey=msgspec.structs.replace(plan.survey, reach=reach))


def test_each_face_has_its_cutter_and_its_minutes_dearest_first(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    """Worked: 93 s are 1.55 min and stand before 12 s, 0.20 min; what nothing reaches names no cutter."""
    own = with_reach(plan, shop)
    writer = Writer(plan=own, shop=shop, drawings={}, fingerprint=fixture_plan.FINGERPRINT, marked=False)
    text = page_text(reach_html(writer))
    assert TITLE in text
    name = shop.cutters[0].name
    dear, cheap, none = text.index("1.55"), text.index("0.20"), text.index("not shown")
    assert dear < cheap < none
    assert f"{name}" in text
    assert "Op 2, (0.60, 0.00, 0.80)" in text
    assert "Op 2, +z" in text
    assert "96" in text
    marked = Writer(plan=own, shop=shop, drawings=drawings, fingerprint=fixture_plan.FINGERPRINT, marked=True)
    assert left_over(page_text(html_of(marked, None))) == []
    check_lines(marked, own, shop)


def test_a_plan_without_reach_has_no_table(plan: Plan, shop: Shop) -> None:
    bare = msgspec.structs.replace(plan, survey=msgspec.structs.replace(plan.survey, reach=()))
    assert not reach_html(Writer(plan=bare, shop=shop, drawings={}, fingerprint=fixture_plan.FINGERPRINT))
