"""The faces that make the part dear: those whose passes take most time."""

from __future__ import annotations

from collections import defaultdict

from proveout.model.plan import TimePlan
from proveout.model.work import FaceNote, PassPlan

DEAR_COUNT = 3


def dear_faces(*, time: TimePlan, passes: PassPlan, faces: tuple[FaceNote, ...]) -> tuple[str, ...]:
    """The three faces with most seconds, each as "id: minutes and what takes them"; fewer when fewer are cut.

    The seconds of a pass are shared among its faces by their area, evenly where no area is known. Roughing belongs to
    no face: it is shared among all that are finished in the same clamping and tilt.
    """
    areas = {note.face_id: note.area_mm2 for note in faces}
    seconds: dict[str, float] = defaultdict(float)
    by_kind: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    took = {line.pass_id: line.seconds.nominal for line in time.lines if line.pass_id}
    finished: dict[tuple[str, str], set[str]] = defaultdict(set)
    for work in passes.passes:
        finished[work.clamping_id, work.tilt_id].update(work.face_ids)
    for work in passes.passes:
        mine = work.face_ids or sorted(finished[work.clamping_id, work.tilt_id])
        weights = {face_id: areas.get(face_id, 0.0) for face_id in mine}
        total = sum(weights.values())
        for face_id, weight in weights.items():
            share = took.get(work.id, 0.0) * (weight / total if total > 0.0 else 1.0 / len(weights))
            seconds[face_id] += share
            by_kind[face_id][work.kind] += share
    dearest = sorted((-value, face_id) for face_id, value in seconds.items() if value > 0.0)[:DEAR_COUNT]
    return tuple(
        f"{face_id}: {-value / 60.0:.1f} min, mostly {min(by_kind[face_id].items(), key=lambda kv: (-kv[1], kv[0]))[0]}"
        for value, face_id in dearest
    )
