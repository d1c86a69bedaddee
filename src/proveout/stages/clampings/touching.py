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


def touch_proofs(
    clamping: Clamping, *, vise: Vise, jaws: Jaws, show_faces: tuple[str, ...], is_blasted: bool
) -> tuple[Proof, ...]:
    """Whether jaws mark a face that shows, and how far the work lifts off its seat as the moving jaw closes."""
    where = f"clamping {clamping.number}"
    lift = vise.lift_mm
    lifts = prove(
        id=f"clampings:{clamping.id}:lift", stage="clampings", subject=where,
        claim="the work stays down on its seat as the jaws close", sense="at most",
        found_low=None if lift is None else lift.low, found_high=None if lift is None else lift.high, limit=LIFT_MM,
        unit="mm", blocks_release=False,
        basis=Basis(
            formula=f"lift of the work as {vise.id} is closed, measured. Limit: common practice, no source",
            source="shop-file",
        ),
        decides=f"an indicator on the work as {vise.id} is closed to its torque: write lift_mm in the shop file; until "
        "then tap the work down and see that no paper strip slides under it",
        remedy="tap the work down as the vise is closed, or a vise that pulls down",
    )  # fmt: skip
    touched = sorted(set(clamping.grip_faces) & set(show_faces))
    if not touched:
        return (lifts,)
    is_spared = jaws.kind == "soft" and is_blasted
    why = (
        "soft jaws, and the faces are blasted afterwards"
        if is_spared
        else (
            "nothing is blasted afterwards: what the jaws mark stays"
            if jaws.kind == "soft"
            else f"{jaws.kind} jaws mark"
        )
    )
    shows = prove(
        id=f"clampings:{clamping.id}:show faces", stage="clampings", subject="; ".join(touched[:4]),
        claim="faces that show are held by clean soft jaws alone, before they are blasted", sense="at least",
        found_low=1.0 if is_spared else 0.0, found_high=1.0 if is_spared else 0.0, limit=1.0, unit="yes = 1",
        blocks_release=False,
        basis=Basis(formula=f"{why}. Common practice, no source", source="workshop-practice"),
        remedy="soft jaws cut clean, wiped before each piece, or grip faces that do not show",
    )  # fmt: skip
    return (lifts, shows)
