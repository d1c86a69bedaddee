"""A removed body is called what it is, and moves worked out from it take it off, or it is said why not.

Every volume is worked by hand beside its shape. The bound of 0.1 % is that of bench/fabricad.py.
"""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from expressing import Cut, Expressed, moves_for, run
from fabricad import WITHIN_RATIO, Row, SubStep, figures_of, reason_of, reasons
from kinds import COVERED, classify
from removed import NotACut, Removed, removed_between
from shapes import box, cut_box, drilled

BLOCK = (60.0, 40.0, 20.0)
UP = (0.0, 0.0, 1.0)
DOWN = (0.0, 0.0, -1.0)
RAYS = 1e5


def block() -> Any:
    return box(*BLOCK)


def bored(shape: Any, dia: float, deep: float, at: tuple[float, float] = (30.0, 20.0)) -> Any:
    """A flat-ended hole from the top."""
    return drilled(shape, at=(*at, 20.0), along=DOWN, dia=dia, deep=deep)


def coned(shape: Any, wide: float, deep: float) -> Any:
    """A 90 degree countersink from the top, about the middle, `deep` lower than its rim of diameter `wide`."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCone
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    axis = gp_Ax2(gp_Pnt(30.0, 20.0, 20.0), gp_Dir(*DOWN))
    return BRepAlgoAPI_Cut(shape, BRepPrimAPI_MakeCone(axis, wide / 2.0, wide / 2.0 - deep, deep).Shape()).Shape()


def ring(shape: Any) -> Any:
    """A groove of radii 6 to 12 mm, 5 mm deep, about the middle of the top."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    boss = BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(30.0, 20.0, 15.0), gp_Dir(*UP)), 6.0, 5.0).Shape()
    return BRepAlgoAPI_Fuse(bored(shape, 24.0, 5.0), boss).Shape()


def slot(shape: Any) -> Any:
    """30 mm long between the centres of its ends, 10 mm wide, 8 mm deep."""
    shape = bored(bored(shape, 10.0, 8.0, at=(15.0, 20.0)), 10.0, 8.0, at=(45.0, 20.0))
    return cut_box(shape, (15.0, 15.0, 12.0), (45.0, 25.0, 21.0))


def quarter(shape: Any) -> Any:
    """A round wall of radius 10 mm about a corner of the block, 6 mm deep."""
    return bored(shape, 20.0, 6.0, at=(0.0, 0.0))


def slanting(shape: Any) -> Any:
    """A triangle of 30 x 20 mm off a corner of the block, 5 mm deep."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Pnt, gp_Vec

    corners = BRepBuilderAPI_MakePolygon()
    for x, y in ((0.0, 0.0), (30.0, 0.0), (0.0, 20.0)):
        corners.Add(gp_Pnt(x, y, 15.0))
    corners.Close()
    face = BRepBuilderAPI_MakeFace(corners.Wire()).Face()
    return BRepAlgoAPI_Cut(shape, BRepPrimAPI_MakePrism(face, gp_Vec(0.0, 0.0, 6.0)).Shape()).Shape()


def body_of(before: Any, after: Any) -> Removed:
    found = removed_between([before], [after])
    assert isinstance(found, Removed), found
    return found


def expressed(body: Removed) -> Expressed:
    cuts = moves_for(body, classify(body))
    assert cuts
    return run(body, cuts, rays_count=RAYS)


PI = math.pi
EXPRESSED = {
    "hole": (lambda: bored(block(), 8.0, 12.0), PI * 16.0 * 12.0),
    "hole through": (lambda: bored(block(), 8.0, 20.0), PI * 16.0 * 20.0),
    "stepped hole": (lambda: bored(bored(block(), 8.0, 20.0), 14.0, 6.0), PI * (16.0 * 14.0 + 49.0 * 6.0)),
    # the frustum from radius 7 to 4 is pi (49 + 28 + 16), 3 mm deep, a third of which counts
    "countersunk hole": (
        lambda: coned(bored(block(), 8.0, 20.0), 14.0, 3.0), PI * (16.0 * 17.0 + 93.0),
    ),
    "ring groove": (lambda: ring(block()), PI * (144.0 - 36.0) * 5.0),
    "slot with round ends": (lambda: slot(block()), (300.0 + PI * 25.0) * 8.0),
    "step": (lambda: cut_box(block(), (-1.0, -1.0, 14.0), (61.0, 15.0, 21.0)), 60.0 * 15.0 * 6.0),
    "step with a round wall": (lambda: quarter(block()), 0.25 * PI * 100.0 * 6.0),
    "step with a slanting wall": (lambda: slanting(block()), 0.5 * 30.0 * 20.0 * 5.0),
}  # fmt: skip


@pytest.mark.parametrize("name", EXPRESSED)
def test_a_body_is_called_what_it_is_and_its_moves_take_it_off(name: str) -> None:
    make, volume = EXPRESSED[name]
    body = body_of(block(), make())
    assert body.volume_mm3 == pytest.approx(volume, rel=1e-9)
    kind = classify(body)
    assert kind.name == name.removesuffix(" through")
    found = expressed(body)
    assert max(abs(v / volume - 1.0) for v in found.removed_mm3) <= WITHIN_RATIO
    assert reason_of(kind, found) == ""


def test_a_hole_at_a_slant_is_plunged_along_its_axis() -> None:
    """Through the middle, 20 degrees from upright: 20 / cos 20 long; what its oblique ends add and lack is equal."""
    tilt = math.radians(20.0)
    along = (math.sin(tilt), 0.0, -math.cos(tilt))
    start = (30.0 - 20.0 * along[0], 20.0, 10.0 - 20.0 * along[2])
    body = body_of(block(), drilled(block(), at=start, along=along, dia=8.0, deep=40.0))
    volume = PI * 16.0 * 20.0 / math.cos(tilt)
    assert body.volume_mm3 == pytest.approx(volume, rel=1e-6)
    assert classify(body).name == "hole"
    assert expressed(body).worst_ratio <= WITHIN_RATIO


def test_sharp_inside_corners_are_named_and_what_stays_in_them_is_found() -> None:
    """20 x 12 mm, 16 mm deep: four corners keep (1 - pi / 4) r^2 each. Of a 4 mm mill, the least that reaches."""
    body = body_of(block(), cut_box(block(), (20.0, 14.0, 4.0), (40.0, 26.0, 21.0)))
    kind = classify(body)
    assert kind.name == "pocket with sharp inside corners"
    found = expressed(body)
    assert found.diameters_mm == (4.0,)
    assert found.left_ratio == pytest.approx(4.0 * (1.0 - PI / 4.0) * 4.0 / 240.0, rel=0.01)
    assert "inside corners sharper than a cutter" in reason_of(kind, found)


def test_a_step_into_a_corner_has_one_sharp_corner_whichever_way_up() -> None:
    body = body_of(block(), cut_box(block(), (-1.0, -1.0, 12.0), (30.0, 20.0, 21.0)))
    kind = classify(body)
    assert (kind.name, kind.has_sharp_corner) == ("step with a sharp inside corner", True)
    assert kind.corner_mm3_per_mm2 == pytest.approx((1.0 - PI / 4.0) * 8.0)


def test_a_ball_shaped_dent_is_not_made_by_a_flat_end_along_one_direction() -> None:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeSphere
    from OCP.gp import gp_Pnt

    ball = BRepPrimAPI_MakeSphere(gp_Pnt(30.0, 20.0, 21.0), 3.0).Shape()
    kind = classify(body_of(block(), BRepAlgoAPI_Cut(block(), ball).Shape()))
    assert (kind.name, kind.direction) == ("not along one direction", None)
    assert "slants or is curved" in kind.reason


def test_an_undercut_hangs_over() -> None:
    """A hole 6 mm wide that is 12 mm wide farther down, cut at once."""
    wide = drilled(block(), at=(30.0, 20.0, 12.0), along=DOWN, dia=12.0, deep=5.0)
    kind = classify(body_of(block(), bored(wide, 6.0, 13.0)))
    assert kind.direction is None
    assert "hangs over" in kind.reason


def test_a_hole_below_a_ceiling_cannot_be_reached() -> None:
    tunnel = cut_box(block(), (20.0, -1.0, 8.0), (40.0, 41.0, 15.0))
    kind = classify(body_of(tunnel, drilled(tunnel, at=(30.0, 20.0, 8.0), along=DOWN, dia=6.0, deep=4.0)))
    assert kind.direction is None


def test_a_pocket_below_a_ceiling_cannot_be_reached() -> None:
    tunnel = cut_box(block(), (20.0, -1.0, 8.0), (40.0, 41.0, 15.0))
    kind = classify(body_of(tunnel, cut_box(tunnel, (25.0, 10.0, 4.0), (35.0, 30.0, 8.0))))
    assert (kind.direction, kind.reason) == (None, COVERED)


def test_what_takes_nothing_off_is_no_cut() -> None:
    assert isinstance(removed_between([block()], [block()]), NotACut)
    one = cut_box(block(), (0.0, 0.0, 0.0), (10.0, 10.0, 10.0))
    another = cut_box(block(), (48.0, 0.0, 0.0), (60.0, 10.0, 10.0))
    grown = removed_between([one], [another])
    assert isinstance(grown, NotACut)
    assert "does not balance" in grown.reason


def deeper(cut: Cut, by_mm: float) -> Cut:
    down = by_mm * cut.axis
    return Cut(
        pieces=cut.pieces, axis=cut.axis, starts=cut.starts - down, ends=cut.ends - down, centres=cut.centres - down,
        turns=cut.turns,
    )  # fmt: skip


def test_metal_that_moves_gouge_is_not_made_good_by_metal_that_they_leave() -> None:
    """A slot moved aside by 0.1 mm has its volume within 0.1 %, but gouges 30 x 0.1 x 8 mm3 and more."""
    body = body_of(block(), slot(block()))
    kind = classify(body)
    aside = np.array([0.0, 0.1, 0.0])
    cuts = [
        Cut(
            pieces=c.pieces, axis=c.axis, starts=c.starts + aside, ends=c.ends + aside, centres=c.centres + aside,
            turns=c.turns,
        )
        for c in moves_for(body, kind)
    ]  # fmt: skip
    found = run(body, cuts, rays_count=RAYS)
    assert found.worst_ratio <= WITHIN_RATIO
    assert found.gouge_ratio >= 30.0 * 0.1 * 8.0 / body.volume_mm3
    assert reason_of(kind, found)


def test_moves_too_deep_are_not_called_expressed() -> None:
    body = body_of(block(), bored(block(), 8.0, 12.0))
    kind = classify(body)
    found = run(body, [deeper(cut, 0.05) for cut in moves_for(body, kind)], rays_count=RAYS)
    assert found.worst_ratio == pytest.approx(0.05 / 12.0, rel=0.1)
    assert "volume off" in reason_of(kind, found)


def row(number: str, reason: str = "", *, kind: str = "hole", upright: bool = True, corner: bool = False) -> Row:
    found = Expressed(
        moves_count=2, arcs_count=1, diameters_mm=(4.0,), pitch_mm=0.1, removed_mm3=(1.0, 1.0, 1.0),
        worst_ratio=0.0005, left_ratio=0.0002, gouge_ratio=0.0, struck_mm3=0.0,
    )  # fmt: skip
    return Row(
        step=SubStep("p", number, "bohren", "", None), said="hole", kind=kind, agrees=True, is_three_axis=upright,  # type: ignore[arg-type] - a kind as plain text
        has_sharp_corner=corner, volume_mm3=1.0, overlapped=False, found=found, reason=reason,
    )  # fmt: skip


def test_shares_count_what_is_not_expressed_against_us() -> None:
    rows = [
        row("1"), row("2", corner=True), row("3", "inside corners", kind="pocket"),
        row("4", "hangs over", upright=False), row("5", "nothing", kind="not a cut", upright=False),
    ]  # fmt: skip
    found = figures_of(rows)
    assert (found["cuts_count"], found["three_axis_count"], found["expressed_count"]) == (4, 3, 2)
    assert found["expressed_share_ratio"] == pytest.approx(2.0 / 3.0, abs=1e-4)
    assert found["expressed_with_no_corner_left_share_ratio"] == pytest.approx(1.0 / 3.0, abs=1e-4)
    assert found["expressed_where_no_corner_is_sharp_share_ratio"] == pytest.approx(0.5)
    assert (found["kinds_count"], found["kinds_whole_count"]) == (2, 1)
    assert (found["kinds_of_the_file_count"], found["kinds_of_the_file_whole_count"]) == (1, 0)
    assert [text.split()[2] for text in reasons(rows)] == ["3", "4", "5", "2"]
