"""Minutes: moves timed per second, agreement with an independent integration, and where a demo cycle's seconds go.

Three programs of 100 000 moves: sharp corners, short chords of a winding path with limits for the path, and the same
with limits per axis, each with a limited jerk and with none. The agreement is that of random sections of lines, arcs
and helices, timed by `stepping.py`, which shares no code with the engine. The cycle is that of EX-102 on the example
shop, on a mill whose jerk is not written, and once more as if it were 50 m/s3. Its air is its rapid moves; moves by
feed that meet no metal count to their pass.
"""

from __future__ import annotations

import math
import os
import subprocess
import sys
import tempfile
from collections import defaultdict
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
from sections import STRICT, one_after_another, random_section
from stepping import section_seconds, stepped_seconds
from yardstick import is_full, line, paired, seconds_of, yardstick_s

from proveout.motion.chain_time import chain_times_s

ROOT = Path(__file__).resolve().parent.parent
MOVES = 100_000
CONTROL: dict[str, Any] = {
    "rapid_mm_per_s": 300.0, "accel_mm_per_s2": 3000.0, "jerk_mm_per_s3": 5.0e4, "jump_mm_per_s": 20.0,
}  # fmt: skip
STOP_ANGLE_RAD = math.radians(100.0)
GROUPS = {
    "face": "rough", "rough": "rough", "rough corners": "rough", "finish wall": "finish", "finish floor": "finish",
    "finish surface": "finish", "undercut": "finish", "break edge": "finish",
}  # fmt: skip
COLD = """
import time, math
begin = time.perf_counter()
from proveout.motion.chain_time import chain_times_s
chain_times_s([[0, 0, 0], [9, 0, 0], [9, 1, 0]], [1.0, 50.0, 50.0], rapid_mm_per_s=300.0, accel_mm_per_s2=3000.0,
              jerk_mm_per_s3=5e4, stop_angle_rad=1.0, jump_mm_per_s=20.0)
print(time.perf_counter() - begin)
"""


def programs() -> dict[str, tuple[np.ndarray, dict[str, Any]]]:
    """Points (100 001, 3) and limits of the three programs."""
    draw = np.random.default_rng(1)
    sharp = np.cumsum(draw.normal(0.0, 3.0, (MOVES + 1, 3)), axis=0)
    turn = np.cumsum(draw.normal(0.0, 0.1, MOVES + 1))
    chords = np.cumsum(0.3 * np.column_stack([np.cos(turn), np.sin(turn), 0.0 * turn]), axis=0)
    per_axis = {key: (value,) * 3 for key, value in CONTROL.items()}
    return {"corners": (sharp, CONTROL), "chords": (chords, CONTROL), "chords_per_axis": (chords, per_axis)}


def speeds(figures: dict[str, float], ratios: dict[str, float], spread: dict[str, list[float]]) -> int:
    """Moves per second, and what the limited jerk costs; returns how often each was repeated."""
    feeds = np.full(MOVES + 1, 100.0)
    repeats = 0
    for name, (points, limits) in programs().items():
        at_once = {**limits, "jerk_mm_per_s3": math.inf if np.ndim(limits["jerk_mm_per_s3"]) == 0 else (math.inf,) * 3}
        found = paired(
            lambda p=points, c=limits: chain_times_s(p, feeds, stop_angle_rad=STOP_ANGLE_RAD, **c),
            lambda p=points, c=at_once: chain_times_s(p, feeds, stop_angle_rad=STOP_ANGLE_RAD, **c),
        )
        figures[f"{name}_moves_per_s"] = round(MOVES / found["subject_s"])
        figures[f"{name}_without_jerk_moves_per_s"] = round(MOVES / found["baseline_s"])
        ratios[f"{name}_without_jerk_over_with"] = round(found["ratio"], 4)
        spread[f"{name}_without_jerk_over_with"] = [round(end, 4) for end in found["spread"]]
        repeats = found["repeats"]
    return repeats


def cold_s() -> float:
    """Seconds to import, compile and run with nothing kept from before, in a process of its own."""
    with tempfile.TemporaryDirectory() as folder:
        environment = os.environ | {"NUMBA_CACHE_DIR": folder, "PYTHONPATH": str(ROOT / "src")}
        done = subprocess.run(
            [sys.executable, "-c", COLD], env=environment, capture_output=True, text=True, check=True
        )  # fmt: skip
    return float(done.stdout)


def agreement(count: int) -> dict[str, float]:
    """Greatest differences over so many sections, section by section and of the whole cycle."""
    draw = np.random.default_rng(2)
    drawn = [
        random_section(draw, moves=int(draw.integers(1, 7)), size_mm=float(10.0 ** draw.uniform(-1.0, 1.3)))
        for _ in range(count)
    ]
    whole, stops = one_after_another(drawn)
    own = chain_times_s(
        whole.positions, whole.feeds, arcs=whole.arcs, stops=stops, rapid_mm_per_s=STRICT.speeds,
        accel_mm_per_s2=STRICT.accels, jerk_mm_per_s3=STRICT.jerks, stop_angle_rad=STRICT.stop_angle_rad,
        jump_mm_per_s=STRICT.jump,
    )  # fmt: skip
    found = [section_seconds(one.pieces, STRICT) for one in drawn]
    stepped = sum(stepped_seconds(run) for _, runs in found for run in runs)
    expected = np.array([seconds for seconds, _ in found])
    ends = np.flatnonzero(stops)
    parts = np.add.reduceat(own, np.concatenate([[0], ends[:-1]]))
    return {
        "agreement_sections_count": count,
        "agreement_worst_section_ratio": float(np.max(np.abs(parts / expected - 1.0))),
        "agreement_whole_cycle_ratio": abs(float(own.sum()) / float(expected.sum()) - 1.0),
        "agreement_whole_cycle_in_steps_ratio": abs(float(own.sum()) / float(stepped) - 1.0),
    }


def cycle() -> dict[str, float]:
    """Where the seconds of EX-102 go, and its roughing beside what power, engagement and feed would allow."""
    from proveout.intake.job_file import read_job
    from proveout.intake.shop_file import read_shop
    from proveout.jobs.plan_job import plan_job
    from proveout.jobs.request import Request
    from proveout.jobs.store import Store
    from proveout.model.run import Run
    from proveout.stages.outlook.rates import Metal, powered_mm_per_s, rate_of
    from proveout.stages.timing.cycle import cycle_of, move_times_s

    step = ROOT / "examples" / "solids" / "out" / "EX-102.step"
    if not step.is_file():
        subprocess.run([sys.executable, "examples/solids/make_all.py", "examples/solids/out"], cwd=ROOT, check=True,
            capture_output=True)  # fmt: skip
    shop = read_shop(ROOT / "examples" / "shop.toml")
    with tempfile.TemporaryDirectory() as folder:
        planned = plan_job(
            Request(step=step, job=read_job(ROOT / "examples" / "jaw.toml"), shop=shop, start="", inputs={}),
            store=Store(Path(folder), is_fresh=True),
            run=Run(),
        )
    plan, metal = planned.plan, Metal(shop.cutting_pressure_mpa.high, shop.cutting_exponent_ratio)
    removed = {one.pass_id: one.removed_mm3 for one in plan.removal.passes}
    cutters, seconds = {one.id: one for one in shop.cutters}, defaultdict(float)
    planned_s = power_s = rough_mm3 = smooth_s = 0.0
    for clamping in plan.clampings:
        machine = next(one for one in shop.machines if one.id == clamping.machine_id)
        run = cycle_of(clamping=clamping, machine=machine, plan=planned.moves)
        seconds["change"] += run.change_s
        seconds["tilt"] += run.tilt_s
        for one in run.passes:
            moves, work = planned.moves.moves[one.work.moves_digest], one.work
            times = move_times_s(moves, machine)
            smooth_s += float(move_times_s(moves, msgspec.structs.replace(machine, jerk_mm_per_s3=5.0e4)).sum())
            is_air = moves.feed_mm_per_s[1:] == 0.0
            group = GROUPS.get(work.kind, "holes")
            seconds["air"] += float(times[is_air].sum())
            seconds[group] += float(times[~is_air].sum())
            if group != "rough" or min(work.axial_mm, work.radial_mm) <= 0.0:
                continue
            cutter, chips = cutters[work.cutter_id], removed[work.id]
            rate = rate_of(cutter, machine)
            wide = min(work.radial_mm, cutter.diameter_mm)
            engaged = {"axial_mm": work.axial_mm, "radial_mm": wide}
            feed = powered_mm_per_s(rate, cutter, machine, metal, **engaged)
            planned_s += chips / (work.axial_mm * wide * feed)
            # the feed grows with the power asked for: the rate at which all of it would be used
            asked = 1e6 * work.axial_mm * wide
            free = type(rate)(rate.speed_rad_per_s, 1e6, rate.tooth_feed_mm)
            power_s += chips / (asked * powered_mm_per_s(free, cutter, machine, metal, **engaged) / 1e6)
            rough_mm3 += chips
    whole = sum(seconds.values())
    return {
        **{f"ex102_{key}_s": round(value, 2) for key, value in sorted(seconds.items())},
        "ex102_cycle_s": round(whole, 2),
        "ex102_cycle_with_a_jerk_of_50_m_per_s3_s": round(smooth_s + seconds["change"] + seconds["tilt"], 2),
        "ex102_roughed_mm3": round(rough_mm3, 1),
        "ex102_rough_at_planned_engagement_s": round(planned_s, 2),
        "ex102_rough_at_full_power_s": round(power_s, 2),
        "ex102_rough_over_planned_engagement_ratio": round(seconds["rough"] / planned_s, 2),
        "ex102_rough_over_full_power_ratio": round(seconds["rough"] / power_s, 2),
    }


def main() -> None:
    """Measure and print the line."""
    figures: dict[str, float] = {"yardstick_s": yardstick_s(), "cold_start_s": round(cold_s(), 2)}
    ratios: dict[str, float] = {}
    spread: dict[str, list[float]] = {}
    repeats = speeds(figures, ratios, spread)
    figures |= agreement(600 if is_full() else 100)
    begin = seconds_of(lambda: figures.update(cycle()))
    figures["ex102_planned_in_s"] = round(begin, 1)
    print(
        line(
            name="minutes",
            figures=figures,
            ratios=ratios,
            targets={
                "corners_moves_per_s": ("at least", 100_000.0),
                "chords_moves_per_s": ("at least", 100_000.0),
                "chords_per_axis_moves_per_s": ("at least", 50_000.0),
                "agreement_worst_section_ratio": ("at most", 0.01),
                "agreement_whole_cycle_ratio": ("at most", 0.01),
                "agreement_whole_cycle_in_steps_ratio": ("at most", 0.01),
                "cold_start_s": ("at most", 10.0),
            },
            repeats=repeats,
            spread=spread,
            excluded=[
                "compilation of the kernels: cold_start_s has it alone",
                "air is the rapid moves; moves by feed that meet no metal count to their pass",
            ],
        )
    )


if __name__ == "__main__":
    main()
