"""Decide the target: how far inside the finished solid every face is to be machined, and within which windows."""

from __future__ import annotations

import msgspec
import numpy as np

from proveout.geometry.mesh import mesh_volume_mm3
from proveout.geometry.target_mesh import offset_errors_mm, target_vertices
from proveout.model.coat_growth import growth_of
from proveout.model.coat_way import CoatPrices
from proveout.model.job import Coat, Job, Size
from proveout.model.plan import Finishing, SizeNote, Window
from proveout.model.proof import Decision, Proof
from proveout.model.size_text import Written, read_size, without_mask
from proveout.model.solid import Solid
from proveout.model.target import CUSP_MM, AsBought, Target
from proveout.model.work import Survey
from proveout.stages.finishing.bought import as_bought, bought_faces
from proveout.stages.finishing.features import (
    Feature,
    NotFound,
    depth_ratio,
    drilled_length_mm,
    faces_of_balloon,
    find_feature,
    hole_of_balloon,
    is_whole_hole,
)
from proveout.stages.finishing.finished import ThreadLimits, finished_limits, tapping_mm, thread_limits
from proveout.stages.finishing.notes import MANNERS, judge_note
from proveout.stages.finishing.openings import plug_words, side_openings
from proveout.stages.finishing.proofs import drawn_proof, edge_proof, made_mm, mesh_proof, target_proof, unclear
from proveout.stages.finishing.thread_proofs import length_proof, thread_gauges, thread_proof
from proveout.stages.finishing.ways import ways_out
from proveout.stages.finishing.window_proofs import window_proofs
from proveout.stages.finishing.windows import HELD_WIDTH_MM, coated_size, make_window, window_before

NO_PRICES = CoatPrices()


class FinishingResult(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """The finishing with its windows, the target that every cutting stage works to, and what nobody cuts."""

    finishing: Finishing
    target: Target
    bought: AsBought


def decide(*, solid: Solid, survey: Survey, job: Job, prices: CoatPrices = NO_PRICES) -> Decision[FinishingResult]:
    """Offsets of all faces, windows of the written sizes, plugs, coated area, and the target mesh.

    Every face that takes the coat lies inside the finished solid by the mid build-up; the faces of a written size lie
    in the middle of its window; a masked face without a size stays where it is, and so does one that is left as bought.
    prices: what the ways out of a window without room cost.
    """
    masked = _masked_faces(job, solid, survey)
    bought = bought_faces(job, solid)
    middle = _middle_build_up_mm(job.coat)
    offsets = {face.id: 0.0 if face.id in masked | bought else middle for face in solid.faces}
    windows: list[Window] = []
    notes: list[SizeNote] = []
    proofs: list[Proof] = []
    features: list[Feature] = []
    for size in sorted(job.sizes, key=lambda s: (s.balloon, s.letter, s.text)):
        written = read_size(size.text)
        if written.manner == "mask":
            proofs.extend(_mask_proofs(size, survey))
            continue
        if written.manner in MANNERS:
            note, told = judge_note(size, written, job, solid, survey, masked, prices.currency)
            notes += [note] if note is not None else []
            proofs.extend(told)
            continue
        feature = _feature_of(size, job, solid, survey)
        if isinstance(feature, Feature) and feature.kind != "length":
            twice = next((w for w, f in zip(windows, features, strict=True) if f.face_ids == feature.face_ids), None)
            if twice is not None:
                feature = NotFound(do=f"size {twice.mark} ({twice.text}) stands for the same Ø{feature.size_mm:g}")
        window, feature, found = _judge_size(size, written, feature, job, masked, survey, prices)
        proofs.extend(found)
        if window is not None and feature is not None:
            windows.append(window)
            features.append(feature)
            if window.kind != "thread":
                _centre(offsets, window, feature, bought)
    proofs.extend(_lost_masks(job, survey))
    proofs.extend(target_proof(w, f, offsets) for w, f in zip(windows, features, strict=True) if w.kind != "thread")
    if job.coat is not None:
        proofs.append(edge_proof(job.coat, job.edge_break_mm))
    finishing = Finishing(
        offset_mm={face_id: round(offsets[face_id], 9) for face_id in sorted(offsets)},
        windows=tuple(windows),
        coated_area_mm2=_coated_area_mm2(solid, job, masked),
        plugs=_plugs(job, solid, survey, masked),
        notes=tuple(notes),
        coated_faces=()
        if job.coat is None
        else tuple(sorted(face.id for face in solid.faces if face.id not in masked)),
    )
    target = _target(solid, finishing, job.cusp_mm)
    proofs.append(mesh_proof(target, _errors_mm(solid, target)))
    bought_sides = as_bought(job, solid, masked, windows)
    return Decision(
        value=FinishingResult(finishing=finishing, target=target, bought=bought_sides), proofs=tuple(proofs)
    )


def _errors_mm(solid: Solid, target: Target) -> tuple[float, ...]:
    found = offset_errors_mm(
        vertices_mm=solid.vertices_mm,
        moved_mm=target.vertices_mm,
        triangles=solid.triangles,
        triangle_face=solid.triangle_face,
        face_offset_mm=target.face_offset_mm,
    )
    return tuple(float(value) for value in found)


def _middle_build_up_mm(coat: Coat | None) -> float:
    """Where the machined surface lies inside the coated one, at the nominal of all; no etch where nobody said."""
    return 0.0 if coat is None else growth_of(coat, depth_ratio=0.0).middle_mm


def _feature_of(size: Size, job: Job, solid: Solid, survey: Survey) -> Feature | NotFound:
    """What one size measures; of several sizes at one hole each has its own diameter."""
    written = read_size(size.text)
    wanted = tapping_mm(written) if written.manner == "thread" else written.nominal_mm
    hole = hole_of_balloon(size.balloon, survey)
    diameters = {step.diameter_mm for step in hole.steps if step.kind == "cylinder"} if hole is not None else set()
    if wanted is None and written.manner != "thread" and not _is_alone(size, job) and len(diameters) > 1:
        named = ", ".join(f"Ø{diameter:g}" for diameter in sorted(diameters))
        return NotFound(do=f"write the diameter before {size.text}: the hole has {named}")
    return find_feature(size=size, wanted_mm=wanted, solid=solid, survey=survey, is_deep=written.is_deep)


def _is_alone(size: Size, job: Job) -> bool:
    return sum(other.balloon == size.balloon for other in job.sizes) == 1


def _masked_faces(job: Job, solid: Solid, survey: Survey) -> frozenset[str]:
    """Faces that take no coat: under a masked balloon or a size that says so.

    Of several sizes at one hole a masked one bares its own cylinder alone, and all together bare the whole hole.
    """
    masked: set[str] = set()
    for balloon in job.masked_balloons:
        masked.update(faces_of_balloon(balloon, survey))
    for size in job.sizes:
        if not _is_masked(size):
            continue
        feature = _feature_of(size, job, solid, survey)
        own = [other for other in job.sizes if other.balloon == size.balloon]
        if all(_is_masked(other) for other in own) or not (isinstance(feature, Feature) and feature.hole):
            masked.update(size.face_ids or faces_of_balloon(size.balloon, survey))
        else:
            masked.update(feature.face_ids)
    for hole in survey.holes:
        if all(face_id in masked for step in hole.steps for face_id in step.face_ids):
            # a plug also keeps the coat off shoulders and bottoms between the steps
            masked |= survey.faces_within(hole)
    return frozenset(masked)


def _is_masked(size: Size) -> bool:
    return size.is_masked or read_size(size.text).is_masked


def _judge_size(
    size: Size, written: Written, feature: Feature | NotFound, job: Job, masked: frozenset[str], survey: Survey,
    prices: CoatPrices,
) -> tuple[Window | None, Feature | None, list[Proof]]:  # fmt: skip
    """Window, feature and proofs of one size; no window when the text or the balloon means nothing here."""
    if written.manner == "unknown":
        return (
            None,
            None,
            [unclear(size, f"write {size.text!r} as H8, 20 +0.05/-0.02, 20 ±0.05, M6 6H, R4 ±0.2, 2 x 45° or mask")],
        )
    is_thread = written.manner == "thread"
    if isinstance(feature, NotFound):
        return None, None, [unclear(size, feature.do)]
    is_masked = all(face_id in masked for face_id in feature.face_ids)
    is_thread_coated = is_thread and job.coat is not None and not is_masked
    limits = finished_limits(
        written=written, feature=feature, general_tolerance=job.general_tolerance, is_coated=is_thread_coated
    )
    if isinstance(limits, str):
        return None, None, [unclear(size, limits)]
    if limits.source == "job-file" and size.origin != "job-file":
        limits = msgspec.structs.replace(limits, source=size.origin)
    coated = (not is_masked, not is_masked)
    if feature.kind == "length":
        coated = (feature.face_ids[0] not in masked, feature.face_ids[1] not in masked)
    growth = None if job.coat is None else growth_of(job.coat, depth_ratio=depth_ratio(feature, survey))
    sized = coated_size(feature, coated=coated, is_thread=is_thread)
    before = window_before(limits=limits, size=sized, growth=growth)
    window = make_window(size=size, feature=feature, limits=limits, before=before, is_thread=is_thread)
    window = msgspec.structs.replace(window, is_masked=is_masked)
    found = thread_limits(written, is_coated=is_thread_coated) if is_thread else None
    thread = found if isinstance(found, ThreadLimits) else None
    is_coated = before.size is not None
    if thread is not None and is_coated and before.is_decided:
        window = msgspec.structs.replace(window, gauges=thread_gauges(window, is_inside=feature.is_inside))
    if growth is not None and is_coated and (before.worst_width_mm < HELD_WIDTH_MM or is_thread):
        ways = ways_out(
            window=window, before=before, growth=growth, is_inside=feature.is_inside,
            is_whole=is_whole_hole(feature, survey), thread=thread, prices=prices,
        )  # fmt: skip
        window = msgspec.structs.replace(window, ways_out=ways)
    proofs = [*window_proofs(window, limits, before, growth, prices.currency)]
    if thread is not None:
        proofs.append(thread_proof(window, growth if is_coated else None, thread, written.tap_limit, prices.currency))
        drilled = drilled_length_mm(feature, survey) if feature.is_inside else None
        proofs += [] if drilled is None else [length_proof(window, thread, drilled[0], is_through=drilled[1])]
    else:
        proofs.append(drawn_proof(window, feature, limits))
    return window, feature, proofs


def _mask_proofs(size: Size, survey: Survey) -> list[Proof]:
    if size.face_ids or faces_of_balloon(size.balloon, survey):
        return []
    return [unclear(size, f"there is no balloon {size.balloon} on this solid: look at the numbered drawing")]


def _lost_masks(job: Job, survey: Survey) -> list[Proof]:
    """Masked numbers without a size that stand for nothing: what they masked would be coated unseen."""
    written = {size.balloon for size in job.sizes}
    lost = [n for n in job.masked_balloons if n not in written and not faces_of_balloon(n, survey)]
    return [proof for n in lost for proof in _mask_proofs(Size(balloon=n, text="mask"), survey)]


def _centre(offsets: dict[str, float], window: Window, feature: Feature, bought: frozenset[str]) -> None:
    """Shift the faces of a size alike so that it comes out in the middle of its window; what nobody cuts stays.

    Of a step the lower face alone is moved: others may hang on the upper one.
    """
    share = _shortfall_mm(offsets, window, feature)
    moved = feature.face_ids[1:] if feature.is_step else feature.face_ids
    cut = [face_id for face_id in moved if face_id not in bought]
    for face_id in cut:
        offsets[face_id] += share / len(cut) if feature.kind == "length" else share


def _shortfall_mm(offsets: dict[str, float], window: Window, feature: Feature) -> float:
    """How much farther into the metal the faces must go: per face of a cylinder, together for a length."""
    gap = 0.5 * (window.before_low_mm + window.before_high_mm) - made_mm(offsets, feature)
    inward = gap if feature.is_inside else -gap
    return inward if feature.kind == "length" else 0.5 * inward


def _coated_area_mm2(solid: Solid, job: Job, masked: frozenset[str]) -> float:
    if job.coat is None:
        return 0.0
    return round(sum(face.area_mm2 for face in solid.faces if face.id not in masked), 3)


def _plugs(job: Job, solid: Solid, survey: Survey, masked: frozenset[str]) -> tuple[str, ...]:
    """One line a masked hole or face, and one for each size of a hole that has several; only a coat needs them.

    What opens into a plugged hole from its side stands on the first line of the hole.
    """
    if job.coat is None:
        return ()
    lines: list[str] = []
    for hole in survey.holes:
        if all(face_id in masked for step in hole.steps for face_id in step.face_ids):
            texts = [without_mask(size.text) for size in job.sizes if size.balloon == hole.balloon]
            whats = [text for text in texts if text] or [f"Ø{max(s.diameter_mm for s in hole.steps):g}"]
            end = "through" if hole.is_through else "blind"
            also = plug_words(side_openings(hole, solid=solid, survey=survey, masked=masked))
            lines.extend(f"{hole.balloon}: {what}, {end}: plug{'' if n else also}" for n, what in enumerate(whats))
    in_holes = {face_id for hole in survey.holes for face_id in survey.faces_within(hole)}
    notes = sorted((n for n in survey.faces if n.face_id in masked - in_holes), key=lambda n: (n.balloon, n.face_id))
    lines.extend(f"{note.balloon}: {note.kind} face {note.face_id}: mask" for note in notes)
    for hole in survey.holes:
        ids = {face_id for step in hole.steps for face_id in step.face_ids}
        if ids & masked and not ids <= masked:
            own = [s for s in job.sizes if s.balloon == hole.balloon and _is_masked(s)]
            whats = [f"{without_mask(size.text)}, " for size in own] or [""]
            lines.extend(f"{hole.balloon}: {what}part of the hole only: mask by hand" for what in whats)
    return tuple(lines)


def _target(solid: Solid, finishing: Finishing, cusp_mm: float | None) -> Target:
    offsets = np.array([finishing.offset_mm[face.id] for face in solid.faces], dtype=np.float64)
    vertices = target_vertices(
        vertices_mm=solid.vertices_mm,
        triangles=solid.triangles,
        triangle_face=solid.triangle_face,
        face_offset_mm=offsets,
    )
    for array in (vertices, offsets):
        array.setflags(write=False)
    return Target(
        vertices_mm=vertices,
        triangles=solid.triangles,
        triangle_face=solid.triangle_face,
        face_ids=tuple(face.id for face in solid.faces),
        face_offset_mm=offsets,
        volume_mm3=mesh_volume_mm3(vertices, solid.triangles),
        mesh_deflection_mm=solid.mesh_deflection_mm,
        mesh_is_closed=solid.mesh_is_closed,
        cusp_mm=CUSP_MM if cusp_mm is None else cusp_mm,
    )
