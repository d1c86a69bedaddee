"""The milled and drilled sub-steps of parts that others planned: what kind each is, and whether our moves take it off.

    PROVEOUT_DATA=FOLDER python bench/fabricad.py

Every sub-step has the solid before and after it. The body between them is classified by its geometry first
(kinds.py); then moves are worked out from that body alone (expressing.py) and run on intervals of the solid before.
Reference: the volume of the body by the CAD kernel, exact for the file's surfaces. A sub-step is *expressed* when the
volume taken off in each of the three fields, the metal left and the metal gouged (ray by ray against the solid after)
all lie within a thousandth of it. What is not expressed is listed with its reason.

Three axes make what one cutter direction makes; a body with sharp inside corners along it counts among them. Where a
mill that reaches leaves less than the thousandth in the corners, it is expressed, and said so; shares without it stand
beside. Left out of the shares are only sub-steps in which the file takes no body off.
"""

from __future__ import annotations

import os
import statistics
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from expressing import Expressed, moves_for, run
from kinds import Kind, classify
from removed import NotACut, removed_between, stock_box
from yardstick import is_full, line, seconds_of, yardstick_s

from proveout.solids.measure import volume_of
from proveout.solids.step import named_solids

WITHIN_RATIO = 0.001
RAYS_COUNT, RAYS_FULL_COUNT = 3e5, 2e6  # of the three fields together
STOCK_RATIO = 1e-6
CUTTING = {"fräsen": "milled", "bohren": "drilled"}
OTHERS = {
    "drehen": "turned", "schweißen": "welded", "schleifen": "ground", "prüfen": "inspected", "liefern": "delivered",
}  # fmt: skip
# what the file calls a cut, by the beginning of its text, and the kinds of ours that agree with it; the text names the
# shape that was set into the block, and a pocket at an edge of the block comes out open at a side
SAID = {
    "Bohrung": ("drilled hole", ("hole", "stepped hole", "countersunk hole")),
    "O-Ring-Nut": ("ring groove", ("ring groove",)),
    "Langloch": ("slot", ("slot with round ends",)),
    "Tasche mit abgerundeten": (
        "pocket with rounded ends",
        ("slot with round ends", "open slot", "step with rounded inside corners"),
    ),
    "Rechteckige Tasche": (
        "rectangular pocket",
        ("pocket with sharp inside corners", "open pocket with sharp inside corners"),
    ),
    "Rechteckige Stufe": ("rectangular corner step", ("step with a sharp inside corner",)),
    "Dreieckige Stufe": ("triangular corner step", ("step with a slanting wall",)),
    "Abgerundete Viertelstufe": ("rounded quarter step", ("step with a round wall",)),
    "Durchgehender abgeschr": ("slanting through step", ("step with a slanting wall",)),
    "Durchgehender zweiseitig": ("step slanting both ways", ("step with a slanting wall",)),
    "Durchgehender Absatz": ("through step", ("step",)),
}
NO_CUT = "not a cut"


@dataclass(frozen=True)
class SubStep:
    """One row of a part's features.csv."""

    part: str
    number: str
    way: str
    text: str
    path: Path


@dataclass(frozen=True, kw_only=True)
class Row:
    """What came of a milled or drilled sub-step. reason: why it is not expressed, empty when it is."""

    step: SubStep
    said: str
    kind: str
    agrees: bool
    is_three_axis: bool
    has_sharp_corner: bool
    volume_mm3: float
    overlapped: bool
    found: Expressed | None
    reason: str


def sub_steps(part: Path) -> list[SubStep]:
    """The sub-steps of a part in their order."""
    ways = {row[0]: row[1] for row in _cells(part / "plan.csv")}
    folder = part / "interim" / "substeps"
    return [
        SubStep(part.name, row[1], ways[row[0]], row[2], folder / f"substep_{row[1]}.STEP")
        for row in _cells(folder / "features.csv")
    ]


def _cells(path: Path) -> list[list[str]]:
    return [text.split(";") for text in path.read_text("utf-8").splitlines()[1:] if text.strip()]


def solids_of(step: SubStep) -> list[Any]:
    """The kernel solids of a sub-step's file."""
    return [solid.shape for solid in named_solids(step.path)]


def rows_of(part: Path, *, rays_count: float) -> Iterator[Row]:
    """Every milled and drilled sub-step of a part."""
    before: list[Any] | None = None
    stock_mm3 = float(_cells(part / "plan.csv")[0][3])
    for step in sub_steps(part):
        after = solids_of(step)
        if step.way in CUTTING:
            yield row_of(step, before if before is not None else _stock(after, stock_mm3), after, rays_count=rays_count)
        before = after


def _stock(after: Sequence[Any], volume_mm3: float) -> list[Any]:
    """No file holds the stock: the box of the first solid, when its volume is the one that the plan says."""
    box = stock_box(after[0])
    return [box] if abs(volume_of(box) / volume_mm3 - 1.0) < STOCK_RATIO else []


def row_of(step: SubStep, before: Sequence[Any], after: Sequence[Any], *, rays_count: float) -> Row:
    """Classify one sub-step, then express it."""
    said, agreeing = next((v for k, v in SAID.items() if step.text.startswith(k)), ("other", ()))
    body = removed_between(before, after) if before else NotACut("no solid before it is in the file")
    if isinstance(body, NotACut):
        return Row(
            step=step, said=said, kind=NO_CUT, agrees=False, is_three_axis=False, has_sharp_corner=False,
            volume_mm3=0.0, overlapped=False, found=None, reason=body.reason,
        )  # fmt: skip
    kind = classify(body)
    found, reason = None, kind.reason
    if kind.direction is not None:
        cuts = moves_for(body, kind)
        found = run(body, cuts, rays_count=rays_count) if cuts else None
        reason = reason_of(kind, found)
    return Row(
        step=step, said=said, kind=kind.name, agrees=kind.name in agreeing, is_three_axis=kind.direction is not None,
        has_sharp_corner=kind.has_sharp_corner, volume_mm3=body.volume_mm3, overlapped=body.overlapped, found=found,
        reason=reason,
    )  # fmt: skip


def reason_of(kind: Kind, found: Expressed | None) -> str:
    """Why a sub-step is not expressed; empty when everything lies within the thousandth."""
    if found is None:
        return "no mill of the list reaches so deep"
    worst = max(found.worst_ratio, found.left_ratio, found.gouge_ratio)
    if worst <= WITHIN_RATIO and found.struck_mm3 == 0.0:
        return ""
    if found.struck_mm3 > 0.0:
        return f"the moves strike another solid of the file: {found.struck_mm3:.2f} mm3"
    diameter = found.diameters_mm[-1]
    left = f"{100.0 * worst:.3f} % with the Ø{diameter:g} that reaches"
    return f"inside corners sharper than a cutter: {left}" if kind.has_sharp_corner else f"volume off by {left}"


def table(rows: Sequence[Row]) -> list[str]:
    """Kinds with their counts, shares and errors, as a Markdown table."""
    lines = [
        "| kind, by geometry | sub-steps | expressed | median % | worst % | the file calls it |",
        "|---|--:|--:|--:|--:|---|",
    ]
    for name in sorted({row.kind for row in rows}):
        own = [row for row in rows if row.kind == name]
        errors = [100.0 * row.found.worst_ratio for row in own if row.found is not None and not row.reason]
        said = ", ".join(f"{text} {count}" for text, count in sorted(Counter(row.said for row in own).items()))
        lines.append(
            f"| {name} | {len(own)} | {len(errors)} | {_number(statistics.median, errors)} | {_number(max, errors)} "
            f"| {said} |"
        )
    return lines


def _number(of: Any, values: Sequence[float]) -> str:
    return f"{of(values):.4f}" if values else "–"


def reasons(rows: Sequence[Row]) -> list[str]:
    """Every sub-step that is not expressed, and those with something else to say."""
    lines = [f"- {r.step.part} {r.step.number} ({r.said}; {r.kind}): {r.reason}" for r in rows if r.reason]
    lines += [
        f"- {r.step.part} {r.step.number} ({r.said}): expressed on the solid that the file changes, though another "
        "solid of the file lies in the same place"
        for r in rows
        if r.overlapped and not r.reason
    ]
    lines += [
        f"- {r.step.part} {r.step.number} ({r.said}): expressed within {100.0 * r.found.left_ratio:.3f} % by a "
        f"Ø{r.found.diameters_mm[-1]:g} that leaves the inside corner round"
        for r in rows
        if r.has_sharp_corner and not r.reason and r.found is not None
    ]
    return lines


def figures_of(rows: Sequence[Row]) -> dict[str, Any]:
    """Counts, shares and errors; a kind is expressed when every sub-step of it is."""
    cuts = [row for row in rows if row.kind != NO_CUT]
    upright = [row for row in cuts if row.is_three_axis]
    done = [row for row in upright if not row.reason]
    kinds = {row.kind for row in upright}
    whole = kinds - {row.kind for row in upright if row.reason}
    said = {row.said for row in upright}
    said_whole = said - {row.said for row in upright if row.reason}
    rounded = [row for row in upright if not row.has_sharp_corner]
    strict = [row for row in rounded if not row.reason]
    errors = [100.0 * row.found.worst_ratio for row in done if row.found is not None]
    return {
        "milled_and_drilled_count": len(rows),
        "cuts_count": len(cuts),
        "three_axis_count": len(upright),
        "expressed_count": len(done),
        "expressed_share_ratio": round(len(done) / max(1, len(upright)), 4),
        "expressed_with_no_corner_left_share_ratio": round(len(strict) / max(1, len(upright)), 4),
        "expressed_where_no_corner_is_sharp_share_ratio": round(len(strict) / max(1, len(rounded)), 4),
        "expressed_of_all_milled_and_drilled_ratio": round(len(done) / max(1, len(rows)), 4),
        "kinds_count": len(kinds),
        "kinds_whole_count": len(whole),
        "kinds_of_the_file_count": len(said),
        "kinds_of_the_file_whole_count": len(said_whole),
        "kinds_of_the_file_share_ratio": round(len(said_whole) / max(1, len(said)), 4),
        "kind_agrees_with_file_ratio": round(sum(row.agrees for row in cuts) / max(1, len(cuts)), 4),
        "volume_error_worst_percent": round(max(errors, default=100.0), 5),
        "volume_error_median_percent": round(statistics.median(errors) if errors else 100.0, 5),
        "left_worst_percent": round(max((100.0 * r.found.left_ratio for r in done if r.found), default=100.0), 5),
        "gouge_worst_percent": round(max((100.0 * r.found.gouge_ratio for r in done if r.found), default=100.0), 5),
        "moves_count": sum(row.found.moves_count for row in done if row.found),
        "arcs_count": sum(row.found.arcs_count for row in done if row.found),
    }


def main() -> int:
    """Classify and express everything, print the table, the reasons and the line."""
    named = os.environ.get("PROVEOUT_DATA", "")
    if not named:
        print(line(name="fabricad", figures={}, excluded=["everything: PROVEOUT_DATA is not set on this machine"]))
        return 0
    parts = sorted(path.parent for path in (Path(named) / "fabricad").glob("*/plan.csv"))
    if not parts:
        print(f"no part below fabricad of PROVEOUT_DATA={named}", file=sys.stderr)
        return 2
    rays_count = RAYS_FULL_COUNT if is_full() else RAYS_COUNT
    rows: list[Row] = []

    def one_after_another() -> None:
        for part in parts:
            for row in rows_of(part, rays_count=rays_count):
                rows.append(row)
                print(f"{row.step.part} {row.step.number} {row.said}: {row.kind}", file=sys.stderr)

    taken = seconds_of(one_after_another)
    others = Counter(OTHERS.get(s.way, s.way) for part in parts for s in sub_steps(part) if s.way not in CUTTING)
    for text in table(rows):
        print(text)
    print()
    for text in reasons(rows):
        print(text)
    for way, count in sorted(others.items()):
        print(f"- {count} sub-steps are {way}: neither milled nor drilled")
    figures = {
        "yardstick_s": yardstick_s(), "taken_s": round(taken, 1), "parts_count": len(parts),
        "rays_per_sub_step_count": rays_count, **figures_of(rows),
    }  # fmt: skip
    print(
        line(
            name="fabricad",
            figures=figures,
            targets={
                "expressed_share_ratio": ("at least", 0.9),
                "kinds_of_the_file_share_ratio": ("at least", 0.9),
                "volume_error_worst_percent": ("at most", 100.0 * WITHIN_RATIO),
            },
            excluded=[
                "sub-steps turned, welded or ground, and those in which the file takes off no body: listed above",
            ],
        )
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
