"""Stability: each cutter's deepest passes against the lobes of its measured response, else the cut that decides."""

from __future__ import annotations

import math
from dataclasses import dataclass

import msgspec
import numpy as np

from proveout.cutting.easing import tighten_cut
from proveout.cutting.edge_coefficients import coefficients_of
from proveout.cutting.edge_models import edge_ends
from proveout.model.cutter import SQUARE_KINDS, TRIED_KINDS
from proveout.model.fact import Fact, exact_fact
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.measured import Response, ScrapCut
from proveout.model.move_loads import MoveLoads
from proveout.model.moves import Moves
from proveout.model.plan import ClampForce
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.run import Run
from proveout.model.shop import Cutter, Jaws, Machine, Vise
from proveout.model.trial_cut import TrialCut
from proveout.model.work import HOLE_KINDS, Blank, Clamping, Pass, PassPlan
from proveout.quantities.units import rpm_from_rad_per_s
from proveout.stages.stability.lobes import MODEL_LEAST, MODEL_MOST, RADIAL_RATIOS, Engagement, Lobes
from proveout.stages.stability.pairs import Pair, pairs_of
from proveout.stages.stability.trials import Vises, trial_cut
from proveout.stages.stability.tried import own_cuts, tried_proof

STAGE = "stability"
BEYOND = ":beyond lobes"
TEST_CUT = "the test cut of this plan"
SHALLOWEST = 4.0
"""Corner radii that a cut must at least be deep for the edge to count as square."""
NARROWEST_RATIO = 0.2
"""Below this share of the diameter the mean of the force over a turn says too little: MODEL_LEAST is not held there."""
STICK_OUT_MM = 0.5
BAND_FROM_HZ, BAND_TO_HZ = 100.0, 4000.0
"""Common practice, no source: between these give way machines, spindles, holders and cutters as milling wakes them."""
BAND_TOOTH_RATIO = 3.0
"""Likewise: harmonics of the tooth passing frequency that the band must at least hold."""
FEEDS_COUNT = 12
CHORD_MM, LEAST_WAY_MM = 0.05, 1e-6
SPEED_SHARES = tuple(round(0.6 + 0.02 * k, 2) for k in range(41))
CLAIM = "the cutter cuts no deeper than it can without chatter"
FORMULA = (
    "zero-order lobes, a = -2 pi Re L / (N K_t) (1 + (Im L / Re L)^2), K_t = (1 - m_c) k_c1.1 h_m^-m_c, for the feed "
    "of the pass that chatters first and the worst of its widths, each with the greatest depth there (the narrowest "
    "and shallowest judged stand for what is less); from the lowest to the highest over up and down milling, radial "
    "ratios, and speeds within the error of the frequencies, by the span of K_t, response and model"
)
LIMITS = (
    "; valid for this cutter, holder, stick-out and spindle with stiff work, within the measured frequencies; thin "
    "walls and work that gives way are not in it"
)


@dataclass(frozen=True)
class _Judged:
    """A width and depth of one pass with its least and greatest limit; lobes of its engagement.

    load: at that width and depth.   whole: of the pass.   band: in which the response must be measured, what it lacks.
    """

    one: Pass
    load: PassLoad
    whole: PassLoad
    low_mm: float
    high_mm: float
    lobes: Lobes
    band: str


def decide(
    *, plan: PassPlan, loads: tuple[PassLoad, ...], clampings: tuple[Clamping, ...], cutters: tuple[Cutter, ...],
    machines: tuple[Machine, ...], responses: tuple[Response, ...], pressure_mpa: Fact, exponent_ratio: float,
    vises: tuple[Vise, ...], jaws: tuple[Jaws, ...], forces: tuple[ClampForce, ...], yield_mpa: Fact,
    alloys: tuple[str, ...] = (), moves: tuple[MoveLoads, ...] = (), blank: Blank | None = None,
    limits: Limits | None = None, test_cuts: tuple[ScrapCut, ...] = (), run: Run,
) -> Decision[tuple[TrialCut, ...]]:  # fmt: skip
    """What is known of chatter for every milling cutter on every machine, and a test cut for each that is not shown.

    A test cut whose scrap is not sure to stay in the jaws is not made, and the proof says so.
    A cutter that chatters even at the best end blocks release: no force of a pass that chatters is bounded. One of
    which nothing is known does not: the first cut at reduced depth tells.

    Args:     loads: with the engagement of each pass.   responses: measured here.   blank: of which scrap is cut.
              forces: of every clamping, at the jaws.   alloys: of the metal.   moves: widths and depths of each move.
              test_cuts: made in scrap here: what they were quiet or howled at counts where lobes do not say, and a howl
              always.
    """
    machine_of = {c.id: c.machine_id for c in clampings}
    by_cutter, by_machine = {c.id: c for c in cutters}, {m.id: m for m in machines}
    by_load, by_moves = {x.pass_id: x for x in loads}, {m.pass_id: m for m in moves}
    measured = {(r.machine_id, r.cutter_id): r for r in responses}
    held = Vises(vises=vises, jaws=jaws, forces=forces, yield_mpa=yield_mpa)
    coefficients = coefficients_of(alloys)
    groups: dict[tuple[str, str], list[Pass]] = {}
    for one in plan.passes:
        if one.kind not in HOLE_KINDS and one.id in by_load:
            groups.setdefault((machine_of[one.clamping_id], one.cutter_id), []).append(one)
    proofs: list[Proof] = []
    trials: list[TrialCut] = []
    for (machine_id, cutter_id), passes in sorted(groups.items()):
        run.check("stability", cutter_id)
        cutter, response = by_cutter[cutter_id], measured.get((machine_id, cutter_id))
        name = f"{STAGE}:{machine_id}:{cutter_id}"
        lack = _lack(cutter, response)
        pairs = {
            p.id: pairs_of(p, by_load[p.id], by_moves.get(p.id), diameter_mm=cutter.diameter_mm) for p in passes
        }  # fmt: skip
        unfit = {p.id: lack or _unfit(pairs[p.id], cutter) for p in passes}
        fit, rest = [p for p in passes if not unfit[p.id]], [p for p in passes if unfit[p.id]]
        open_ones: list[tuple[str, Pass]] = []
        if fit:
            assert response is not None
            seen: dict[Engagement, Lobes] = {}
            judged = [
                _judge(p, by_load[p.id], pair, plan, cutter, response, pressure_mpa, exponent_ratio, run, seen)
                for p in fit for pair in pairs[p.id]
            ]  # fmt: skip
            proof = _proof(name, judged, cutter, response, by_machine[machine_id], pressure_mpa, limits or Limits())
            proofs.append(proof)
            if proof.verdict == "not shown":
                open_ones.append((name, next(p for p in fit if p.id == proof.subject)))
        rest_id = f"{name}{BEYOND}" if fit else name
        if rest:
            hardest = max(rest, key=lambda p: (by_load[p.id].plane_n, by_load[p.id].axial_mm, p.id))
            proofs.append(_not_shown(rest_id, hardest, by_load[hardest.id], cutter, unfit[hardest.id]))
            open_ones.append((rest_id, hardest))
        heard = own_cuts(
            test_cuts, machine_id=machine_id, cutter=cutter, alloys=alloys, stick_out_mm=STICK_OUT_MM
        )  # fmt: skip
        if heard:
            sets = {proof_id: rest if rest and proof_id == rest_id else fit for proof_id, _ in open_ones}
            proofs, open_ones = _as_heard(
                proofs, open_ones, {**sets, f"{name}:test cut": passes}, pairs=pairs, loads=by_load, cuts=heard,
                cutter=cutter, limits=limits or Limits(),
            )  # fmt: skip
        models = edge_ends(
            cutter, pressure_mpa=pressure_mpa, exponent_ratio=exponent_ratio, coefficients=coefficients
        ).dull  # fmt: skip
        for proof_id, worst in open_ones if cutter.kind in TRIED_KINDS else ():
            found = "no blank is known" if blank is None else trial_cut(
                worst, by_load[worst.id], proof_id=proof_id, cutter=cutter, models=models, clampings=clampings,
                blank=blank, held=held,
            )  # fmt: skip
            if isinstance(found, TrialCut):
                trials.append(found)
            else:
                proofs = [_without_cut(p, found) if p.id == proof_id else p for p in proofs]
    return Decision(value=tuple(trials), proofs=tuple(proofs))


def _as_heard(
    proofs: list[Proof], open_ones: list[tuple[str, Pass]], sets: dict[str, list[Pass]], *,
    pairs: dict[str, tuple[Pair, ...]], loads: dict[str, PassLoad], cuts: tuple[ScrapCut, ...], cutter: Cutter,
    limits: Limits,
) -> tuple[list[Proof], list[tuple[str, Pass]]]:  # fmt: skip
    """The same where cuts in scrap were heard: in place of what is not shown, and beside it all what surely howls.

    sets: the passes of each open proof, and last all of the cutter's under the id that a howl beside them has.
    """
    *own, every = sets
    for proof_id, some in sets.items():
        tried = tried_proof(
            proof_id, stage=STAGE, passes=some, pairs=pairs, loads=loads, cuts=cuts, cutter=cutter,
            limits=limits,
        )  # fmt: skip
        if tried is None:
            continue
        if proof_id in own:
            proofs = [tried if p.id == proof_id else p for p in proofs]
            open_ones = [o for o in open_ones if o[0] != proof_id]
            if tried.verdict == "not shown":
                open_ones.append((proof_id, next(p for p in some if p.id == tried.subject)))
        elif tried.verdict == "fails" and all(p.verdict != "fails" for p in proofs if p.id in own):
            proofs = [*proofs, msgspec.structs.replace(tried, id=every)]
    return proofs, open_ones


def _without_cut(proof: Proof, why: str) -> Proof:
    """The same proof where no test cut can be made."""
    instead = f"the first piece at reduced depth, listened to, as no test cut in scrap can be made: {why}"
    return msgspec.structs.replace(proof, decides=proof.decides.replace(TEST_CUT, instead))


def _lack(cutter: Cutter, response: Response | None) -> str:
    """Why no lobes can be laid for a cutter; empty when they can."""
    if cutter.kind not in TRIED_KINDS:
        return "the first piece, at half the feed, listened to: neither lobes nor a test cut are laid for such an edge"
    if cutter.kind not in SQUARE_KINDS:
        return (
            "the test cut of this plan: lobes are laid for square end mills only, as another edge also pushes along "
            "the axis"
        )
    if response is None:
        return (
            "the test cut of this plan, or the measured response of this cutter in its holder and spindle, as "
            "[[response]] in the shop file"
        )
    if abs(response.stick_out_mm - cutter.stick_out_mm) > STICK_OUT_MM:
        return (
            f"the test cut of this plan, or a response measured at the stick-out in use, {cutter.stick_out_mm:g} mm: "
            f"the one in the shop file is of {response.stick_out_mm:g} mm"
        )
    return ""


def _unfit(pairs: tuple[Pair, ...], cutter: Cutter) -> str:
    """Why lobes do not judge a pass; empty when they do. Its narrower and shallower stretches are then judged as the
    narrowest and shallowest that they do judge.
    """
    if max(pair.radial_mm for pair in pairs) < NARROWEST_RATIO * cutter.diameter_mm:
        return (
            f"the test cut of this plan: a cut narrower than {NARROWEST_RATIO:g} of the diameter is not judged by lobes"
        )
    if max(pair.axial_mm for pair in pairs) < SHALLOWEST * cutter.corner_radius_mm:
        return (
            "the test cut of this plan: so shallow a cut is made by the rounded corner, which also pushes along the "
            "axis"
        )
    return ""


def _judge(
    one: Pass, whole: PassLoad, pair: Pair, plan: PassPlan, cutter: Cutter, response: Response, pressure_mpa: Fact,
    exponent_ratio: float, run: Run, seen: dict[Engagement, Lobes],
) -> _Judged:  # fmt: skip
    run.check("stability", one.id)
    wide = max(pair.radial_mm, NARROWEST_RATIO * cutter.diameter_mm)
    deep = max(pair.axial_mm, SHALLOWEST * cutter.corner_radius_mm)
    is_met = pair.is_met and wide == pair.radial_mm and deep == pair.axial_mm
    load = msgspec.structs.replace(whole, radial_mm=wide, axial_mm=deep)
    cut = Engagement(
        diameter_mm=cutter.diameter_mm, teeth_count=cutter.flutes_count, radial_mm=wide,
        tooth_feed_mm=one.tooth_feed_mm, feeds_rad=feeds_rad(plan.moves[one.moves_digest]),
    )  # fmt: skip
    if cut not in seen:
        seen[cut] = Lobes(response, cut, pressure_mpa=pressure_mpa, exponent_ratio=exponent_ratio)
    lobes = seen[cut]
    low, high = lobes.depth_mm(speed_rad_per_s=one.speed_rad_per_s)
    band = _band_lack(response, cutter, one)
    if band:
        # what is outside the band may chatter at any depth; what chatters within it does so anyway
        low = 0.0
    # where no lobe comes near, the flutes end first
    most = max(cutter.flute_length_mm, load.axial_mm)
    # nothing chatters for sure in a cut that no move is known to make
    return _Judged(
        one=one, load=load, whole=whole, low_mm=min(low, most), high_mm=min(high, most) if is_met else most,
        lobes=lobes, band=band,
    )  # fmt: skip


def _band_lack(response: Response, cutter: Cutter, one: Pass) -> str:
    """What response would do for a pass, where the measured one leaves out frequencies; empty when it does."""
    tooth_hz = cutter.flutes_count * one.speed_rad_per_s / (2.0 * math.pi)
    most = max(BAND_TO_HZ, BAND_TOOTH_RATIO * tooth_hz)
    low, high = response.rows[0][0], response.rows[-1][0]
    if low <= BAND_FROM_HZ and high >= most:
        return ""
    return (
        f"a response measured from at most {BAND_FROM_HZ:g} Hz to at least {math.ceil(most - 1e-6)} Hz: outside the "
        f"{low:g} to {high:g} Hz of the one in the shop file the tool may give way as well"
    )


def feeds_rad(moves: Moves) -> tuple[float, ...]:
    """Directions in which a pass feeds, of FEEDS_COUNT over half a turn; all of them when it only goes down."""
    straight = moves.straight(within_mm=CHORD_MM)
    ways = np.diff(straight.points[:, :2], axis=0)[straight.feed_mm_per_s[1:] > 0.0]
    ways = ways[np.hypot(*ways.T) > LEAST_WAY_MM]
    if not len(ways):
        return tuple(math.pi * k / FEEDS_COUNT for k in range(FEEDS_COUNT))
    turns = np.mod(np.arctan2(ways[:, 1], ways[:, 0]), math.pi)
    bins = np.unique(np.mod(np.rint(turns / math.pi * FEEDS_COUNT).astype(int), FEEDS_COUNT))
    return tuple(math.pi * int(k) / FEEDS_COUNT for k in bins)


def _reserves(one: _Judged) -> tuple[float, float, str]:
    deep = max(one.load.axial_mm, 1e-9)
    return one.low_mm / deep, one.high_mm / deep, one.one.id


def _proof(
    name: str, judged: list[_Judged], cutter: Cutter, response: Response, machine: Machine, pressure_mpa: Fact,
    limits: Limits,
) -> Proof:  # fmt: skip
    # a pass that chatters at its best end comes before one that only may
    failing = [j for j in judged if j.high_mm < j.load.axial_mm]
    worst = min(failing or judged, key=_reserves)
    is_bad = worst.low_mm < worst.load.axial_mm
    fails = worst.high_mm < worst.load.axial_mm
    remedy = _remedy(worst, cutter, machine) if is_bad and not worst.band else ""
    if fails and worst.band:
        remedy = f"less depth; and {worst.band}"
    reserve = (worst.high_mm if worst.band else worst.low_mm) / worst.load.axial_mm
    return prove(
        id=name, stage=STAGE, subject=worst.one.id, claim=CLAIM, sense="at least", found_low=round(worst.low_mm, 4),
        found_high=round(worst.high_mm, 4), limit=round(worst.load.axial_mm, 4), unit="mm", blocks_release=fails,
        basis=Basis(
            formula=FORMULA + LIMITS, source="zero_order_stability",
            inputs=_inputs(worst, cutter, response, pressure_mpa),
        ),
        decides=f"{TEST_CUT}; or {worst.band or 'a response with smaller errors'}",
        remedy=remedy,
        tighten=tighten_cut(
            worst.whole, reserve, worst.one, cutter.diameter_mm, limits
        ) if fails else None,
    )  # fmt: skip


def _remedy(worst: _Judged, cutter: Cutter, machine: Machine) -> str:
    """The nearest quiet speed, or the depth that is quiet."""
    most = min(cutter.rated_rad_per_s or worst.one.speed_rad_per_s, machine.speed_max_rad_per_s)
    speed = worst.lobes.quiet_speed_rad_per_s(
        depth_mm=worst.load.axial_mm, speed_rad_per_s=worst.one.speed_rad_per_s, most_rad_per_s=most,
        shares=SPEED_SHARES,
    )  # fmt: skip
    shallower = f"a depth of {np.floor(100.0 * worst.low_mm) / 100.0:g} mm at this speed"
    if speed is None:
        return f"{shallower}; no speed from {SPEED_SHARES[0]:g} to {SPEED_SHARES[-1]:g} of it is quiet at this depth"
    return (
        f"{rpm_from_rad_per_s(speed):.0f} 1/min in place of {rpm_from_rad_per_s(worst.one.speed_rad_per_s):.0f}, the "
        f"nearest speed that is quiet at this depth: write the cutting speed in the shop file; or {shallower}"
    )


def _not_shown(name: str, worst: Pass, load: PassLoad, cutter: Cutter, decides: str) -> Proof:
    return prove(
        id=name, stage=STAGE, subject=worst.id, claim=CLAIM, sense="at least", found_low=None, found_high=None,
        limit=round(load.axial_mm, 4), unit="mm", blocks_release=False,
        basis=Basis(
            formula="none without a response that lobes can be laid from", source="zero_order_stability",
            inputs=_cut_inputs(worst, load, cutter),
        ),
        decides=decides,
    )  # fmt: skip


def _cut_inputs(one: Pass, load: PassLoad, cutter: Cutter) -> dict[str, Fact]:
    return {
        "a_p": exact_fact(load.axial_mm, "mm", "replay", "assumed"),
        "a_e": exact_fact(load.radial_mm, "mm", "replay", "assumed"),
        "D": exact_fact(cutter.diameter_mm, "mm", "shop-file", "owner's guess"),
        "N": exact_fact(float(cutter.flutes_count), "edges", "shop-file", "owner's guess"),
        "f_z": exact_fact(one.tooth_feed_mm, "mm", "own-algorithm", "assumed"),
        "n": exact_fact(round(rpm_from_rad_per_s(one.speed_rad_per_s), 3), "1/min", "own-algorithm", "assumed"),
    }  # fmt: skip


def _inputs(worst: _Judged, cutter: Cutter, response: Response, pressure_mpa: Fact) -> dict[str, Fact]:
    tangent, secant = worst.lobes.tangential_mpa
    return {
        **_cut_inputs(worst.one, worst.load, cutter),
        "k_c1.1": pressure_mpa,
        "K_t": Fact(
            low=tangent, nominal=(tangent + secant) / 2.0, high=secant, unit="MPa", source="own-algorithm",
            strength="assumed",
        ),
        "radial ratio": Fact(
            low=RADIAL_RATIOS[0], nominal=RADIAL_RATIOS[1], high=RADIAL_RATIOS[-1], unit="ratio",
            source="milling_force_review", strength="published as quoted",
        ),
        "error of the response": response.error_ratio,
        "error of its frequencies": response.frequency_error_ratio,
        "true limit to zero-order limit": Fact(
            low=MODEL_LEAST, nominal=1.0, high=MODEL_MOST, unit="ratio", source="own-algorithm", strength="assumed"
        ),
        "lowest frequency": exact_fact(response.rows[0][0], "Hz", "shop-file", "measured here"),
        "highest frequency": exact_fact(response.rows[-1][0], "Hz", "shop-file", "measured here"),
    }  # fmt: skip
