"""Sizes without limits of their own: before the coat at the machine, and finished once the part is back."""

from __future__ import annotations

from proveout.model.plan import NOT_KNOWN
from proveout.sheets import blocks as b
from proveout.sheets.writer import Writer

BEFORE = "All other sizes, before the coat"
FINISHED = "All other sizes, after the coat"
HOW = (
    "How far a reading before the coat may lie from the size as drawn, so that the finished part keeps its general "
    "tolerance ({name}), whichever faces are coated. The limits of the finished part stand on the receiving check "
    "alone."
)
UNKNOWN = (
    "No limits for them are known here, as nobody said how thick the coat gets: ask before the first piece. The limits "
    "of the finished part stand on the receiving check alone."
)
WRITE = "Write down what was measured and where."
READ: list[tuple[str, str, str]] = [("size, place", "1fr", "c"), ("first piece", "25", "c"), ("last piece", "25", "c")]
KINDS = (
    ("outside_mm", "outside: length, width, Ø, mm"), ("inside_mm", "inside: hole, slot, mm"),
    ("step_mm", "depth, step, middles, mm"),
)  # fmt: skip


def at_the_machine(writer: Writer) -> list[b.Block]:
    """The limits to machine to, when the job names a class. A coated part's finished ones are not here."""
    if not writer.derived.general:
        return []
    if writer.plan.finishing.coated_area_mm2 <= 0.0:
        return _as_finished(writer, f"All other sizes: general tolerance {_name(writer)} of ISO 2768-1")
    if all(step.outside_mm is None for step in writer.derived.general):
        return [b.heading(BEFORE), b.para(UNKNOWN)]
    rows: list[list[b.Cell]] = []
    for i in range(len(writer.derived.general)):
        told: list[b.Cell] = [b.strong(_ends(writer, i, field)) for field, _ in KINDS]
        rows.append([*_steps(writer, i), *told, b.BOX, b.BOX, b.BOX])
    heads = [("over, mm", "13", "r"), ("up to", "13", "r"), *((head, "28", "r") for _, head in KINDS)]
    return [b.heading(BEFORE), b.table([*heads, *READ], rows), b.para(f"{HOW.format(name=_name(writer))} {WRITE}")]


def once_back(writer: Writer) -> list[b.Block]:
    """The limits of the finished part, for a coated one that is back; nothing without a class."""
    if not writer.derived.general or writer.plan.finishing.coated_area_mm2 <= 0.0:
        return []
    return _as_finished(writer, f"{FINISHED}: general tolerance {_name(writer)} of ISO 2768-1")


def _name(writer: Writer) -> str:
    return writer.ink.words("plan", "part", "general_tolerance")


def _as_finished(writer: Writer, heading: str) -> list[b.Block]:
    rows: list[list[b.Cell]] = []
    for i in range(len(writer.derived.general)):
        allowed = writer.ink.number("derived", "general", i, "deviation_mm", digits=2)
        rows.append([*_steps(writer, i), b.strong(f"± {allowed}"), b.BOX, b.BOX, b.BOX])
    heads = [("over, mm", "22", "r"), ("up to, mm", "22", "r"), ("may differ by, mm", "32", "r")]
    return [b.heading(heading), b.table([*heads, *READ], rows), b.para(WRITE)]


def _steps(writer: Writer, index: int) -> list[b.Cell]:
    at = ("derived", "general", index)
    over = 0 if writer.derived.general[index].over_mm >= 1.0 else 1
    return [writer.ink.number(*at, "over_mm", digits=over), writer.ink.number(*at, "up_to_mm", digits=0)]


def _ends(writer: Writer, index: int, field: str) -> str:
    """Both ends with their signs."""
    ends: tuple[float, float] | None = getattr(writer.derived.general[index], field)
    if ends is None:
        return NOT_KNOWN
    told = [writer.ink.number("derived", "general", index, field, k, digits=2) for k in range(2)]
    return " to ".join(f"+{text}" if end > 0.0 else text for end, text in zip(ends, told, strict=True))
