"""Answers to what the STEP file cannot tell: the job file as a form, and what was typed there back in the file."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import tomlkit

from proveout.intake.drafts import balloon_entries
from proveout.intake.job_file import job_from_text
from proveout.intake.job_words import COAT, JOB_TOP, ORDER, PART, PROVE_OUT, SIZE_FORM_WORDS
from proveout.intake.sections import Section
from proveout.intake.toml_blocks import Put, edited
from proveout.intake.toml_words import load_toml
from proveout.jobs.asked_part import AskedPart, Design, faces_picture, job_of
from proveout.jobs.drafting import job_text
from proveout.jobs.owner_file import Shown, replace_text, show
from proveout.jobs.typed_group import Group, group_puts, with_fault
from proveout.jobs.typed_value import Field, field_of
from proveout.model.size_text import read_size
from proveout.quantities.errors import BadInput

FORMED = (PART, ORDER, JOB_TOP, COAT, PROVE_OUT)
"""Sections whose keys have a field each."""
LEFT_ALONE = ("step", "solid")
"""Keys that say which solid it is: another one would be another part."""
TITLES = {"part": "The part", "order": "The order", "": "Of every size and edge", "coat": "The coat",
          "prove_out": "Run dry"}  # fmt: skip
TICKS = ("masked", "show", "critical")
AFTER = {"coat": "order", "prove_out": "order", "sizes": "order", "masked": "sizes", "show": "sizes",
         "critical": "sizes"}  # fmt: skip


@dataclass(frozen=True)
class Line:
    """One hole or face: number, id, what it is, what is written at it.   ticks: by TICKS, as typed; stands: as written.

    size: as typed.   fault: one sentence of what is wrong with what was typed.
    """

    number: int
    id: str
    words: str
    size: str
    size_stands: str
    ticks: Mapping[str, bool]
    stands: Mapping[str, bool]
    fault: str = ""


@dataclass(frozen=True)
class JobForm:
    """The job file as a form."""

    groups: tuple[Group, ...]
    lines: tuple[Line, ...]
    fault: BadInput | None = None

    def field(self, name: str) -> Field:
        """The field of that name, as "order/quantity"."""
        return next(field for group in self.groups for field in group.fields if field.name == name)

    def group(self, title: str) -> Group:
        """The group of that title."""
        return next(group for group in self.groups if group.title == title)

    def line(self, number: int) -> Line | None:
        """The hole or face of that number."""
        return next((line for line in self.lines if line.number == number), None)


def shown_job(part: AskedPart, design: Design) -> Shown:
    """The job file as it is, or the text that would be drafted; its digest is empty then."""
    if part.has_job:
        return show(part.job_path)
    text, _ = job_text(design.read, design.survey, step=part.step, target=part.job_path)
    return Shown(path=part.job_path, text=text, digest="")


def job_form(shown: Shown, design: Design, *, is_inch: bool) -> JobForm:
    """The form of a job file.

    Raises:   Unreadable when it is no TOML.
    """
    load_toml(shown.text, file=shown.path.name)
    raw: Mapping[str, Any] = tomlkit.parse(shown.text)
    groups = tuple(_group(section, raw, is_inch=is_inch) for section in FORMED)
    sizes = _table(raw, "sizes")
    marked = {tick: set(_numbers(raw, tick)) for tick in TICKS}
    faces = {str(one) for one in _table(raw, "show").get("faces", [])}
    lines = []
    for number, id, words in balloon_entries(design.read.solid, design.survey):
        stands = {tick: number in marked[tick] for tick in TICKS}
        stands["show"] = stands["show"] or id in faces
        size = str(sizes.get(str(number), "")).strip()
        lines.append(Line(number, id, words, size, size, stands, stands))
    return JobForm(groups, tuple(lines))


def answer(
    part: AskedPart, design: Design, shown: Shown, form: JobForm, given: Mapping[str, str], *, shown_digest: str
) -> JobForm | None:  # fmt: skip
    """Write what was typed into the home's own job file; the form with its faults when it is refused, else None.

    A bare solid's job file is drafted first, with its numbered drawing beside it. Fields that the form does not name
    stay as they are, and no key but those of the job file's own words and of the numbers of the part is ever written.
    """
    typed = JobForm(
        groups=tuple(group.with_typed(given) for group in form.groups),
        lines=tuple(_typed_line(line, given) for line in form.lines),
    )
    unread = {line.number: said for line in typed.lines if (said := size_fault(line))}
    if unread:
        lines = tuple(replace(line, fault=unread.get(line.number, "")) for line in typed.lines)
        said = f"What is typed at {_listed(unread)} cannot be read"
        return replace(
            typed, lines=lines, fault=BadInput(said, limit=SIZE_FORM_WORDS, do="write it in one of these forms")
        )
    try:
        text = edited(shown.text, list(_puts(typed, shown)))
        if text == shown.text and shown.digest:
            return None
        replace_text(part.job_path, text, shown_digest=shown_digest, check=lambda new: _read_back(part.job_path, new))
    except BadInput as fault:
        return _with_fault(typed, fault)
    drawing = part.job_path.with_suffix(".svg")
    if not shown.digest and not drawing.exists():
        drawing.write_text(faces_picture(design, ()), encoding="utf-8", newline="")
    return None


def size_fault(line: Line) -> str:
    """What is wrong with the sizes typed at a hole or face, as the reader of sizes sees it; empty for nothing."""
    if line.size == line.size_stands:
        return ""
    for one in (one.strip() for one in line.size.split(";")):
        if one and read_size(one).manner == "unknown":
            return f'"{one}" cannot be read as a size.'
    return ""


def numbers_of(design: Design, face_ids: Sequence[str]) -> tuple[int, ...]:
    """Balloons of the holes and faces that ids name, each once in order."""
    wanted = set(face_ids)
    holes = {
        hole.balloon for hole in design.survey.holes
        if hole.id in wanted or any(wanted & set(step.face_ids) for step in hole.steps)
    }  # fmt: skip
    faces = {note.balloon for note in design.survey.faces if note.face_id in wanted and not note.hole_id}
    return tuple(sorted(holes | faces))


def read_back(part: AskedPart, text: str) -> None:
    """BadInput where a text may not stand as the job file of the part."""
    _read_back(part.job_path, text)
    before = job_of(part).part
    after = job_from_text(text, file=part.job_path.name).part
    if (before.step, before.solid) != (after.step, after.solid):
        raise BadInput("The earlier text is about another solid", where=part.job_path.name, value=after.step)


def _read_back(path: Path, text: str) -> None:
    job_from_text(text, file=path.name)


# --- reading


def _group(section: Section, raw: Mapping[str, Any], *, is_inch: bool) -> Group:
    table = raw if not section.name else _table(raw, section.name)
    path = (section.name,) if section.name else ()
    fields = tuple(
        field_of(word, table, table=path, name=f"{section.name or 'all'}/{word.key}", is_inch=is_inch, above={})
        for word in section.words
        if word.stem not in LEFT_ALONE
    )
    return Group(
        TITLES[section.name], section.text, fields, is_there=section.name in raw or not section.name,
        may_go=section in (COAT, PROVE_OUT),
    )  # fmt: skip


def _table(raw: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    found = raw.get(name, {})
    return found if isinstance(found, Mapping) else {}


def _numbers(raw: Mapping[str, Any], name: str) -> list[int]:
    found = _table(raw, name).get("balloons", [])
    return [int(one) for one in found if isinstance(one, int)] if isinstance(found, list) else []


# --- writing


def _typed_line(line: Line, given: Mapping[str, str]) -> Line:
    size = " ".join(given.get(f"size.{line.number}", line.size_stands).split())
    ticks = {
        tick: given[name] == "yes" if (name := f"{tick}.{line.number}") in given else line.stands[tick]
        for tick in TICKS
    }
    return replace(line, size=size, ticks=ticks)


def _puts(typed: JobForm, shown: Shown) -> Iterator[Put]:
    for group in typed.groups:
        for put in group_puts(group):
            yield replace(put, after=AFTER.get(str(put.path[0]), ""))
    raw = load_toml(shown.text, file=shown.path.name)
    written = raw.get("sizes", {})
    for line in typed.lines:
        if line.size != line.size_stands and (line.size or str(line.number) in written):
            yield Put(("sizes", str(line.number)), line.size, after=AFTER["sizes"])
    for tick in TICKS:
        yield from _puts_of_ticks(typed.lines, tick, raw)


def _puts_of_ticks(lines: Sequence[Line], tick: str, raw: Mapping[str, Any]) -> Iterator[Put]:
    on = [line for line in lines if line.ticks[tick] and not line.stands[tick]]
    off = [line for line in lines if line.stands[tick] and not line.ticks[tick]]
    if not on and not off:
        return
    table = raw.get(tick, {})
    # a show face is tied to a number only where the job file ties numbers to faces
    by_id = tick == "show" and not raw.get("balloons")
    numbers = [one for one in table.get("balloons", []) if one not in {line.number for line in off}]
    faces = [one for one in table.get("faces", []) if one not in {line.id for line in off}]
    numbers += [] if by_id else [line.number for line in on]
    faces += [line.id for line in on] if by_id else []
    for key, new in (("balloons", numbers), ("faces", faces)):
        if new != table.get(key, []):
            yield Put((tick, key), new, after=AFTER[tick])


def _with_fault(typed: JobForm, fault: BadInput) -> JobForm:
    """The form with a refusal beside the line or the field that it names."""
    named = re.search(r"\b(?:sizes|balloons) (\d{1,4})\b", fault.where) or (
        re.search(r"\b[Bb]alloon (\d{1,4})\b", fault.what) if "balloons" in fault.where else None
    )
    number = int(named[1]) if named else 0
    if typed.line(number) is None:
        return replace(typed, groups=with_fault(typed.groups, fault), fault=fault)
    lines = tuple(replace(one, fault=fault.message) if one.number == number else one for one in typed.lines)
    return replace(typed, lines=lines, fault=fault)


def _listed(numbers: Mapping[int, str]) -> str:
    return ", ".join(str(number) for number in numbers)
