"""Threads that the job writes at the balloons of holes, put on the survey as features; no solid shows a thread."""

from __future__ import annotations

import msgspec

from proveout.model.features import Feature
from proveout.model.job import Size
from proveout.model.size_text import read_size, without_mask
from proveout.model.work import Hole, HoleStep, Survey
from proveout.recognition.words import direction, size


def with_threads(survey: Survey, sizes: tuple[Size, ...]) -> Survey:
    """The survey with a feature for each written thread: the round that is nearest below its major diameter.

    A thread at a balloon that is no hole, or with no round below its diameter, is left to the proofs of finishing.
    """
    holes = {hole.balloon: hole for hole in survey.holes}
    homes = {feature.hole_id: feature for feature in survey.features if feature.hole_id}
    found: list[Feature] = []
    for one in sizes:
        written, hole = read_size(one.text), holes.get(one.balloon)
        major = written.nominal_mm
        if written.manner != "thread" or major is None or hole is None or hole.id not in homes:
            continue
        fits = [s for s in hole.steps if s.kind == "cylinder" and s.diameter_mm < major]
        if fits:
            step = max(fits, key=lambda s: s.diameter_mm)
            found.append(_thread(hole, step, homes[hole.id], major_mm=major, text=without_mask(one.text)))
    if not found:
        return survey
    return msgspec.structs.replace(survey, features=tuple(sorted((*survey.features, *found), key=lambda f: f.id)))


def _thread(hole: Hole, step: HoleStep, home: Feature, *, major_mm: float, text: str) -> Feature:
    deep = step.depth_high_mm - step.depth_low_mm
    ends = f"through {size(deep)}" if hole.is_through else f"{size(deep)} deep"
    return Feature(
        id=f"thread {text} in {hole.id}", kind="thread", form=home.form, face_ids=tuple(sorted(step.face_ids)),
        sizes_mm={"thread_mm": major_mm, "diameter_mm": step.diameter_mm, "depth_mm": deep}, place_mm=home.place_mm,
        opens=home.opens, hole_id=hole.id, within=home.id,
        name=f"thread {text} in hole Ø{size(step.diameter_mm)}, {ends}, from {direction(home.opens)}",
    )  # fmt: skip
