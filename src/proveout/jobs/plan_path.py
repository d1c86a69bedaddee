"""Plan whatever a path names: a STEP file, a job file or an order file; write the result folder."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import msgspec

from proveout.intake.job_file import check_job_in_shop, job_from_step, job_from_text, read_job, step_of_job
from proveout.intake.order_file import is_order_text, jobs_of_order, order_from_text
from proveout.intake.shop_file import read_shop
from proveout.intake.starting_shop import starting_shop, starting_shop_text
from proveout.intake.toml_words import read_text
from proveout.jobs.blanks_taken import on_bar, take_blanks
from proveout.jobs.bought import bought_together, order_money
from proveout.jobs.fitted import with_fits
from proveout.jobs.other_parts import all_made, among_others
from proveout.jobs.plan_job import Planned
from proveout.jobs.request import Request
from proveout.jobs.results import distinct_name, folder_name, result_folder
from proveout.jobs.sawn import sawn_together
from proveout.jobs.store import Store, default_folder
from proveout.jobs.ways import plan_best
from proveout.jobs.writing import is_order_ready, write_order, write_part
from proveout.jobs.wrong_loads import SisterFile
from proveout.model.coat_growth import as_read
from proveout.model.cost_band import Rider
from proveout.model.fact import Fact
from proveout.model.job import Job, OrderFile
from proveout.model.order import OrderedPart, OrderLoad
from proveout.model.plan import FirstLook, Plan
from proveout.model.proof import Proof
from proveout.model.run import Run
from proveout.model.sawing import BlanksTaken
from proveout.model.shop import Shop
from proveout.quantities.canonical import digest_of
from proveout.quantities.errors import BadInput
from proveout.stages.schedule.decide import decide as decide_schedule

STEP_ENDINGS = (".step", ".stp", ".p21")
NO_TEXTS: Mapping[Path, str] = {}


@dataclass(frozen=True)
class PartOutcome:
    """One planned part and the name of its folder inside the result. places: face id to its middle, mm, part frame."""

    plan: Plan
    folder: str
    shop_is_assumed: bool
    places: dict[str, tuple[float, float, float]]


@dataclass(frozen=True)
class Outcome:
    """What was planned and where it lies."""

    folder: Path
    parts: tuple[PartOutcome, ...]
    is_order: bool
    load: OrderLoad
    notes: tuple[str, ...]
    fits: tuple[Proof, ...] = ()
    sawing_proofs: tuple[Proof, ...] = ()

    @property
    def ready(self) -> bool:
        """True when parts, fits and sawing are."""
        return is_order_ready((p.plan for p in self.parts), fits=self.fits, sawing_proofs=self.sawing_proofs)


@dataclass(frozen=True)
class Asked:
    """One part that is to be planned, as it stands in its job and its order.

    job_text: what the job file is taken to say, None for what it says.
    """

    job: Job
    step: Path
    job_file: Path | None
    coat_load: str = ""
    job_text: str | None = None


def plan_path(
    path: Path,
    *,
    shop_path: Path | None = None,
    quantity: int | None = None,
    out: Path | None = None,
    solid_name: str = "",
    start: str = "",
    is_fresh: bool = False,
    also_count: int = 0,
    store_folder: Path | None = None,
    run: Run,
    show: Callable[[FirstLook], None] | None = None,
    tell_look: Callable[[FirstLook], None] | None = None,
) -> Outcome:
    """Plan a STEP file, a job file or an order and write the results.

    Args:     path: the file.   shop_path: the shop file, None for the built-in starting shop.   quantity: overrides
              what is written.   also_count: next-best sequences of clampings to plan in full beside the one
              foreseen best, so that the best of them is kept.   out: result folder, default NAME-plan in
              the working folder.   start: ISO date.
              show: receives the first look at one part before any move is laid; not called for an order.
              tell_look: receives that of every part, of an order too.
    Raises:   BadInput and its kinds for files, values and pins.   Interrupted, OutOfTime from `run`.
    """
    if start:
        _check_date(start)
    shop, shop_text = _shop(shop_path)
    asked, order, name = asked_of(path, quantity=quantity, solid_name=solid_name)
    asked = asked_in_shop(asked, shop, path)
    folder = out if out is not None else Path(f"{folder_name(name)}-plan")
    is_order = order is not None
    with result_folder(folder) as part_folder:
        made: list[Planned] = []
        requests: list[Request] = []
        store = Store(store_folder if store_folder is not None else default_folder(), is_fresh=is_fresh)
        for one in asked:
            if is_order:
                run.check("part", one.job.part.number)
            request = request_of(one, asked, order, shop=shop, shop_text=shop_text, start=start)
            # where plans are weighed against each other by their proofs, each needs all of its own
            is_weighed = also_count > 0 or (order is not None and order.blanks == "together")
            request = replace(request, is_loaded_later=is_order and not is_weighed)
            requests.append(request)
            made.append(
                plan_best(
                    request, also_count=also_count, store=store, run=run,
                    show=_both(None if is_order else show, tell_look),
                )
            )  # fmt: skip
        taken: BlanksTaken | None = None
        if order is not None and order.blanks == "together":
            again: dict[int, Planned] = {}

            def plan_on(number: int, bar_id: str) -> Plan:
                run.check("blanks together", asked[number].job.part.number)
                again[number] = plan_best(on_bar(requests[number], bar_id), also_count=also_count, store=store, run=run)
                return again[number].plan

            anew, taken = take_blanks(
                plans=[one.plan for one in made], jobs=[one.job for one in asked], shop=shop, plan_on=plan_on
            )  # fmt: skip
            made = [again[number] if number in anew else one for number, one in enumerate(made)]
        if is_order:
            ways, loaded = all_made(made), []
            for number, planned in enumerate(made):
                run.check("part", f"{asked[number].job.part.number} beside the others")
                loaded.append(among_others(planned, number, ways, store=store, run=run))
            made = loaded
        plans, fits = with_fits(
            [planned.plan for planned in made], [one.job for one in asked], order.fits if order is not None else ()
        )  # fmt: skip
        made = [replace(planned, plan=plan) for planned, plan in zip(made, plans, strict=True)]
        ordered = [OrderedPart(plan=plan, job=one.job) for plan, one in zip(plans, asked, strict=True)]
        run.check("schedule", name)
        load = decide_schedule(parts=ordered, shop=shop)
        outcomes: list[PartOutcome] = []
        used: set[str] = set()
        for one, planned in zip(asked, made, strict=True):
            sub = distinct_name(folder_name(one.job.part.number), used) if is_order else ""
            run.check("papers", one.job.part.number)
            write_part(
                part_folder / sub, planned=planned, shop=shop, shop_text=shop_text, job_file=one.job_file,
                step=one.step, run=run, schedule=load.schedule,
            )  # fmt: skip
            places = {face.id: face.centroid_mm for face in planned.read.solid.faces}
            outcomes.append(
                PartOutcome(plan=planned.plan, folder=sub, shop_is_assumed=shop_path is None, places=places)
            )  # fmt: skip
        sawing_proofs: tuple[Proof, ...] = ()
        if is_order:
            run.check("sawing the order")
            sawing, sawing_proofs = sawn_together([o.plan for o in outcomes], shop)
            sawing = msgspec.structs.replace(sawing, taken=taken)
            subs, made_plans = [o.folder for o in outcomes], [o.plan for o in outcomes]
            write_order(
                part_folder, order_file=path, name=name, parts=list(zip(ordered, subs, strict=True)), load=load,
                shop=shop, fits=fits, sawing=sawing, sawing_proofs=sawing_proofs,
                buying=bought_together(made_plans, sawing, shop), money=order_money(made_plans, sawing),
            )  # fmt: skip
    is_dated = bool(load.start or load.due)
    return Outcome(
        folder=folder, parts=tuple(outcomes), is_order=is_order, load=load,
        notes=(*_fit_words(fits), *load.notes) if is_order or is_dated else (), fits=fits,
        sawing_proofs=sawing_proofs,
    )  # fmt: skip


def _both(*hearers: Callable[[FirstLook], None] | None) -> Callable[[FirstLook], None] | None:
    """One hearer that tells all of them; None where there is none."""
    asked = [hearer for hearer in hearers if hearer is not None]

    def tell(look: FirstLook) -> None:
        for hearer in asked:
            hearer(look)

    return tell if asked else None


def _fit_words(fits: tuple[Proof, ...]) -> tuple[str, ...]:
    """Each fit in a line: what is claimed, what was found, what would decide or help."""
    said = []
    for fit in fits:
        ends = "not known" if fit.found_low is None else f"{fit.found_low:.3f} to {fit.found_high:.3f} mm"
        more = "" if fit.verdict == "holds" else f"; {fit.decides or fit.remedy}"
        said.append(f"Fit, {fit.verdict}: {fit.claim}; clearance {ends}, wanted {fit.sense} {fit.limit:g} mm{more}")
    return tuple(said)


def _check_date(text: str) -> None:
    try:
        date.fromisoformat(text)
    except ValueError as fault:
        raise BadInput("The start is no date", where="--start", value=text, do="write it as 2027-03-01") from fault


def _shop(path: Path | None) -> tuple[Shop, str]:
    if path is None:
        return starting_shop(), starting_shop_text()
    return read_shop(path), read_text(path)


def request_of(
    one: Asked, asked: list[Asked], order: OrderFile | None, *, shop: Shop, shop_text: str, start: str
) -> Request:  # fmt: skip
    """All that the plan of one part depends on, as it stands among the parts of its order."""
    marks = {
        side.mark
        for fit in (order.fits if order is not None else ())
        for side in fit.sides
        if side.part == one.job.part.number
    }
    return Request(
        step=one.step, job=one.job, shop=shop, start=start,
        inputs=_inputs(one, shop, shop_text), sisters=_sisters(one, asked), same_load=_same_load(one, asked),
        riders=riders_of(one, asked, shop.scrap_ratio), is_of_order=order is not None, fit_marks=tuple(sorted(marks)),
    )  # fmt: skip


def asked_of(
    path: Path, *, quantity: int | None = None, solid_name: str = "", texts: Mapping[Path, str] = NO_TEXTS
) -> tuple[list[Asked], OrderFile | None, str]:
    """What a file asks to be planned: its parts, the order where it is one, and a name.

    texts: of job and order files that are to be read otherwise than they lie there.
    Raises:   BadInput for files and values.
    """
    if not path.exists():
        raise BadInput("There is no such file", where=str(path), do="name a STEP file, a job file or an order file")
    if path.suffix.lower() != ".toml":
        if path.is_dir():
            raise BadInput("The path is a folder", where=str(path), do="name a STEP file, a job file or an order file")
        job = job_from_step(path.name, quantity=quantity)
        return [Asked(job=_with(job, None, solid_name), step=path, job_file=None)], None, path.stem
    text = texts.get(path) or read_text(path)
    if is_order_text(text, file=path.name):
        order = order_from_text(text, file=path.name)
        for option, value in (("--quantity", quantity), ("--solid", solid_name)):
            if value:
                raise BadInput(
                    f"{option} speaks of one part and an order has several", where=path.name, value=str(value),
                    do="write it into the order's items or their job files",
                )  # fmt: skip
        found: list[Asked] = []
        for item, job_path in zip(order.items, jobs_of_order(path, order), strict=True):
            job_text = texts.get(job_path)
            job = read_job(job_path) if job_text is None else job_from_text(job_text, file=job_path.name)
            job = job.wanting(item.quantity or job.order.quantity)
            dated = msgspec.structs.replace(
                job.order, start=item.start or order.start or job.order.start,
                due=item.due or order.due or job.order.due,
            )  # fmt: skip
            job = msgspec.structs.replace(job, order=dated)
            step = step_of_job(job_path, job)
            found.append(Asked(job=job, step=step, job_file=job_path, coat_load=item.coat_load, job_text=job_text))
        _refuse_strange_fits(order, found, path.name)
        return found, order, order.name or path.stem
    job = job_from_text(text, file=path.name)
    one = Asked(
        job=_with(job, quantity, solid_name), step=step_of_job(path, job), job_file=path, job_text=texts.get(path)
    )
    return [one], None, path.stem


def asked_in_shop(asked: Sequence[Asked], shop: Shop, path: Path) -> list[Asked]:
    """The same, each with what the shop read of its finisher's coat.

    Raises:   BadInput where a part names what the shop does not have.
    """
    for one in asked:
        check_job_in_shop(one.job, shop, file=(one.job_file or path).name)
    return [replace(one, job=as_read(one.job, shop.finishers)) for one in asked]


def inputs_now(path: Path, *, number: str, shop_path: Path | None) -> dict[str, str]:
    """Digests of what a plan of that part would be made from now, by kind; none where the file asks for no such part.

    Raises:   BadInput for broken files.
    """
    shop, shop_text = _shop(shop_path)
    asked, _, _ = asked_of(path)
    own = [one for one in asked if one.job.part.number == number or one.job_file is None]
    return _inputs(own[0], shop, shop_text) if own else {}


def _refuse_strange_fits(order: OrderFile, asked: list[Asked], file: str) -> None:
    numbers = [one.job.part.number for one in asked]
    for fit in order.fits:
        for side in fit.sides:
            if side.part not in numbers:
                raise BadInput(
                    "A fit names a part that is not ordered here", where=f'{file}: fit "{fit.name}"', value=side.part,
                    limit=", ".join(numbers), do="write the part number as in its job file",
                )  # fmt: skip


def _with(job: Job, quantity: int | None, solid_name: str) -> Job:
    if quantity is not None:
        job = job.wanting(quantity)
    if solid_name:
        job = msgspec.structs.replace(job, part=msgspec.structs.replace(job.part, solid=solid_name))
    return job


def _inputs(one: Asked, shop: Shop, shop_text: str) -> dict[str, str]:
    """Digests of what was read, by kind."""
    found = {"step": _digest(one.step.read_bytes()), "shop": _digest(shop_text.encode())}
    if shop.responses:
        found["responses"] = digest_of(shop.responses)
    if one.job_file is not None:
        content = one.job_file.read_bytes() if one.job_text is None else one.job_text.encode()
        found["job"] = _digest(content)
    return found


def _sisters(one: Asked, asked: list[Asked]) -> tuple[SisterFile, ...]:
    """The other parts of an order, each once, but not this part ordered again."""
    found: dict[str, SisterFile] = {}
    own = _digest(one.step.read_bytes())
    for other in asked:
        digest = _digest(other.step.read_bytes())
        if (digest, other.job.part.solid) != (own, one.job.part.solid):
            part = other.job.part
            found.setdefault(
                f"{digest} {part.solid}",
                SisterFile(number=part.number, step=other.step, solid_name=part.solid, digest=digest),
            )
    return tuple(sorted(found.values(), key=lambda sister: (sister.number, sister.digest)))


def _same_load(one: Asked, asked: list[Asked]) -> tuple[str, ...]:
    """Numbers of the other parts in its coat load."""
    if not one.coat_load:
        return ()
    return tuple(other.job.part.number for other in asked if other is not one and other.coat_load == one.coat_load)


def riders_of(one: Asked, asked: list[Asked], scrap_ratio: Fact) -> tuple[Rider, ...]:
    """The other parts in its coat load that go to the same finisher, with all pieces that are sent."""
    coat = one.job.coat
    if not one.coat_load or coat is None:
        return ()
    return tuple(
        Rider(number=job.part.number, pieces_count=job.order.quantity + job.order.spares(scrap_ratio))
        for job in (other.job for other in asked if other is not one and other.coat_load == one.coat_load)
        if job.coat is not None and job.coat.finisher == coat.finisher
    )


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
