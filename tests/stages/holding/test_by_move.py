"""The grip at every move, worked by hand: which move decides, what turns the verdict, and what is said of it."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from holding_cases import loads_of
from shapes import MILL, SMOOTH, TOOTHED, VISE, fact
from stages.gripped import BLOCK, CLAMPING, LOAD, NAME, held, proof, rotary_mill, small_patch

from proveout.cutting.easing import AXIAL_FLOOR
from proveout.geometry.frames import triple
from proveout.grip.margins import grip_margins
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.move_loads import MoveLoads
from proveout.model.proof import is_ready
from proveout.model.work import Clamping

# as the pass is bound: 600 N any way level, 200 N up or down, 28 mm above the seat, 20 and 10 mm off the middle
SIZES = (600.0, 600.0, 200.0)
# the middle of the jaws at x = 40, of the gap at y = -20, of the patch at z = 3 - 10
OTHER = "c1/t/mill 6/rough/levels"
LOW, HIGH = (20.0, -30.0, 28.0), (60.0, -10.0, 28.0)


def moves_of(
    sizes: Any = SIZES, low: Any = LOW, high: Any = HIGH, *, pass_id: str = NAME, **changed: Any
) -> MoveLoads:  # fmt: skip
    """Moves whose forces may point either way; rows of sizes and boxes, ending at points 1, 2, ..."""
    sizes, low, high = (np.atleast_2d(np.asarray(a, dtype=np.float64)) for a in (sizes, low, high))
    count = max(len(sizes), len(low), len(high))
    sizes, low, high = (np.broadcast_to(a, (count, 3)) for a in (sizes, low, high))
    made = loads_of(-sizes, sizes, low, high, couple=changed.pop("couple", np.zeros(count)))
    return msgspec.structs.replace(made, pass_id=pass_id, **changed)


def one_way(force: tuple[float, float, float], at: tuple[float, float, float], **changed: Any) -> MoveLoads:
    return msgspec.structs.replace(loads_of(force, force, at, at), pass_id=NAME, **changed)


PUSH = (600.0, 0.0, 200.0)
AT = (60.0, -20.0, 28.0)  # 20 mm to the right of the middle, 35 above it
FIVE = one_way((3000.0, 0.0, 1000.0), AT)


def test_a_single_push_worked_by_hand() -> None:
    """Worked. r = (20, 0, 35), F = (600, 0, 200): M_x = 0, M_y = 35 600 - 20 200 = 17 000, M_z = 0; E = 0.

    D_x = 600 + 3 17 000 10 / 1700 = 900; D_z = 200 + 3 17 000 40 / 1700 = 1400; D = 1664.33.
    Reserve 2 0.25 15 000 / 1664.33 = 4.5063. The bound for the pass, which knows no signs, says less than 2.9.
    At best 0.43, 20 kN and half the force: 2 0.43 20 000 2 / 1664.33 = 20.669.
    """
    found = held(moves=(one_way(PUSH, AT),))
    grip = proof(found, "grip")
    assert (grip.found_low, grip.found_high) == pytest.approx((4.5063, 20.669), abs=1e-3)
    assert float(proof(held(), "grip").found_low or 0.0) < 2.9
    assert found.value[0].margin == pytest.approx(1.0 - 1664.33 / 7500.0, abs=1e-4)
    inputs = grip.basis.inputs
    assert inputs["M_y, size"].high == pytest.approx(17000.0)
    assert (inputs["M_y, size"].low, inputs["F_x, size"].high) == (pytest.approx(8500.0), 600.0)
    assert inputs["move of the pass"].nominal == 1.0
    assert inputs["L, patch length"] == CLAMPING.patch_length_mm


def test_every_number_comes_out_again_from_the_inputs_and_the_printed_formula() -> None:
    losing = msgspec.structs.replace(
        CLAMPING, patch_length_mm=fact(60.0, 78.0, 80.0, "mm"), patch_height_mm=fact(2.0, 2.5, 3.0, "mm")
    )
    found = held(clamping=losing, moves=(moves_of((200.0, 150.0, 100.0), couple=np.array([4000.0])),))
    for ending in ("grip", "bearing"):
        one = proof(found, ending)
        given = {name.partition(",")[0]: value for name, value in one.basis.inputs.items()}
        assert "M about the middle between both patches" in one.basis.formula
        assert "a drill that breaks through is taken to pull" in one.basis.formula
        gap, soft = given["g"].high, given["kappa"].high * given["g"].high ** 2 / 4.0
        halves_a, halves_b = (np.linspace(given[n].low / 2.0, given[n].high / 2.0, 4001) for n in ("L", "H"))
        f, m = ([given[f"{letter}_{axis}"].high for axis in "xyz"] for letter in "FM")

        def tilt(half: np.ndarray, soft: float = soft) -> float:
            return float((3.0 * (half**2 / 3.0) / (half**2 / 3.0 + soft) / half).max())

        def turns(half: np.ndarray, other: float) -> float:
            return float((3.0 * half / (half**2 + other**2)).max())

        e = m[0] * tilt(halves_b) + m[2] * tilt(halves_a)
        if ending == "bearing":
            area = given["L"].low * given["H"].low
            assert one.found_high == pytest.approx((given["P"].high + f[1] + e / 2.0) / area, rel=1e-9)
            continue
        d_x = f[0] + 2.0 * m[2] / gap + m[1] * turns(halves_b, given["L"].low / 2.0)
        d_z = f[2] + 2.0 * m[0] / gap + m[1] * turns(halves_a, given["H"].low / 2.0)
        mu, force = given["mu"].low, given["P"].low
        assert one.found_low == pytest.approx(
            2.0 * mu * force / (math.hypot(d_x, d_z) + mu * (2.0 * f[1] + e)), abs=1.1e-4
        )


def test_the_worst_of_many_moves_is_named_with_its_pass_and_how_the_work_would_go() -> None:
    """Ten times the force at the third of four moves: the grip fails even at its best, and says where and how."""
    sizes = np.array([SIZES] * 4)
    sizes[2] *= 30.0
    found = held(msgspec.structs.replace(LOAD, plane_n=18000.0, axial_n=6000.0), moves=(moves_of(sizes),))
    grip = proof(found, "grip")
    assert grip.verdict == "fails"
    assert grip.subject == f"{NAME}, move 3"
    assert "move 3 at X 20.0 to 60.0, Y -30.0 to -10.0, Z 28.0 to 28.0" in grip.remedy
    assert NAME in grip.remedy
    assert "swings about a line across the jaws" in grip.remedy
    assert grip.tighten is not None
    # such moves spread over a square of headings are bound better as a pass; one heading alone is not
    few = moves_of(np.array([[600.0, 0.0, 200.0], [18000.0, 0.0, 6000.0]]), (40.0, -20.0, 28.0), (40.0, -20.0, 28.0))
    lone = proof(held(msgspec.structs.replace(LOAD, plane_n=18000.0, axial_n=6000.0), moves=(few,)), "grip")
    assert lone.basis.inputs["move of the pass"].nominal == 2.0
    assert lone.subject == f"{NAME}, move 2"
    assert "move 2 at X 40.0 to 40.0" in lone.remedy


def test_the_smallest_edit_that_would_help_is_told() -> None:
    """Worked. Twelve times the push of above: reserve 0.37552, so 37 % of the force; or 15 / 0.37552 = 39.95 kN.

    That is beyond the vise's 30 kN. Five times: 0.90126; 16.65 kN are 60 / 0.90126 = 66.6 N m, at most 22.2 kN.
    """
    heavy = msgspec.structs.replace(LOAD, plane_n=9000.0)
    far = proof(held(heavy, work=BLOCK, moves=(one_way(triple(12.0 * np.array(PUSH)), AT),)), "grip")
    assert "Cut it with 37 % of its force" in far.remedy
    assert "the 40.0 kN that it needs at least take this vise beyond its rating" in far.remedy
    near = proof(held(heavy, work=BLOCK, moves=(FIVE,)), "grip")
    assert near.found_low == pytest.approx(0.9012, abs=1e-4)
    assert "close the vise with 67 N m, to press with at least 16.7 kN" in near.remedy
    by_hand = msgspec.structs.replace(VISE, is_hand_tight=True)
    said = proof(held(heavy, vise=by_hand, work=BLOCK, moves=(FIVE,)), "grip").remedy
    assert "press with at least 16.7 kN, by a torque wrench" in said
    # the step that the next round takes is 0.98 of that share, in steps of a hundredth
    assert near.tighten is not None
    assert (near.tighten.quantity, near.tighten.bound) == ("axial_ratio", 0.44)


def test_the_owner_may_ask_more_of_a_grip_and_is_refused_with_less() -> None:
    """Worked. Four times the push of above has a reserve of 4.5063 / 4 = 1.1266: enough once, not for 1.5 times.

    0.75 of its force then, or 15 1.5 / 1.1266 = 19.97 kN: 60 19.97 / 15 = 79.9 N m, 26.7 kN at most.
    """
    four = (one_way(triple(4.0 * np.array(PUSH)), AT),)
    heavy = msgspec.structs.replace(LOAD, plane_n=9000.0)
    once = proof(held(heavy, work=BLOCK, moves=four), "grip")
    assert (once.verdict, once.limit) == ("holds", 1.0)
    assert once.found_low == pytest.approx(1.1266, abs=1e-3)
    # the force needed at each jaw is told with it
    assert once.basis.inputs["jaw force needed, at least"].nominal == pytest.approx(15_000.0 / 1.1266, rel=1e-3)
    careful = msgspec.structs.replace(VISE, grip_reserve_ratio=1.5)
    asked = proof(held(heavy, vise=careful, work=BLOCK, moves=four), "grip")
    assert (asked.verdict, asked.limit, asked.blocks_release) == ("not shown", 1.5, True)
    assert asked.found_low == once.found_low
    assert asked.basis.inputs["jaw force needed, at least"].nominal == pytest.approx(19_972.0, rel=1e-3)
    assert "Cut it with 75 % of its force" in asked.remedy
    assert "close the vise with 80 N m, to press with at least 20.0 kN" in asked.remedy
    assert asked.tighten is not None
    assert once.tighten is None
    most = msgspec.structs.replace(VISE, grip_reserve_ratio=9.0)
    assert proof(held(heavy, vise=most, work=BLOCK, moves=four), "grip").verdict == "fails"


def pushed_hard(**changed: Any) -> str:
    """What is said of five times the push of above, which asks for 16.65 to 22.2 kN."""
    heavy = msgspec.structs.replace(LOAD, plane_n=9000.0)
    return proof(held(heavy, **{"moves": (FIVE,), "work": BLOCK, **changed}), "grip").remedy


def test_no_torque_is_named_at_which_the_cut_crushes_the_work() -> None:
    """Worked. At 67 N m 22.33 kN at most, on 80 x 20 mm 13.96 MPa; a cut that pushes 4 kN across adds 2.5 of its own.

    So it may be named where the work bears 20 MPa, not where it bears 15, though the jaws alone would leave it room.
    """
    across = msgspec.structs.replace(one_way((0.0, 4000.0, 0.0), (40.0, -20.0, -7.0)), pass_id=OTHER)
    other = msgspec.structs.replace(LOAD, pass_id=OTHER, plane_n=1e5)
    for bears, says in ((15.0, "would crush the work"), (20.0, "close the vise with 67 N m")):
        strong = fact(bears, bears, bears, "MPa")
        assert says in pushed_hard(yield_mpa=strong, more={"mill 6": other}, moves=(FIVE, across))


def test_no_torque_is_named_at_which_the_work_may_bow() -> None:
    """Worked. A plate of 1 mm, 80 wide and 40 between: pi^2 66 000 80 / 12 / 1600 = 2714 N; 2.4 mm: 37.5 kN, half 18.8.

    3 mm: 73.3, half 36.6 kN: above the 22.3 that 67 N m press with.
    """
    for thick, says in ((2.4, "may bow the work"), (3.0, "close the vise with 67 N m")):
        plate = msgspec.structs.replace(
            BLOCK, blank_low_mm=(0.0, -40.0, 0.0), part_low_mm=(0.0, -40.0, 0.0), part_high_mm=(80.0, 0.0, thick)
        )
        assert says in pushed_hard(work=plate)
    assert "bow the work is not known" in pushed_hard(work=None)


def test_the_torque_named_is_read_off_the_chart_where_there_is_one() -> None:
    """Worked. 15 kN at least at 60 N m, 16 on the chart, 20 at 90: 17.76 are asked for there, at 73.2 N m: 74."""
    chart: dict[str, Any] = {
        "chart_torques_n_mm": (30e3, 60e3, 90e3), "chart_forces_n": (8e3, 16e3, 20e3), "rating_n": 40e3,
    }  # fmt: skip
    assert "close the vise with 74 N m" in pushed_hard(vise=msgspec.structs.replace(VISE, **chart))
    chart |= {"chart_torques_n_mm": (30e3, 60e3, 66e3), "chart_forces_n": (8e3, 16e3, 16.5e3)}
    assert "press with at least 16.7 kN, by a torque wrench" in pushed_hard(vise=msgspec.structs.replace(VISE, **chart))


def test_of_two_true_bounds_the_better_counts() -> None:
    """Moves that may push any way, where the pass was bound at or, as a bound may be coarser, farther out."""
    draw = np.random.default_rng(31)
    better = 0
    for _ in range(60):
        load = msgspec.structs.replace(
            LOAD, plane_n=draw.uniform(100.0, 3000.0), axial_n=draw.uniform(0.0, 900.0),
            height_mm=draw.uniform(5.0, 60.0), is_tilted=bool(draw.integers(0, 2)),
        )  # fmt: skip
        sizes = draw.uniform(0.2, 1.5) * np.array([load.plane_n, load.plane_n, load.axial_n])
        out = draw.choice([0.0, 60.0])
        low, high = (20.0 - out, -30.0, load.height_mm - 5.0), (60.0 + out, -10.0, load.height_mm + out)
        alone, both = held(load), held(load, moves=(moves_of(sizes, low, high),))
        order = ("fails", "not shown", "holds")
        for ending in ("grip", "bearing"):
            one, two = proof(alone, ending), proof(both, ending)
            assert order.index(two.verdict) >= order.index(one.verdict)
            assert two.margin is not None
            assert one.margin is not None
            assert two.margin >= one.margin
        better += both.value[0].reserve_low > alone.value[0].reserve_low
        if both.value[0].reserve_low == alone.value[0].reserve_low:
            assert "move of the pass" not in proof(both, "grip").basis.inputs
    assert 10 < better < 60


def turned(low: float, high: float, **changed: Any) -> tuple[str, str]:
    """Verdicts of the grip at a push of so many N along the jaws, alone in the middle of both patches."""
    load = msgspec.structs.replace(LOAD, plane_n=1e5)  # the pass knows nothing
    at = (40.0, -20.0, 3.0 - CLAMPING.patch_height_mm.low / 2.0)
    one, two = (proof(held(load, moves=(one_way((f, 0.0, 0.0), at),), **changed), "grip").verdict for f in (low, high))
    return one, two


def test_a_dull_cutter_turns_the_verdict_where_the_hand_calculation_says() -> None:
    """Worked. Both faces rub: 2 0.25 15 000 = 7500 N hold. A sharp cutter's 6000 N do, a dull one's 1.3 6000 do not."""
    assert turned(6000.0, 1.3 * 6000.0) == ("holds", "not shown")
    assert turned(7499.0, 7501.0) == ("holds", "not shown")
    # beyond 2 0.43 20 000 / 0.5 = 34 400 N not even the best end holds: the share of the least force is a half
    assert turned(34399.0, 34402.0) == ("not shown", "fails")


def test_a_vise_closed_by_hand_turns_the_verdict_where_the_hand_calculation_says() -> None:
    """Worked. 17.5 kN give or take 40 % are 10.5 kN at least: 2 0.25 10 500 = 5250 N instead of 7500."""
    by_hand = msgspec.structs.replace(VISE, is_hand_tight=True, preload_n=fact(10500.0, 17500.0, 24500.0, "N"))
    assert turned(5249.0, 5251.0, vise=by_hand) == ("holds", "not shown")
    assert turned(5251.0, 7499.0) == ("holds", "holds")


def patch_of(height: float) -> Clamping:
    return msgspec.structs.replace(CLAMPING, patch_height_mm=fact(height, height, height, "mm"))


def test_a_patch_of_little_more_than_a_millimetre_turns_the_verdict_by_hand_calculation() -> None:
    """Worked. 20 kN on 80 x 1.2 mm are 208.3 MPa, below 240; on 1.0 mm they are 250.

    600 N across 25 mm above the jaws tip by 25.6 600 = 15 360 N mm: 2 / 40 of it up, 768 N, and
    E = 15 360 0.6 / (0.12 + 80) = 115.03. Reserve 7500 / (768 + 0.25 (1200 + 115.03)) = 6.838.
    """
    still = moves_of((0.0, 0.0, 0.0))
    quiet = msgspec.structs.replace(LOAD, plane_n=0.0, axial_n=0.0, torque_n_mm=0.0)
    for height, mpa, verdict in ((1.2, 208.333, "holds"), (1.0, 250.0, "not shown")):
        bearing = proof(held(quiet, clamping=patch_of(height), moves=(still,)), "bearing")
        assert (bearing.found_high, bearing.verdict) == (pytest.approx(mpa, abs=1e-3), verdict)
    across = one_way((0.0, 600.0, 0.0), (40.0, -20.0, 28.0))
    load = msgspec.structs.replace(LOAD, plane_n=1e5)
    low = held(load, clamping=patch_of(1.2), moves=(across,)).value[0].reserve_low
    spent = 15360.0 * 2.0 / 40.0 + 0.25 * (1200.0 + 15360.0 * 0.6 / (0.12 + 80.0))
    assert low == pytest.approx(7500.0 / spent, abs=1e-4)
    assert low == pytest.approx(6.838, abs=1e-3)


def test_torque_past_the_rating_or_past_crush_fails() -> None:
    for force, rating, crush in (((15e3, 20e3), "holds", "holds"), ((31e3, 40e3), "fails", "holds")):
        vise = msgspec.structs.replace(VISE, preload_n=fact(force[0], sum(force) / 2.0, force[1], "N"))
        found = held(vise=vise, moves=(moves_of(),))
        assert (proof(found, "vise rating").verdict, proof(found, "bearing").verdict) == (rating, crush)
        assert is_ready(found.proofs) is (rating == "holds")
    # 15 kN on 40 x 1.2 mm are 312 MPa even at the least: over the 240 that are sure and the 276 that are likely
    narrow = msgspec.structs.replace(small_patch(1.0), patch_height_mm=fact(1.0, 1.1, 1.2, "mm"))
    assert proof(held(clamping=narrow, moves=(moves_of(),)), "bearing").verdict == "fails"


def test_metal_cut_beside_the_jaws_counts_for_every_pass_after_it() -> None:
    """A slot at the fixed jaw, x 45 to 60, down to the seat: the first 45 of 80 mm are left to the second pass."""
    first = moves_of((10.0, 10.0, 10.0), (45.0, -10.0, -17.0), (60.0, 0.0, 5.0))
    later = moves_of(pass_id=OTHER)
    other = msgspec.structs.replace(LOAD, pass_id=OTHER)
    alone = held(more={"mill 6": other}, moves=(moves_of(), later))
    after = held(more={"mill 6": other}, moves=(first, later))
    reserve = {h.pass_id: h.reserve_low for h in after.value}
    assert reserve[other.pass_id] < {h.pass_id: h.reserve_low for h in alone.value}[other.pass_id]
    # the bound for the whole patch is none there, though it says more
    assert reserve[other.pass_id] < held().value[0].reserve_low
    inputs = proof(after, "grip").basis.inputs
    assert (inputs["L, patch length"].low, inputs["L, patch length"].high) == (45.0, 80.0)


def test_a_hole_close_behind_a_jaw_parts_the_patch() -> None:
    """Worked. A hole of 10 mm whose middle stands 6 mm behind the jaw's face leaves 1 mm: (60 - 10) / 2 are sure."""
    clamping = msgspec.structs.replace(CLAMPING, patch_length_mm=fact(60.0, 60.0, 60.0, "mm"))
    where = {"couple": np.array([100.0]), "low": (40.0, -6.0, -17.0), "high": (40.0, -6.0, 3.0)}
    hole = moves_of(
        (0.0, 0.0, 100.0), cut_low_mm=np.array([[35.0, -11.0, -17.0]]), cut_high_mm=np.array([[45.0, -1.0, 3.0]]),
        **where,
    )  # fmt: skip
    length = proof(held(clamping=clamping, moves=(hole,)), "grip").basis.inputs["L, patch length"]
    assert (length.low, length.high) == (25.0, 60.0)


def test_without_friction_or_jaw_force_nothing_is_ready_however_light_the_moves() -> None:
    light = moves_of((1.0, 1.0, 1.0))
    assert is_ready(held(moves=(light,)).proofs)
    for vise, jaws in (
        (VISE, msgspec.structs.replace(TOOTHED, friction_ratio=None)),
        (msgspec.structs.replace(VISE, preload_n=None), TOOTHED),
    ):
        found = held(vise=vise, jaws=jaws, moves=(light,))
        assert proof(found, "grip").verdict == "not shown"
        assert found.value == ()
        assert not is_ready(found.proofs)


def test_a_pass_whose_moves_meet_no_metal_is_bound_as_before() -> None:
    nothing = np.zeros((0, 3))
    empty = msgspec.structs.replace(loads_of(nothing, nothing, nothing, nothing), pass_id=NAME)
    assert held(moves=(empty,)) == held()
    assert held(moves=()) == held()


def test_smooth_jaws_do_not_hold_move_by_move_either() -> None:
    heavy = msgspec.structs.replace(LOAD, plane_n=1100.0)
    sizes = (1100.0, 1100.0, 200.0)
    assert proof(held(heavy, moves=(moves_of(sizes),)), "grip").verdict == "holds"
    assert proof(held(heavy, jaws=SMOOTH, moves=(moves_of(sizes),)), "grip").verdict != "holds"


PLACED = msgspec.structs.replace(
    VISE, from_c_axis_mm=fact(20.0, 22.0, 24.0, "mm"), above_a_axis_mm=fact(108.0, 110.0, 112.0, "mm")
)


def test_a_cut_far_off_centre_is_not_shown_on_the_brake_worked_by_hand() -> None:
    """Worked. 632.456 N at x 60, y -10 to -30, z 28: level 24 + hypot(20, 30) = 60.056, height 140: lever 152.337 mm.

    96.35 N m; where the pass is bound, hypot(20, 10 + 20) is the same, and the cutter's 3 N m on top: 99.35. At
    -800 mm across, the work 300 mm up, the lever is hypot(24 + hypot(20, 800), 412) = 921 mm.
    """
    tilted = msgspec.structs.replace(LOAD, is_tilted=True)
    force = math.sqrt(600.0**2 + 200.0**2)
    one = one_way((600.0, 0.0, 200.0), AT)
    near = msgspec.structs.replace(
        one, at_low_mm=np.array([[20.0, -30.0, 28.0]]), at_high_mm=np.array([[60.0, -10.0, 28.0]])
    )
    found = proof(held(tilted, vise=PLACED, machine=rotary_mill(), moves=(near,)), "rotary brake")
    assert found.found_high == pytest.approx(force * 0.152337, abs=1e-3)
    assert found.basis.inputs["move of the pass"].nominal == 1.0
    assert found.verdict == "holds"
    # the pass was bound far out; its one move that is heavy lies near the middle
    out = msgspec.structs.replace(tilted, across_mm=700.0, height_mm=300.0)
    whole = proof(held(out, vise=PLACED, machine=rotary_mill()), "rotary brake")
    sharp = proof(held(out, vise=PLACED, machine=rotary_mill(), moves=(near,)), "rotary brake")
    assert sharp.found_high is not None
    assert whole.found_high is not None
    assert sharp.found_high < whole.found_high
    far = msgspec.structs.replace(
        one, at_low_mm=np.array([[60.0, -800.0, 300.0]]), at_high_mm=np.array([[60.0, -800.0, 300.0]])
    )
    weak = rotary_mill(brake_torque_n_mm=fact(80e3, 90e3, 95e3, "N mm"))
    failing = proof(held(out, vise=PLACED, machine=weak, moves=(far,)), "rotary brake")
    assert failing.found_high == pytest.approx(force * min(0.4589, 0.921), abs=0.05)
    assert (failing.found_low, failing.verdict) == (0.0, "not shown")
    assert failing.blocks_release
    assert f"hardest in {NAME}, move 1" in failing.remedy


def test_a_drills_torque_stands_beside_its_thrust_on_the_brake() -> None:
    drill = one_way((0.0, 0.0, -700.0), AT, couple_n_mm=np.array([9000.0]))
    load = msgspec.structs.replace(LOAD, plane_n=0.0, axial_n=700.0, torque_n_mm=9000.0, across_mm=700.0)
    found = proof(held(load, kind="drill", vise=PLACED, machine=rotary_mill(), moves=(drill,)), "rotary brake")
    lever = math.hypot(24.0 + math.hypot(20.0, 20.0), 140.0)
    assert found.found_high == pytest.approx(0.7 * lever + 9.0, abs=1e-3)


def test_nothing_is_ever_called_safe() -> None:
    for load in (LOAD, msgspec.structs.replace(LOAD, plane_n=20000.0)):
        for vise in (VISE, PLACED, msgspec.structs.replace(VISE, preload_n=None)):
            for one in held(load, vise=vise, machine=rotary_mill(), moves=(moves_of(),)).proofs:
                said = f"{one.claim} {one.verdict} {one.decides} {one.remedy} {one.basis.formula}"
                assert "safe" not in said.lower()
                assert one.verdict in {"holds", "fails", "not shown"}


def test_the_move_bound_is_the_one_of_sizes_where_only_sizes_are_known() -> None:
    """Moves pushing along alone, at one height over the middle: the same number by the other function."""
    known = grip_margins(
        preload_n=15000.0, friction_ratio=0.25, patch_length_mm=80.0, patch_height_mm=20.0, jaw_gap_mm=40.0,
        force_along_n=900.0, force_across_n=0.0, force_up_n=0.0, cut_height_mm=25.0, offset_along_mm=0.0,
        offset_across_mm=0.0, yield_mpa=240.0,
    )  # fmt: skip
    load: PassLoad = msgspec.structs.replace(LOAD, plane_n=1e5)
    found = held(load, machine=MILL, moves=(one_way((900.0, 0.0, 0.0), (40.0, -20.0, 28.0)),))
    assert found.value[0].reserve_low == pytest.approx(known.reserve_ratio, abs=1e-4)


def test_a_hand_is_never_asked_to_close_softer() -> None:
    """20 kN on 38 x 2 mm are 263 MPa: with a torque wrench the vise is closed softer; a hand cannot do that."""
    by_wrench = proof(held(clamping=small_patch(2.0), moves=(moves_of(),)), "bearing")
    assert by_wrench.tighten is not None
    assert by_wrench.tighten.quantity == "preload_ratio"
    hand = msgspec.structs.replace(VISE, is_hand_tight=True)
    by_hand = proof(held(clamping=small_patch(2.0), vise=hand, moves=(moves_of(),)), "bearing")
    assert by_hand.tighten is None or by_hand.tighten.quantity != "preload_ratio"
    assert "a torque wrench" in by_hand.remedy


def test_where_nothing_helps_no_step_is_asked_for_and_the_reason_names_the_move() -> None:
    """Levels at their floor, fifty times the push of above: beyond rating and crush, so nothing is left to tighten."""
    at_floor = Limits(axial_ratio={"c1/mill 12": AXIAL_FLOOR})
    push = one_way((30_000.0, 0.0, 10_000.0), AT)
    heavy = msgspec.structs.replace(LOAD, plane_n=1e5)
    grip = proof(held(heavy, limits=at_floor, moves=(push,)), "grip")
    assert grip.verdict == "fails"
    assert grip.blocks_release
    assert grip.tighten is None
    assert grip.subject == f"{NAME}, move 1"
    assert grip.remedy == (
        f"move 1 at X 60.0 to 60.0, Y -20.0 to -20.0, Z 28.0 to 28.0 of {NAME}: there the work swings about a line "
        "across the jaws. Cut it with 9 % of its force, or grip deeper: the 166.5 kN that it needs at least take this "
        "vise beyond its rating"
    )
