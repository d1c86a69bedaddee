"""From a planned part to a released batch: asked, planned, waived, released, each an event that its plan bears out.

This is the one road on which a plan comes into the records. What the events say of it, its fingerprint and its open
proofs, is read from the plan's file here and compared with it again by the records (`books/shown_plan.py`, which says
what a forged post could still do) and at the release, when the plan's file, its programs, its moves and what it was
planned from are all held against their fingerprints.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from datetime import date
from functools import lru_cache
from pathlib import Path

from msgspec.structs import replace

from proveout import __version__
from proveout.books.first_piece import FIRST_PIECE, first_way_words
from proveout.books.release import opens_of
from proveout.books.shown_plan import revision_of
from proveout.jobs.batch_route import checks_of, first_through_of, route_steps
from proveout.jobs.check_plan import read_plan
from proveout.jobs.days_kept import DAYS, days_bytes, days_kept
from proveout.jobs.ended import refuse_release
from proveout.jobs.home import PLAN, Home
from proveout.jobs.jaw_files import write_jaw_files
from proveout.jobs.left_packets import put_back, set_aside
from proveout.jobs.packets import drop_packet, freeze, manifest_of, new_batch_named, packet_address, packet_of
from proveout.jobs.place import Place
from proveout.jobs.plan_drawings import Drawable, Drawer
from proveout.jobs.plan_path import inputs_now
from proveout.jobs.ran_well import ran_well_before
from proveout.jobs.result_files import FLOOR_PAPERS, PAPERS, moves_kept, programs_of
from proveout.jobs.results import PACKETS
from proveout.jobs.shop_day import shop_today
from proveout.jobs.signed import Signed, post_once
from proveout.jobs.whole_files import digest_of_file, locked
from proveout.jobs.writing import fingerprint_of, floor_files
from proveout.model.batch import Batch
from proveout.model.batch_events import Asked, Closed, Planned, Released, Waived
from proveout.model.events import Corrected
from proveout.model.inspection import rule_of
from proveout.model.plan import SCHEMA_VERSION, Plan
from proveout.quantities.canonical import digest_of
from proveout.quantities.errors import BadInput, Busy, NotKept, ProveoutError, Refused
from proveout.records.records import Records

ONE_HEAT = "sending:heats:one-heat-a-lot"
"""The proof of a plan whose pieces must all be of one heat, so that they take one shade."""
NO_PAPER = "0" * 64
DRAWN_WITHIN_S = 180.0
"""So long is waited for the drawings of the papers, which take seconds on a machine that does nothing else."""
WORDS = {"step": "the solid's file", "job": "the job file", "shop": "the shop file", "responses": "what was measured"}


def batch_of(records: Records, batch: str) -> Batch:
    """A batch as it stands.

    Raises:   BadInput when there is none.
    """
    found = records.batch(batch)
    if found is None:
        raise BadInput("There is no such batch", where="batch", value=batch[:80], do="ask for it first")
    return found


def ask(
    home: Home, records: Records, address: str, *, batch: str, wanted_count: int, due: str = "", signed: Signed
) -> Batch:  # fmt: skip
    """Ask for a batch of a planned part, and plan it by the plan that lies there.

    Raises:   Refused when the plan is of another quantity or not fit to run, or there is a batch of that name.
    """
    place = home.place(address)
    plan = place.plan
    if wanted_count != plan.part.quantity:
        raise Refused("The plan and all its papers are for another quantity", where=plan.part.number,
                      value=str(wanted_count), limit=str(plan.part.quantity),
                      do="plan it for as many as are wanted")  # fmt: skip
    fit_to_run(home, place)
    known = [str(row["batch"]) for row in records.rows("batches")]
    asked = Asked(part=plan.part.number, revision=revision_of(plan), wanted_count=wanted_count, due=due or plan.due)
    found = post_once(records, signed.says(asked, batch=new_batch_named(batch, known)))
    if found is not None and found.plan:  # the same form, sent twice
        return found
    return plan_it(records, place, batch=batch, signed=Signed(person=signed.person, station=signed.station))


def plan_it(records: Records, place: Place, *, batch: str, signed: Signed) -> Batch:
    """Plan a batch by the plan of a part, or by another one than before; waivers of that one fall.

    Raises:   Refused when the batch is released or the plan is of another part.
    """
    plan, asked = place.plan, batch_of(records, batch)
    if (asked.part, asked.revision) != (plan.part.number, revision_of(plan)):
        raise Refused("This plan is of another part or revision", where=batch,
                      value=f"{plan.part.number}, {revision_of(plan)}",
                      limit=f"{asked.part}, {asked.revision}")  # fmt: skip
    planned = Planned(plan=digest_of(plan), opens=opens_of(plan.proofs))
    post_once(records, signed.says(planned, batch=batch), plan=plan)
    return batch_of(records, batch)


def waive(records: Records, *, batch: str, proof_id: str, reason: str, signed: Signed) -> Batch:
    """A named person answers in writing for a proof that does not hold.

    Raises:   Refused for a proof that nobody can waive, or that is not open; BadInput for a reason that is none.
    """
    post_once(records, signed.says(Waived(proof_id=proof_id, reason=reason), batch=batch))
    return batch_of(records, batch)


def release(
    home: Home, records: Records, drawer: Drawer, *, batch: str, signed: Signed, today: date | None = None
) -> Batch:  # fmt: skip
    """Freeze the packet of a batch, with papers of its own, and release it.

    One that an earlier release left when it was cut short is set aside (`left_packets`).
    Args:     drawer: makes the drawings of the papers, which may take a minute.   today: None for the day of now.
    Raises:   Refused when something stands open, the plan, its files or what it was planned from are others by now, or
              its revision has ended.  Busy when the drawings are not made within three minutes.
    """
    asked = batch_of(records, batch)
    place = home.place(packet_address(batch)) if asked.is_released else planned_place(home, asked)
    (home.plans / PACKETS).mkdir(parents=True, exist_ok=True)
    with locked(home.plans / PACKETS / ".lock"):
        found = batch_of(records, batch)
        if found.is_released and any(event.id == signed.id for _, event in records.events(batch=batch)):
            return found  # the same form, sent twice
        refuse_release(records, found, day=today or shop_today())
        _may_be_released(home, place, found)
        ran = ran_well_before(home, records, place.plan, revision=found.revision)
        of = _released(place, is_new=not ran)
        made = _papers(place, found, of, drawer, day=today or shop_today())
        aside = set_aside(home, found)
        papers = freeze(home, batch, place, anew=made)
        try:
            records.post(signed.says(replace(of, papers=papers), batch=batch), plan=place.plan)
        except NotKept:  # it may lie on disk all the same
            raise
        except ProveoutError:
            drop_packet(home, batch)
            if aside is not None:
                put_back(home, batch, aside)
            raise
    return batch_of(records, batch)


def planned_place(home: Home, batch: Batch) -> Place:
    """The planned part that a batch was planned by.

    Raises:   Refused when that plan is nowhere in the home any more.
    """
    for place in plans_of_part(home, batch.part):
        if _digest(place.folder / PLAN) == batch.plan:
            return place
    raise Refused("The plan of this batch is not there any more: its part was planned anew", where=batch.batch,
                  do="take the new plan for the batch, or ask for another batch")  # fmt: skip


def plans_of_part(home: Home, part: str) -> Iterator[Place]:
    """Every plan of a part that lies in the home and can be read."""
    for entry in home.entries():
        for address in entry.parts:
            try:
                place = home.place(address)
            except ProveoutError:
                continue
            if place.plan.part.number == part:
                yield place


def _digest(path: Path) -> str:
    """Fingerprint of the plan in a file, worked out anew once the file was written."""
    at = path.stat()
    return _digest_of_file(path, (at.st_mtime_ns, at.st_ctime_ns, at.st_size, at.st_ino))


@lru_cache(maxsize=256)
def _digest_of_file(path: Path, stamp: tuple[int, int, int, int]) -> str:  # noqa: ARG001 - part of the key
    return digest_of(read_plan(path.parent))


def packet_place(home: Home, batch: Batch) -> Place:
    """The packet of a released batch, held against all that the records say of it.

    Raises:   Refused when a file, the plan or its open proofs are not those of the release.
    """
    place = packet_of(home, batch.batch, papers=batch.papers)
    if manifest_of(place.folder).plan != batch.plan or opens_of(place.plan.proofs) != batch.opens:
        raise Refused("The records tell of another plan than lies in the packet", where=batch.batch,
                      do="do not work from it; proveout records verify tells who wrote what")  # fmt: skip
    return place


def fit_to_run(home: Home, place: Place) -> None:
    """Refuse a plan of another version, or one whose files or inputs are others by now.

    Raises:   Refused.
    """
    plan, number = place.plan, place.plan.part.number
    if (plan.program_version, plan.schema_version) != (__version__, SCHEMA_VERSION):
        raise Refused("The plan was made by another version", where=number, value=plan.program_version,
                      limit=__version__, do="plan it again")  # fmt: skip
    entry = home.entry(place.entry)
    now = inputs_now(entry.path, number=number, shop_path=home.shop_path if home.has_shop else None)
    changed = [WORDS.get(kind, kind) for kind in sorted(plan.inputs.keys() | now.keys())
               if plan.inputs.get(kind) != now.get(kind)]  # fmt: skip
    if changed:
        raise Refused("What the part was planned from has changed", where=number, value=", ".join(changed),
                      do="plan it again")  # fmt: skip
    _as_kept(place, plan)


def _as_kept(place: Place, plan: Plan) -> None:
    """Refuse programs, moves and kept inputs that are not the plan's."""
    for program in programs_of(place.folder, plan):
        if program.state != "as planned":
            raise Refused(f"A program is {program.state}", where=f"{plan.part.number}, {program.file}",
                          do="put it back as it was, or plan the part again")  # fmt: skip
    if wrong := moves_kept(place.folder, plan).wrong:
        raise Refused("Moves of the plan are missing or changed", where=plan.part.number, value=f"{len(wrong)} files",
                      do="plan the part again")  # fmt: skip
    kept = {"step": place.step, "job": place.job_file, "shop": place.folder / "inputs" / "shop.toml"}
    for kind, path in kept.items():
        digest = digest_of_file(path) if path is not None and path.is_file() else None
        if digest != plan.inputs.get(kind):
            raise Refused("What the plan keeps of its inputs is not what it was planned from", where=plan.part.number,
                          value=WORDS[kind], do="plan the part again")  # fmt: skip


def _may_be_released(home: Home, place: Place, batch: Batch) -> None:
    if batch.is_released:
        raise Refused("This batch is released already", where=batch.batch, value=batch.state)
    fit_to_run(home, place)
    if opens_of(place.plan.proofs) != batch.opens:
        raise Refused("The records tell of other open proofs than the plan", where=batch.batch,
                      do="take the plan for the batch again")  # fmt: skip
    if batch.unwaived:
        raise Refused("Something stands open", where=batch.batch, value=", ".join(one.id for one in batch.unwaived),
                      do="measure what it lacks, plan otherwise, or answer for what can be answered for")  # fmt: skip


def _papers(place: Place, batch: Batch, of: Released, drawer: Drawer, *, day: date) -> dict[str, bytes]:
    """Everything on paper, made anew for the batch from the plan: nothing else in its folder is believed.

    But the days that the plan's work was scheduled for, as long as all of them are to come.
    """
    from proveout.sheets.of_batch import OfBatch
    from proveout.sheets.papers import papers_pdf

    plan, shop, job = place.plan, place.shop, place.job
    what = Drawable(plan=plan, step=place.step, solid_name="" if job is None else job.part.solid)
    drawn = drawer.drawn(what, ("lying", "wrong", "sides"), is_waiting=True, wait_s=DRAWN_WITHIN_S)
    if drawn.is_coming:
        raise Busy("The drawings of the papers are still being made, and no packet is frozen without them",
                   where=batch.batch, limit=f"{DRAWN_WITHIN_S:g} s",
                   do="release again in a minute: nothing was written")  # fmt: skip
    made = floor_files(plan, shop=shop, drawings=drawn.by_name)
    with tempfile.TemporaryDirectory() as beside:
        write_jaw_files(Path(beside), plan)
        made |= {path.name: path.read_bytes() for path in sorted(Path(beside).iterdir())}
    freed = next((one.words for one in batch.waivers if one.proof_id == FIRST_PIECE), "")
    way = freed if freed and of.first_through else first_way_words(of.first_through)
    waivers = tuple(one.words for one in batch.waivers if one.proof_id != FIRST_PIECE or of.first_through)
    on_paper = OfBatch(batch=batch.batch, waivers=waivers, first_piece=way)
    mark = fingerprint_of(plan)
    days = days_kept(place.folder, plan=mark, part=plan.part.number, today=day)
    for name in (PAPERS, FLOOR_PAPERS):
        made[name] = papers_pdf(
            plan=plan, shop=shop, drawings=drawn.by_name, fingerprint=mark, views=drawn.views, batch=on_paper,
            schedule=days, is_of_floor=name == FLOOR_PAPERS,
        )  # fmt: skip
    if days:
        made[DAYS] = days_bytes(days, plan=mark)
    return made


def _released(place: Place, *, is_new: bool) -> Released:
    """The release of a batch but for its papers, which are made from it. is_new: it did not run well so before."""
    plan, job = place.plan, place.job
    steps = route_steps(plan)
    wishes = (place.shop.inspection, *(() if job is None else (job.inspection,)))
    sawn = {pattern.bar_id for pattern in plan.bars.patterns} | {plan.blank.chosen.bar_id}
    return Released(
        plan=digest_of(plan), revision=revision_of(plan), blanks_count=plan.bars.blanks_count, route=steps,
        checks=checks_of(plan, place.shop, steps), papers={PAPERS: NO_PAPER}, alloy=plan.part.alloy,
        sections=tuple(sorted(sawn)), is_one_heat=any(proof.id == ONE_HEAT for proof in plan.proofs),
        first_through=first_through_of(steps) if is_new else (),
        is_measured_daily=rule_of(*wishes).is_measured_daily,
    )  # fmt: skip


def correct(records: Records, *, batch: str, event_id: str, why: str, signed: Signed) -> Batch:
    """Write that an earlier event of a batch did not happen.

    Raises:   Refused when it stays as it is written, or what came after could not have happened without it.
    """
    post_once(records, signed.says(Corrected(event_id=event_id, why=why, instead=None), batch=batch))
    return batch_of(records, batch)


def close(records: Records, *, batch: str, why: str, signed: Signed) -> Batch:
    """Put a batch away.

    Raises:   Refused while pieces of it wait or are away.
    """
    post_once(records, signed.says(Closed(why=why.strip()), batch=batch))
    return batch_of(records, batch)
