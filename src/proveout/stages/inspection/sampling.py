"""The sample of a finished lot for one size, how often it lets bad pieces pass, and the words for whoever gauges."""

from __future__ import annotations

import math

from proveout.gauging.acceptance import (
    bad_of_lot_count,
    least_caught_count,
    lot_accept_ratio,
    zero_sample_count,
)
from proveout.gauging.plans import sampling_plan
from proveout.model.fact import exact_fact
from proveout.model.inspection import InspectionRule, LotSample, SamplePlan, checked_pieces
from proveout.model.plan import Window
from proveout.model.proof import Basis, Proof, prove
from proveout.stages.inspection.frequency import Often

STAGE = "inspection"
HAIR = 1e-5  # of a sixth place: what rounding alone may have put above one


def sample_of(window: Window, *, found: Often, rule: InspectionRule, lot_count: int) -> LotSample:
    """The sample; every piece of a critical size, and where the tables ask for as many as there are."""
    if window.is_critical or rule.plan == "every piece" or found.every_count == 1 or lot_count < 2:
        return _sampled("every piece", rule, lot_count=lot_count, sample_count=lot_count)
    if rule.plan == "quality limit":
        plan = sampling_plan(
            lot_count=lot_count, level=rule.level, aql_percent=rule.aql_percent, strictness=rule.strictness
        )
        kind: SamplePlan = "every piece" if plan.is_every else "quality limit"
        return _sampled(
            kind, rule, lot_count=lot_count, sample_count=plan.sample_count, accept_count=plan.accept_count,
            letters=(plan.letter, plan.used_letter),
        )  # fmt: skip
    if rule.plan == "no bad piece":
        sample = zero_sample_count(
            lot_count=lot_count, bad_ratio=rule.bad_ratio, confidence_ratio=rule.confidence_ratio
        )
        return _sampled("no bad piece", rule, lot_count=lot_count, sample_count=sample)
    checks = checked_pieces(every_count=found.every_count, also=found.also_pieces, lot_count=lot_count)
    return _sampled("as checked", rule, lot_count=lot_count, sample_count=len(checks))


def _sampled(
    plan: SamplePlan, rule: InspectionRule, *, lot_count: int, sample_count: int, accept_count: int = 0,
    letters: tuple[str, str] = ("", ""),
) -> LotSample:  # fmt: skip
    bad = bad_of_lot_count(lot_count=lot_count, bad_ratio=rule.bad_ratio)
    caught = least_caught_count(
        lot_count=lot_count, sample_count=sample_count, accept_count=accept_count,
        confidence_ratio=rule.confidence_ratio,
    )  # fmt: skip
    return LotSample(
        plan=plan, lot_count=lot_count, sample_count=sample_count, accept_count=accept_count, bad_count=bad,
        accept_ratio=_rounded_up(
            lot_accept_ratio(
                lot_count=lot_count, bad_count=bad, sample_count=sample_count, accept_count=accept_count
            )
        ),
        confidence_ratio=rule.confidence_ratio,
        caught_count=caught if caught <= lot_count else None,
        letter=letters[0], used_letter=letters[1],
    )  # fmt: skip


def _rounded_up(ratio: float) -> float:
    """To six places, never down; what can happen at all stays above 0."""
    return 0.0 if ratio <= 0.0 else max(1e-6, math.ceil(1e6 * ratio - HAIR) / 1e6)


def sample_words(sample: LotSample) -> str:
    """What to do with the finished lot, and what that lets pass; empty where every piece is gauged anyhow."""
    if sample.plan == "every piece":
        return ""
    chance = chance_words(sample.accept_ratio)
    bad = f"{sample.bad_count} bad {'piece' if sample.bad_count == 1 else 'pieces'} among {sample.lot_count}"
    if sample.plan == "as checked":
        return f"these {sample.sample_count} checks, taken as drawn at random, let a lot with {bad} pass {chance}"
    allowed = sample.accept_count
    most = "none" if allowed == 0 else f"at most {allowed}"
    return (
        f"when all {sample.lot_count} are made, draw {sample.sample_count} at random from the whole lot: {most} may "
        f"lie beyond the STOP readings; with {allowed + 1} or more gauge every piece. A lot with {bad} still passes "
        f"{chance}"
    )


def chance_words(ratio: float) -> str:
    """A chance to pass in hundredths, rounded against ourselves."""
    if ratio <= 0.0:
        return "never"
    times = min(100, math.ceil(100.0 * ratio - 1e-9))
    return f"up to {times} {'time' if times == 1 else 'times'} in 100"


def sample_proof(window: Window, sample: LotSample, rule: InspectionRule) -> Proof | None:
    """Whether the sample catches the share of bad pieces that the owner named; None where neither was named."""
    if rule.plan not in ("quality limit", "no bad piece") or sample.plan == "every piece":
        return None
    enough = zero_sample_count(
        lot_count=sample.lot_count, bad_ratio=rule.bad_ratio, confidence_ratio=rule.confidence_ratio
    )
    return prove(
        id=f"{STAGE}:{window.mark}:sample-tells",
        stage=STAGE,
        subject=f"size {window.mark}",
        claim=f"the sample of {sample.sample_count} refuses a lot with {sample.bad_count} bad pieces among "
        f"{sample.lot_count} as surely as is asked for",
        sense="at most",
        found_low=sample.accept_ratio,
        found_high=sample.accept_ratio,
        limit=round(1.0 - rule.confidence_ratio, 9),
        unit="ratio",
        blocks_release=False,
        basis=Basis(
            formula="sum over k = 0..c of C(D, k) C(N - D, n - k) / C(N, n) <= 1 - C; every bad piece drawn is seen",
            source="acceptance_identities",
            inputs={
                name: exact_fact(float(count), "pieces", "own-algorithm", "assumed")
                for name, count in (
                    ("lot N", sample.lot_count), ("bad D", sample.bad_count), ("drawn n", sample.sample_count),
                    ("allowed c", sample.accept_count),
                )
            },
        ),
        remedy=f"draw {enough} and allow none",
    )  # fmt: skip
