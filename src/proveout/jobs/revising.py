"""A new revision of a solid against a plan: which of its passes, jaws, gauges and limits name what changed."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import msgspec

from proveout.geometry.boxes import box_corners
from proveout.jobs.background_task import BackgroundTask, errand_id
from proveout.jobs.design import read_part
from proveout.jobs.found_files import read_bytes, told_bytes
from proveout.jobs.home import PLAN, Home, Place
from proveout.jobs.home_at import HomeAt
from proveout.jobs.solid_change import solid_change
from proveout.jobs.store import Store, default_folder
from proveout.jobs.tasks import Tasks
from proveout.jobs.whole_files import digest_of_file
from proveout.model.job import Job
from proveout.model.plan import Plan
from proveout.model.proof import Decision
from proveout.model.revision import JawTouch, Revision, SolidChange
from proveout.model.run import Run
from proveout.model.solid import Face, ReadSolid, Solid
from proveout.model.work import Clamping, Survey
from proveout.quantities.errors import BadInput


class RevisionAsked(msgspec.Struct, frozen=True, kw_only=True, tag="revision"):
    """What is held against a plan. step: path of the solid, empty where it was given and lies with the errand.

    digest: of the file.   plan_digest: of the plan.json that it is held against.   name: as its owner knows it.
    """

    home: HomeAt
    address: str
    step: str
    digest: str
    plan_digest: str
    name: str


def begin_revision(tasks: Tasks, home: Home, place: Place, step: Path, *, name: str, is_given: bool) -> BackgroundTask:
    """Begin to hold a STEP file against a plan, unless that is done or under way.

    Args:     name: of the file as its owner knows it.   is_given: the file is no longer anybody's: it is moved.
    Raises:   BadInput when too many are under way.
    """
    asked = RevisionAsked(
        home=HomeAt.of(home), address=place.address, step="" if is_given else str(step), digest=digest_of_file(step),
        plan_digest=digest_of_file(place.folder / PLAN), name=name,
    )  # fmt: skip
    id = errand_id("revision", asked.address, asked.digest, asked.plan_digest, name)
    return tasks.ask_errand(
        "revision", told_bytes(asked), id=id, subject=f"revision of {place.address}",
        title=f"Hold {name} against {place.plan.part.number}", page=f"/parts/{place.address}/revision/{id}",
        step=step if is_given else None,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class OneRevision:
    """A revision as it stands.   found: once it is done.   is_stale: the plan in that folder is another one by now.

    solid: fingerprint of the new STEP file.
    """

    task: BackgroundTask
    name: str
    solid: str
    found: Revision | None
    is_stale: bool


def one_revision(tasks: Tasks, id: str, place: Place) -> OneRevision:
    """What became of a revision of that part.

    Raises:   BadInput where there is none, or many others came after it.
    """
    task = tasks.known(id)
    if task is None or task.subject != f"revision of {place.address}":
        raise BadInput(
            "There is no such revision any more", where=place.address, value=id, do="hold the solid against it"
        )
    asked = read_bytes(tasks.asked(id), RevisionAsked)
    found = tasks.found(id) if task.state == "done" else None
    return OneRevision(
        task=task, name=asked.name, solid=asked.digest, found=None if found is None else read_bytes(found, Revision),
        is_stale=asked.plan_digest != digest_of_file(place.folder / PLAN),
    )  # fmt: skip


def revise(place: Place, step: Path, *, name: str, run: Run, store: Store | None = None) -> Revision:
    """A STEP file held against the one that a part was planned from.

    Args:     name: of the file as its owner knows it.   store: where what was read is kept; None for the user's own.
    Raises:   BadInput for a file that cannot be read, or a plan whose own STEP file is gone.
    """
    if place.step is None:
        raise BadInput("The plan's own STEP file is not there", where=place.address, do="plan the part again")
    store = Store(default_folder()) if store is None else store
    job = place.job
    wanted = "" if job is None else job.part.solid
    old = _read(place.step, place.step.name, wanted, store, run)
    new = _read(step, name, "", store, run)
    run.check("comparing")
    change = solid_change(old.solid, _survey(old.solid, store, run), new.solid, _survey(new.solid, store, run))
    return revision_of(place.plan, job, old.solid, change)


def revision_of(plan: Plan, job: Job | None, old: Solid, change: SolidChange) -> Revision:
    """What of a plan names old faces that are not as they were.

    A pass names the faces that it makes, and the hole that it is about. Jaws meet what they grip, and soft ones that
    were cut to the work whatever of it stands between seat and jaw tops.
    """
    touched = change.touched
    holes = {h.id for h in plan.survey.holes if touched & plan.survey.faces_within(h)}
    passes = tuple(
        one for one in plan.passes
        if touched & set(one.face_ids) or _hole_of(one.feature, plan) in holes
    )  # fmt: skip
    windows = tuple(w for w in plan.finishing.windows if touched & set(w.face_ids))
    marks = {(w.balloon, w.text) for w in windows}
    formed = {form.clamping_id for form in plan.jaw_forms}
    jaws = [_touch(c, [f for f in old.faces if f.id in touched], is_cut=c.id in formed) for c in plan.clampings]
    shown = () if job is None else tuple(id for id in job.show_faces if id in touched or id in holes)
    return Revision(
        solid=change, passes=passes, jaws=tuple(one for one in jaws if one.face_ids), sizes=windows,
        gauges=tuple(line for line in plan.inspection if (line.balloon, line.text) in marks), shown=shown,
    )  # fmt: skip


def _hole_of(feature: str, plan: Plan) -> str:
    """The hole that a pass is about, by the words for its feature; empty for none. One id may begin as another does."""
    return max((hole.id for hole in plan.survey.holes if feature.startswith(hole.id)), key=len, default="")


def _touch(clamping: Clamping, faces: list[Face], *, is_cut: bool) -> JawTouch:
    """What of these faces the jaws of a clamping meet."""
    met = [f.id for f in faces if f.id in clamping.grip_faces or (is_cut and _is_between(f, clamping))]
    return JawTouch(clamping=clamping, face_ids=tuple(met), is_cut=is_cut)


def _is_between(face: Face, clamping: Clamping) -> bool:
    """Whether a face reaches below the jaw tops, by its box."""
    heights = clamping.frame.into(box_corners(face.low_mm, face.high_mm))[:, 2]
    return float(heights.min()) < clamping.jaw_top_mm


def _read(step: Path, name: str, solid_name: str, store: Store, run: Run) -> ReadSolid:
    return read_part(step, digest=digest_of_file(step), solid_name=solid_name, store=store, run=run, named=name)


def _survey(solid: Solid, store: Store, run: Run) -> Survey:
    from proveout.stages import survey

    found: Decision[Survey] = store.get("survey", survey.decide, solid=solid, run=run)
    return found.value
