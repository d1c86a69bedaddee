"""Drafts and checks of the owner's files: new job, new shop, what a shop file means, schemas."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

import msgspec

from proveout.jobs.pmi_words import counted_words, unused_lines
from proveout.jobs.whole_files import write_whole
from proveout.model.job import Size
from proveout.model.pmi import PmiNote
from proveout.model.run import Run
from proveout.model.solid import ReadSolid
from proveout.model.work import Survey
from proveout.quantities.errors import BadInput


def new_job(step: Path, *, out: Path | None, solid_name: str, number: str = "") -> list[str]:
    """Write a job file with every hole and face under its balloon, and a numbered drawing beside it.

    Args:     number: of the part; empty for the name of the STEP file.
    Raises:   BadInput when the STEP file is broken or the job file is there already.
    """
    from proveout.intake.step import drawings, read_solid
    from proveout.sheets.numbered import NUMBERED_VIEWS, numbered_svg
    from proveout.stages import survey

    target = out if out is not None else step.with_suffix(".toml")
    drawing = target.with_suffix(".svg")
    _refuse_existing(target)
    _refuse_existing(drawing)
    read = read_solid(step, solid_name=solid_name)
    surveyed = survey.decide(solid=read.solid, run=Run()).value
    text, notes = job_text(read, surveyed, step=step, target=target, number=number)
    seen = drawings(read.solid, [(view.view_direction, view.up) for view in NUMBERED_VIEWS])
    picture = numbered_svg(read.solid, surveyed, drawings=seen)
    _write(target, text)
    _write(drawing, picture)
    lines = [f"Written: {target} and its numbered drawing {drawing}"]
    lines += [f"Note: {w}" for w in read.warnings]
    lines += [f"Another solid in the file: {o.name} (plan it with --solid)" for o in read.other_solids]
    counted = counted_words(notes)
    lines += [f"{counted[:1].upper()}{counted[1:]}."] if counted else []
    faces = sum(1 for note in surveyed.faces if not note.hole_id)
    lines.append(
        f"{_counted(len(surveyed.holes), 'hole')} and {_counted(faces, 'other face')} are listed; "
        'type what you know, as 7 = "H8"'
    )
    lines.append(f"Then: proveout plan {target}")
    return lines


def job_text(
    read: ReadSolid, surveyed: Survey, *, step: Path, target: Path, number: str = ""
) -> tuple[str, tuple[PmiNote, ...]]:  # fmt: skip
    """The text of a new job file that will lie at `target`, and what became of what the STEP file writes.

    number: of the part; empty for the name of the STEP file.
    """
    from proveout.intake.drafts import draft_job
    from proveout.intake.job_file import job_from_step
    from proveout.stages.finishing.from_file import sizes_of_file

    named = step.name if step.absolute().parent == target.absolute().parent else str(step.absolute())
    taken = sizes_of_file(pmi=read.pmi, job=job_from_step(step.name), solid=read.solid, survey=surveyed)
    text = draft_job(
        read, surveyed, step=named, number=number or step.stem, sizes=_by_balloon(taken.job.sizes),
        notes=unused_lines(taken.notes),
    )  # fmt: skip
    return text, taken.notes


def _by_balloon(sizes: tuple[Size, ...]) -> dict[int, str]:
    """Texts of the sizes at each balloon as one line of a job file."""
    found: dict[int, list[str]] = {}
    for size in sizes:
        texts = found.setdefault(size.balloon, [])
        if size.text not in texts:
            texts.append(size.text)
    return {balloon: "; ".join(texts) for balloon, texts in found.items()}


def shop_questions() -> tuple[Any, ...]:
    """The ten questions of a new shop file, in order."""
    from proveout.intake.drafts import SHOP_QUESTIONS

    return SHOP_QUESTIONS


def answer_fault(name: str, answer: str, *, answers: Mapping[str, str]) -> BadInput | None:
    """What is wrong with the answer to one question of a new shop file, beside those that are right; None if nothing.

    name: id of the question.   answers: the right ones by id: a travel is read in the unit that was chosen.
    """
    from proveout.intake.drafts import draft_shop

    try:
        draft_shop({**answers, name: answer})
    except BadInput as fault:
        return fault
    return None


def faults_before_asking(out: Path, *, answers: Mapping[str, str], cutters_csv: Path | None) -> list[BadInput]:
    """Every answer of those given beforehand that is wrong; empty when a shop file can be written.

    Raises:   BadInput when the file is there already, its folder is not, or the table of cutters cannot be read.
    """
    from proveout.intake.drafts import SHOP_QUESTIONS, draft_shop
    from proveout.intake.toml_words import read_text

    _refuse_existing(out)
    if cutters_csv is not None:
        draft_shop({}, read_text(cutters_csv), csv_name=cutters_csv.name)
    try:
        draft_shop(answers)
    except BadInput:
        order = [question.id for question in SHOP_QUESTIONS]
        right: dict[str, str] = {}
        faults: list[BadInput] = []
        for name in sorted(answers, key=lambda id: order.index(id) if id in order else len(order)):
            fault = answer_fault(name, answers[name], answers=right)
            if fault is None:
                right[name] = answers[name]
            else:
                faults.append(fault)
        return faults
    return []


def new_shop(out: Path, *, answers: Mapping[str, str], cutters_csv: Path | None) -> list[str]:
    """Write a shop file from answers; every default filled in is marked assumed in it."""
    from proveout.intake.drafts import draft_shop
    from proveout.intake.shop_file import shop_from_text
    from proveout.intake.toml_words import read_text

    _refuse_existing(out)
    csv_text = read_text(cutters_csv) if cutters_csv is not None else None
    text = draft_shop(answers, csv_text, csv_name=cutters_csv.name if cutters_csv else "cutters.csv")
    shop_from_text(text, file=out.name)
    _write(out, text)
    return [f"Written: {out}", f"Read it back in words with: proveout check-shop {out}"]


def draft_of_answers(answers: Mapping[str, str]) -> str:
    """The text of a new shop file from answers by question.

    Raises:   BadInput for the first answer that cannot be read.
    """
    from proveout.intake.drafts import draft_shop

    return draft_shop(answers)


def shop_in_words(file: Path) -> list[str]:
    """What a shop file was understood to mean, a sentence a line."""
    from proveout.intake.shop_file import read_shop
    from proveout.jobs.shop_words import shop_words

    words = shop_words(read_shop(file))
    return [*words.understood, *words.assumed, *words.unknown]


def schema_text(kind: Literal["plan", "job", "shop"]) -> str:
    """JSON schema of plan.json, of a job file or of a shop file."""
    if kind == "plan":
        from proveout.model.plan import Plan

        whole = {"$schema": "https://json-schema.org/draft/2020-12/schema", **msgspec.json.schema(Plan)}
        return json.dumps(whole, indent=2, sort_keys=True)
    from proveout.intake.toml_schema import schema

    return json.dumps(schema(kind), indent=2, sort_keys=True)


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _refuse_existing(path: Path) -> None:
    if path.exists():
        raise BadInput("This file is there already; nothing was changed", where=str(path), do="name another file")
    if not path.absolute().parent.is_dir():
        raise BadInput("There is no such folder", where=str(path.parent), do="make it first, or name another file")


def _write(path: Path, text: str) -> None:
    try:
        write_whole(path, text.encode())
    except OSError as fault:
        raise BadInput(
            "The file cannot be written", where=str(path), value=fault.strerror or "", do="name another place"
        ) from fault
