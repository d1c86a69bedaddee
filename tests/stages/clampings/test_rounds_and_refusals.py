"""Parts without two parallel flats: held by a finished round, made in part, or refused with the numbers."""

# pyright: reportAttributeAccessIssue=false

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
from shapes import CUTTERS, LOAD, MILL, SOFT, TOOTHED, VISE, box, cut_box, drilled, solid_of, target_of

from proveout.model.choice_of_clampings import ClampingChoice, Grip
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Vise
from proveout.model.solid import Solid
from proveout.model.work import Blank
from proveout.stages import clampings, survey
from proveout.stages.clampings.covering import samples_of
from proveout.stages.clampings.grips import grips_for, round_grips


def disc(diameter: float, high: float, cone: float = 0.0) -> Any:
    """A disc about z that stands on z = 0; cone: so much wider at the top."""
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder

    if cone:
        return BRepPrimAPI_MakeCone(diameter / 2.0 + cone, diameter / 2.0, high).Shape()
    return BRepPrimAPI_MakeCylinder(diameter / 2.0, high).Shape()


def chosen(solid: Solid, vise: Vise = VISE) -> Decision[ClampingChoice]:
    return clampings.decide(
        solid=solid, target=target_of(solid), survey=survey.decide(solid=solid, run=Run()).value, machines=(MILL,),
        vises=(vise,), jaws=(TOOTHED, SOFT), cutters=CUTTERS, quantity=50, load_s=LOAD, pins=(), run=Run(),
    )  # fmt: skip


def test_a_disc_is_turned_over_in_jaws_bored_to_it_and_is_not_ready_for_that() -> None:
    """Round jaws hold a disc, but nothing but friction keeps it from turning: that is not shown."""
    solid = solid_of(drilled(disc(40.0, 12.0), at=(0, 0, -1), along=(0, 0, 1), dia=6.6, deep=20))
    best = chosen(solid).value.sequences[0]
    assert len(best.holds) == 2
    assert best.unreached == ()
    grip = best.holds[1].grip
    assert grip is not None
    assert grip.is_round
    # worked: chord of a sixth of a turn of Ø40 is its radius
    assert (grip.gap_mm, grip.patch_length_mm) == (40.0, 20.0)
    blank = Blank(
        bar_id="none", length_axis=0, low_mm=(-21.0, -21.0, -4.5), high_mm=(21.0, 21.0, 13.0), cut_length_mm=42.0,
        grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0,
        mass_kg=0.1,
    )  # fmt: skip
    laid = clampings.place(
        sequence=best, blank=blank, target=target_of(solid), machines=(MILL,), vises=(VISE,), jaws=(TOOTHED, SOFT),
        bars=(),
    )  # fmt: skip
    assert [(p.id, p.verdict) for p in laid.proofs if p.blocks_release and p.verdict != "holds"] == [
        (f"clampings:{laid.value.clampings[1].id}:turning", "not shown")
    ]
    assert laid.value.clampings[1].needs_form


def fused(one: Any, other: Any, *, lift_mm: float) -> Any:
    """The first shape with the second, lifted along z."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse
    from OCP.gp import gp_Trsf, gp_Vec
    from OCP.TopLoc import TopLoc_Location

    lift = gp_Trsf()
    lift.SetTranslation(gp_Vec(0.0, 0.0, lift_mm))
    return BRepAlgoAPI_Fuse(one, other.Moved(TopLoc_Location(lift))).Shape()


def test_a_tab_below_the_jaw_tops_keeps_the_jaws_off_a_round() -> None:
    """Jaws bored to the boss would stand inside a tab that reaches beyond it."""
    tab = cut_box(box(60.0, 10.0, 3.0), (0, 0, 0), (0.1, 0.1, 0.1))
    boss = disc(30.0, 15.0)
    from OCP.gp import gp_Trsf, gp_Vec
    from OCP.TopLoc import TopLoc_Location

    aside = gp_Trsf()
    aside.SetTranslation(gp_Vec(-30.0, -5.0, 0.0))
    solid = solid_of(fused(tab.Moved(TopLoc_Location(aside)), boss, lift_mm=0.0))
    made = frozenset(f.id for f in solid.faces)

    def held(up: tuple[float, float, float]) -> list[Grip]:
        return round_grips(up, solid=solid, target=target_of(solid), vise=VISE, height_limit_mm=8.0, made=made)

    assert held((0.0, 0.0, 1.0)) == []
    (grip,) = held((0.0, 0.0, -1.0))
    assert (grip.across, grip.gap_mm, grip.low_mm) == ((0.0, 1.0, 0.0), 30.0, 0.0)


def test_a_wall_too_thin_to_press_on_is_no_part_of_the_patch() -> None:
    """Worked. A block of 80 x 40 x 20, a pocket 30 long and open above at 1 mm behind one side: 50 of 80 mm are left.

    The other two sides stand 25 mm off. At 3 mm behind the side nothing is lost. One cell of 0.5 mm goes at every end.
    """

    def length(low: tuple[float, float, float], high: tuple[float, float, float]) -> float:
        solid = solid_of(cut_box(box(80.0, 40.0, 20.0), low, high))
        found = grips_for(
            (0.0, 0.0, 1.0), solid=solid, target=target_of(solid), vise=VISE, height_limit_mm=10.0,
            made=frozenset(f.id for f in solid.faces),
        )  # fmt: skip
        return next(g.patch_length_mm for g in found if abs(g.across[1]) > 0.5)

    whole = length((25.0, 3.0, 0.0), (55.0, 30.0, 21.0))
    assert 78.0 < whole <= 80.0
    for near, far in ((1.0, 30.0), (10.0, 39.0)):
        assert 47.5 <= length((25.0, near, 0.0), (55.0, far, 21.0)) <= 50.0
    # a pocket from below that stops 2 mm under the top leaves no less
    assert 47.5 <= length((25.0, 1.0, -1.0), (55.0, 30.0, 18.0)) <= 50.0


def test_a_thin_plate_is_held_by_its_edges() -> None:
    solid = solid_of(cut_box(box(80.0, 60.0, 3.0), (20, 20, -1), (60, 40, 4)))
    best = chosen(solid).value.sequences[0]
    assert len(best.holds) == 2
    assert best.unreached == ()


def test_what_cannot_be_turned_over_is_made_in_part_and_says_so() -> None:
    """A cone gives the jaws nothing: the first clamping is planned, the strip stays and the proof says why."""
    decision = chosen(solid_of(disc(40.0, 12.0, cone=8.0)))
    best = decision.value.sequences[0]
    assert len(best.holds) == 1
    # the underside stays on the strip, and a leaning cone needs a ball, which this shop has not
    assert sorted(face.split()[0] for face in best.unreached) == ["cone", "plane"]
    proof = decision.proofs[0]
    assert proof.verdict == "fails"
    assert "two parallel finished flats" in proof.remedy


def test_a_refusal_names_the_opening_that_is_missing() -> None:
    narrow = msgspec.structs.replace(VISE, opening_max_mm=30.0)
    decision = chosen(solid_of(box(60.0, 50.0, 40.0)), narrow)
    assert decision.value.sequences == ()
    # worked: the narrowest side is 40 mm, with 1.5 mm to skim on either side 43 mm
    assert "opens 43 mm and the widest opens 30 mm" in decision.proofs[0].remedy


def test_a_refusal_names_travels_and_slenderness() -> None:
    decision = chosen(solid_of(box(900.0, 20.0, 20.0)))
    assert decision.value.sequences == ()
    assert "900 x 20 x 20 mm lie beyond the travels" in decision.proofs[0].remedy


def test_the_samples_of_a_round_wall_look_square_to_its_axis() -> None:
    """Facets lean where the two rims of a wall are divided unlike; a wall that seems to look down is never cut."""
    solid = solid_of(disc(48.0, 2.0))
    (wall,) = (f for f in solid.faces if f.surface.kind == "cylinder")
    vertices = solid.vertices_mm.copy()
    top = vertices[:, 2] > 1.0
    half = math.pi / len(np.unique(np.round(vertices[top], 6), axis=0))
    turn = np.array([[math.cos(half), -math.sin(half)], [math.sin(half), math.cos(half)]])
    vertices[top, :2] = vertices[top, :2] @ turn.T
    target = msgspec.structs.replace(target_of(solid), vertices_mm=vertices)
    corners = vertices[solid.triangles[solid.triangle_face == wall.index]]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    assert float(np.abs(across[:, 2] / np.linalg.norm(across, axis=1)).max()) > 1e-3
    samples = samples_of(solid, target, survey.decide(solid=solid, run=Run()).value)
    assert float(np.abs(samples.normals[samples.face == wall.index, 2]).max()) < 1e-9
