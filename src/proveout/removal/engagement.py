"""How far a cutter is engaged in each straight move, measured on the work as it stands at that moment."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from proveout.model.cutter import Piece
from proveout.removal.fields import Fields
from proveout.removal.running import run_sweeps, straight_sweeps

PLUNGE_MM = 1e-12  # a move with less than this across the axis has no side


@dataclass(frozen=True, kw_only=True)
class Engagements:
    """What each of n moves took and how; arrays are 0 where a move took nothing.

    removed_mm3: (n, 3) by field. radial_mm, axial_mm: (n,) a_e and a_p. angle_rad: (n,) from where a tooth enters to
    where it leaves. chip_ratio: (n,) largest thickness of chip, as a share of the feed per tooth. sampling_mm: how far
    each end of a_e and a_p may lie beyond what was seen.
    """

    removed_mm3: np.ndarray
    radial_mm: np.ndarray
    axial_mm: np.ndarray
    angle_rad: np.ndarray
    chip_ratio: np.ndarray
    sampling_mm: float


def cut_measured(
    fields: Fields,
    *,
    pieces: Sequence[Piece],
    axis: np.ndarray,
    starts_mm: np.ndarray,
    ends_mm: np.ndarray,
    threads_count: int | None = None,
) -> Engagements:
    """Takes the moves out of the fields as cut does, and measures the engagement of each before its metal is gone.

    Formula:  with y across the move and the axis, z along the axis, over the metal the move takes:
              a_e = y_high - y_low, a_p = z_high - z_low, angle = asin(y_high / R) - asin(y_low / R), R the cutter's
              greatest radius up to z_high; cos(psi) = 1 where y_low <= 0 <= y_high, else sqrt(1 - (y_nearest / R)^2);
              h = f_z max over k <= k_high of (sin k cos psi cos b + cos k sin b), b the move's fall, k the angle
              between axis and edge's normal, k_high that of the highest edge engaged: 90 degrees on a side, less on a
              corner or a point (its lead).  In a level side cut: h = f_z sin(phi) sin(k_high), phi = 90 degrees - psi.
              Along the axis: a_e = R - the least distance of the metal from the axis, angle = a whole turn.
    Args:     as for cut.
    Returns:  Engagements, (n,) mm and rad; 0 where a move takes nothing.
    Raises:   BadInput when shapes are wrong or a number is not finite; OutOfRange when axis has no unit length.
    Valid:    the front between y_low and y_high counts as metal throughout, a plunge as engaged all round, and a_p
              holds what the move itself falls: all three err upwards. Metal shorter than 0.005 mm along a ray is not
              seen, nor what one single ray of a field sees beyond all others; so each end may lie sampling_mm, one
              cell, beyond what is said where the metal taken is two cells wide along the move or along the axis.
    Source:   own derivation; words as in ISO 3002.   Departs: nothing.
    Checked:  tests/removal/test_engagement.py
    """
    sweeps = straight_sweeps(pieces=pieces, axis=axis, starts_mm=starts_mm, ends_mm=ends_mm)
    removed, seen = run_sweeps(fields, sweeps, threads_count, cuts=True, notes=True)
    counted = np.where(np.isfinite(seen[..., 1]), seen[..., 1], seen[..., 0])
    ends = counted.max(axis=0)
    cuts = np.all(np.isfinite(ends), axis=1)
    ends = np.where(cuts[:, None], ends, 0.0)
    way = sweeps.ends - sweeps.starts
    along = way @ sweeps.axis
    across = np.linalg.norm(way - along[:, None] * sweeps.axis, axis=1)
    plunges = across < PLUNGE_MM
    top = ends[:, 3] - np.minimum(along, 0.0)
    radius, lead_sine = _outline(pieces, top)
    low = np.clip(np.where(plunges, 0.0, -ends[:, 0]), -radius, radius)
    high = np.clip(np.where(plunges, radius, ends[:, 1]), -radius, radius)
    radial = np.where(plunges, radius + np.minimum(ends[:, 0], 0.0), high - low)
    over = 1.0 / np.where(radius > 0.0, radius, 1.0)
    angle = np.where(plunges, 2.0 * np.pi, np.arcsin(high * over) - np.arcsin(low * over))
    nearest = np.maximum(np.maximum(low, -high), 0.0) * over
    forward = np.sqrt(1.0 - np.minimum(nearest, 1.0) ** 2)
    length = np.hypot(across, along)
    fall = np.where(length > 0.0, np.maximum(-along, 0.0) / np.where(length > 0.0, length, 1.0), 0.0)
    level = np.where(length > 0.0, across / np.where(length > 0.0, length, 1.0), 0.0)
    lead = np.minimum(np.arcsin(np.minimum(lead_sine, 1.0)), np.arctan2(forward * level, fall))
    chip = np.sin(lead) * forward * level + np.cos(lead) * fall
    return Engagements(
        removed_mm3=removed,
        radial_mm=np.where(cuts, radial, 0.0),
        axial_mm=np.where(cuts, ends[:, 3] + ends[:, 2], 0.0),
        angle_rad=np.where(cuts, angle, 0.0),
        chip_ratio=np.where(cuts, chip, 0.0),
        sampling_mm=float(fields.pitch_mm.max()),
    )


def _outline(pieces: Sequence[Piece], tops: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Greatest radius (n,) up to each height above the tip, and the greatest sine of the edge's lead there."""
    radius, sine = np.zeros(len(tops)), np.zeros(len(tops))
    for piece in pieces:
        meets = tops > piece.z_low_mm
        if piece.kind == "frustum":
            taper = (piece.r_high_mm - piece.r_low_mm) / (piece.z_high_mm - piece.z_low_mm)
            rise = np.clip(tops - piece.z_low_mm, 0.0, piece.z_high_mm - piece.z_low_mm) if taper > 0.0 else 0.0
            own = piece.r_low_mm + taper * rise + 0.0 * tops
            lead = np.full(len(tops), 1.0 / np.sqrt(1.0 + taper * taper))
        else:
            ring = piece.r_low_mm if piece.kind == "round corner" else 0.0
            below = np.clip(1.0 - (tops - piece.z_low_mm) / piece.corner_mm, 0.0, 1.0)
            lead = np.sqrt(1.0 - below * below)
            own = ring + piece.corner_mm * lead
        radius = np.where(meets, np.maximum(radius, own), radius)
        sine = np.where(meets, np.maximum(sine, lead), sine)
    return radius, sine
