"""The end mills: fewest that finish every wall and floor, the largest first."""

from __future__ import annotations

from itertools import combinations

from proveout.model.shop import Cutter
from proveout.stages.cutters.needs import SAME_MM, Need

ROUGH_MAX_MM = 16.0
"""Roughing takes the largest end mill up to this diameter."""
TRY_MAX = 12
SLIM_MM = 0.1
"""A shank this much thinner than the cutter clears the wall that the cutter has finished."""


def reaches(cutter: Cutter, need: Need) -> bool:
    """Stick-out covers the depth from the part's top; a full shank must not follow the flutes along the wall."""
    slim = cutter.shank_diameter_mm <= cutter.diameter_mm - SLIM_MM + 1e-9
    return cutter.stick_out_mm >= need.depth_mm - SAME_MM and (slim or cutter.flute_length_mm >= need.tall_mm - SAME_MM)


def able(need: Need, mills: list[Cutter]) -> tuple[list[Cutter], str]:
    """The end mills that can finish a face, best rule first, with the words for it."""
    near = [c for c in mills if reaches(c, need)]
    far = [c for c in mills if c.diameter_mm / 2.0 <= need.widest_mm + SAME_MM]
    good = [c for c in near if c.diameter_mm / 2.0 <= need.radius_mm + SAME_MM]
    if good:
        return good, "radius at most 0.8 of the inside corner, stick-out and flutes cover the depth"
    tight = [c for c in near if c.diameter_mm / 2.0 <= need.widest_mm + SAME_MM]
    if tight:
        return tight, "nothing in the shop is at most 0.8 of the inside corner: this one just enters it"
    short = [c for c in far if c.stick_out_mm >= 0.0]
    if short:
        most = max(min(c.stick_out_mm, 1e9) for c in short)
        return [c for c in short if c.stick_out_mm == most], (
            f"no cutter that fits reaches {need.depth_mm:.2f} mm below the part's top: the longest was taken"
        )
    return [], f"no end mill of the shop enters an inside corner or gap of {2.0 * need.widest_mm:.2f} mm"


def fewest(needs: list[tuple[Need, list[Cutter]]], given: list[Cutter]) -> list[Cutter]:
    """The smallest set of end mills, beside those already in use, with one able cutter for every face.

    Ties go to the set with the largest diameters, then by id.
    """
    free = {c.id for c in given}
    open_needs = [
        {c.id for c in able_ones} for _, able_ones in needs if able_ones and not free & {c.id for c in able_ones}
    ]
    if not open_needs:
        return []
    pool = {c.id: c for _, able_ones in needs for c in able_ones}
    useful = sorted({i for ids in open_needs for i in ids}, key=lambda i: (-pool[i].diameter_mm, i))
    useful = _undominated(useful, open_needs)[:TRY_MAX]
    for count in range(1, len(useful) + 1):
        fits = [s for s in combinations(useful, count) if all(ids & set(s) for ids in open_needs)]
        if fits:
            best = min(fits, key=lambda s: (-sum(pool[i].diameter_mm for i in s), s))
            return [pool[i] for i in best]
    return [pool[i] for i in useful]


def _undominated(useful: list[str], open_needs: list[set[str]]) -> list[str]:
    """Leaves out a cutter when a larger one serves the same faces and more."""
    served = {i: frozenset(k for k, ids in enumerate(open_needs) if i in ids) for i in useful}
    kept: list[str] = []
    for i in useful:
        if not any(served[i] <= served[j] for j in kept):
            kept.append(i)
    return kept


def rougher(mills: list[Cutter], *, depth_mm: float, room_mm: float) -> Cutter | None:
    """The largest end mill up to Ø16 whose stick-out covers the depth (else the longest), within the room."""
    fit = [c for c in mills if c.diameter_mm <= min(ROUGH_MAX_MM, room_mm)]
    if not fit:
        return min(mills, key=lambda c: (c.diameter_mm, c.id)) if mills else None
    deep = [c for c in fit if c.stick_out_mm >= depth_mm]
    if deep:
        return max(deep, key=lambda c: (c.diameter_mm, c.flute_length_mm, c.id))
    return max(fit, key=lambda c: (c.stick_out_mm, c.diameter_mm, c.id))
