"""What is written at balloons beside sizes, from radii to states of edges: limits, and the solid against them."""

from __future__ import annotations

import math

import numpy as np

from proveout.model.coat_growth import growth_of
from proveout.model.fact import Strength, exact_fact
from proveout.model.job import Job, Size
from proveout.model.plan import SizeNote
from proveout.model.proof import Basis, Proof, prove
from proveout.model.size_text import Written
from proveout.model.solid import Face, Solid
from proveout.model.work import Survey
from proveout.quantities.coat import CoatedSize
from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import general_angle_deviation_rad, general_radius_deviation_mm
from proveout.stages.finishing.chamfers import judge_chamfer
from proveout.stages.finishing.features import Feature, faces_of_balloon
from proveout.stages.finishing.finished import Limits, tidy
from proveout.stages.finishing.proofs import STAGE, unclear
from proveout.stages.finishing.window_proofs import window_proofs
from proveout.stages.finishing.windows import make_window, window_before

MANNERS = ("radius", "angle", "chamfer", "texture", "edge")
GENERAL = "iso_2768_page"


def judge_note(
    size: Size, written: Written, job: Job, solid: Solid, survey: Survey, masked: frozenset[str], currency: str
) -> tuple[SizeNote | None, list[Proof]]:
    """The note and the proofs that go with it; no note where the text means nothing at its balloon.

    A radius under a coat has a window as sizes have.
    """
    ids = size.face_ids or faces_of_balloon(size.balloon, survey)
    faces = [solid.face(face_id) for face_id in ids if any(f.id == face_id for f in solid.faces)]
    if not faces:
        return None, [unclear(size, f"there is no balloon {size.balloon} on this solid: look at the numbered drawing")]
    if written.manner in ("texture", "edge"):
        return _kept(size, written, tuple(face.id for face in faces))
    if written.manner == "chamfer":
        return judge_chamfer(size, written, job, solid, survey, tuple(face.id for face in faces), masked)
    drawn = radius_mm(faces) if written.manner == "radius" else angle_deg(faces, solid, written.nominal_mm or 0.0)
    if drawn is None:
        kind = "round face" if written.manner == "radius" else "flat face that meets another"
        return None, [unclear(size, f"type {size.text} at a {kind}: balloon {size.balloon} is none")]
    found = _half(written, faces, job.general_tolerance)
    if isinstance(found, str):
        return None, [unclear(size, found)]
    half, source, strength = found
    source = size.origin if source == "job-file" else source
    nominal = written.nominal_mm or 0.0
    low, high = tidy(nominal - half), tidy(nominal + half)
    before: tuple[float, float] | None = (low, high)
    proofs = [_drawn_proof(size, drawn, nominal, half, "mm" if written.manner == "radius" else "°", source, strength)]
    if written.manner == "radius" and job.coat is not None and not set(ids) <= masked:
        limits = Limits(low_mm=low, high_mm=high, source=source, formula="radius ± what is written", strength=strength)
        feature = Feature(kind="length", size_mm=drawn, face_ids=tuple(ids), is_inside=faces[0].inward)
        before, judged = _before(size, feature, limits, job, currency)
        proofs.extend(judged)
    unit = "mm" if written.manner == "radius" else "°"
    note = SizeNote(
        balloon=size.balloon, mark=size.mark, text=size.text,
        kind="radius" if written.manner == "radius" else "angle", unit=unit, low=low, high=high,
        before_low=None if before is None else tidy(before[0]), before_high=None if before is None else tidy(before[1]),
        is_critical=size.is_critical, face_ids=tuple(face.id for face in faces),
    )  # fmt: skip
    return note, proofs


def _kept(size: Size, written: Written, face_ids: tuple[str, ...]) -> tuple[SizeNote, list[Proof]]:
    """Texture and edges are kept in words: nothing here foretells them."""
    is_texture = written.manner == "texture"
    note = SizeNote(
        balloon=size.balloon, mark=size.mark, text=size.text, kind="texture" if is_texture else "edge",
        unit="µm" if is_texture else "", low=None, high=written.nominal_mm if is_texture else None, before_low=None,
        before_high=None, is_critical=size.is_critical, face_ids=face_ids,
    )  # fmt: skip
    proof = prove(
        id=f"{STAGE}:{size.mark}:{note.kind}-is-as-written", stage=STAGE, subject=f"size {size.mark}",
        claim=f"what leaves the machine, and the coat, keep to {size.text}", sense="at most", found_low=None,
        found_high=None, limit=note.high, unit="µm" if is_texture else "mm", blocks_release=False,
        basis=Basis(formula="kept as written; measured, never reckoned", source="own-algorithm"),
        decides="measure it on the first piece" + (", before and after its coat" if is_texture else ""),
    )  # fmt: skip
    return note, [proof]


def radius_mm(faces: list[Face]) -> float | None:
    """The one radius that all the faces have, None where one has none or they differ."""
    found = set()
    for face in faces:
        surface = face.surface
        if surface.kind not in ("cylinder", "sphere", "torus"):
            return None
        found.add(round(surface.minor_radius_mm if surface.kind == "torus" else surface.radius_mm, 6))
    return found.pop() if len(found) == 1 else None


def angle_deg(faces: list[Face], solid: Solid, wanted_deg: float) -> float | None:
    """The angle between two flat faces that comes nearest to what is written, 0 to 180; None where there is none.

    Of one face the other is any flat one beside it; of more than two there is no one angle.
    """
    if any(face.surface.kind != "plane" for face in faces) or len(faces) > 2:
        return None
    found: list[float] = []
    if len(faces) == 2:
        turn = _turn_deg(*faces)
        return min((turn, 180.0 - turn), key=lambda angle: abs(angle - wanted_deg))
    (face,) = faces
    for edge in solid.edges:
        if face.index in edge.faces:
            for other in (solid.faces[i] for i in edge.faces if i != face.index):
                if other.surface.kind == "plane":
                    turn = _turn_deg(face, other)
                    found += [turn, 180.0 - turn, abs(90.0 - turn)]
    return min(found, key=lambda angle: abs(angle - wanted_deg), default=None)


def _turn_deg(one: Face, other: Face) -> float:
    return math.degrees(math.acos(float(np.clip(np.dot(one.normal, other.normal), -1.0, 1.0))))


def _half(written: Written, faces: list[Face], general: str | None) -> tuple[float, str, Strength] | str:
    """Half the distance of the limits, with its source, or what to write."""
    if written.high_deviation_mm > 0.0:
        return written.high_deviation_mm, "job-file", "owner's guess"
    if general is None:
        return "write limits for this radius or angle, or a general tolerance for the job"
    try:
        if written.manner == "radius":
            half = general_radius_deviation_mm(radius_mm=written.nominal_mm or 0.0, general_class=general)
            return half, GENERAL, "published as quoted"
        # the longest way across the face stands for the shorter leg: the longer it is the closer the limits
        leg = max(float(np.linalg.norm(np.subtract(face.high_mm, face.low_mm))) for face in faces)
        return (
            math.degrees(general_angle_deviation_rad(leg_mm=leg, general_class=general)),
            GENERAL,
            "published as quoted",
        )
    except OutOfRange as error:
        return f"write limits, such as R4 ±0.2: {error.what}, {error.value}"


def _before(
    size: Size, feature: Feature, limits: Limits, job: Job, currency: str
) -> tuple[tuple[float, float] | None, tuple[Proof, Proof]]:
    """The radii before the coat, None where what nobody said decides, and the proofs of their window."""
    assert job.coat is not None
    growth = growth_of(job.coat, depth_ratio=0.0)
    is_inside = feature.is_inside
    kind: CoatedSize = "one inside face" if is_inside else "one face"
    before = window_before(limits=limits, size=kind, growth=growth)
    window = make_window(size=size, feature=feature, limits=limits, before=before, is_thread=False)
    ends = (before.window.low_mm, before.window.high_mm) if before.is_decided else None
    return ends, window_proofs(window, limits, before, growth, currency)


def _drawn_proof(
    size: Size, drawn: float, nominal: float, half: float, unit: str, source: str, strength: Strength
) -> Proof:
    off = round(abs(drawn - nominal), 6)
    return prove(
        id=f"{STAGE}:{size.mark}:drawn-as-written", stage=STAGE, subject=f"size {size.mark}",
        claim=f"the solid's {drawn:.6g} {unit} lies within the limits written ({size.text})", sense="at most",
        found_low=off, found_high=off, limit=round(half, 6), unit="deg" if unit == "°" else unit, blocks_release=True,
        basis=Basis(
            formula="|solid - written| against what it may differ by",
            source="own-algorithm" if source in ("job-file", "step-file") else source,
            inputs={"may differ by": exact_fact(round(half, 6), unit, source, strength)},
        ),
        remedy="correct what is written or the balloon it stands at",
    )  # fmt: skip
