"""What the jaws touch: the bar's own faces or sawn ends, faces that show, and how far the work lifts as they close."""

from __future__ import annotations

import numpy as np

from proveout.geometry.frames import Frame
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Jaws, Vise
from proveout.model.work import Blank, Clamping

LIFT_MM = 0.02
"""A lift that is more than that shows as a step or a thick back. Common practice, no source."""


def raw_touch(blank: Blank, frame: Frame) -> str:
    """Which faces of the sawn blank the jaws close on, in words for the setup sheet."""
    axis = int(np.argmax(np.abs(np.array(frame.y))))
    return "its sawn ends" if axis == blank.length_axis else "the bar's own faces"


def lift_proof(vise: Vise) -> Proof:
    """How far the work lifts off its seat as a vise is closed; one for all its clampings."""
    lift = vise.lift_mm
    return prove(
        id=f"clampings:{vise.id}:lift", stage="clampings", subject=vise.id,
        claim="the work stays down on its seat as the jaws close", sense="at most",
        found_low=None if lift is None else lift.low, found_high=None if lift is None else lift.high, limit=LIFT_MM,
        unit="mm", blocks_release=False,
        basis=Basis(
            formula="lift of the work as the vise is closed, measured. Limit: common practice, no source",
            source="shop-file",
        ),
        decides=f"an indicator on the work as {vise.id} is closed to its torque: write lift_mm in the shop file; until "
        "then tap the work down and see that no paper strip slides under it",
        remedy="tap the work down as the vise is closed, or a vise that pulls down",
    )  # fmt: skip


def show_proof(
    clamping: Clamping, *, jaws: Jaws, show_faces: tuple[str, ...], is_blasted: bool
) -> Proof | None:  # fmt: skip
    """Whether the jaws mark a face that shows; None where they touch none."""
    touched = sorted(set(clamping.grip_faces) & set(show_faces))
    if not touched:
        return None
    is_spared = jaws.kind == "soft" and is_blasted
    why = f"{jaws.kind} jaws mark"
    if jaws.kind == "soft":
        why = "soft jaws, and the faces are blasted afterwards" if is_blasted else "what they mark is not blasted away"
    return prove(
        id=f"clampings:{clamping.id}:show faces", stage="clampings", subject="; ".join(touched[:4]),
        claim="faces that show are held by clean soft jaws alone, before they are blasted", sense="at least",
        found_low=1.0 if is_spared else 0.0, found_high=1.0 if is_spared else 0.0, limit=1.0, unit="yes = 1",
        blocks_release=False,
        basis=Basis(formula=f"{why}. Common practice, no source", source="workshop-practice"),
        remedy="soft jaws cut clean, wiped before each piece, or grip faces that do not show",
    )  # fmt: skip
