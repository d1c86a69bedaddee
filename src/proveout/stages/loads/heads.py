"""Cutters with a head on a neck: how far flank and faces of the head are off, and whether the neck bears its cuts."""

from __future__ import annotations

import math

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.cutting.deflection import ELASTIC_ENDS_MPA, FLUTED_DIAMETER_RATIO, GIVING_WAY_RATIO
from proveout.cutting.easing import tighten_cut
from proveout.cutting.stepped_beam import (
    ENDURED,
    NOTCH,
    HeadGive,
    beam_stresses_mpa,
    has_head,
    most_give_mm,
    parts_of,
)
from proveout.model.fact import Fact, exact_fact
from proveout.model.proof import Basis, Proof, Tighten, prove
from proveout.model.shop import Cutter
from proveout.model.work import Pass, Vector
from proveout.stages.loads.found import FoundPass, Told, move_at

Floats = NDArray[np.float64]
HEAD_KIND = "undercut"
"""Passes that cutters with a head make."""


class _Off(msgspec.Struct, frozen=True, kw_only=True):
    """A sized face that a pass finishes: how far off it may be, which move leaves it so, and what its size allows."""

    found: FoundPass
    face_id: str
    off_mm: float
    at: int
    limit_mm: float
    lean_ratio: float | None

    @property
    def asked(self) -> tuple[float, str, str]:
        """Weakest last."""
        return self.off_mm / self.limit_mm, self.found.load.pass_id, self.face_id


def head_proofs(
    told: Told, machine_id: str, mine: list[FoundPass], widths_mm: dict[str, float], normals: dict[str, Vector]
) -> list[Proof]:
    """Of one cutter on one machine: the error it leaves on sized faces, and its neck; nothing of one without a head.

    mine: its passes.   widths_mm: of the narrowest size on a face.   normals: of flat faces, in the part's frame.
    """
    mine = [found for found in mine if found.one.kind == HEAD_KIND and has_head(told.cutters[found.one.cutter_id])]
    if not mine:
        return []
    return [*_face_error(told, machine_id, mine, widths_mm, normals), _neck(told, machine_id, mine)]


def off_faces_mm(give: HeadGive, lean_ratio: float | None) -> Floats:
    """(k,) how far off a face is that a head leaves, square to it.

    Formula:  e = e_x sqrt(1 - c^2) + e_z |c|, e_x aside, e_z along, c the share of the face's normal along the axis;
              sqrt(e_x^2 + e_z^2) where the face has no one normal
    """
    if lean_ratio is None:
        return np.hypot(give.across_mm, give.along_mm)
    along = min(1.0, abs(lean_ratio))
    return np.asarray(give.across_mm * math.sqrt(1.0 - along * along) + give.along_mm * along)


def _face_error(
    told: Told, machine_id: str, mine: list[FoundPass], widths_mm: dict[str, float], normals: dict[str, Vector]
) -> list[Proof]:
    tried: list[_Off] = []
    for found in mine:
        if found.milled is None or found.moves is None or not len(found.milled.across_n):
            continue
        cutter = told.cutters[found.one.cutter_id]
        give = most_give_mm(cutter, across_n=found.milled.across_n, axial_n=found.milled.axial_n)
        axis = _axis(told, found.one)
        for face_id in found.one.face_ids:
            if face_id not in widths_mm:
                continue
            normal = normals.get(face_id)
            lean = None if normal is None else float(np.dot(axis, normal))
            off = off_faces_mm(give, lean)
            at = int(np.argmax(off))
            tried.append(
                _Off(
                    found=found, face_id=face_id, off_mm=float(off[at]), at=at, limit_mm=widths_mm[face_id] / 2.0,
                    lean_ratio=lean,
                )
            )  # fmt: skip
    if not tried:
        return []
    worst = max(tried, key=lambda one: one.asked)
    found, cutter = worst.found, told.cutters[worst.found.one.cutter_id]
    assert found.moves is not None
    reserve = worst.limit_mm / worst.off_mm if worst.off_mm > 0.0 else math.inf
    return [
        prove(
            id=f"loads:{machine_id}:{cutter.id}:face error", stage="loads", subject=found.load.pass_id,
            claim="bent and tilted by its hardest cut the head leaves no face farther off than half the narrowest "
            f"size on it allows; worst is the face {worst.face_id}", sense="at most",
            # which way it bends where it leaves the face nobody knows: along it, it leaves no error
            found_low=0.0, found_high=round(worst.off_mm, 6), limit=round(worst.limit_mm, 6), unit="mm",
            blocks_release=True, basis=_face_basis(told, worst),
            decides="measure this face on the first piece at both ends and in the middle of its height, or how far "
            "this cutter bends in its holder and spindle under a known push",
            remedy="a shorter stick-out, a thicker or shorter neck, or a carbide cutter",
            tighten=_ease(told, found, worst.at, reserve),
        )
    ]  # fmt: skip


def _neck(told: Told, machine_id: str, mine: list[FoundPass]) -> Proof:
    """The hardest stress along the beam, raised for notches and for turning round, against what the maker says."""
    tried = [(*_stress(told, found), found) for found in mine]
    stress, _, _, worst = max(tried, key=lambda t: (t[0], t[3].load.pass_id))
    _, at, height, _ = next(t for t in tried if t[3] is worst)
    cutter = told.cutters[worst.one.cutter_id]
    most = stress * NOTCH.high / ENDURED.low
    strength = cutter.bending_strength_mpa
    # what is sure is the torque alone, on a bar without a notch
    twist = 16.0 * worst.least_torque_n_mm / (math.pi * _thinnest_mm(cutter) ** 3)
    least = twist * NOTCH.low / ENDURED.high
    if strength is not None:
        least *= strength.low / strength.high
    limit = None if strength is None else strength.low
    reserve = math.inf if limit is None or most <= 0.0 else limit / most
    return prove(
        id=f"loads:{machine_id}:{cutter.id}:neck", stage="loads", subject=worst.load.pass_id,
        claim="the neck of this cutter bears bending and torsion of its hardest cut, turn by turn", sense="at most",
        found_low=round(least, 3), found_high=round(most, 3), limit=None if limit is None else round(limit, 3),
        unit="MPa", blocks_release=True,
        basis=Basis(
            formula="S = n / e sqrt(s^2 + 4 t^2), s = 32 (F z + F_a R) / (pi d^3) + 4 F_a / (pi d^2), "
            "t = 16 T / (pi d^3), at the hardest height z over the tip, d the diameter there, of the head 0.80 of its "
            "own; low end by T that is sure alone. Chips that are cut again and a cutter that catches are not in it",
            source="beam_identities", inputs=_neck_inputs(told, worst, at, height),
            move=None if at is None else move_at(worst, at),
        ),
        decides="the bending strength of what this cutter is made of, from its maker, as bending_strength in the shop "
        "file" if strength is None else "from its maker how much push this neck bears at this stick-out",
        remedy="a thicker or shorter neck, or less engagement",
        tighten=_ease(told, worst, at, reserve),
    )  # fmt: skip


def _stress(told: Told, found: FoundPass) -> tuple[float, int | None, float]:
    """The hardest stress of a pass, its move and the height; of a pass without measured moves, as a whole."""
    cutter, milled = told.cutters[found.one.cutter_id], found.milled
    is_whole = milled is None or found.moves is None
    if is_whole or milled is None:
        load = found.load
        across, axial, torque = (np.array([v]) for v in (load.plane_n, load.axial_n, load.torque_n_mm))
    else:
        across, axial, torque = milled.across_n, milled.axial_n, milled.torque_n_mm
    if not len(across):
        return 0.0, None, 0.0
    stress, height = beam_stresses_mpa(
        parts=parts_of(cutter), across_n=across, axial_n=axial, torque_n_mm=torque, radius_mm=cutter.diameter_mm / 2.0
    )
    at = int(np.argmax(stress))
    return float(stress[at]), None if is_whole else at, float(height[at])


def _thinnest_mm(cutter: Cutter) -> float:
    return min(min(one.d_low_mm, one.d_high_mm) for one in parts_of(cutter))


def _axis(told: Told, one: Pass) -> Floats:
    """The cutter's axis in the part's frame."""
    tilt = next(t for t in told.clampings[one.clamping_id].tilts if t.id == one.tilt_id)
    return np.array(tilt.frame.z)


def _ease(told: Told, found: FoundPass, at: int | None, reserve: float) -> Tighten | None:
    load = found.load
    if at is not None and found.moves is not None:
        loads = found.moves.loads
        if loads.radial_mm[at] > 0.0 and loads.axial_mm[at] > 0.0:
            load = msgspec.structs.replace(
                load, radial_mm=float(loads.radial_mm[at]), axial_mm=float(loads.axial_mm[at])
            )
    cutter = told.cutters[found.one.cutter_id]
    return tighten_cut(load, reserve, found.one, cutter.diameter_mm, told.limits)


def _forces(found: FoundPass, at: int | None) -> dict[str, Fact]:
    """What pushes at a move, or at the pass as a whole."""
    load, milled = found.load, found.milled
    if at is None or milled is None:
        across, axial, torque = load.plane_n, load.axial_n, load.torque_n_mm
    else:
        across, axial, torque = (float(v[at]) for v in (milled.across_n, milled.axial_n, milled.torque_n_mm))
    least = min(found.least_torque_n_mm, torque)

    def upto(low: float, high: float, unit: str) -> Fact:
        return Fact(low=low, nominal=(low + high) / 2.0, high=high, unit=unit, source="load-bound", strength="assumed")

    return {
        "F, across": upto(0.0, across, "N"), "F_a, along, at the rim": upto(0.0, axial, "N"),
        "T": upto(least, torque, "N mm"),
    }  # fmt: skip


def _sizes(cutter: Cutter) -> dict[str, Fact]:
    sizes = {
        "L, out of the holder": cutter.stick_out_mm, "2 R, of the head": cutter.diameter_mm,
        "height of the head": cutter.flute_length_mm, "diameter of the shank": cutter.shank_diameter_mm,
    }  # fmt: skip
    if cutter.neck_diameter_mm is not None and cutter.neck_length_mm is not None:
        sizes |= {"diameter of the neck": cutter.neck_diameter_mm, "length of the neck": cutter.neck_length_mm}
    told = {name: exact_fact(value, "mm", "shop-file", "owner's guess") for name, value in sizes.items()}
    if cutter.kind == "undercut":
        told["flank to the axis"] = exact_fact(round(cutter.tip_angle_rad, 9), "rad", "shop-file", "owner's guess")
    told["head as stiff as of its diameter"] = exact_fact(
        FLUTED_DIAMETER_RATIO, "ratio", "end_mill_compliance", "published and seen"
    )
    return told


def _face_basis(told: Told, worst: _Off) -> Basis:
    cutter = told.cutters[worst.found.one.cutter_id]
    soft, stiff = ELASTIC_ENDS_MPA[cutter.made_of]
    lean = {} if worst.lean_ratio is None else {
        "c, share of the face's normal along the axis": exact_fact(
            round(worst.lean_ratio, 6), "ratio", "own-algorithm", "assumed"
        )
    }  # fmt: skip
    forces = _forces(worst.found, worst.at)
    forces.pop("T")
    return Basis(
        formula="e = e_x sqrt(1 - c^2) + e_z |c|, and sqrt(e_x^2 + e_z^2) of a face without one normal; e_x = F J_2 + "
        "F_a R J_1 aside, e_z = R (F J_1 + F_a R J_0) along at the rim, with what F_a stretches; J_n = 64 / (pi E) "
        "integral of z^n / d^4 from the tip to the holder; up to three times that, as holder and spindle give way too",
        source="beam_identities",
        inputs={
            **forces, **lean, **_sizes(cutter),
            "E": Fact(
                low=soft, nominal=(soft + stiff) / 2.0, high=stiff, unit="MPa", source="carbide_elasticity",
                strength="from memory",
            ),
            "giving way": Fact(
                low=1.0, nominal=2.0, high=GIVING_WAY_RATIO, unit="ratio", source="workshop-practice",
                strength="common practice",
            ),
        },
        move=move_at(worst.found, worst.at),
    )  # fmt: skip


def _neck_inputs(told: Told, worst: FoundPass, at: int | None, height_mm: float) -> dict[str, Fact]:
    cutter = told.cutters[worst.one.cutter_id]
    told_strength = {} if cutter.bending_strength_mpa is None else {"bending strength": cutter.bending_strength_mpa}
    return {
        **_forces(worst, at), **_sizes(cutter),
        "z, over the tip": exact_fact(round(height_mm, 4), "mm", "own-algorithm", "assumed"),
        "n, of fillets nobody measured": NOTCH, "e, endured turn by turn": ENDURED, **told_strength,
    }  # fmt: skip
