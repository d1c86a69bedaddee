"""Decide the times: lines per piece, per batch and per design, each with its interval."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from proveout.model.fact import Fact, exact_fact, spread_fact
from proveout.model.job import Job
from proveout.model.minute_factors import minute_kind
from proveout.model.outlook import Outlook, rough_s
from proveout.model.plan import BarsPlan, Finishing, TimeLine, TimePlan
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.shop import Bench, Jaws, Machine, Saw
from proveout.model.table_load import TableLoad
from proveout.model.work import Blank, Clamping, PassPlan
from proveout.quantities.errors import InternalError
from proveout.stages.timing.cycle import Cycle, corner_jump_mm_per_s, cycle_of, foreseen_cycle, shared_by
from proveout.stages.timing.jaws_made import jaw_lines
from proveout.stages.timing.timed import stated, timed
from proveout.stages.timing.trial_blanks import trial_lines

STAGE = "timing"
BENCH = "bench"
SAW = "saw"
# common practice, no source: how far the minutes reckoned from moves are off before a cycle has been timed
CYCLE_SPREAD = 0.15


def decide(
    *,
    passes: PassPlan,
    clampings: tuple[Clamping, ...],
    machines: tuple[Machine, ...],
    jaws: tuple[Jaws, ...],
    bench: Bench,
    saw: Saw,
    blank: Blank,
    bars_plan: BarsPlan,
    job: Job,
    finishing: Finishing,
    loads: tuple[TableLoad, ...] = (),
    pockets_s: Mapping[str, float] | None = None,
) -> Decision[TimePlan]:
    """All minutes of the job. piece_s sums the lines per piece; batch_s those per batch and per design together.

    loads: of the machines on which a cycle works in several places.  pockets_s: of clampings whose soft jaws are cut to
    the work, what the passes of that pocket take, changes of cutters with them; where it is known, the minutes that the
    owner wrote for making a pair stand for getting it ready, and come on top.
    """
    cycles = [
        cycle_of(
            clamping=clamping, machine=_machine_of(clamping, machines), plan=passes,
            shared=shared_by(clamping, _machine_of(clamping, machines), passes.passes, loads, bars_plan.pieces_count),
        )
        for clamping in sorted(clampings, key=lambda c: c.number)
    ]  # fmt: skip
    lines = [line for cycle in cycles for line in _cycle_lines(cycle, bench, _reckoned)]
    lines += _other_lines(cycles, jaws, bench, saw, blank, bars_plan, job, finishing, _reckoned, pockets_s or {})
    return Decision(value=_plan(cycles, lines), proofs=tuple(_cycle_proof(cycle) for cycle in cycles))


def foresee(
    *,
    outlook: Outlook,
    clampings: tuple[Clamping, ...],
    machines: tuple[Machine, ...],
    jaws: tuple[Jaws, ...],
    bench: Bench,
    saw: Saw,
    blank: Blank,
    bars_plan: BarsPlan,
    job: Job,
    finishing: Finishing,
) -> TimePlan:
    """The same lines as `decide` before any move is laid: the machine's are those of the outlook, all others exact.

    No pocket of soft jaws is planned by then: what the owner wrote for making a pair stands for all of it.
    """
    cycles = [
        foreseen_cycle(clamping=clamping, machine=_machine_of(clamping, machines), outlook=outlook)
        for clamping in sorted(clampings, key=lambda c: c.number)
    ]
    lines = [line for cycle in cycles for line in _cycle_lines(cycle, bench, rough_s)]
    lines += _other_lines(cycles, jaws, bench, saw, blank, bars_plan, job, finishing, rough_s, {})
    return _plan(cycles, lines)


def _other_lines(
    cycles: list[Cycle],
    jaws: tuple[Jaws, ...],
    bench: Bench,
    saw: Saw,
    blank: Blank,
    bars_plan: BarsPlan,
    job: Job,
    finishing: Finishing,
    fact_of: Callable[[float], Fact],
    pockets_s: Mapping[str, float],
) -> list[TimeLine]:
    """What is beside the cycles: bench, set-ups, saw, programming, jaws, trial blanks."""
    return [
        *_bench_lines(bench, job, finishing),
        *_batch_lines(cycles, saw, blank, bars_plan),
        *_design_lines(cycles, bench),
        *jaw_lines(cycles, {one.id: one for one in jaws}, pockets_s, fact_of),
        *trial_lines(cycles, bench=bench, trial_count=bars_plan.trial_count, fact_of=fact_of),
    ]


def _plan(cycles: list[Cycle], lines: list[TimeLine]) -> TimePlan:
    return TimePlan(
        lines=tuple(lines),
        cycle_s={cycle.clamping.id: _run_s(cycle, lines) for cycle in cycles},
        piece_s=total_s(line.seconds for line in lines if line.per == "piece"),
        batch_s=total_s(line.seconds for line in lines if line.per != "piece"),
    )


def _run_s(cycle: Cycle, lines: list[TimeLine]) -> float:
    """Seconds that the machine runs, with its own factors where it has any."""
    if cycle.machine.minutes is None:
        return round(cycle.seconds, 6)
    own = (f"{cycle.clamping.id}: ", "moves")
    return round(sum(one.seconds.nominal for one in lines if one.cause == own[1] and one.text.startswith(own[0])), 6)


def total_s(seconds: Iterable[Fact]) -> Fact:
    """Sum of times with all worst ends together and all best ends together."""
    parts = list(seconds)
    return Fact(
        low=round(sum(p.low for p in parts), 6),
        nominal=round(sum(p.nominal for p in parts), 6),
        high=round(sum(p.high for p in parts), 6),
        unit="s",
        source="own-algorithm: sum of the lines, all worst ends together",
        strength="assumed",
    )


def _machine_of(clamping: Clamping, machines: tuple[Machine, ...]) -> Machine:
    for machine in machines:
        if machine.id == clamping.machine_id:
            return machine
    raise InternalError("A clamping names a machine that the shop does not have", where=clamping.id)


def _reckoned(seconds: float) -> Fact:
    return spread_fact(
        round(seconds, 6),
        CYCLE_SPREAD,
        "s",
        "kinematic_identities: moves, motion law of the machine",
        "common practice",
    )


def _times(fact: Fact, count: int) -> Fact:
    return Fact(
        low=fact.low * count,
        nominal=fact.nominal * count,
        high=fact.high * count,
        unit="s",
        source=fact.source,
        strength=fact.strength,
    )


def _cycle_lines(cycle: Cycle, bench: Bench, fact_of: Callable[[float], Fact]) -> list[TimeLine]:
    station, clamping = cycle.machine.id, cycle.clamping.id
    lines = [
        TimeLine(
            station=station,
            text=f"{clamping}: {one.work.kind} {one.work.feature} with {one.work.cutter_id}",
            per="piece",
            seconds=timed(cycle.machine, fact_of(one.seconds), minute_kind(one.work.kind)),
            pass_id=one.work.id,
            cause="moves",
        )
        for one in cycle.passes
    ]
    shared = cycle.shared
    texts = [
        (cycle.change_s, f"{cycle.cutter_changes_count} cutter changes"),
        (cycle.tilt_s, f"{cycle.tilts_count} turns of the rotary axes"),
    ]
    if shared is not None:
        texts = [
            (shared.change_s, f"its share of {shared.changes_count} cutter changes a cycle"),
            (shared.ways_s, f"its share of {shared.ways_count} ways between places a cycle"),
        ]
    lines += [
        TimeLine(
            station=station, text=f"{clamping}: {text}", per="piece",
            seconds=timed(cycle.machine, fact_of(seconds), "changes"), cause="moves",
        )
        for seconds, text in texts
        if seconds > 0.0
    ]  # fmt: skip
    by_hand = (("unload and load", bench.load_s), ("blow off vise and work", bench.blow_off_s))
    lines += [
        TimeLine(
            station=station, text=f"{clamping}: {text}", per="piece", seconds=timed(cycle.machine, fact, "loading")
        )
        for text, fact in by_hand
    ]  # fmt: skip
    return lines


def _bench_lines(bench: Bench, job: Job, finishing: Finishing) -> list[TimeLine]:
    wanted = [("gauge", bench.gauging_s), ("break edges by hand, look over", bench.deburr_s)]
    if job.coat is not None and job.coat.blast:
        wanted.append(("blast", bench.blast_s))
    if finishing.plugs:
        count = len(finishing.plugs)
        wanted.append((f"{count} plug{'s' if count > 1 else ''} in and out", _times(bench.plug_s, count)))
    wanted.append(("kit and box", bench.kit_s))
    return [TimeLine(station=BENCH, text=text, per="piece", seconds=seconds) for text, seconds in wanted]


def _batch_lines(cycles: list[Cycle], saw: Saw, blank: Blank, bars_plan: BarsPlan) -> list[TimeLine]:
    lines = [
        TimeLine(
            station=cycle.machine.id,
            text=f"{cycle.clamping.id}: set up{_places_words(cycle)}",
            per="batch",
            seconds=stated(_setup_s(cycle)),
            cause="set-up",
        )
        for cycle in cycles
    ]
    blade_s = bars_plan.blade_s or _sawn_mm2(blank, bars_plan) / saw.rate_mm2_per_s
    return [
        *lines,
        TimeLine(station=SAW, text="set up", per="batch", seconds=stated(saw.setup_s), cause="set-up"),
        TimeLine(
            station=SAW,
            text=f"{bars_plan.strokes_count} strokes: feed up, clamp, take away",
            per="batch",
            seconds=stated(bars_plan.handling_s or bars_plan.strokes_count * saw.handling_s),
            cause="sawing",
        ),
        TimeLine(
            station=SAW,
            text=f"sawing {blade_s * saw.rate_mm2_per_s / 100.0:.0f} cm²",
            per="batch",
            seconds=stated(blade_s),
            cause="sawing",
        ),
    ]


def _setup_s(cycle: Cycle) -> float:
    """The first place of a cycle as one set-up, each further one as the machine's shop file says."""
    if cycle.shared is None:
        return cycle.machine.setup_s
    more = cycle.shared.places_count - (1 if cycle.shared.is_first else 0)
    return (cycle.machine.setup_s if cycle.shared.is_first else 0.0) + more * cycle.machine.setup_of_more_s


def _places_words(cycle: Cycle) -> str:
    if cycle.shared is None:
        return ""
    count = cycle.shared.places_count
    return f" in {count} places" if count > 1 else " in its place"


def _sawn_mm2(blank: Blank, bars_plan: BarsPlan) -> float:
    """Section sawn through where no bar is: every piece once; else of each bar every piece and one trim cut."""
    sides = [blank.high_mm[axis] - blank.low_mm[axis] for axis in range(3) if axis != blank.length_axis]
    cuts = sum(p.bundle_count * p.times * (p.pieces_each + 1) for p in bars_plan.patterns)
    return sides[0] * sides[1] * (cuts or bars_plan.blanks_count)


def _design_lines(cycles: list[Cycle], bench: Bench) -> list[TimeLine]:
    lines = [TimeLine(station=BENCH, text="programming", per="design", seconds=bench.programming_s, cause="once")]
    if cycles:
        longest = max(cycles, key=lambda cycle: (cycle.seconds, cycle.clamping.id))
        lines.append(
            TimeLine(
                station=longest.machine.id, text="prove-out", per="design", seconds=bench.prove_out_s, cause="once"
            )
        )  # fmt: skip
    return lines


def _cycle_proof(cycle: Cycle) -> Proof:
    """A cold estimate is not shown until one cycle has been timed; it blocks nothing."""
    claim = f"the cycle of {cycle.seconds:.0f} s agrees with a watch"
    if cycle.shared is not None:
        claim = f"its share of {cycle.seconds:.0f} s in a cycle of {cycle.shared.cycle_s:.0f} s agrees with a watch"
    return prove(
        id=f"{STAGE}:{cycle.clamping.id}:cycle-has-been-timed",
        stage=STAGE,
        subject=cycle.clamping.id,
        claim=claim,
        sense="at most",
        found_low=None,
        found_high=None,
        limit=CYCLE_SPREAD,
        unit="ratio",
        blocks_release=False,
        basis=Basis(
            formula="moves with corners slowed for, rapids, cutter changes, turns of the rotary axes",
            source="kinematic_identities",
            inputs={
                "rapid": exact_fact(cycle.machine.rapid_mm_per_s, "mm/s", "shop-file", "owner's guess"),
                "highest feed": exact_fact(cycle.machine.feed_max_mm_per_s, "mm/s", "shop-file", "owner's guess"),
                "acceleration": exact_fact(cycle.machine.accel_mm_per_s2, "mm/s2", "shop-file", "owner's guess"),
                **_smoothness(cycle.machine),
                "cutter changes": exact_fact(float(cycle.changes_a_cycle), "count", "own-algorithm", "assumed"),
                "one cutter change": exact_fact(cycle.machine.cutter_change_s, "s", "shop-file", "owner's guess"),
            },
        ),
        decides="time one cycle of the first pieces and write it beside the estimate",
    )


def _smoothness(machine: Machine) -> dict[str, Fact]:
    """Jerk where it is known, and the jump of velocity at corners, assumed where it is not."""
    jump, is_known = corner_jump_mm_per_s(machine), machine.corner_jump_mm_per_s is not None
    found = {
        "jump of velocity at corners": exact_fact(
            jump, "mm/s", "shop-file" if is_known else "own-algorithm", "owner's guess" if is_known else "assumed"
        )
    }
    if machine.jerk_mm_per_s3 is not None:
        found["jerk"] = exact_fact(machine.jerk_mm_per_s3, "mm/s3", "shop-file", "owner's guess")
    return found
