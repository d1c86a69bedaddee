"""A wall before a hollow that a jaw presses on: how far it bends in, and how hard its metal is pulled.

Bounds from above by strips of it that carry all the pressure alone: metal beside a strip only helps it. A strip that
stands up from its foot ends in the air; one that spans lies on what is left on both sides, free to turn there. Metal
about the hollow gives way as well: the strips are built in, or reach, so much deeper.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.quantities.bounds import above_zero, zero_or_more
from proveout.quantities.errors import OutOfRange

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
ROOT_RATIO = 1.0
"""A strip is built in so many of its own thicknesses deeper than its foot: that is no stiffer than it. Own choice;
held against elastic metal in tests/grip/test_bent_wall.py."""
SPAN_RATIO = 0.5
"""A span is so many thicknesses longer, likewise."""
EDGE_STANDING_RATIO, EDGE_SPAN_RATIO = 0.6, 0.25
"""Of the pressure: so hard metal beside the edge of a pressed place is pulled beyond what bends it; likewise."""
SHEAR_RATIO = 2.7
"""E / G = 2 (1 + nu) for nu up to 0.35, as of light alloys and steel."""
SHEAR_FORM_RATIO = 1.2
"""Of a rectangular section."""


def standing_wall_bend_mm(
    thick_mm: Floats, is_pressed: Bools, *, cell_mm: float, patch_mm: float, foot_mm: float, across_mm: float
) -> tuple[float, float]:
    """How far the free edge of a wall goes that stands on its foot, and how hard it is pulled, by a pressure of 1 MPa.

    Formula:  delta E = sum of M (L - s) dx / I + 1.2 2.7 V dx / t, sigma = max 6 M / t^2 + 0.6 min(1, t_most / L),
              between cells from the foot on;   V = sum of dx, M = sum of dx (s_i - s) of the pressed cells i above s,
              within b of the highest; I = t^3 / 12, E / G = 2.7; before the first cell the wall goes on for t + dx as
              thick as there. The foot, pressed from both sides off its middle, turns the wall by M_f g / 2 / I_f, M_f =
              M + V f / 2 at the foot, I_f = f^3 / 12: delta E more by that times L + f / 2; and is itself pulled by
              6 M_f / f^2 + V / f
    Args:     thick_mm: t (n,) of n cells from the foot to the free edge, > 0.   is_pressed: (n,) likewise.
              cell_mm: dx, > 0.   patch_mm: b, as high as the jaw is sure to press at once, > 0.   foot_mm: f, how high
              the foot is, > 0.   across_mm: g, from jaw to jaw, > 0.
    Returns:  mm for a modulus of 1 MPa, and MPa; both >= 0, and 0 where nothing is pressed.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    elastic, small bends, in proportion to pressure over modulus; jaws that press alike on both sides. Between
              cells t is the mean of both. The pull beside the radius of a corner is higher; metal flows there first.
    Source:   beam_identities, as the sum of what each piece of a cantilever bends, derived here.   Departs: built in
              deeper, bends by shear too.
    Checked:  tests/grip/test_bent_wall.py
    """
    above_zero(cell_mm=cell_mm, patch_mm=patch_mm, foot_mm=foot_mm, across_mm=across_mm)
    count = len(thick_mm)
    if count == 0 or thick_mm.shape != is_pressed.shape or not (thick_mm > 0.0).all():
        raise OutOfRange("A wall needs a thickness above 0 at every cell", where="thick_mm", value=str(thick_mm.shape))
    if not is_pressed.any():
        return 0.0, 0.0
    steps = np.arange(count)
    load = np.where(is_pressed, cell_mm, 0.0)
    top = int(np.flatnonzero(is_pressed)[-1]) + 1
    load[cell_mm * (steps + 1.0) <= cell_mm * top - patch_mm + 1e-9] = 0.0
    edges, long, first = cell_mm * steps, count * cell_mm, float(thick_mm[0])
    shear = load[::-1].cumsum()[::-1]
    moment = (load * cell_mm * (steps + 0.5))[::-1].cumsum()[::-1] - shear * edges
    thick = np.concatenate([thick_mm[:1], (thick_mm[1:] + thick_mm[:-1]) / 2.0])
    sheared = SHEAR_FORM_RATIO * SHEAR_RATIO
    bend = float((moment * (long - edges) * cell_mm * 12.0 / thick**3 + sheared * shear * cell_mm / thick).sum())
    root, v, m = ROOT_RATIO * first + cell_mm, float(shear[0]), float(moment[0])
    # M and the lever grow along the root: M + V x, L + x
    bend += 12.0 / first**3 * (m * long * root + (m + v * long) * root**2 / 2.0 + v * root**3 / 3.0)
    bend += sheared * v * root / first
    of_foot = m + v * foot_mm / 2.0
    bend += of_foot * across_mm / 2.0 * 12.0 / foot_mm**3 * (long + foot_mm / 2.0)
    beside = EDGE_STANDING_RATIO * min(1.0, float(thick_mm.max()) / long)
    return bend, max(float((6.0 * moment / thick**2).max()) + beside, 6.0 * of_foot / foot_mm**2 + v / foot_mm)


def spanning_wall_bend_mm(
    *, pressure_mpa: float, span_mm: float, pressed_mm: float, thickness_mm: float, elastic_mpa: float
) -> float:
    """How far the middle of a wall goes that is held on both sides of a hollow and pressed on a part of its span.

    Formula:  delta = p min(5 L^4 / 384, b L^3 / 48) / (E I) + 1.2 p min(L^2 / 8, b L / 4) / (G t), I = t^3 / 12,
              G = E / 2.7, L = s + t / 2: pressed all over, or with all of b in the middle, it bends no less
    Args:     pressure_mpa: p, >= 0.   span_mm: s, of the hollow, > 0.   pressed_mm: b, the length pressed, anywhere,
              >= 0.   thickness_mm: t, the least, > 0.   elastic_mpa: E, > 0.
    Returns:  mm, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    elastic, small bends; metal on both sides at least t wide.
    Source:   beam_identities, a uniform and a middle load on two supports, from memory and derived here.   Departs: the
              span is longer by t / 2, and bends by shear too.
    Checked:  tests/grip/test_bent_wall.py
    """
    zero_or_more(pressure_mpa=pressure_mpa, pressed_mm=pressed_mm)
    above_zero(span_mm=span_mm, thickness_mm=thickness_mm, elastic_mpa=elastic_mpa)
    long = span_mm + SPAN_RATIO * thickness_mm
    moment = thickness_mm**3 / 12.0
    by_bending = min(5.0 * long**4 / 384.0, pressed_mm * long**3 / 48.0) / moment
    by_shear = SHEAR_FORM_RATIO * SHEAR_RATIO * min(long**2 / 8.0, pressed_mm * long / 4.0) / thickness_mm
    return pressure_mpa * (by_bending + by_shear) / elastic_mpa


def spanning_wall_stress_mpa(
    *, pressure_mpa: float, span_mm: float, pressed_mm: float, thickness_mm: float
) -> float:  # fmt: skip
    """How hard a wall is pulled that is held on both sides of a hollow and pressed on a part of its span.

    Formula:  sigma = p (6 min(s (s + 2 t) / 8, b (s + t) / 4) / t^2 + 0.25 min(1, t / s)): its ends push no farther
              out than half of t from the hollow, as at the middle of long ends that are t wide
    Args:     pressure_mpa: p, >= 0.   span_mm: s, of the hollow, > 0.   pressed_mm: b, the length pressed, anywhere,
              >= 0.   thickness_mm: t, the least, > 0.
    Returns:  MPa, >= 0; no less than where its sides are built in, nor where they are long, slender and lean out.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    elastic, small bends; metal on both sides at least t wide.
    Source:   beam_identities, from memory and derived here.   Departs: ends that push beside the hollow.
    Checked:  tests/grip/test_bent_wall.py
    """
    zero_or_more(pressure_mpa=pressure_mpa, pressed_mm=pressed_mm)
    above_zero(span_mm=span_mm, thickness_mm=thickness_mm)
    moment = min(span_mm * (span_mm + 2.0 * thickness_mm) / 8.0, pressed_mm * (span_mm + thickness_mm) / 4.0)
    beside = EDGE_SPAN_RATIO * min(1.0, thickness_mm / span_mm)
    return pressure_mpa * (6.0 * moment / thickness_mm**2 + beside)


def bent_span_stress_mpa(*, bend_mm: float, span_mm: float, thickness_mm: float, elastic_mpa: float) -> float:
    """How hard a wall is pulled that is held on both sides of a hollow and whose middle has gone so far.

    Formula:  sigma = 16 E t d / s^2
    Args:     bend_mm: d, >= 0.   span_mm: s, > 0.   thickness_mm: t, > 0.   elastic_mpa: E, > 0.
    Returns:  MPa, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    elastic, bent as by an even pressure with both sides built in, which pulls more than with sides that turn.
    Source:   beam_identities, p s^4 / (384 E I) and p s^2 / 12, from memory and derived here.   Departs: nothing.
    Checked:  tests/grip/test_bent_wall.py
    """
    zero_or_more(bend_mm=bend_mm)
    above_zero(span_mm=span_mm, thickness_mm=thickness_mm, elastic_mpa=elastic_mpa)
    return 16.0 * elastic_mpa * thickness_mm * bend_mm / span_mm**2
