"""What must be true of a clamping's tilts on its machine: both rotary axes reach them, and their centre is measured."""

from __future__ import annotations

from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Machine, Rotary
from proveout.model.work import Clamping, Tilt
from proveout.quantities.units import deg_from_rad


def tilt_proofs(clamping: Clamping, machine: Machine) -> list[Proof]:
    """Nothing for a clamping that only looks straight down; else range of A, of C, and the rotation centre."""
    tilted = [t for t in clamping.tilts if t.a_rad != 0.0]
    if not tilted:
        return []
    where, rotary = f"clamping {clamping.number}", machine.rotary
    known = rotary is not None and rotary.pivot_in_machine_mm is not None and rotary.pivot_error_mm is not None
    found = 1.0 if known else None
    return [
        *_ranges(clamping, tilted, rotary, where),
        prove(
            id=f"clampings:{clamping.id}:pivot", stage="clampings", subject=where,
            claim="the rotation centre has been measured", sense="at least", found_low=found, found_high=found,
            limit=1.0, unit="yes = 1", blocks_release=True,
            basis=Basis(formula="the rotation centre has been measured", source="shop-file"),
            decides="measure the rotation centre of the machine and write it into the shop file",
            remedy="measure the rotation centre",
        ),
    ]  # fmt: skip


def _ranges(clamping: Clamping, tilted: list[Tilt], rotary: Rotary | None, where: str) -> list[Proof]:
    """Every A against both ends of its axis, and every C against its own where that axis has ends."""
    if rotary is None:
        return [_range(clamping, "A", [t.a_rad for t in tilted], (0.0, 0.0), where)]
    proofs = [_range(clamping, "A", [t.a_rad for t in tilted], (rotary.a_low_rad, rotary.a_high_rad), where)]
    turned = [t.c_rad for t in tilted]
    if not rotary.c_is_continuous and any(turned):
        proofs.append(_range(clamping, "C", turned, (rotary.c_low_rad, rotary.c_high_rad), where))
    return proofs


def _range(
    clamping: Clamping, axis: str, angles_rad: list[float], ends_rad: tuple[float | None, float | None], where: str
) -> Proof:
    """The room that the worst angle leaves to the nearer end of a rotary axis, below zero beyond it."""
    low, high = deg_from_rad(min(angles_rad)), deg_from_rad(max(angles_rad))
    first, last = (None if end is None else deg_from_rad(end) for end in ends_rad)
    room = None if first is None or last is None else round(min(last - high, low - first), 6) + 0.0
    ends = "ends that nobody wrote down" if room is None else f"its ends {first:g} and {last:g}"
    return prove(
        id=f"clampings:{clamping.id}:range of {axis}", stage="clampings", subject=where,
        claim=f"every tilt lies within the {axis} axis, from both of its ends", sense="at least", found_low=room,
        found_high=room, limit=0.0, unit="deg", blocks_release=True,
        basis=Basis(
            formula=f"least room from {axis} {low:.3f} to {high:.3f} deg to {ends}; {axis} counts as the work turns "
            f"about machine +{'X' if axis == 'A' else 'Z'} by the right-hand rule",
            source="shop-file",
        ),
        decides=f"how far {axis} turns either way: write {axis.lower()}_low_deg and {axis.lower()}_high_deg in the "
        "shop file",
        remedy="use another way up or another machine",
    )  # fmt: skip
