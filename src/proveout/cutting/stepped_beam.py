"""A cutter with a head on a neck as a beam held in its holder: how far it gives way, and what its neck bears."""

from __future__ import annotations

import math

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.cutting.deflection import ELASTIC_ENDS_MPA, FLUTED_DIAMETER_RATIO, GIVING_WAY_RATIO
from proveout.model.cutter import HEADED_KINDS, Piece
from proveout.model.fact import Fact
from proveout.model.shop import Cutter
from proveout.quantities.bounds import above_zero, zero_or_more

Floats = NDArray[np.float64]
POINTS = 24
"""Places of a part at which its bending is summed up; exact to all digits for widths that change by less than half."""
NOTCH = Fact(low=1.0, nominal=2.0, high=3.0, unit="ratio", source="workshop-practice", strength="from memory")
"""Stress at the fillets between head, neck and shank over that of a plain bar; no shop file says how round they are."""
ENDURED = Fact(low=0.3, nominal=0.4, high=0.5, unit="ratio", source="workshop-practice", strength="from memory")
"""Of its bending strength, what steel and carbide bear when the stress turns round with every turn of the spindle."""


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """A stretch of a beam by its height over the tip, as stiff and strong as a plain bar of a diameter; ends in mm."""

    z_low_mm: float
    z_high_mm: float
    d_low_mm: float
    d_high_mm: float


class Give(msgspec.Struct, frozen=True, kw_only=True):
    """What a beam gives way by at its tip: across for a force across there and for a couple, and how far it tilts.

    across_mm_per_n, across_mm_per_n_mm, tilt_rad_per_n, tilt_rad_per_n_mm; the second is the third, as for any beam.
    along_mm_per_n: how much longer it gets for a pull along it.
    """

    across_mm_per_n: float
    across_mm_per_n_mm: float
    tilt_rad_per_n: float
    tilt_rad_per_n_mm: float
    along_mm_per_n: float


class HeadGive(msgspec.Struct, frozen=True, kw_only=True):
    """At most, of k cuts (k,) mm: how far the head goes aside, and how far its rim goes up or down as it tilts."""

    across_mm: Floats
    along_mm: Floats


def has_head(cutter: Cutter) -> bool:
    """Whether it bends as a head on a neck."""
    return cutter.kind in HEADED_KINDS


def parts_of(cutter: Cutter) -> tuple[Part, ...]:
    """Head, neck and shank up to the holder; of the head, which is cut by flutes, 0.80 of its own diameter."""
    ratio = FLUTED_DIAMETER_RATIO
    found = [_part(piece, ratio) for piece in cutter.cutting]
    holder = 1 if cutter.holder_length_mm > 0.0 else 0
    found += [_part(piece, 1.0) for piece in cutter.body[: len(cutter.body) - holder]]
    return tuple(one for one in found if one.z_high_mm > one.z_low_mm)


def _part(piece: Piece, ratio: float) -> Part:
    return Part(
        z_low_mm=piece.z_low_mm, z_high_mm=piece.z_high_mm, d_low_mm=2.0 * ratio * piece.r_low_mm,
        d_high_mm=2.0 * ratio * piece.r_high_mm,
    )  # fmt: skip


def beam_give(*, parts: tuple[Part, ...], elasticity_mpa: float) -> Give:
    """How far the tip of a beam of several diameters gives way, held at its upper end.

    Formula:  J_n = 64 / (pi E) integral of z^n / d^4 over all parts, z from the tip; a force F there across gives
              delta = F J_2 and a tilt of F J_1, a couple M gives delta = M J_1 and a tilt of M J_0; along, a force
              stretches it by F 4 / (pi E) integral of 1 / d^2
    Args:     parts: from the tip on without gaps, diameters above 0.   elasticity_mpa: E, > 0.
    Returns:  Give, mm and rad for each N and N mm, all > 0.
    Raises:   OutOfRange when E or a diameter is not above 0.
    Valid:    small deflections of slender beams; shear, the holder and the spindle are not in it.
    Source:   beam_identities.   Departs: several diameters, and those of a cone, summed up.
    Checked:  tests/laws/test_stepped_beam.py
    """
    above_zero(elasticity_mpa=elasticity_mpa)
    at, weight = np.polynomial.legendre.leggauss(POINTS)
    sums = np.zeros(4)
    for part in parts:
        above_zero(d_low_mm=part.d_low_mm, d_high_mm=part.d_high_mm)
        share, half = 0.5 * (at + 1.0), 0.5 * (part.z_high_mm - part.z_low_mm)
        z = part.z_low_mm + (part.z_high_mm - part.z_low_mm) * share
        d = part.d_low_mm + (part.d_high_mm - part.d_low_mm) * share
        sums += half * np.array([(weight * value).sum() for value in (d**-4.0, z * d**-4.0, z * z * d**-4.0, d**-2.0)])
    bent, pulled = 64.0 / (math.pi * elasticity_mpa), 4.0 / (math.pi * elasticity_mpa)
    return Give(
        across_mm_per_n=float(bent * sums[2]), across_mm_per_n_mm=float(bent * sums[1]),
        tilt_rad_per_n=float(bent * sums[1]), tilt_rad_per_n_mm=float(bent * sums[0]),
        along_mm_per_n=float(pulled * sums[3]),
    )  # fmt: skip


def head_give_mm(*, give: Give, across_n: Floats, axial_n: Floats, radius_mm: float) -> HeadGive:
    """How far the head of a cutter is off at its flank and at the rim of its faces, at most.

    Formula:  M = F_a R; aside F J_2 + M J_1; the rim R (F J_1 + M J_0) + F_a times the stretch of the beam
    Args:     give: of its beam.   across_n: (k,) F, >= 0.   axial_n: (k,) F_a either way along it at the rim, >= 0.
              radius_mm: R of the head, > 0.
    Returns:  mm, HeadGive of (k,) each, >= 0; without what holder and spindle give way.
    Raises:   OutOfRange when R is not above 0.
    Valid:    forces anywhere in the head's height bend it no farther than at its tip; any heading of both.
    Source:   beam_identities.   Departs: nothing.
    Checked:  tests/laws/test_stepped_beam.py
    """
    above_zero(radius_mm=radius_mm)
    couple = axial_n * radius_mm
    return HeadGive(
        across_mm=across_n * give.across_mm_per_n + couple * give.across_mm_per_n_mm,
        along_mm=radius_mm * (across_n * give.tilt_rad_per_n + couple * give.tilt_rad_per_n_mm)
        + axial_n * give.along_mm_per_n,
    )


def most_give_mm(cutter: Cutter, *, across_n: Floats, axial_n: Floats) -> HeadGive:
    """How far the head of a cutter is off at the worst end, with holder and spindle giving way.

    Formula:  three times what beam_give and head_give_mm say of its parts at the softest that its metal may be
    Args:     cutter: with a head.   across_n: (k,) force across, >= 0.   axial_n: (k,) along it at the rim, >= 0.
    Returns:  mm, HeadGive of (k,) each, >= 0.
    Raises:   nothing.
    Valid:    cutters with a head; E of carbide, of high-speed steel, or of either where nobody wrote which.
    Source:   beam_identities; carbide_elasticity, from memory; end_mill_compliance.   Departs: 0.80 of the diameter at
              each height of a cone as well.
    Checked:  tests/laws/test_stepped_beam.py, tests/stages/loads/test_heads.py
    """
    soft = ELASTIC_ENDS_MPA[cutter.made_of][0]
    give = beam_give(parts=parts_of(cutter), elasticity_mpa=soft / GIVING_WAY_RATIO)
    return head_give_mm(give=give, across_n=across_n, axial_n=axial_n, radius_mm=cutter.diameter_mm / 2.0)


def beam_stresses_mpa(
    *, parts: tuple[Part, ...], across_n: Floats, axial_n: Floats, torque_n_mm: Floats, radius_mm: float
) -> tuple[Floats, Floats]:
    """Hardest stress anywhere along a beam, of plain bars, by bending, pull and torsion together, and where.

    Formula:  sqrt(s^2 + 4 t^2), s = 32 M / (pi d^3) + 4 F_a / (pi d^2), M = F z + F_a R, t = 16 T / (pi d^3), at both
              ends of every part: twice the largest shear stress, which is no less than the largest pull nor what is
              taken for steel
    Args:     parts: as of beam_give.   across_n: (k,) F at the tip, >= 0.   axial_n: (k,) F_a at the rim, >= 0.
              torque_n_mm: (k,) T, >= 0.   radius_mm: R of the head, >= 0.
    Returns:  MPa, (k,) >= 0; and mm, (k,) the height over the tip.
    Raises:   OutOfRange when R is below 0.
    Valid:    parts that get no thinner and thicker again between their ends; no notch counts.
    Source:   beam_identities.   Departs: nothing.
    Checked:  tests/laws/test_stepped_beam.py
    """
    zero_or_more(radius_mm=radius_mm)
    ends = np.array(
        [end for one in parts for end in ((one.z_low_mm, one.d_low_mm), (one.z_high_mm, one.d_high_mm))]
    )  # fmt: skip
    z, d = ends[:, :1], ends[:, 1:]
    pull = 32.0 * (across_n * z + axial_n * radius_mm) / (math.pi * d**3) + 4.0 * axial_n / (math.pi * d**2)
    stress = np.hypot(pull, 2.0 * 16.0 * torque_n_mm / (math.pi * d**3))
    worst = stress.argmax(axis=0)
    return stress[worst, np.arange(stress.shape[1])], ends[worst, 0]
