"""What readings prove: digits against certified values, and seconds against plain ways to the same figures.

Digits are -log10 of the relative gap to the value certified with the data, at most those of a double. The baseline of
digits is the sum of squares less the square of the sum, as a pocket calculator forms it. The baselines of speed are the
distributions of scipy.stats, asked as its manual shows, for the same answers; both are asked for the same inputs in the
same run.
"""

from __future__ import annotations

import math
import os
import re
from pathlib import Path

import numpy as np
from yardstick import line, paired

from proveout.gauging.acceptance import least_caught_count, zero_sample_count
from proveout.gauging.capability import worse_side_low_ratio
from proveout.gauging.drift import line_through
from proveout.gauging.summary import deviation_of, mean_of
from proveout.gauging.variance import one_way

NUMBER = r"([+-]?\d+\.?\d*(?:[eE][+-]?\d+)?)"
MOST = 15.95
LOTS = (120, 500, 3_000, 20_000)
SHARE, CONFIDENCE = 0.02, 0.95
CAPABILITIES = ((1.33, 30), (1.33, 10), (1.67, 50), (0.8, 25), (2.0, 125))


def digits(found: float, certified: float) -> float:
    """Digits that agree; none where the found value is no number."""
    if found == certified:
        return MOST
    if not math.isfinite(found):
        return 0.0
    return min(MOST, max(0.0, -math.log10(abs(found - certified) / abs(certified))))


def plain_deviation(readings: list[float]) -> float:
    """Standard deviation from the sums of readings and of their squares."""
    total = squares = 0.0
    for one in readings:
        total += one
        squares += one * one
    n = len(readings)
    return math.sqrt(max(0.0, (squares - total * total / n) / (n - 1)))


def plain_ratio(groups: list[list[float]]) -> float:
    """F of an analysis of variance from sums of squares."""
    every = [one for group in groups for one in group]
    whole = sum(every) ** 2 / len(every)
    between = sum(sum(group) ** 2 / len(group) for group in groups) - whole
    within = sum(one * one for one in every) - sum(sum(group) ** 2 / len(group) for group in groups)
    return (between / (len(groups) - 1)) / (within / (len(every) - len(groups))) if within > 0.0 else math.inf


def rows_of(text: str) -> list[list[float]]:
    """The data of a file of reference."""
    return [[float(f) for f in row.split()] for row in text.splitlines()[60:] if row.strip()]


def accuracy(folder: Path) -> dict[str, tuple[float, float]]:
    """Digits by file and figure: ours, and those of the plain way."""
    found: dict[str, tuple[float, float]] = {}
    for path in sorted((folder / "univariate").glob("*.dat")):
        text = path.read_text(encoding="utf-8")
        readings = [row[0] for row in rows_of(text)]
        mean, deviation = (float(re.findall(rf"{k}:\s*{NUMBER}", text)[0]) for k in ("ybar", r"\bs"))
        found[f"{path.stem}_mean"] = digits(mean_of(readings), mean), digits(sum(readings) / len(readings), mean)
        found[f"{path.stem}_deviation"] = (
            digits(deviation_of(readings), deviation), digits(plain_deviation(readings), deviation),
        )  # fmt: skip
    for path in sorted((folder / "anova").glob("*.dat")):
        text = path.read_text(encoding="utf-8")
        groups: dict[float, list[float]] = {}
        for group, reading in rows_of(text):
            groups.setdefault(group, []).append(reading)
        ratio = float(re.findall(rf"^Between \w+\s+\d+\s+{NUMBER}\s+{NUMBER}\s+{NUMBER}", text, re.MULTILINE)[0][2])
        own = one_way(list(groups.values())).between.ratio or 0.0
        found[f"{path.stem}_ratio"] = digits(own, ratio), digits(plain_ratio(list(groups.values())), ratio)
    for path in sorted((folder / "linear").glob("Norris.dat")):
        text = path.read_text(encoding="utf-8")
        rows = rows_of(text)
        start, slope = (float(re.findall(rf"{b}\s+{NUMBER}", text)[0]) for b in ("B0", "B1"))
        made = line_through(places=[x for _, x in rows], readings=[y for y, _ in rows], confidence_ratio=0.95)
        fit = np.linalg.lstsq(np.array([[1.0, x] for _, x in rows]), np.array([y for y, _ in rows]), rcond=None)[0]
        found[f"{path.stem}_start"] = digits(made.start, start), digits(float(fit[0]), start)
        found[f"{path.stem}_slope"] = digits(made.slope, slope), digits(float(fit[1]), slope)
    return found


def samples() -> list[int]:
    """Samples without a bad piece, and what they catch."""
    out = []
    for lot in LOTS:
        sample = zero_sample_count(lot_count=lot, bad_ratio=SHARE, confidence_ratio=CONFIDENCE)
        caught = least_caught_count(lot_count=lot, sample_count=sample, accept_count=0, confidence_ratio=CONFIDENCE)
        out += [sample, caught]
    return out


def plain_samples() -> list[int]:
    """The same by halving on the distribution of scipy.stats."""
    from scipy.stats import hypergeom

    out = []
    for lot in LOTS:
        bad = math.ceil(SHARE * lot)
        low, high = 0, lot
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if hypergeom.cdf(0, lot, bad, middle) <= 1.0 - CONFIDENCE else (middle, high)
        out.append(high)
        sample, low, high = high, 0, lot
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if hypergeom.cdf(0, lot, middle, sample) <= 1.0 - CONFIDENCE else (middle, high)
        out.append(high)
    return out


def capabilities() -> list[float]:
    """What some indices are at least."""
    return [
        worse_side_low_ratio(found_ratio=found, readings_count=n, freedom_count=n - 1, confidence_ratio=CONFIDENCE)
        for found, n in CAPABILITIES
    ]


def plain_capabilities() -> list[float]:
    """The same by halving on the distribution of scipy.stats, to twelve places."""
    from scipy.stats import nct

    out = []
    for found, n in CAPABILITIES:
        scale = 3.0 * math.sqrt(n)
        low, high = -2.0, found + 2.0
        while high - low > 1e-12:
            middle = 0.5 * (low + high)
            below = nct.cdf(scale * found, n - 1, scale * middle)
            low, high = (middle, high) if below > CONFIDENCE else (low, middle)
        out.append(low)
    return out


def main() -> int:
    """Print the table of digits and the line."""
    data = Path(os.environ.get("PROVEOUT_DATA", "")) / "stats" / "nist-strd"
    told = accuracy(data) if os.environ.get("PROVEOUT_DATA") and data.is_dir() else {}
    for name, (own, plain) in told.items():
        print(f"{name:24} {own:5.1f} digits, {plain:5.1f} the plain way")
    same = samples() == plain_samples()
    gap = max(abs(a - b) for a, b in zip(capabilities(), plain_capabilities(), strict=True))
    lots, limits = paired(samples, plain_samples), paired(capabilities, plain_capabilities)
    figures = {
        "samples_the_same": float(same), "capability_gap_ratio": gap,
        **{f"digits_{name}": own for name, (own, _) in told.items()},
        **{f"digits_plain_{name}": plain for name, (_, plain) in told.items()},
        "samples_s": lots["subject_s"], "capability_s": limits["subject_s"],
    }  # fmt: skip
    targets: dict[str, tuple[str, float]] = {
        "samples_the_same": ("at least", 1.0), "capability_gap_ratio": ("at most", 1e-9),
        "samples_ratio": ("at least", 1.0), "capability_ratio": ("at least", 1.0),
    }  # fmt: skip
    if told:
        figures["digits_least_count"] = min(own for own, _ in told.values())
        figures["digits_behind_plain_most_count"] = max(plain - own for own, plain in told.values())
        targets["digits_least_count"] = ("at least", 9.5)
    print(
        line(
            name="statistics",
            figures=figures,
            ratios={"samples_ratio": lots["ratio"], "capability_ratio": limits["ratio"]},
            targets=targets,
            repeats=int(lots["repeats"]),
            spread={"samples_ratio": lots["spread"], "capability_ratio": limits["spread"]},
            excluded=("Importing either library.",) if told else ("Digits: PROVEOUT_DATA is not set.",),
        )
    )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
