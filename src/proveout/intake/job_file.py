"""The owner's job file (TOML), or a bare STEP file's name, becomes a Job."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any, Literal

from proveout.intake import job_words as words
from proveout.intake.assumed_lines import marked_assumed, marked_keys
from proveout.intake.file_kinds import refuse_other_kind
from proveout.intake.inspection_words import inspection_of_words
from proveout.intake.kit_words import read_kit
from proveout.intake.money_words import demand_of_words, selling_of_words
from proveout.intake.shop_words import Section
from proveout.intake.signature_text import signs_from_texts
from proveout.intake.toml_words import (
    Place,
    load_toml,
    read_text,
    read_words,
    refuse_unknown,
    shown,
    table_at,
    tables_at,
)
from proveout.model.job import (
    ALLOY,
    COATED,
    LETTERS,
    QUANTITY,
    Balloon,
    BlindShare,
    Coat,
    Job,
    Order,
    PartText,
    Pin,
    Size,
)
from proveout.model.marking import Marking
from proveout.model.shop import Shop
from proveout.model.size_text import read_size
from proveout.model.solid import SIDES
from proveout.model.wall_reading import WallReading
from proveout.model.work import HOLE_ID
from proveout.quantities.errors import BadInput, OutOfRange

QUANTITY_WITHOUT_JOB = 100
EDGE_BREAK_WITHOUT_JOB_MM = 0.3
NO_SIZE_TYPED = "No job file: no size carries a tolerance of its own; class m of ISO 2768-1 is assumed for all."
SIZES_IN_FILE = (
    "No job file: the sizes with limits are those of the STEP file; class m of ISO 2768-1 is assumed for all others."
)


def read_job(path: Path) -> Job:
    """The job written in a TOML file; the STEP file that it names is looked for by `step_of_job`."""
    return job_from_text(read_text(path), file=path.name)


def step_of_job(path: Path, job: Job) -> Path:
    """The STEP file of a job file at `path`: a relative name is looked for beside the job file."""
    found = path.parent / job.part.step
    if found.is_dir():
        raise BadInput(
            "The job names a folder where a STEP file is needed", where=f"{path.name}: part step",
            value=f'"{job.part.step}"', do="name the file in it",
        )  # fmt: skip
    if not found.is_file():
        raise BadInput(
            "The job names a STEP file that is not there", where=f"{path.name}: part step", value=f'"{job.part.step}"',
            do="correct the name; it counts from the folder of the job file",
        )  # fmt: skip
    return found


def job_from_text(text: str, *, file: str = "job file") -> Job:
    """The job written in TOML text; `file` is the name said in messages."""
    raw = load_toml(text, file=file)
    refuse_other_kind(raw, wanted="job", file=file)
    top, assumed = Place(file=file), []
    own = [key for word in words.JOB_TOP.words for key in word.keys]
    sections = [section.name for section in words.JOB_SECTIONS if section.name and "." not in section.name]
    refuse_unknown(raw.keys(), [*own, *sections], top)
    head = read_words({key: raw[key] for key in own if key in raw}, words.JOB_TOP.words, top, assumed)
    part = PartText(**_section(raw, words.PART, top, assumed))
    order = Order(**_section(raw, words.ORDER, top, assumed))
    refuse_late_start(order.start, order.due, Place(file=file, path="order"))
    if head["general_tolerance"] is None:
        assumed.append("No general tolerance is written: only the written sizes are inspected.")
    if head["edge_break_mm"] is None:
        assumed.append("No edge break is written: edges are left as they are cut, apart from drawn ones.")
    kit, bag = read_kit(raw, top)
    balloons = _balloons(raw, top)
    ids = {balloon.number: balloon.id for balloon in balloons}
    masked = _numbers(raw, words.MASKED, top, ids)
    critical = _numbers(raw, words.CRITICAL, top, ids)
    sizes = _sizes(raw, top, ids, masked, critical)
    _refuse_unwritten(critical, sizes, top)
    coat = _coat(raw, top, assumed)
    unsaid = [f"{section}/{key}" if section else key for section, keys in marked_keys(text).items() for key in keys]
    if coat is not None and COATED in unsaid:
        unsaid.remove(COATED)
    elif head["coated"] not in (None, coat is not None):
        raise BadInput(
            "What is said of the coat contradicts itself", where=top.at("coated"),
            value="yes, and there is no [coat]" if head["coated"] else "no, and there is a [coat]",
            do="correct one of the two",
        )  # fmt: skip
    all_masked = sorted({*masked, *_wholly_masked(sizes)})
    any_masked = sorted({*masked, *(size.balloon for size in sizes if size.is_masked)})
    if any_masked and coat is None:
        raise BadInput(
            "Something is masked and there is no coat", where=top.at("masked"), value=str(any_masked),
            do="add [coat] or remove the mask",
        )  # fmt: skip
    others = _outside(raw, top, assumed)
    return Job(
        part=part, order=order, coat=coat, sizes=sizes, masked_balloons=tuple(all_masked),
        show_faces=_show_faces(raw, top, ids), general_tolerance=head["general_tolerance"],
        step_max_mm=head["step_max_mm"], bow_max_mm=head["bow_max_mm"], cusp_mm=head["cusp_mm"],
        edge_break_mm=head["edge_break_mm"], other_finishers=others, markings=_markings(raw, top, ids, others),
        pins=_pins(raw, top), balloons=balloons,
        marks=tuple(sorted(_numbered(raw, words.MARKS, top).items())), as_bought=_as_bought(raw, top),
        inspection=inspection_of_words(raw, top),
        kit=kit, bag=bag, selling=selling_of_words(raw, top), demand=demand_of_words(raw, top),
        assumed=(*marked_assumed(text, file=file), *assumed), unsaid=tuple(unsaid),
        drafted=signs_from_texts(
            tuple(_section(raw, words.SOLID, top, [])["faces"]), Place(file=file, path=words.SOLID.name)
        ),
        wall_readings=_wall_readings(raw, top), **_prove_out(raw, top),
    )  # fmt: skip


def job_from_step(name: str, *, quantity: int | None = None) -> Job:
    """The job of a bare STEP file: nothing is written, so every default is listed in `assumed`."""
    step = PurePosixPath(PureWindowsPath(name).name).name
    number = re.sub(r"\.(step|stp|p21)$", "", step, flags=re.IGNORECASE).strip() or "part"
    assumed = [
        f"No job file: the part is called {number}, after its file.",
        "No job file: the alloy is assumed to be 6061-T6.",
        "No job file: no coat is assumed; a coat would change every size.",
        NO_SIZE_TYPED,
        f"No job file: every edge is assumed to be broken {EDGE_BREAK_WITHOUT_JOB_MM:g} mm.",
        "No job file: no face is assumed to be a show face.",
        "No job file: no day is given, so nothing is early or late.",
    ]
    if quantity is None:
        assumed.append(f"No job file: a quantity of {QUANTITY_WITHOUT_JOB} is assumed.")
    return Job(
        part=PartText(number=number, name=number, revision="-", step=name),
        order=Order(quantity=QUANTITY_WITHOUT_JOB if quantity is None else quantity),
        coat=None, sizes=(), masked_balloons=(), show_faces=(), general_tolerance="m",
        edge_break_mm=EDGE_BREAK_WITHOUT_JOB_MM, other_finishers=(), assumed=tuple(assumed),
        unsaid=(ALLOY, COATED, *((QUANTITY,) if quantity is None else ())),
    )  # fmt: skip


def check_job_in_shop(job: Job, shop: Shop, *, file: str = "job file") -> None:
    """BadInput when the job names a finisher, bar, machine, vise or jaws that the shop does not have."""
    finishers = [finisher.id for finisher in shop.finishers]
    named = [(name, "outside finishers") for name in job.other_finishers]
    if job.coat is not None and job.coat.finisher:
        named.append((job.coat.finisher, "coat finisher"))
    for name, key in named:
        _refuse_stranger(name, finishers, Place(file=file).at(key), "finisher")
    for name in job.selling.channels if job.selling is not None else ():
        _refuse_stranger(
            name, [one.id for one in shop.money.channels], Place(file=file).at("selling channels"), "channel"
        )
    things = {
        "bar": [one.id for one in shop.bars], "machine": [one.id for one in shop.machines],
        "vise": [one.id for one in shop.vises], "jaws": [one.id for one in shop.jaws],
    }  # fmt: skip
    for pin in job.pins:
        if pin.quantity == "machines":
            for value in pin.value.splitlines():
                _refuse_stranger(value, things["machine"], Place(file=file).at("pins machines"), "machine")
        elif pin.quantity in things:
            _refuse_stranger(pin.value, things[pin.quantity], Place(file=file).at(f"pins {pin.quantity}"), pin.quantity)


def refuse_late_start(start: str, due: str, place: Place) -> None:
    """OutOfRange when work would begin after the day on which it is wanted; ISO dates, empty when not said."""
    if start and due and due < start:
        raise OutOfRange(
            "The day wanted is before the first day of work", where=place.at("due"), value=due,
            limit=f"{start} or later", do="correct one of the two dates",
        )  # fmt: skip


def _refuse_stranger(name: str, known: list[str], where: str, noun: str) -> None:
    if name not in known:
        raise BadInput(
            f"The job names a {noun} that the shop does not have", where=where, value=f'"{name}"',
            limit=", ".join(known) or f"the shop has no {noun}", do="correct the name or add it to the shop file",
        )  # fmt: skip


def _section(raw: Mapping[str, Any], section: Section, top: Place, assumed: list[str]) -> dict[str, Any]:
    table = table_at(raw, section.name, top, must=section.must, why=section.text) or {}
    return read_words(table, section.words, Place(file=top.file, path=section.name), assumed)


def _coat(raw: Mapping[str, Any], top: Place, assumed: list[str]) -> Coat | None:
    table = table_at(raw, "coat", top, must=False)
    if table is None:
        return None
    place = Place(file=top.file, path="coat")
    own = {key: value for key, value in table.items() if key != "blind"}
    coat = Coat(blind=_blind(table, place), **read_words(own, words.COAT.words, place, assumed, inner=["blind"]))
    if coat.thickness_mm.low <= 0.0:
        raise OutOfRange(
            "A coat has some thickness", where=place.at("thickness_mm"), value=f"{coat.thickness_mm.low:g} mm",
            limit="above 0 mm", do="correct the thickness or remove [coat]",
        )  # fmt: skip
    return coat


def _blind(table: Mapping[str, Any], place: Place) -> tuple[BlindShare, ...]:
    """How thick the coat comes in blind holes, the shallowest first."""
    rows = [
        BlindShare(**read_words(row, words.BLIND.words, Place(file=place.file, path=f"coat blind number {k}"), []))
        for k, row in enumerate(tables_at(table, "blind", place, must=False), start=1)
    ]
    return tuple(sorted(rows, key=lambda row: row.from_depth_ratio))


def _numbered(raw: Mapping[str, Any], section: Section, top: Place) -> dict[int, str]:
    found: dict[int, str] = {}
    place = Place(file=top.file, path=section.name)
    kind = "clamping" if section is words.MARKS else "balloon"
    for key, value in (table_at(raw, section.name, top, must=False) or {}).items():
        if not re.fullmatch(r"[1-9]\d{0,3}", key):
            raise BadInput(
                f"A key of [{section.name}] is a {kind} number", where=place.at(), value=key, limit="1 to 9999",
                do=section.text,
            )  # fmt: skip
        if not isinstance(value, str):
            raise BadInput(
                f"{kind.capitalize()} {key} needs a text in quotes", where=place.at(key), value=shown(value),
                do=section.text,
            )  # fmt: skip
        found[int(key)] = value.strip()
    return dict(sorted(found.items()))


def _balloons(raw: Mapping[str, Any], top: Place) -> tuple[Balloon, ...]:
    found = _numbered(raw, words.BALLOONS, top)
    for number, name in found.items():
        if not name:
            raise BadInput(
                f"Balloon {number} is tied to nothing", where=top.at(f"balloons {number}"), value='""',
                do="draft the job file again with new-job",
            )  # fmt: skip
    names = list(found.values())
    for number, name in found.items():
        if names.count(name) > 1:
            raise BadInput(
                "Two balloons are tied to the same face or hole", where=top.at(f"balloons {number}"), value=f'"{name}"',
                do="keep one of them",
            )  # fmt: skip
    return tuple(Balloon(number=number, id=name) for number, name in found.items())


def _refuse_no_balloon(number: int, ids: Mapping[int, str], where: str) -> None:
    if ids and number not in ids:
        raise BadInput(
            f"There is no balloon {number}", where=where, value=str(number),
            limit="those of [balloons]: " + ", ".join(str(one) for one in ids), do="look the number up in the drawing",
        )  # fmt: skip


def _sizes(
    raw: Mapping[str, Any], top: Place, ids: Mapping[int, str], masked: tuple[int, ...], critical: tuple[int, ...]
) -> tuple[Size, ...]:
    sizes: list[Size] = []
    for number, text in _numbered(raw, words.SIZES, top).items():
        where = top.at(f"sizes {number}")
        _refuse_no_balloon(number, ids, where)
        parts = [part.strip() for part in text.split(";") if part.strip()]
        for place, part in enumerate(parts):
            written = read_size(part)
            if part in parts[:place] or place >= len(LETTERS):
                raise BadInput(
                    f"Balloon {number} says a size twice or too many", where=where, value=f'"{part}"',
                    limit=f"{len(LETTERS)} different ones", do="keep each size once",
                )  # fmt: skip
            if written.manner == "unknown":
                raise BadInput(
                    f"What is written at balloon {number} cannot be read", where=where, value=f'"{part}"',
                    limit=words.SIZE_FORM_WORDS, do="write the size in one of these forms",
                )  # fmt: skip
            sizes.append(
                Size(
                    balloon=number, text=part, face_ids=_face_of(number, ids), letter=LETTERS[place],
                    is_masked=written.is_masked or number in masked, is_critical=number in critical,
                )
            )  # fmt: skip
    return tuple(sizes)


def _wholly_masked(sizes: tuple[Size, ...]) -> set[int]:
    """Balloons of which nothing is coated: all their sizes are masked, or a bare mask stands among them."""
    of: dict[int, list[Size]] = {}
    for size in sizes:
        of.setdefault(size.balloon, []).append(size)
    return {
        number
        for number, own in of.items()
        if all(size.is_masked for size in own) or any(read_size(size.text).manner == "mask" for size in own)
    }


def _face_of(number: int, ids: Mapping[int, str]) -> tuple[str, ...]:
    """The face that a balloon is tied to; empty for a hole, which is looked up by its number on the solid."""
    name = ids.get(number, "")
    return (name,) if name and not name.startswith(HOLE_ID) else ()


def _numbers(raw: Mapping[str, Any], section: Section, top: Place, ids: Mapping[int, str]) -> tuple[int, ...]:
    numbers: tuple[int, ...] = _section(raw, section, top, [])["balloons"]
    for number in numbers:
        _refuse_no_balloon(number, ids, top.at(f"{section.name} balloons"))
    return tuple(sorted(set(numbers)))


def _refuse_unwritten(critical: tuple[int, ...], sizes: tuple[Size, ...], top: Place) -> None:
    written = {size.balloon for size in sizes}
    for number in critical:
        if number not in written:
            raise BadInput(
                f"Balloon {number} is called critical and has no size", where=top.at("critical balloons"),
                value=str(number), limit="balloons of [sizes]", do=f'write its size: {number} = "H8" in [sizes]',
            )  # fmt: skip


def _show_faces(raw: Mapping[str, Any], top: Place, ids: Mapping[int, str]) -> tuple[str, ...]:
    return _named_faces(_section(raw, words.SHOW, top, []), top.at("show balloons"), ids)


def _named_faces(values: Mapping[str, Any], where: str, ids: Mapping[int, str]) -> tuple[str, ...]:
    """Faces named by id or by balloon."""
    faces = list(values["faces"])
    for number in values["balloons"]:
        if number not in ids:
            _refuse_no_balloon(number, ids, where)
            raise BadInput(
                f"Balloon {number} is tied to no face", where=where, value=str(number),
                limit="balloons of [balloons]", do="draft the job file with new-job, or name the face in faces",
            )  # fmt: skip
        faces.append(ids[number])
    return tuple(dict.fromkeys(faces))


def _outside(raw: Mapping[str, Any], top: Place, assumed: list[str]) -> tuple[str, ...]:
    """Finishers beside the coat's, in their order."""
    own = {key: value for key, value in (table_at(raw, "outside", top, must=False) or {}).items() if key != "marking"}
    place = Place(file=top.file, path=words.OUTSIDE.name)
    return tuple(read_words(own, words.OUTSIDE.words, place, assumed, inner=["marking"])["finishers"])


def _markings(
    raw: Mapping[str, Any], top: Place, ids: Mapping[int, str], finishers: tuple[str, ...]
) -> tuple[Marking, ...]:
    """What is marked, each by one of the finishers that the job names."""
    found: list[Marking] = []
    rows = tables_at(table_at(raw, "outside", top, must=False) or {}, "marking", top, must=False)
    for k, row in enumerate(rows, start=1):
        place = Place(file=top.file, path=f"outside marking number {k}")
        values = read_words(row, words.MARKING.words, place, [])
        finisher = values.pop("finisher") or (finishers[0] if len(finishers) == 1 else "")
        if finisher not in finishers:
            raise BadInput(
                "A marking is asked of no finisher of this job", where=place.at("finisher"), value=finisher or "none",
                limit=", ".join(finishers) or "[outside] names none", do="name one of [outside] as finisher",
            )  # fmt: skip
        faces = _named_faces(values, place.at("balloons"), ids)
        found.append(
            Marking(
                finisher=finisher, text=values["text"], face_ids=faces, where=values["where"],
                height_mm=values["height_mm"],
            )
        )  # fmt: skip
    return tuple(found)


def _prove_out(raw: Mapping[str, Any], top: Place) -> dict[str, Any]:
    """What was run dry, without the walls below it."""
    table = table_at(raw, "prove_out", top, must=False) or {}
    own = {key: value for key, value in table.items() if key != "wall"}
    return read_words(own, words.PROVE_OUT.words, Place(file=top.file, path=words.PROVE_OUT.name), [], inner=["wall"])


def _wall_readings(raw: Mapping[str, Any], top: Place) -> tuple[WallReading, ...]:
    rows = tables_at(table_at(raw, "prove_out", top, must=False) or {}, "wall", top, must=False)
    return tuple(
        WallReading(**read_words(row, words.WALL.words, Place(file=top.file, path=f"prove_out wall number {k}"), []))
        for k, row in enumerate(rows, start=1)
    )


def _as_bought(raw: Mapping[str, Any], top: Place) -> tuple[str, ...]:
    sides = tuple(dict.fromkeys(_section(raw, words.AS_BOUGHT, top, [])["sides"]))
    for side in sides:
        if side not in SIDES:
            raise BadInput(
                "A side that stays as bought is no side", where=top.at("as_bought sides"), value=side,
                limit=", ".join(SIDES), do="name sides in the axes of the solid, as -z for its underside",
            )  # fmt: skip
    return sides


def _pins(raw: Mapping[str, Any], top: Place) -> tuple[Pin, ...]:
    values = _section(raw, words.PINS, top, [])
    single: tuple[Literal["bar", "machine", "vise", "jaws", "up"], ...] = ("bar", "machine", "vise", "jaws", "up")
    several: tuple[Literal["ups", "machines", "tilts"], ...] = ("ups", "machines", "tilts")
    torque = values["torque"]
    of_cycles: tuple[Literal["pieces_a_cycle", "side_by_side"], ...] = ("pieces_a_cycle", "side_by_side")
    return (
        *(Pin(quantity=key, value=values[key]) for key in single if values[key] is not None),
        *(Pin(quantity=key, value="\n".join(values[key])) for key in several if values[key]),
        *(Pin(quantity=key, value=str(values[key]).lower()) for key in of_cycles if values[key] is not None),
        *([Pin(quantity="torque", value=repr(torque))] if torque is not None else []),
    )
