"""Cutting and edge coefficients of aluminium by family of alloys, as intervals, sharp to dull."""

from __future__ import annotations

import re

import msgspec

from proveout.cutting.mechanistic import EdgeCoefficients
from proveout.model.fact import Fact, Strength

DULL_EDGE_RATIO = 2.0
"""Common practice, no source: a dull or built-up edge rubs twice as hard as a sharp one; the chip costs the same."""
SPREAD_RATIO = 0.3
"""Published constants against another's cutter and bar: 30 % or worse."""

_NAMES = ("K_tc", "K_te", "K_rc", "K_re", "K_ac", "K_ae")
_UNITS = ("MPa", "N/mm") * 3
_REVIEW = "milling_force_review: Table 5"


class CoefficientRange(msgspec.Struct, frozen=True, kw_only=True):
    """Coefficients of one family: facts by their symbol, and both ends; the high end is that of a dull edge."""

    family: str
    facts: dict[str, Fact]

    @property
    def sharp(self) -> EdgeCoefficients:
        """The low end of each."""
        return _of([self.facts[name].low for name in _NAMES])

    @property
    def dull(self) -> EdgeCoefficients:
        """The high end of each."""
        return _of([self.facts[name].high for name in _NAMES])


def _of(values: list[float]) -> EdgeCoefficients:
    return EdgeCoefficients(
        tangential_mpa=values[0], edge_tangential_n_per_mm=values[1], radial_mpa=values[2],
        edge_radial_n_per_mm=values[3], axial_mpa=values[4], edge_axial_n_per_mm=values[5],
    )  # fmt: skip


def _range(
    family: str, lows: list[float], usual: list[float], highs: list[float], source: str, strength: Strength
) -> CoefficientRange:
    facts = {
        name: Fact(
            low=low, nominal=nominal, high=high * (DULL_EDGE_RATIO if unit == "N/mm" else 1.0), unit=unit,
            source=source, strength=strength,
        )
        for name, unit, low, nominal, high in zip(_NAMES, _UNITS, lows, usual, highs, strict=True)
    }  # fmt: skip
    return CoefficientRange(family=family, facts=facts)


# 6082-T6, carbide, dry: one row. 30 % up; down to the row of 6061-T6 (243.77, 7.53, 113.5, 7.83), an outlier three
# times below the handbooks, which may be true at the best end and is never leant on
_AL_6082 = [631.0, 13.0, 99.0, 10.0, 273.0, 2.8]
AL_6000 = _range(
    "6000", [243.77, 7.53, 69.3, 7.0, 191.1, 1.96], _AL_6082, [value * (1.0 + SPREAD_RATIO) for value in _AL_6082],
    _REVIEW, "published as quoted",
)  # fmt: skip
# 7075-T6: three rows with carbide and one with high-speed steel, and 7050-T7451: the least, the usual and the most
AL_7000 = _range(
    "7000", [600.46, 11.115, 168.8, 11.314, 48.75, 0.7], [796.1, 27.7, 168.8, 30.8, 222.0, 1.4],
    [1319.41, 27.7, 788.83, 30.8, 323.33, 2.05], f"{_REVIEW}; 7050 from memory", "from memory",
)  # fmt: skip


def coefficients_of(alloys: tuple[str, ...]) -> CoefficientRange | None:
    """The family that all the named alloys are of; None when none is named, or one is of no family that is known."""
    found = {re.sub(r"^[^0-9]*", "", name)[:1] for name in alloys}
    if not found or not found <= {"6", "7"}:
        return None
    if found == {"6"}:
        return AL_6000
    if found == {"7"}:
        return AL_7000
    facts = {
        name: Fact(
            low=min(AL_6000.facts[name].low, AL_7000.facts[name].low), nominal=AL_7000.facts[name].nominal,
            high=max(AL_6000.facts[name].high, AL_7000.facts[name].high), unit=AL_7000.facts[name].unit,
            source=AL_7000.facts[name].source, strength=AL_7000.facts[name].strength,
        )
        for name in _NAMES
    }  # fmt: skip
    return CoefficientRange(family="6000 and 7000", facts=facts)
