"""Sizes, tolerances and datums of AP242 files: what our reader gives against what the text of the file holds.

The text is read by bench/part21.py, which shares nothing with the CAD kernel or with our own reader. Per kind of entity
both are counted and matched by their values; every difference is printed. The times are those of the kernel's reading
of the whole file, with its geometry, and of the text's.
"""

from __future__ import annotations

import os
import statistics
from collections import Counter
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from pathlib import Path

from drawn_text import Text, text_of
from yardstick import is_full, line, paired

from proveout.model.pmi import Pmi
from proveout.solids.shapes import silence
from proveout.solids.step import read_document, read_step

KINDS = {"diameter": "diameter", "linear distance": "length", "angle": "angle", "radius": "radius"}
DIGITS = 6
NOT_A_TOLERANCE = (
    "size or location", "limits of a length, mm", "fit", "faces of a size", "faces of a tolerance", "datum",
)  # fmt: skip


@dataclass(frozen=True)
class Row:
    """One kind of entity in one file. matched: that both hold with the same values."""

    what: str
    text_count: int
    our_count: int
    matched_count: int
    only_text: tuple[str, ...]
    only_ours: tuple[str, ...]


def drawn_files(data: Path) -> list[Path]:
    """The AP242 files of the outside data."""
    return sorted((data / "nist-pmi" / "ap242-pmi").glob("*.stp"))


def compared(text: Text, ours: Pmi) -> list[Row]:
    """Row by row, values and ties to faces as well."""
    rows = [
        _row("size or location", (KINDS.get(one.name, "other") for one in text.sizes),
             (one.kind for one in ours.sizes)),
        _row("limits of a length, mm",
             (_ends(one.low, one.high) for one in text.sizes if one.low is not None and one.name != "angle"),
             (_ends(one.low_mm, one.high_mm) for one in ours.sizes if one.low_mm is not None)),
        _row("fit", (one.fit for one in text.sizes if one.fit),
             (one.text.split()[-1] for one in ours.sizes if one.nominal_mm is not None and one.low_mm is None)),
        _row("faces of a size", ((KINDS.get(one.name, "other"), one.faces_count) for one in text.sizes),
             ((one.kind, len(one.face_ids) + len(one.other_ids)) for one in ours.sizes)),
    ]  # fmt: skip
    for kind in sorted({one.kind for one in text.tolerances} | {one.kind for one in ours.tolerances}):
        drawn = [_value(one.value_mm, one.datums_count) for one in text.tolerances if one.kind == kind]
        read = [_value(one.value_mm, len(one.datums)) for one in ours.tolerances if one.kind == kind]
        rows += [_row(kind, drawn, read)]
    rows += [
        _row("faces of a tolerance", ((one.kind, one.faces_count) for one in text.tolerances),
             ((one.kind, len(one.face_ids)) for one in ours.tolerances)),
        _row("datum", text.datums, (one.letter for one in ours.datums)),
    ]  # fmt: skip
    return rows


def _row(what: str, text: Iterable[Hashable], ours: Iterable[Hashable]) -> Row:
    a, b = Counter(text), Counter(ours)
    return Row(
        what, a.total(), b.total(), (a & b).total(),
        tuple(sorted(str(one) for one in (a - b).elements())), tuple(sorted(str(one) for one in (b - a).elements())),
    )  # fmt: skip


def _ends(low: float | None, high: float | None) -> tuple[float, float]:
    return (round(low or 0.0, DIGITS), round(high or 0.0, DIGITS))


def untold_count(rows: list[Row], ours: Pmi) -> int:
    """Sizes and tolerances of the text that our reading neither holds nor says to have lost."""
    sizes = next(len(row.only_text) for row in rows if row.what == "size or location")
    tolerances = sum(len(row.only_text) for row in rows if row.what not in NOT_A_TOLERANCE)
    return abs(sizes - ours.lost_sizes_count) + abs(tolerances - ours.lost_tolerances_count)


def _value(value_mm: float, datums_count: int) -> str:
    return f"{round(value_mm, DIGITS):g} to {datums_count} datums"


def main() -> None:
    """Prints a table for each file, every difference, and the line of figures."""
    data = Path(os.environ.get("PROVEOUT_DATA", ""))
    paths = drawn_files(data)
    if not paths:
        print("PROVEOUT_DATA names no folder with AP242 files: nothing is measured")
        print(line(name="pmi", figures={}, excluded=["no AP242 files on this machine"]))
        return
    silence()
    figures: dict[str, float] = {}
    ratios: list[float] = []
    repeats, untold, invented = 0, 0, 0
    for path in paths:
        read = read_step(path, deflection_mm=0.2)
        ours = read.pmi or Pmi()
        rows = compared(text_of(path), ours)
        untold += untold_count(rows, ours)
        invented += sum(len(row.only_ours) for row in rows)
        print(f"\n{path.stem}\n  {'kind':24s} {'text':>5s} {'ours':>5s} {'matched':>8s}")
        for row in rows:
            print(f"  {row.what:24s} {row.text_count:5d} {row.our_count:5d} {row.matched_count:8d}")
        for row in rows:
            for said, values in (("only in the text", row.only_text), ("only in ours", row.only_ours)):
                for value, count in sorted(Counter(values).items()):
                    print(f"    {row.what}: {said}: {count} x {value}")
        name = path.stem.removeprefix("nist_").split("_asme")[0]
        figures[f"{name} text_count"] = float(sum(row.text_count for row in rows))
        figures[f"{name} ours_count"] = float(sum(row.our_count for row in rows))
        figures[f"{name} matched_ratio"] = sum(r.matched_count for r in rows) / max(1, sum(r.text_count for r in rows))
        taken = paired(
            lambda path=path: text_of(path), lambda path=path: read_document(path, with_pmi=True),
            pairs=4 if is_full() else 2,
        )  # fmt: skip
        ratios.append(taken["ratio"])
        repeats += taken["repeats"]
    print(
        line(
            name="pmi", figures={**figures, "untold_count": float(untold), "invented_count": float(invented)},
            targets={"untold_count": ("at most", 0.0), "invented_count": ("at most", 0.0)},
            ratios={"kernel_over_text": statistics.median(ratios)}, repeats=repeats,
            spread={"kernel_over_text": [min(ratios), max(ratios)]},
            excluded=["measuring the solid: both times are of reading alone, the kernel's with its geometry"],
        )
    )  # fmt: skip


if __name__ == "__main__":
    main()
