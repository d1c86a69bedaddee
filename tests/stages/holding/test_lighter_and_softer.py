"""What is tightened when the jaws crush the work: how hard the vise is closed first, the cut where that is not it."""

from __future__ import annotations

import math

import msgspec
import pytest
from shapes import VISE, fact
from stages.gripped import CLAMPING, LOAD, held, proof, rotary_mill, small_patch

from proveout.model.fact import weaker_of
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.proof import Proof, Tighten
from proveout.model.shop import Vise
from proveout.model.work import Clamping
from proveout.stages.holding import clamp_forces
from proveout.stages.holding.remedies import PRELOAD_FLOOR, clamp_softer

STILL = msgspec.structs.replace(LOAD, plane_n=0.0, axial_n=0.0, torque_n_mm=0.0)
ROUGH = msgspec.structs.replace(LOAD, plane_n=1500.0)
SOFT_VISE = msgspec.structs.replace(VISE, preload_n=fact(8_000.0, 9_000.0, 10_000.0, "N"))


def bearing(clamping: Clamping, ratio: float = 1.0, vise: Vise = VISE) -> Proof:
    limits = Limits(preload_ratio={} if ratio == 1.0 else {"c1": ratio})
    return proof(held(ROUGH, clamping=clamping, vise=vise, limits=limits), "bearing")


def test_jaws_that_crush_the_work_alone_are_closed_softer_worked_by_hand() -> None:
    """Worked. 20 kN on 38 x 2.5 = 95 mm2 are 210.5 MPa, 0.88 of 240: 0.7 240 95 / 20 000 = 0.798, so 0.75 of 60 N m.

    At 0.75 the jaws press with 11.25 to 15 kN: 157.9 MPa at most, 0.66 of the yield, and nothing more is softened.
    """
    crushed = bearing(small_patch(2.5))
    assert crushed.verdict != "holds"
    assert crushed.tighten == Tighten(subject="c1", quantity="preload_ratio", bound=0.75, unit="of the usual")
    softer = bearing(small_patch(2.5), 0.75)
    assert softer.tighten is None or softer.tighten.quantity != "preload_ratio"
    still = held(STILL, clamping=small_patch(2.5), limits=Limits(preload_ratio={"c1": 0.75}))
    assert proof(still, "bearing").found_high == pytest.approx(15_000.0 / 95.0)
    assert proof(still, "vise rating").found_high == pytest.approx(15_000.0)
    (force,) = clamp_forces(clampings=(small_patch(2.5),), vises=(VISE,), limits=Limits(preload_ratio={"c1": 0.75}))
    assert force.force_n is not None
    assert (force.ratio, force.torque_n_mm) == (0.75, 45_000.0)
    assert (force.force_n.low, force.force_n.high) == (11_250.0, 15_000.0)
    assert force.force_n.source.startswith("shop-file: the torque chart of the vise's maker")
    assert force.force_n.strength == "published as quoted"  # nobody measured it at that torque
    assert force.force_n.is_backed


def test_a_vise_closed_as_usual_keeps_what_was_measured() -> None:
    (force,) = clamp_forces(clampings=(small_patch(2.5),), vises=(VISE,), limits=Limits())
    assert (force.ratio, force.torque_n_mm, force.force_n) == (1.0, VISE.torque_n_mm, VISE.preload_n)
    unknown = msgspec.structs.replace(VISE, preload_n=None, torque_n_mm=None)
    (force,) = clamp_forces(clampings=(small_patch(2.5),), vises=(unknown,), limits=Limits())
    assert (force.torque_n_mm, force.force_n) == (None, None)


def test_a_softer_vise_holds_less_in_proportion() -> None:
    """All else the same the reserve is in proportion to the jaw force."""
    whole = held(LOAD).value[0].reserve_low
    half = held(LOAD, limits=Limits(preload_ratio={"c1": 0.5})).value[0].reserve_low
    assert half == pytest.approx(whole / 2.0, abs=2e-4)


CHARTED = msgspec.structs.replace(
    VISE, preload_n=fact(14_400.0, 16_000.0, 17_600.0, "N"), chart_torques_n_mm=(30_000.0, 60_000.0, 90_000.0),
    chart_forces_n=(4_000.0, 16_000.0, 20_000.0),
)  # fmt: skip


def test_a_softer_vise_presses_by_its_chart_worked_by_hand() -> None:
    """Worked. At 45 N m, halfway from 4 to 16 kN: 10 kN, 0.625 of 16, where proportion says 12; a tenth either way.

    At 24 N m, below the chart, nothing tells: carried on it would be 1.6 kN, in proportion 3.2, and both are guesses.
    """
    (found,) = clamp_forces(clampings=(small_patch(2.5),), vises=(CHARTED,), limits=Limits(preload_ratio={"c1": 0.75}))
    assert found.force_n is not None
    assert (found.force_n.low, found.force_n.high) == pytest.approx((9_000.0, 11_000.0))
    assert weaker_of(found.force_n.strength, "published as quoted") == found.force_n.strength
    assert found.torque_n_mm == pytest.approx(45_000.0)
    (below,) = clamp_forces(clampings=(small_patch(2.5),), vises=(CHARTED,), limits=Limits(preload_ratio={"c1": 0.4}))
    assert (below.torque_n_mm, below.force_n) == (pytest.approx(24_000.0), None)
    reserve = held(LOAD, vise=CHARTED, limits=Limits(preload_ratio={"c1": 0.75})).value[0].reserve_low
    assert reserve == pytest.approx(0.625 * held(LOAD, vise=CHARTED).value[0].reserve_low, abs=2e-4)


def test_a_chart_that_does_not_reach_the_usual_torque_is_not_leant_on() -> None:
    """A force measured at 60 N m and a chart up to 50: nothing ties one to the other."""
    short = msgspec.structs.replace(CHARTED, chart_torques_n_mm=(30_000.0, 50_000.0), chart_forces_n=(4e3, 9e3))
    (found,) = clamp_forces(clampings=(small_patch(2.5),), vises=(short,), limits=Limits(preload_ratio={"c1": 0.75}))
    assert (found.torque_n_mm, found.force_n) == (45_000.0, None)


BARE = msgspec.structs.replace(VISE, chart_torques_n_mm=(), chart_forces_n=())


def test_without_a_chart_no_vise_is_closed_softer_and_it_is_said_what_to_write() -> None:
    """In proportion 45 N m press with 11.25 to 15 kN; what it takes before a screw presses at all nobody said."""
    crushed = proof(held(STILL, clamping=small_patch(2.0), vise=BARE), "bearing")
    assert (crushed.verdict, crushed.tighten) == ("not shown", None)
    assert "a lower torque, once the vise maker's chart is written (chart_torques_n_m and chart_forces_kn)," in (
        crushed.remedy
    )
    softer = held(LOAD, vise=BARE, limits=Limits(preload_ratio={"c1": 0.75}))
    for name in ("grip", "bearing", "vise rating"):
        found = proof(softer, name)
        assert (found.verdict, found.found_low) == ("not shown", None)
        assert "the jaw force of vise at 45 N m, by load cell or the vise maker's chart" in found.decides


def test_a_vise_is_softened_in_twentieths_down_to_the_floor_and_no_further() -> None:
    ratio, seen = 1.0, []
    while (step := clamp_softer("c1", ratio=ratio, at_rest_mpa=700.0 * ratio, yield_mpa=240.0)) is not None:
        assert step.bound < ratio
        assert step.bound / 0.05 == pytest.approx(round(step.bound / 0.05))
        ratio = step.bound
        seen.append(ratio)
    assert seen == [PRELOAD_FLOOR]
    assert clamp_softer("c1", ratio=1.0, at_rest_mpa=168.0, yield_mpa=240.0) is None


def test_a_cut_that_crushes_where_the_jaws_alone_do_not_is_made_lighter_worked_by_hand() -> None:
    """10 kN on 95 mm2 are 105.3 MPa: the cut may add 134.7 to 240, and takes 0.98 of that share, in hundredths."""
    heavy = msgspec.structs.replace(LOAD, plane_n=8000.0)
    found = proof(held(heavy, clamping=small_patch(2.5), vise=SOFT_VISE), "bearing")
    rest = 10_000.0 / 95.0
    assert found.found_high is not None
    assert found.found_high > 240.0
    share = (240.0 - rest) / (found.found_high - rest)
    assert 0.3 < share < 0.9
    bound = round(0.5 * math.floor(0.98 * share / 0.01) * 0.01, 4)
    assert found.tighten == Tighten(subject="c1/mill 12", quantity="axial_ratio", bound=bound, unit="of the usual")
    lighter = msgspec.structs.replace(
        heavy, plane_n=heavy.plane_n * share * 0.999, axial_n=heavy.axial_n * share * 0.999
    )
    assert proof(held(lighter, clamping=small_patch(2.5), vise=SOFT_VISE), "bearing").verdict == "holds"


def test_every_cutter_that_crushes_gets_its_own_step_in_one_round() -> None:
    heavy = msgspec.structs.replace(LOAD, plane_n=8000.0)
    names = {name: f"c1/t/{name}/rough/levels" for name in ("mill 6", "mill 4")}
    other = msgspec.structs.replace(LOAD, pass_id=names["mill 6"], plane_n=7500.0)
    fine = msgspec.structs.replace(STILL, pass_id=names["mill 4"], plane_n=1.0)
    found = held(heavy, clamping=small_patch(2.5), vise=SOFT_VISE, more={"mill 6": other, "mill 4": fine})
    asked = [p.tighten for p in found.proofs if ":bearing" in p.id and p.tighten is not None]
    assert {(t.subject, t.quantity) for t in asked} == {("c1/mill 12", "axial_ratio"), ("c1/mill 6", "axial_ratio")}
    assert all(p.verdict != "holds" and p.blocks_release for p in found.proofs if ":bearing" in p.id)


def test_an_unknown_jaw_force_softens_nothing() -> None:
    unknown = msgspec.structs.replace(VISE, preload_n=None)
    assert bearing(small_patch(2.5), vise=unknown).tighten is None
    assumed = msgspec.structs.replace(VISE, preload_n=fact(60e3, 70e3, 80e3, "N"))
    assumed = msgspec.structs.replace(
        assumed,
        preload_n=msgspec.structs.replace(assumed.preload_n, strength="assumed"),  # type: ignore[arg-type]
    )
    assert bearing(small_patch(2.5), vise=assumed).tighten is None


@pytest.mark.parametrize("what", ["grip", "bearing", "rotary brake"])
def test_of_two_passes_of_one_cutter_the_lowest_limit_is_asked_for_at_once(what: str) -> None:
    """Worked for the brake of 60 N m. 632.5 N at 152.3 mm and 3 N m are 99.4: 0.59 of half a diameter, 0.295.

    The other asks 85.0, less, but 1.2 mm of 12 are its depth: 0.69 of a tenth, 0.069. As one limit holds for both, that
    is the one that the round must set, and no second proof asks for the same again.
    """
    scale = 1.0 if what == "rotary brake" else 13.0
    placed = msgspec.structs.replace(
        SOFT_VISE, from_c_axis_mm=fact(20.0, 22.0, 24.0, "mm"), above_a_axis_mm=fact(108.0, 110.0, 112.0, "mm")
    )
    deep = msgspec.structs.replace(LOAD, plane_n=600.0 * scale)
    flat = msgspec.structs.replace(LOAD, pass_id="c1/t/mill 12/rough/b", plane_n=500.0 * scale, axial_mm=1.2)  # noqa: S106 - the id of a pass, no word to pass by

    def asked(first: PassLoad, **more: PassLoad) -> list[Proof]:
        found = held(
            first, vise=placed, machine=rotary_mill(brake_torque_n_mm=fact(60e3, 65e3, 70e3, "N mm")),
            clamping=CLAMPING if what == "rotary brake" else small_patch(2.5),
            more={f"mill 12/{name}": one for name, one in more.items()},
        )  # fmt: skip
        return [p for p in found.proofs if f":{what}" in p.id and p.tighten is not None]

    (by_deep,), (by_flat,), (both,) = asked(deep), asked(flat), asked(deep, second=flat)
    assert by_deep.tighten is not None
    assert by_flat.tighten is not None
    assert by_flat.tighten.bound < by_deep.tighten.bound
    if what == "rotary brake":
        assert (by_deep.tighten.bound, by_flat.tighten.bound) == pytest.approx((0.295, 0.069))
    assert both.tighten == by_flat.tighten
    assert (both.found_low, both.found_high) == (by_deep.found_low, by_deep.found_high)  # the hardest is told
