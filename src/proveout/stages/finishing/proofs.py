"""The proofs of finishing, each with what a reader needs to redo it by hand."""

from __future__ import annotations

from proveout.model.fact import Fact, exact_fact
from proveout.model.job import Coat, Size
from proveout.model.plan import Window
from proveout.model.proof import Basis, Proof, prove
from proveout.model.target import Target
from proveout.stages.finishing.features import Feature
from proveout.stages.finishing.finished import Limits

STAGE = "finishing"
# half of what the removal check lets a cut go below the target
MESH_ERROR_MM = 0.005


def unclear(size: Size, do: str) -> Proof:
    """Not shown, as text or balloon means nothing on this solid; `do` tells the owner what to write."""
    return prove(
        id=f"{STAGE}:{size.mark}:size-is-understood",
        stage=STAGE,
        subject=f"size {size.mark}",
        claim=f"what is written at {size.balloon} ({size.text}) can be measured on the solid",
        sense="at least",
        found_low=None,
        found_high=None,
        limit=None,
        unit="mm",
        blocks_release=True,
        basis=Basis(formula="text and balloon compared with the faces of the solid", source="own-algorithm"),
        decides=do,
    )


def key_of(limits: Limits) -> str:
    """Key of the table the limits come from; limits typed in the job or in the STEP file need none but our own sum."""
    return "own-algorithm" if limits.source in ("job-file", "step-file") else limits.source


def drawn_proof(window: Window, feature: Feature, limits: Limits) -> Proof:
    """What is drawn must lie within what is written, else one of them is wrong."""
    middle = 0.5 * (window.finished_low_mm + window.finished_high_mm)
    off = round(abs(feature.size_mm - middle), 6)
    return prove(
        id=f"{STAGE}:{window.mark}:drawn-as-written",
        stage=STAGE,
        subject=f"size {window.mark}",
        claim=f"the solid's {feature.size_mm:g} mm lies within the limits written ({window.text})",
        sense="at most",
        found_low=off,
        found_high=off,
        limit=round(0.5 * (window.finished_high_mm - window.finished_low_mm), 6),
        unit="mm",
        blocks_release=True,
        basis=Basis(
            formula="|solid - middle of the finished limits| against half their distance",
            source=key_of(limits),
            inputs={
                "solid": exact_fact(feature.size_mm, "mm", "solid-model", "assumed"),
                "middle": exact_fact(round(middle, 6), "mm", limits.source, limits.strength),
            },
        ),
        remedy="correct the size written or the balloon it stands at",
    )


def target_proof(window: Window, feature: Feature, offsets: dict[str, float]) -> Proof:
    """The target lies in the window: two sizes may share a face and pull it both ways."""
    made = made_mm(offsets, feature)
    off = round(abs(made - 0.5 * (window.before_low_mm + window.before_high_mm)), 6)
    found = off if window.is_decided else None
    return prove(
        id=f"{STAGE}:{window.mark}:target-in-window",
        stage=STAGE,
        subject=f"size {window.mark}",
        claim=f"the size to machine to, {made:.4f} mm, lies within its window before the coat",
        sense="at most",
        found_low=found,
        found_high=found,
        limit=round(0.5 * window.width_mm, 6),
        unit="mm",
        blocks_release=True,
        basis=Basis(
            formula="|target - middle of the window| against half its width",
            source="own-algorithm",
            inputs={
                "target": exact_fact(round(made, 6), "mm", "own-algorithm", "assumed"),
                **window_inputs(window),
            },
        ),
        decides="" if window.is_decided else "ask the finisher what he takes off and puts on: the window is not known",
        remedy="open the window, or free the size from the other one that shares a face with it",
    )


def window_inputs(window: Window) -> dict[str, Fact]:
    """Both ends of a window before the coat; nothing where nobody knows them."""
    if not window.is_decided:
        return {}
    return {
        "before low": exact_fact(window.before_low_mm, "mm", "own-algorithm", "assumed"),
        "before high": exact_fact(window.before_high_mm, "mm", "own-algorithm", "assumed"),
    }


def made_mm(offsets: dict[str, float], feature: Feature) -> float:
    """The size that the target gives: a diameter changes by twice the offset, a length by that of both faces.

    A step changes by the difference of both.
    """
    if feature.kind == "length":
        first, second = (offsets[face_id] for face_id in feature.face_ids)
        taken = second - first if feature.is_step else first + second
    else:
        taken = 2.0 * offsets[feature.face_ids[0]]
    return feature.size_mm + taken if feature.is_inside else feature.size_mm - taken


def mesh_proof(target: Target, errors_mm: tuple[float, ...]) -> Proof:
    """Every later check speaks of this mesh: it must lie where the offsets want it. errors_mm: by face, >= 0."""
    worst = max(errors_mm, default=0.0)
    bad = [face_id for face_id, error in zip(target.face_ids, errors_mm, strict=True) if error > MESH_ERROR_MM]
    return prove(
        id=f"{STAGE}:target:mesh-follows-the-offsets",
        stage=STAGE,
        subject="target",
        claim="every face of the target lies where its offset wants it"
        + (f"; off: {', '.join(bad[:3])}" + (f" and {len(bad) - 3} more" if len(bad) > 3 else "") if bad else ""),
        sense="at most",
        found_low=round(worst, 9),
        found_high=round(worst, 9),
        limit=MESH_ERROR_MM,
        unit="mm",
        blocks_release=True,
        basis=Basis(
            formula="worst |move along the normal - offset| over the corners of a face", source="own-algorithm"
        ),
        remedy="give faces that run smoothly into each other the same offset: mask both or neither",
    )


def edge_proof(coat: Coat, edge_break_mm: float | None) -> Proof:
    """Edges round enough for the coat."""
    return prove(
        id=f"{STAGE}:edges:round-enough-for-the-coat",
        stage=STAGE,
        subject="edges",
        claim="edges are broken by at least ten times the coat, so that it does not burn or chip there",
        sense="at least",
        found_low=edge_break_mm,
        found_high=edge_break_mm,
        limit=round(10.0 * coat.thickness_mm.nominal, 6),
        unit="mm",
        blocks_release=False,
        basis=Basis(
            formula="edge radius >= 10 t", source="iso_10074_text", inputs={"coat thickness": coat.thickness_mm}
        ),
        decides="say how far edges are broken" if edge_break_mm is None else "",
        remedy=f"break edges by {10.0 * coat.thickness_mm.nominal:g} mm",
    )
