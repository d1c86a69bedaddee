"""Drafts of the owner's files: a job with every hole and face under its balloon, a shop from ten answers."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping, Sequence
from typing import Any, Literal

import msgspec
import tomlkit

from proveout.intake.cutters_csv import cutter_rows
from proveout.intake.shop_file import shop_from_text
from proveout.intake.signature_text import sign_text
from proveout.intake.starting_shop import starting_shop, starting_shop_text
from proveout.intake.toml_edit import set_value
from proveout.intake.toml_words import plain
from proveout.model.signature import signs_of
from proveout.model.solid import Face, ReadSolid, Solid
from proveout.model.work import Hole, Survey
from proveout.quantities.errors import BadInput
from proveout.quantities.units import MM_PER_INCH

ASSUMED = "# assumed"
FROM_FILE = "; as the STEP file writes it"
TIMES = r"\s*[xX×*]\s*|\s+"  # between the numbers of an answer
NO_SOURCE_YET = (
    '# add source = "..." to the next line: until it says where the force comes from no holding can be shown\n'
)


class ShopQuestion(msgspec.Struct, frozen=True, kw_only=True):
    """One question for a new shop file. `default` is what stands there when the owner only presses return."""

    id: str
    text: str
    default: str
    unit: str
    why: str
    kind: Literal["text", "choice", "number", "sizes", "spread", "sections"] = "text"
    choices: tuple[str, ...] = ()


SHOP_QUESTIONS = (
    ShopQuestion(id="name", text="What is the shop called?", default="My shop", unit="", why="It heads every paper."),
    ShopQuestion(
        id="units", text="Do people here type and read mm or inches?", default="mm", unit="", kind="choice",
        choices=("mm", "inch"), why="The next answers are taken in it. Papers are in mm.",
    ),
    ShopQuestion(id="currency", text="In which currency are prices?", default="EUR", unit="",
        why="Money is printed in it."),
    ShopQuestion(
        id="machine", text="Which mill: 3-axis, or 3+2 with two axes that only position?", default="3-axis", unit="",
        kind="choice", choices=("3-axis", "3+2"), why="A 3+2 mill needs fewer clampings.",
    ),
    ShopQuestion(
        id="travels", text="How far does it travel along X, Y and Z?", default="500 x 400 x 400",
        unit="mm; yours in your unit", kind="sizes", why="What does not fit is refused.",
    ),
    ShopQuestion(
        id="speed", text="What is its highest spindle speed?", default="10000", unit="1/min", kind="number",
        why="Small cutters are limited by it.",
    ),
    ShopQuestion(
        id="rate", text="What does an hour of it cost, with its operator?", default="90", unit="in your currency",
        kind="number", why="Most of a part's money is this.",
    ),
    ShopQuestion(
        id="preload", text="What force do the vise jaws press with, at your usual torque (lowest-highest)?", default="",
        unit="kN", kind="spread",
        why="Left empty, or without a source in the file, it counts as unknown: then no holding can be shown.",
    ),
    ShopQuestion(
        id="bars", text="Which bar sections can you buy (width x height, ...)?", default="", unit="your unit",
        kind="sections", why="The blank is sawn from one of them. Left empty, usual sections are assumed.",
    ),
    ShopQuestion(
        id="people", text="How many people run the machines?", default="1", unit="", kind="number",
        why="Days are counted with it.",
    ),
)  # fmt: skip


def draft_shop(answers: Mapping[str, str], cutters_csv: str | None = None, *, csv_name: str = "cutters.csv") -> str:
    """TOML text of a new shop file from the answers by question id; whatever is filled in is marked # assumed.

    An answer that is empty or missing is not given. cutters_csv: the crib as a table, None for the assumed crib.
    """
    known = {question.id: question for question in SHOP_QUESTIONS}
    for name in answers:
        if name not in known:
            raise BadInput(
                "There is no such question", where="new shop", value=name, limit=", ".join(known), do="leave it out"
            )
    given = {name: answer.strip() for name, answer in answers.items() if answer.strip()}
    kind = _choice(known["machine"], given)
    machine, vise = ("mill-5", "vise-5") if kind == "3+2" else ("mill-3", "vise-3")
    text = _mark(starting_shop_text())
    assumed_rows = {noun: _rows_of(text, noun) for noun in ("cutter", "bar")}
    for noun in assumed_rows:
        text = _with_rows(text, noun, [])  # the long lists are put back at the end: editing them takes seconds
    text = _keep_one_machine(text, machine, vise)
    head = "# What is marked # assumed was not said by anyone here: correct it, or delete the mark when it is true.\n"
    text = head + text[text.index("\nname = ") :]
    unit = "in" if _choice(known["units"], given) == "inch" else "mm"
    for name, path in (("name", ("name",)), ("currency", ("currency",))):
        text = _answered(text, path, given.get(name, known[name].default), given=name in given)
    text = _answered(text, ("units",), _choice(known["units"], given), given="units" in given)
    for name, path in (
        ("speed", ("machine", machine, "speed_max_rpm")),
        ("rate", ("machine", machine, "rate_per_h")),
        ("people", ("people", "count")),
    ):
        value = _number(given.get(name, known[name].default), known[name])
        text = _answered(text, path, value, given=name in given)
    text = _answered(text, ("machine", machine, "kind"), kind, given="machine" in given)
    text = _travels(text, machine, unit, given.get("travels", ""), known["travels"])
    text = _preload(text, vise, given.get("preload", ""), known["preload"])
    rows = dict(assumed_rows)
    if "bars" in given:
        rows["bar"] = _bar_rows(given["bars"], unit, known["bars"])
    if cutters_csv is not None:
        rows["cutter"] = [f"    {_inline(row)}," for row in cutter_rows(cutters_csv, file=csv_name)]
    for noun, lines in rows.items():
        text = _with_rows(text, noun, lines)
    shop_from_text(text, file="new shop")
    return text


def _keep_one_machine(text: str, machine: str, vise: str) -> str:
    document = tomlkit.parse(text)
    for noun, keep in (("machine", machine), ("vise", vise)):
        rows: Any = document[noun]
        for place in reversed(range(len(rows))):
            if rows[place]["id"] != keep:
                del rows[place]
    return tomlkit.dumps(document)


def _mark(text: str) -> str:
    lines: list[str] = []
    for line in text.split("\n"):
        if not re.match(r"^(    \{ |[a-z_0-9]+ = )", line) or line.endswith("= ["):
            lines.append(line)
            continue
        found = re.match(r'^((?:[^"#]|"[^"]*")*?)\s*#\s*(.*)$', line)
        lines.append(f"{found[1]}  {ASSUMED}; {found[2]}" if found else f"{line}  {ASSUMED}")
    return "\n".join(lines)


def _answered(text: str, path: tuple[str, ...], value: Any, *, given: bool) -> str:
    return set_value(text, path, value, comment="" if given else ASSUMED.removeprefix("# "))


def _choice(question: ShopQuestion, given: Mapping[str, str]) -> str:
    answer = given.get(question.id, question.default)
    answer = {choice.casefold(): choice for choice in question.choices}.get(answer.casefold(), answer)
    if answer not in question.choices:
        raise BadInput(
            "This answer is not one of the choices", where=f"question {question.id}", value=f'"{answer}"',
            limit=" or ".join(question.choices), do="choose one of them",
        )  # fmt: skip
    return answer


def _unreadable(question: ShopQuestion, answer: str, limit: str) -> BadInput:
    return BadInput(
        "This answer cannot be read", where=f"question {question.id}", value=f'"{answer}"', limit=limit,
        do="write it in that form, without the unit",
    )  # fmt: skip


def _number(answer: str, question: ShopQuestion, limit: str = "") -> float | int:
    if re.fullmatch(r"\d+", answer):
        return int(answer)
    if re.fullmatch(r"\d*\.\d+", answer):
        return float(answer)
    raise _unreadable(question, answer, limit or f"a number such as {question.default}, with a point and no commas")


def _travels(text: str, machine: str, unit: str, answer: str, question: ShopQuestion) -> str:
    sizes = re.split(TIMES, answer or question.default)
    limit = f"three numbers such as {question.default}"
    if len(sizes) != 3:
        raise _unreadable(question, answer, limit)
    unit = unit if answer else "mm"
    for axis, size in zip("xyz", sizes, strict=True):
        value = _number(size, question, limit)
        text = _answered(text, ("machine", machine, f"travel_{axis}_mm"), value, given=bool(answer))
        if unit == "in":
            text = text.replace(f"travel_{axis}_mm = ", f"travel_{axis}_in = ")
    return text


def _preload(text: str, vise: str, answer: str, question: ShopQuestion) -> str:
    if not answer:
        # unknown, so it is left out: nobody guesses what holds the work
        return re.sub(r"(?m)^(preload_kn = .*?|rating_kn = .*?|torque_n_m = .*?)$\n", _unknown_line, text)
    limit = "one number or lowest-highest such as 15-20"
    ends = [_number(one, question, limit) for one in re.split(r"\s*(?:-|–|to)\s*", answer)]
    if len(ends) not in (1, 2) or ends != sorted(ends):
        raise _unreadable(question, answer, limit)
    low, high = ends[0], ends[-1]
    value = tomlkit.inline_table()
    value.update({"low": low, "nominal": (low + high) / 2, "high": high, "strength": "owner's guess"})
    text = _answered(text, ("vise", vise, "preload_kn"), value, given=True)
    # an answer typed here says nothing of where it comes from: the owner adds that, and until then it shows nothing
    text = re.sub(r"(?m)^(preload_kn = )", f"{NO_SOURCE_YET}\\1", text)
    return re.sub(r"(?m)^(rating_kn = .*?|torque_n_m = .*?)$\n", "", text)


def _unknown_line(found: re.Match[str]) -> str:
    if not found[1].startswith("preload"):
        return ""
    return "# preload_kn = { low = , nominal = , high = }   unknown: until it is measured no holding can be shown\n"


def _bar_rows(answer: str, unit: str, question: ShopQuestion) -> list[str]:
    known, rows = starting_shop().bars, []
    limit = "width x height such as 100x40, parted by commas"
    for section in re.split(r"\s*[,;]\s*", answer):
        sides = [_number(one, question, limit) for one in re.split(TIMES, section)]
        if len(sides) != 2:
            raise _unreadable(question, section, limit)
        sides.sort(reverse=True)
        tolerances = []
        for side in sides:
            side_mm = side * (MM_PER_INCH if unit == "in" else 1.0)
            wider = [bar.width_tolerance_mm for bar in known if bar.width_mm >= side_mm]
            tolerances.append(min(wider, default=max(bar.width_tolerance_mm for bar in known)))
        name = f"{plain(sides[0])}x{plain(sides[1])}{'in' if unit == 'in' else ''}"
        row = {"id": name, f"width_{unit}": sides[0], f"height_{unit}": sides[1]}
        row |= {"width_tolerance_mm": tolerances[0], "height_tolerance_mm": tolerances[1], "corner_radius_mm": 1.0}
        rows.append(f"    {_inline(row)},  {ASSUMED}: tolerances and corner radius")
    return rows


def _row_lines(text: str, noun: str) -> tuple[int, int]:
    start = text.index(f"\n{noun} = [\n") + len(f"\n{noun} = [\n")
    return start, text.index("\n]", start - 1) + 1


def _rows_of(text: str, noun: str) -> list[str]:
    start, end = _row_lines(text, noun)
    return text[start:end].splitlines()


def _with_rows(text: str, noun: str, lines: list[str]) -> str:
    start, end = _row_lines(text, noun)
    return text[:start] + "".join(f"{line}\n" for line in lines) + text[end:]


def _inline(row: Mapping[str, Any]) -> str:
    parts = [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in row.items()]
    return "{ " + ", ".join(parts) + " }"


def draft_job(
    read: ReadSolid, survey: Survey, *, step: str, number: str, quantity: int | None = None,
    sizes: Mapping[int, str] | None = None, notes: Sequence[str] = (),
) -> str:  # fmt: skip
    """TOML text of a new job file: every hole and face under its balloon, its size left for the owner to type.

    step: the STEP file as the owner typed it.  number: the part number.  sizes: what the STEP file itself writes, by
    balloon.  notes: what it writes beside that, a line each.
    """
    written = sizes or {}
    entries = balloon_entries(read.solid, survey)
    warnings = [f"# Asked of you: {_one_line(warning)}" for warning in read.warnings]
    size = " x ".join(plain(round(one, 3)) for one in read.solid.size_mm)
    said = "100  # assumed" if quantity is None else f"{quantity}"
    lines = [
        f"# The job of part {_one_line(number)}: what is written about it, and the order.",
        "# Sizes are of the finished part.",
        f"# The solid measures {size} mm.",
        *warnings,
        "",
        'general_tolerance = "m"  # assumed; class of ISO 2768-1: "f", "m", "c" or "v"',
        "edge_break_mm = 0.3  # assumed",
        "coated = false  # assumed; when it is, write [coat] below",
        "",
        "[part]",
        f"number = {_text(number)}",
        f"name = {_text(number)}  # assumed",
        'revision = "-"  # assumed',
        f"step = {_text(step)}",
        'alloy = "6061-T6"  # assumed',
        "",
        "[order]",
        f"quantity = {said}",
        "# start = 2026-01-05",
        "# due = 2026-02-16",
        "",
        "# [coat]",
        '# process = "hard coat"',
        "# thickness_mm = { low = 0.040, nominal = 0.050, high = 0.060 }",
        "# build_up_share = { low = 0.45, nominal = 0.50, high = 0.55 }",
        "",
        '# Type between the quotes what the drawing says: "H8", "M6 6H", "18 +0.05/-0.02", "mask".',
        '# Several sizes of one hole, each with diameter and mask, parted by semicolons: "20 H8 mask; M5 6H mask".',
        "# Leave the rest empty.",
        *(f"# In the STEP file, not taken: {_one_line(note)}" for note in notes),
        "[sizes]",
        *(
            f"{balloon} = {_text(written.get(balloon, ''))}  # {words}{FROM_FILE if balloon in written else ''}"
            for balloon, _, words in entries
        ),
        "",
        "[masked]",
        "balloons = []  # stays free of the coat",
        "",
        "[show]",
        "balloons = []  # the customer sees these",
        "",
        "[critical]",
        "balloons = []  # failure of these could hurt someone: every piece is checked",
        "",
        "# Ties each number to its hole or face by its geometry, so that it survives another export. Do not edit.",
        "[balloons]",
        *(f"{balloon} = {_text(name)}" for balloon, name, _ in entries),
        "",
        "# Every face as it lies here, so that the numbers find it again on a solid that was moved or turned.",
        "[solid]",
        "faces = [",
        *(f"    {_text(sign_text(sign))}," for sign in signs_of(read.solid, survey)),
        "]",
        "",
    ]
    return "\n".join(lines)


def balloon_entries(solid: Solid, survey: Survey) -> list[tuple[int, str, str]]:
    """Number, id and words of each hole and of each face outside them, in order of number."""
    entries = [(hole.balloon, hole.id, _hole_words(hole)) for hole in survey.holes]
    taken = {balloon for balloon, _, _ in entries}
    for note in survey.faces:
        if not note.hole_id and note.balloon not in taken:
            entries.append((note.balloon, note.face_id, _face_words(solid.face(note.face_id))))
            taken.add(note.balloon)
    return sorted(entries)


def _hole_words(hole: Hole) -> str:
    steps = [
        f"{'cone to ' if step.kind == 'cone' else ''}Ø{_mm(step.diameter_mm)} from {_mm(step.depth_low_mm)} to "
        f"{_mm(step.depth_high_mm)} deep"
        for step in hole.steps
    ]
    through = "through" if hole.is_through else f"blind, {hole.bottom} bottom"
    return f"hole, {through}: {', '.join(steps)}; opens to {_direction(hole.outward)} at {_point(hole.entry_mm)}"


def _face_words(face: Face) -> str:
    surface = face.surface
    if surface.kind == "plane":
        what = f"flat face looking to {_direction(face.normal)}"
    elif surface.kind in ("cylinder", "sphere"):
        what = f"{'hollow' if face.inward else 'round'} {surface.kind} R{_mm(surface.radius_mm)}"
    elif surface.kind == "torus":
        what = f"{'inside' if face.inward else 'outside'} rounding R{_mm(surface.minor_radius_mm)}"
    elif surface.kind == "cone":
        angle = plain(round(math.degrees(2 * surface.half_angle_rad), 2))
        what = f"{'hollow' if face.inward else 'outside'} cone, {angle}°"
    else:
        what = "curved face"
    return f"{what}, {face.area_mm2:.0f} mm², middle at {_point(face.centroid_mm)}"


def _mm(value: float) -> str:
    return plain(round(value, 3) + 0.0)


def _point(point: tuple[float, float, float]) -> str:
    return "(" + ", ".join(_mm(one) for one in point) + ")"


def _direction(axis: tuple[float, float, float]) -> str:
    for place, name in enumerate("xyz"):
        if abs(axis[place]) > 1.0 - 1e-9:
            return ("+" if axis[place] > 0 else "-") + name
    return "(" + ", ".join(f"{round(one, 3) + 0.0:.3f}" for one in axis) + ")"


def _one_line(text: str) -> str:
    return re.sub(r"[\x00-\x1f\x7f]+", " ", text)


def _text(value: str) -> str:
    return json.dumps(_one_line(value), ensure_ascii=False)
