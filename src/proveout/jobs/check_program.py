"""Check a program that anybody wrote: against a plan's clamping, or against solid, blank, cutters and zero."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import msgspec
import numpy as np

from proveout.geometry.frames import Frame, frame_looking_down, triple
from proveout.intake.job_file import job_from_step
from proveout.intake.shop_file import read_shop
from proveout.jobs.results import result_folder
from proveout.model.checking import CutterTable, LineCut, Obstacle, ProgramCheck, Standing
from proveout.model.course import Axes, Course
from proveout.model.job import Job
from proveout.model.program_style import Meaning
from proveout.model.proof import Proof, is_ready
from proveout.model.run import Run
from proveout.model.shop import Machine, Shop, Vise
from proveout.model.solid import Solid
from proveout.model.table_load import idle_places, places_of
from proveout.model.target import Target
from proveout.model.work import Survey
from proveout.programs.reading.blocks import lines_of, read_program
from proveout.programs.reading.control import BACK_OFF_MM, REPORT_DEFAULTS, Control
from proveout.programs.reading.running import follow
from proveout.quantities.errors import BadInput, ProveoutError, Unreadable
from proveout.removal.fields import Fields

PITCH_LOW_MM, PITCH_HIGH_MM, SIDE_CELLS = 0.1, 0.8, 600
PROGRAM_BYTES_MOST = 64_000_000
RAPIDS_TAKEN = "Rapid moves are taken to be straight; where axes go each at its own pace, look at each of them."
FINGERPRINT_LETTERS = 12  # as many as papers show, in groups of four
DIRECTIONS = {"+x": (1.0, 0.0, 0.0), "-x": (-1.0, 0.0, 0.0), "+y": (0.0, 1.0, 0.0), "-y": (0.0, -1.0, 0.0),
              "+z": (0.0, 0.0, 1.0), "-z": (0.0, 0.0, -1.0)}  # fmt: skip
TOUCH_MOST_MM = 0.5
"""A gap wider than the blank by more is no grip: a typing error, or another blank."""


@dataclass(frozen=True, kw_only=True)
class Held:
    """How a vise of the shop holds the work, its jaws along machine X and the fixed one behind.

    at_mm: the middle of the fixed jaw's face at the height of the seat, in the solid's own coordinates.  gap_mm:
    between the jaws.  jaw_top_mm: of the jaws above the seat.
    """

    vise_id: str
    at_mm: tuple[float, float, float]
    gap_mm: float
    jaw_top_mm: float


@dataclass(frozen=True, kw_only=True)
class Set:
    """How somebody set up the work for a program, without a plan.

    solid: STEP file of the finished part, None to look for strikes alone.  low_mm, high_mm: corners of the blank, and
    zero_mm where program zero lies, all in the solid's own coordinates.  up, along: the solid's direction that looks at
    the spindle and the one that lies along machine X, as +z and +x.  cutters: a table in CSV.  obstacles: what stands
    about the work, in machine directions from program zero.  held: how a vise of the shop holds it, None to look at
    none.
    """

    solid: Path | None
    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]
    zero_mm: tuple[float, float, float]
    cutters: Path
    up: str = "+z"
    along: str = "+x"
    obstacles: tuple[Obstacle, ...] = ()
    held: Held | None = None
    is_last: bool = False


@dataclass(frozen=True, kw_only=True)
class Checked:
    """A checked program.  taken: what was taken as given, in sentences.  fingerprint: of the text as it is.

    is_inch: the shop's people read inches.   names: of cutters, vises, jaws, machines and bodies, as they are called.
    """

    program: Path
    fingerprint: str
    check: ProgramCheck
    proofs: tuple[Proof, ...]
    course: Course
    finished: Finished | None
    fields: Fields
    taken: tuple[str, ...]
    differs: tuple[str, ...] = ()
    is_inch: bool = False
    names: tuple[str, ...] = ()

    @property
    def ready(self) -> bool:
        """Whether every proof that blocks holds."""
        return is_ready(self.proofs)


def check_set(
    program: Path, given: Set, *, shop_path: Path | None = None, machine_id: str = "", skips: bool = False,
    out: Path | None = None, run: Run,
) -> Checked:  # fmt: skip
    """Check a program against blank, cutters, zero and, where named, the finished solid.

    Args:     shop_path, machine_id: give travels, limits and what the control's own words mean; None when nobody
              described it.   out: folder to write the check into.
    Raises:   BadInput for broken files and values.
    """
    text = text_of(program)
    shop = None if shop_path is None else read_shop(shop_path)
    machine = _machine(shop, machine_id)
    table = _table(given.cutters, machine)
    frame = _frame(given)
    finished = None if given.solid is None else finished_of(given.solid, job_from_step(given.solid.name), run)
    standing, held_words = _standing(given, frame, shop, machine)
    longest = max(h - low for low, h in zip(given.low_mm, given.high_mm, strict=True))
    pitch = max(PITCH_LOW_MM, min(PITCH_HIGH_MM, longest / SIDE_CELLS))
    fields = Fields.from_box(low_mm=np.array(given.low_mm), high_mm=np.array(given.high_mm), pitch_mm=pitch)
    origins: dict[int, Axes] = {} if None in standing.zero_mm else {1: standing.zero_mm}
    control = control_of(machine, table, origins_mm=origins)
    taken = [
        "The spindle is taken to stand at the top of its Z before the first line.",
        f"Program zero of the first work offset (G54) is taken to lie at {_point(given.zero_mm)} mm of the solid.",
        f"The solid's {given.up} is taken to look at the spindle, its {given.along} to lie along machine X.",
        RAPIDS_TAKEN,
        "Every length behind an H is taken to be the length of the cutter of that number.",
        *held_words,
    ]
    if not re.search(r"(?im)^[^(;]*\bG2[01](?!\d)", text):
        taken.append("No G20 and no G21 is written: lengths are taken as the control has them when it begins.")
    taken.extend(pecks_taken(text, machine))
    if machine is None:
        taken.append("No machine is described: travels and its own words are not known, and modes at the start are "
                     f"those of the NIST report ({', '.join(REPORT_DEFAULTS)}).")  # fmt: skip
    checked = checked_by_text(
        program, text, control=control, standing=standing, table=table, fields=fields, finished=finished,
        leftover_counts=given.is_last, taken=tuple(taken), skips=skips, run=run,
    )  # fmt: skip
    checked = with_names(checked, shop, table, standing)
    if out is not None:
        write_check(out, checked)
    return checked


def _standing(given: Set, frame: Frame, shop: Shop | None, machine: Machine | None) -> tuple[Standing, tuple[str, ...]]:
    """How the work stands, and in sentences what of vise and table is taken as given."""
    from proveout.stages.removal_check.bodies import standing_bodies, unlooked
    from proveout.stages.removal_check.idle import idle_about

    held = given.held
    vises = () if shop is None else shop.vises
    nowhere: Axes = (None, None, None)
    if held is None:
        many = machine is not None and len(idle_places(machine, vises, ())) > 1
        rest = (*unlooked(given.obstacles, machine), *(("the other vises of its table",) if many else ()))
        standing = Standing(
            frame=frame, zero_mm=nowhere, centre_mm=None, obstacles=given.obstacles, unlooked=rest
        )  # fmt: skip
        words = (f"Not looked at, for nobody named it: {', '.join(rest)}.",) if rest else ()
        return standing, words
    vise = _vise(held, shop, machine)
    across = float(np.ptp(frame.into(np.array([given.low_mm, given.high_mm]))[:, 1]))
    if held.gap_mm > across + TOUCH_MOST_MM:
        raise BadInput(
            "The jaws do not touch the blank", where="--gap", value=f"{held.gap_mm:g} mm",
            limit=f"the blank is {across:g} mm wide between them", do="measure the gap between the jaws",
        )  # fmt: skip
    middle = triple(frame.into(np.array([held.at_mm]))[0])
    here = None if vise.stands_mm is None else triple(np.array(vise.stands_mm) - np.array(middle))
    zero = here or nowhere
    bodies = standing_bodies(
        vise, machine, middle_mm=middle, gap_mm=held.gap_mm, jaw_top_mm=held.jaw_top_mm, zero_mm=zero
    )
    lying = () if machine is None else tuple(p for p in places_of(machine, vises) if p.vise_id == vise.id)
    idle = () if machine is None else idle_places(machine, vises, lying[:1])
    beside = idle_about(here, idle, vises={v.id: v for v in vises}, jaws=() if shop is None else shop.jaws)
    obstacles = (*given.obstacles, *bodies, *beside.bodies)
    rest = (*unlooked(obstacles, machine), *beside.unlooked)
    rotary = machine.rotary if machine is not None else None
    place = "as measured in the shop file" if vise.stands_mm is not None else (
        "anywhere: nobody measured it, so travels are not looked at here"
    )  # fmt: skip
    told = (
        f"The jaws of {vise.id} are taken to lie along machine X, the fixed one behind, the middle of its face at "
        f"{_point(held.at_mm)} mm of the solid at the seat, {held.gap_mm:g} mm between them, {held.jaw_top_mm:g} mm "
        f"above the seat; the vise to stand {place}."
    )
    words = [told]
    if beside.bodies:
        words.append(
            f"It is taken to be the first {vise.id} of its machine; vises beside it that the shop file places are "
            "taken to stand there, empty."
        )
    elif machine is not None and machine.idle_vises_off:
        words.append(f"Vises in which no work lies are taken to be off the table of {machine.id}.")
    if rest:
        words.append(f"Not looked at, for it is in no description or nobody measured its place: {', '.join(rest)}.")
    standing = Standing(
        frame=frame, zero_mm=zero, centre_mm=rotary.pivot_in_machine_mm if rotary is not None else None,
        obstacles=obstacles, unlooked=rest,
    )  # fmt: skip
    return standing, tuple(words)


def _vise(held: Held, shop: Shop | None, machine: Machine | None) -> Vise:
    known = {
        vise.id: vise for vise in (shop.vises if shop is not None else ()) if machine and machine.id in vise.machines
    }
    if held.vise_id not in known:
        raise BadInput(
            "The vise of a set-up is one of the shop's on this machine", where="--vise", value=held.vise_id,
            limit=", ".join(known) or "none", do="name the shop file with --shop, and one of its vises",
        )  # fmt: skip
    vise = known[held.vise_id]
    if not 0.0 < held.gap_mm <= vise.opening_max_mm:
        raise BadInput(
            "The jaws cannot stand so far apart", where="--gap", value=f"{held.gap_mm:g} mm",
            limit=f"above 0 and at most {vise.opening_max_mm:g} mm", do="measure the gap between the jaws",
        )  # fmt: skip
    if not 0.0 < held.jaw_top_mm <= vise.jaw_height_mm:
        raise BadInput(
            "The jaws cannot stand so high above the seat", where="--jaw-top", value=f"{held.jaw_top_mm:g} mm",
            limit=f"above 0 and at most {vise.jaw_height_mm:g} mm", do="measure from the seat up to the jaw's top",
        )  # fmt: skip
    return vise


def write_check(out: Path, checked: Checked) -> None:
    """check.json in a folder: findings, faces, cutters, proofs, the text's fingerprint; cuts.csv and deviation.html.

    cuts.csv: what each line took off.  The picture is there where the finished solid is known and its hidden lines can
    be found.
    """
    content = {
        "schema_version": 1, "program": checked.program.name, "fingerprint": checked.fingerprint,
        "ready": checked.ready, "taken": checked.taken, "differs": checked.differs, "check": checked.check,
        "proofs": checked.proofs,
    }  # fmt: skip
    with result_folder(out, ours=("check.json",)) as folder:
        encoded = msgspec.json.encode(content, order="deterministic")
        (folder / "check.json").write_bytes(msgspec.json.format(encoded, indent=2) + b"\n")
        (folder / "cuts.csv").write_text(cuts_csv(checked.check.cuts), encoding="utf-8", newline="")
        page = "" if checked.finished is None else _picture(checked, checked.finished)
        if page:
            (folder / "deviation.html").write_text(page, encoding="utf-8", newline="")


def cuts_csv(cuts: Sequence[LineCut]) -> str:
    """A row for each line that took metal; numbers in mm and mm3, nothing where one is not known."""
    rows = ["line,cutter,cut_mm,removed_mm3,a_e_mm,a_p_mm,chip_mm"]
    for one in cuts:
        chip = "" if one.chip_mm is None else f"{one.chip_mm:.4f}"
        rows.append(
            f"{one.line},T{one.number},{one.cut_mm:.3f},{one.removed_mm3:.3f},{one.radial_mm:.3f},{one.axial_mm:.3f},"
            f"{chip}"
        )
    return "\n".join(rows) + "\n"


def _picture(checked: Checked, finished: Finished) -> str:
    """What the program left on every face and cut too deep, as a page; empty where no drawing can be made."""
    from proveout.intake.step import drawings
    from proveout.sheets.deviation import Deviations, FaceRow, deviation_html
    from proveout.sheets.numbered import NUMBERED_VIEWS, PartViews
    from proveout.stages.removal_check.decide import GOUGE_LIMIT_MM, LEFTOVER_LIMIT_MM

    try:
        drawn = drawings(finished.solid, [(view.view_direction, view.up) for view in NUMBERED_VIEWS])
    except ProveoutError:
        return ""
    rows = tuple(
        FaceRow(face_id=f.face_id, leftover_mm=f.leftover_mm, gouge_mm=f.gouge_mm, line=f.gouge_line)
        for f in checked.check.faces
    )
    shown = Deviations(
        title=f"{checked.program.name}: left over and gouged",
        words=(
            f"Fingerprint of the program: {checked.fingerprint}.",
            "Of lines that were not followed this shows nothing: see check.json.",
        ),
        faces=rows, leftover_limit_mm=LEFTOVER_LIMIT_MM, gouge_limit_mm=GOUGE_LIMIT_MM,
    )  # fmt: skip
    return deviation_html(shown, views=PartViews(solid=finished.solid, drawings=drawn), survey=finished.survey)


def control_of(machine: Machine | None, table: CutterTable, *, origins_mm: dict[int, Axes] | None = None) -> Control:
    """What is known of a machine's control when a program begins with these cutters."""
    style = machine.program if machine is not None else None
    rotary = machine.rotary if machine is not None else None
    known = _peck_back_mm(machine)
    return Control(
        powers_on=style.powers_on if style is not None else REPORT_DEFAULTS,
        meanings=_meanings(machine), origins_mm=origins_mm or {}, lengths_mm=dict(table.gauge_mm),
        radii_mm={number: cutter.diameter_mm / 2.0 for number, cutter in table.cutters.items()},
        centre_mm=rotary.pivot_in_machine_mm if rotary is not None else None,
        zero_after_turning=style.zero_after_turning if style is not None else None,
        a_sign=style.a_sign if style is not None else 1, c_sign=style.c_sign if style is not None else 1,
        begins_at_top=True, cutter=0, back_off_mm=BACK_OFF_MM if known is None else known,
        tilted_plane=style.tilted_plane if style is not None else None,
        a_travel_rad=(rotary.a_low_rad, rotary.a_high_rad) if rotary is not None else None,
    )  # fmt: skip


def _peck_back_mm(machine: Machine | None) -> float | None:
    """How far above the last bottom a control's own cycle of pecks goes on; None where nobody wrote it."""
    return None if machine is None or machine.program is None else machine.program.peck_back_mm


def pecks_taken(text: str, machine: Machine | None) -> tuple[str, ...]:
    """What is taken of the control's own cycle of pecks, in a sentence; none for a program that does not call it."""
    if not re.search(r"(?i)(?<![a-z])G\s*0*83(?!\d|\.[1-9])", re.sub(r"\([^)]*\)|;.*", "", text)):
        return ()
    known = _peck_back_mm(machine)
    back_mm, why = (
        (BACK_OFF_MM, "nobody described this control's (peck_back_mm)") if known is None
        else (known, "as the shop file says; others can change that setting")
    )  # fmt: skip
    return (f"G83 is taken to come back by rapid to {back_mm:g} mm above the last bottom: {why}.",)


def _meanings(machine: Machine | None) -> dict[str, Meaning]:
    style = machine.program if machine is not None else None
    if style is None:
        return {}
    named: dict[str, Meaning] = {style.clamp_a: "clamp A", style.unclamp_a: "unclamp A", style.clamp_c: "clamp C",
             style.unclamp_c: "unclamp C"}  # fmt: skip
    return {**{word: meaning for word, meaning in named.items() if word}, **style.own_words}


def checked_by_text(
    program: Path, text: str, *, control: Control, standing: Standing, table: CutterTable, fields: Fields,
    finished: Finished | None, leftover_counts: bool, taken: tuple[str, ...], skips: bool, run: Run,
    is_shared: bool = False,
) -> Checked:  # fmt: skip
    """Follow a program's text, replay it on the fields (in place) and judge it.

    is_shared: it works in several places, and only what it does in the work offset of this standing is judged.
    """
    from proveout.stages.removal_check.program import decide
    from proveout.stages.timing.course import course_seconds

    run.check("program", "reading")
    parsed = read_program(text)
    whole = follow(parsed, control, skips=skips)
    course = whole.in_system(standing.system) if is_shared else whole
    target = None if finished is None else finished.target
    decided = decide(
        course, fields=fields, target=target, standing=standing, table=table, lines_count=len(parsed.blocks),
        leftover_counts=leftover_counts, run=run,
    )  # fmt: skip
    seconds = course_seconds(whole, table.machine) if table.machine is not None else None
    check = msgspec.structs.replace(decided.value, seconds=seconds)
    return Checked(
        program=program, fingerprint=fingerprint_of_text(text), check=check, proofs=decided.proofs, course=course,
        finished=finished, fields=fields, taken=taken,
    )  # fmt: skip


def with_names(checked: Checked, shop: Shop | None, table: CutterTable, standing: Standing) -> Checked:
    """A check with the unit that the shop's people read, and every name that its sentences may have."""
    things = [*table.cutters.values(), *([] if table.machine is None else [table.machine])]
    found = [*(word for one in things for word in (one.id, one.name)), *(body.name for body in standing.obstacles)]
    if shop is not None:
        found += [word for one in (*shop.machines, *shop.cutters) for word in (one.id, one.name)]
        found += [one.id for one in (*shop.vises, *shop.jaws)]
    return replace(
        checked, is_inch=shop is not None and shop.units == "inch", names=tuple(dict.fromkeys(found))
    )  # fmt: skip


def fingerprint_of_text(text: str) -> str:
    """Names a program by its text: line ends do not count, every other character does."""
    lines = lines_of(text)
    plain = "\n".join(lines if lines[-1] else lines[:-1])
    return hashlib.sha256(plain.encode("utf-8", errors="surrogateescape")).hexdigest()[:FINGERPRINT_LETTERS]


def text_of(program: Path) -> str:
    """The text of a program, letters outside ASCII kept as they are."""
    if not program.is_file():
        raise BadInput("There is no such program", where=str(program), do="name the file that the machine is to run")
    content = program.read_bytes()
    if len(content) > PROGRAM_BYTES_MOST:
        raise BadInput(
            "This program is too long to be followed", where=program.name, value=f"{len(content)} bytes",
            limit=f"{PROGRAM_BYTES_MOST} bytes", do="check its parts one by one",
        )  # fmt: skip
    if b"\x00" in content:
        raise Unreadable("This is no text", where=program.name, do="name a program per ISO 6983")
    return content.decode("utf-8", errors="surrogateescape")


def _machine(shop: Shop | None, machine_id: str) -> Machine | None:
    if shop is None:
        return None
    known = {machine.id: machine for machine in shop.machines}
    if machine_id:
        if machine_id not in known:
            raise BadInput(
                "The shop has no such machine", where="--machine", value=machine_id, limit=", ".join(known),
                do="name one of these",
            )  # fmt: skip
        return known[machine_id]
    if len(known) > 1:
        raise BadInput(
            "The shop has several machines", where="--machine", limit=", ".join(known),
            do="say which one runs this program",
        )  # fmt: skip
    return next(iter(known.values()))


def _table(path: Path, machine: Machine | None) -> CutterTable:
    from proveout.intake.cutter_table import read_cutter_table
    from proveout.intake.toml_words import read_text

    rows = read_cutter_table(read_text(path), file=path.name)
    cutters = {row.number: row.cutter for row in rows}
    gauge = {row.number: row.length_mm if row.length_mm is not None else row.cutter.gauge_mm for row in rows}
    return CutterTable(cutters=cutters, gauge_mm=gauge, machine=machine)


def _frame(given: Set) -> Frame:
    for option, value in (("--up", given.up), ("--along", given.along)):
        if value not in DIRECTIONS:
            raise BadInput(
                "A direction is one of the solid's six", where=option, value=value, limit=", ".join(DIRECTIONS),
                do="write it as +z",
            )  # fmt: skip
    if given.up[1] == given.along[1]:
        raise BadInput(
            "What looks at the spindle cannot also lie along X", where="--along", value=given.along,
            do=f"name a direction square to {given.up}",
        )  # fmt: skip
    for k, (low, high) in enumerate(zip(given.low_mm, given.high_mm, strict=True)):
        if not low < high:
            raise BadInput(
                "The blank has no size", where="--blank-low, --blank-high",
                value=f"{'xyz'[k]} from {low:g} to {high:g} mm", do="name its low corner, then its high corner",
            )  # fmt: skip
    return frame_looking_down(up=DIRECTIONS[given.up], along=DIRECTIONS[given.along], origin_mm=given.zero_mm)


@dataclass(frozen=True)
class Finished:
    """The finished part: what it is machined to, and its solid with the numbers of its faces, for a picture."""

    target: Target
    solid: Solid
    survey: Survey


def finished_of(step: Path, job: Job, run: Run) -> Finished:
    """What a solid is machined to by what its job says; as it is where the job says nothing of a coat."""
    from proveout.intake.step import read_solid
    from proveout.stages import survey
    from proveout.stages.finishing.decide import decide as decide_finishing
    from proveout.stages.finishing.from_file import sizes_of_file

    read = read_solid(step, solid_name=job.part.solid)
    found = survey.decide(solid=read.solid, run=run).value
    job = survey.retied(job=job, solid=read.solid, survey=found).job
    surveyed = survey.numbered_as(found, job.balloons)
    job = sizes_of_file(pmi=read.pmi, job=job, solid=read.solid, survey=surveyed).job
    target = decide_finishing(solid=read.solid, survey=surveyed, job=job).value.target
    return Finished(target=target, solid=read.solid, survey=surveyed)


def _point(point: tuple[float, float, float]) -> str:
    return " ".join(f"{v:g}" for v in point)
