"""A machine's own numbers from the measured times of its calibration program."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.model.fact import Fact
from proveout.motion.calibration import Stretch
from proveout.motion.chain_time import chain_times_s
from proveout.motion.path import Arcs
from proveout.quantities.errors import BadInput, OutOfRange
from proveout.solving.least_squares import Array, LeastSquares, least_squares

AXES = "xyz"
COVERAGE = 2.0
"""An interval holds so many standard deviations to each side: 95 of 100 times the true number."""
DECIDED_RATIO = 0.5
"""A number whose interval reaches further than this to one side is not shown."""
SOURCE = "calibration program, stop watch"

# start of the search and how far it may go, in the units inside
_RANGES: dict[str, tuple[float, float, float, str]] = {
    "rapid": (300.0, 10.0, 3000.0, "mm/s"),
    "accel": (3000.0, 50.0, 50_000.0, "mm/s2"),
    "jerk": (5.0e4, 500.0, 5.0e7, "mm/s3"),
    "corner_jump": (20.0, 0.1, 2000.0, "mm/s"),
    "cutter_change": (6.0, 0.1, 300.0, "s"),
    "tilt": (3.0, 0.05, 100.0, "s"),
}


class MachineFit(msgspec.Struct, frozen=True, kw_only=True):
    """What the times say of a machine; a number that they do not decide is None: not shown.

    Per axis, X Y Z: rapid_mm_per_s, accel_mm_per_s2, jerk_mm_per_s3.  worst_ratio: how far the time of the stretch
    `worst` lies from the one reckoned with these numbers.
    """

    rapid_mm_per_s: tuple[Fact | None, Fact | None, Fact | None]
    accel_mm_per_s2: tuple[Fact | None, Fact | None, Fact | None]
    jerk_mm_per_s3: tuple[Fact | None, Fact | None, Fact | None]
    corner_jump_mm_per_s: Fact | None
    cutter_change_s: Fact | None
    tilt_s: Fact | None
    worst: str
    worst_ratio: float

    @property
    def not_shown(self) -> tuple[str, ...]:
        """Names of the numbers that the times do not decide."""
        found = [
            f"{name} of {axis.upper()}"
            for name, facts in (
                ("rapid", self.rapid_mm_per_s), ("acceleration", self.accel_mm_per_s2), ("jerk", self.jerk_mm_per_s3)
            )
            for axis, fact in zip(AXES, facts, strict=True)
            if fact is None
        ]  # fmt: skip
        single = {
            "jump at corners": self.corner_jump_mm_per_s, "cutter change": self.cutter_change_s, "tilt": self.tilt_s
        }  # fmt: skip
        return (*found, *(name for name, fact in single.items() if fact is None))


def slowest(facts: Sequence[Fact | None]) -> Fact | None:
    """The one for all axes: that of the slowest; None where one axis is not shown, as it may be the slowest."""
    known = [fact for fact in facts if fact is not None]
    return min(known, key=lambda fact: fact.nominal) if len(known) == len(facts) else None


def fit_machine(
    measured_s: Mapping[str, float], *, stretches: Sequence[Stretch], stop_angle_rad: float, noise_ratio: float = 0.01
) -> MachineFit:
    """The numbers with which the reckoned times of all measured stretches come closest to the measured ones.

    measured_s: seconds of a whole stretch by its name; stretches that are missing were not timed.  noise_ratio: one
    standard deviation of a time as a share of it; where the times scatter more about the law, the intervals grow.
    """
    timed = [one for one in stretches if one.name in measured_s]
    unknown = sorted(set(measured_s) - {one.name for one in stretches})
    if unknown:
        raise BadInput("A time is given for a stretch that the program does not have", value=", ".join(unknown))
    for one in timed:
        if not (math.isfinite(measured_s[one.name]) and measured_s[one.name] > 0.0):
            raise OutOfRange("A measured time must be above 0", where=one.name, value=str(measured_s[one.name]))
    if not 0.0 < noise_ratio < 1.0:
        raise OutOfRange("The scatter of the times must lie between 0 and 1", value=str(noise_ratio))
    names = [*(f"{kind}_{axis}" for kind in ("rapid", "accel", "jerk") for axis in AXES), "corner_jump"]
    names += ["cutter_change"] if any(one.cutter_changes_count for one in timed) else []
    names += ["tilt"] if any(one.tilts_count for one in timed) else []
    ranges = [_RANGES[name] if name in _RANGES else _RANGES[name[:-2]] for name in names]
    wanted = np.array([measured_s[one.name] for one in timed])

    def residuals(logs: Array) -> Array:
        values = dict(zip(names, np.exp(logs), strict=True))
        return np.log(stretches_s(timed, values, stop_angle_rad=stop_angle_rad) / wanted) / noise_ratio

    start, low, high = (np.log([one[k] for one in ranges]) for k in range(3))
    found = least_squares(residuals, start=start, low=low, high=high)
    facts = {name: _fact(k, found, ranges[k]) for k, name in enumerate(names)}
    worst = int(np.argmax(np.abs(found.residuals)))
    x, y, z = AXES
    return MachineFit(
        rapid_mm_per_s=(facts[f"rapid_{x}"], facts[f"rapid_{y}"], facts[f"rapid_{z}"]),
        accel_mm_per_s2=(facts[f"accel_{x}"], facts[f"accel_{y}"], facts[f"accel_{z}"]),
        jerk_mm_per_s3=(facts[f"jerk_{x}"], facts[f"jerk_{y}"], facts[f"jerk_{z}"]),
        corner_jump_mm_per_s=facts["corner_jump"],
        cutter_change_s=facts.get("cutter_change"),
        tilt_s=facts.get("tilt"),
        worst=timed[worst].name,
        worst_ratio=abs(math.expm1(found.residuals[worst] * noise_ratio)),
    )


def stretches_s(
    stretches: Sequence[Stretch], numbers: Mapping[str, float], *, stop_angle_rad: float
) -> Array:  # fmt: skip
    """Seconds of each whole stretch (n,) with a machine's numbers, named as fit_machine names them."""
    rounds_s = np.zeros(len(stretches))
    moving = [k for k, one in enumerate(stretches) if len(one.positions)]
    if moving:
        chain = _chain([stretches[k] for k in moving])
        times = chain_times_s(
            chain.positions,
            chain.feeds,
            rapid_mm_per_s=[numbers[f"rapid_{axis}"] for axis in AXES],
            accel_mm_per_s2=[numbers[f"accel_{axis}"] for axis in AXES],
            jerk_mm_per_s3=[numbers[f"jerk_{axis}"] for axis in AXES],
            stop_angle_rad=stop_angle_rad,
            jump_mm_per_s=numbers["corner_jump"],
            arcs=chain.arcs,
            stops=chain.stops,
        )
        rounds_s[moving] = np.add.reduceat(times, chain.begins)
    change_s, tilt_s = numbers.get("cutter_change", 0.0), numbers.get("tilt", 0.0)
    return np.array([one.times_count for one in stretches]) * rounds_s + np.array(
        [one.cutter_changes_count * change_s + one.tilts_count * tilt_s for one in stretches]
    )


@dataclass(frozen=True)
class _Chain:
    """Rounds one after the other, all from the same place, with a stop between; begins: the first move of each."""

    positions: Array
    feeds: Array
    arcs: Arcs
    stops: NDArray[np.bool_]
    begins: NDArray[np.int64]


def _chain(rounds: Sequence[Stretch]) -> _Chain:
    counts = np.array([len(one.positions) - 1 for one in rounds])
    ends = np.cumsum(counts)
    stops = np.zeros(int(ends[-1]) + 1, dtype=bool)
    stops[ends] = True
    straight = [np.zeros((n + 1, 3)) for n in counts]
    centres = [one.arcs.centres_mm if one.arcs else none for one, none in zip(rounds, straight, strict=True)]
    normals = [one.arcs.normals if one.arcs else none for one, none in zip(rounds, straight, strict=True)]
    turns = [one.arcs.turns_rad if one.arcs else none[:, 0] for one, none in zip(rounds, straight, strict=True)]
    positions, feeds, centre, normal, turn = (
        np.concatenate([some[0][:1], *(one[1:] for one in some)])
        for some in ([one.positions for one in rounds], [one.feeds for one in rounds], centres, normals, turns)
    )
    arcs = Arcs(centres_mm=centre, normals=normal, turns_rad=turn)
    return _Chain(positions=positions, feeds=feeds, arcs=arcs, stops=stops, begins=ends - counts)


def _fact(k: int, found: LeastSquares, span: tuple[float, float, float, str]) -> Fact | None:
    """The number with its interval; None when it is wider than a half or the search ended at the end of its range."""
    reach = COVERAGE * found.deviations[k]
    _, low, high, unit = span
    value = math.exp(found.values[k])
    if not reach <= math.log1p(DECIDED_RATIO) or not low * 1.001 < value < high / 1.001:
        return None
    return Fact(
        low=value * math.exp(-reach), nominal=value, high=value * math.exp(reach), unit=unit, source=SOURCE,
        strength="measured here",
    )  # fmt: skip
