"""Numbers with their units as people type them, and back: what the ending of a name says about its unit."""

from __future__ import annotations

import math
import re

from proveout.quantities.errors import BadInput, OutOfRange
from proveout.quantities.units import (
    MM_PER_INCH,
    MW_PER_KW,
    N_MM_PER_N_M,
    RAD_PER_DEG,
    RAD_PER_S_PER_RPM,
    S_PER_H,
    S_PER_MIN,
)

N_PER_LBF = 4.4482216152605
"""Exact: 0.45359237 kg times 9.80665 m/s2."""
MW_PER_HP = 550.0 * 12.0 * MM_PER_INCH * N_PER_LBF
"""Mechanical horsepower: 550 foot pounds a second."""
MPA_PER_PSI = N_PER_LBF / MM_PER_INCH**2

# ending of a name: unit inside and its factors, the first after it the one that answers are told in beside it
MEASURES: dict[str, dict[str, float]] = {
    "_mm3_per_s": {"mm3/s": 1.0, "cm3/min": 1000.0 / S_PER_MIN, "in3/min": MM_PER_INCH**3 / S_PER_MIN},
    "_mm_per_s2": {"mm/s2": 1.0, "m/s2": 1000.0},
    "_mm_per_s3": {"mm/s3": 1.0, "m/s3": 1000.0},
    "_mm_per_s": {
        "mm/s": 1.0, "mm/min": 1.0 / S_PER_MIN, "m/min": 1000.0 / S_PER_MIN, "in/min": MM_PER_INCH / S_PER_MIN,
        "ft/min": 12.0 * MM_PER_INCH / S_PER_MIN,
    },
    "_rad_per_s": {"rad/s": 1.0, "rpm": RAD_PER_S_PER_RPM, "1/min": RAD_PER_S_PER_RPM},
    "_n_per_mm": {"N/mm": 1.0},
    "_n_mm": {"N mm": 1.0, "N m": N_MM_PER_N_M, "lbf in": N_PER_LBF * MM_PER_INCH},
    "_a_per_mm2": {"A/mm2": 1.0, "A/dm2": 1e-4, "A/ft2": 1.0 / (12.0 * MM_PER_INCH) ** 2},
    "_kg_per_mm3": {"kg/mm3": 1.0, "g/cm3": 1e-6},
    "_mm2": {"mm2": 1.0, "in2": MM_PER_INCH**2, "dm2": 1e4, "ft2": (12.0 * MM_PER_INCH) ** 2},
    "_mm3": {"mm3": 1.0, "cm3": 1000.0, "in3": MM_PER_INCH**3},
    "_mm": {"mm": 1.0, "in": MM_PER_INCH, "um": 0.001, "µm": 0.001, "thou": MM_PER_INCH / 1000.0},
    "_rad": {"rad": 1.0, "deg": RAD_PER_DEG, "°": RAD_PER_DEG},
    "_mpa": {"MPa": 1.0, "N/mm2": 1.0, "GPa": 1000.0, "psi": MPA_PER_PSI},
    "_mw": {"mW": 1.0, "kW": MW_PER_KW, "W": 1000.0, "hp": MW_PER_HP},
    "_a": {"A": 1.0},
    "_kg": {"kg": 1.0, "g": 0.001, "lb": 0.45359237},
    "_n": {"N": 1.0, "kN": 1000.0, "lbf": N_PER_LBF},
    "_s": {"s": 1.0, "min": S_PER_MIN, "h": S_PER_H},
    "_ratio": {"": 1.0, "%": 0.01},
    "_count": {"": 1.0},
}  # fmt: skip
NUMBER = r"[+-]?(?:\d+(?:\.\d+)?|\.\d+)(?:[eE][+-]?\d+)?"
_TYPED = re.compile(rf"^\s*({NUMBER})\s*(?:\.\.\s*({NUMBER}))?\s*(.*?)\s*$")


def ending_of(name: str) -> str:
    """The ending of a name that says its unit; empty where it says none."""
    return next((ending for ending in sorted(MEASURES, key=len, reverse=True) if name.endswith(ending)), "")


def bare_name(name: str) -> str:
    """The name as people type it: without the ending of its unit, words joined by hyphens."""
    ending = ending_of(name)
    return (name[: -len(ending)] if ending else name).replace("_", "-")


def typed(text: str, *, name: str) -> tuple[float, float]:
    """Both ends of a number or an interval with its unit, as `10 mm`, `0.4in` or `9.9..10.1mm`, in the unit of `name`.

    Raises:   BadInput when it is no number, its unit is missing or is none of this quantity's, or its ends are swapped.
    """
    units = MEASURES.get(ending_of(name), {"": 1.0})
    known = ", ".join(u for u in units if u) or "none"
    found = _TYPED.match(text)
    if found is None:
        raise BadInput(
            "This is no number", where=bare_name(name), value=text, limit="a number or low..high, then its unit",
            do=f"write it as 10{known.split(',')[0]}" if known != "none" else "write it as 3 or 3..4",
        )  # fmt: skip
    unit = found[3]
    unit = next((u for u in units if u.replace(" ", "") == unit.replace(" ", "")), unit)
    if unit not in units:
        what = "The number needs its unit" if not unit else "This unit is none of this quantity's"
        raise BadInput(what, where=bare_name(name), value=text, limit=known, do="write one of these behind the number")
    low = float(found[1])
    high = float(found[2]) if found[2] else low
    if low > high:
        raise BadInput(
            "The ends are swapped", where=bare_name(name), value=text, limit="low..high", do="write the lower one first"
        )
    return low * units[unit], high * units[unit]


def told(value: float, *, name: str, unit: str = "") -> str:
    """A value with its unit, six digits; in the unit that `name` ends in unless another of its units is named."""
    units = MEASURES.get(ending_of(name), {"": 1.0})
    shown = unit or next(iter(units))
    if shown not in units:
        raise OutOfRange("This unit is none of this quantity's", value=shown, limit=", ".join(units))
    number = value / units[shown]
    text = f"{number:.6g}" if math.isfinite(number) else str(number)
    return f"{text} {shown}".strip()


def beside(name: str) -> str:
    """The trade's unit that an answer is told in beside the inner one; empty where there is none."""
    names = list(MEASURES.get(ending_of(name), {"": 1.0}))
    return names[1] if len(names) > 1 and names[1] != "%" else ""
