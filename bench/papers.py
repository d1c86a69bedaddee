"""Papers of results that lie in a folder: on how many pages do words lie over each other, or beyond what prints?

    PROVEOUT_RESULTS=FOLDER python bench/papers.py

Every papers.pdf below the folder is opened, such as those that `bench/outside.py --keep FOLDER` leaves, or `make demo`.
"""

# pyright: reportMissingImports=false
# (the measure of the tests is found by a path that is set here)
from __future__ import annotations

import os
import sys
from pathlib import Path

import pypdfium2
from yardstick import line

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "tests"))

from overlaps import beyond_edge, is_coloured, overlapping  # noqa: E402 - the tests' own measure, found by its path

LEAST_COUNT = 13  # the demo's three parts and ten of other people's


def main() -> None:
    """Prints each page at fault and the line of figures."""
    folder = os.environ.get("PROVEOUT_RESULTS", "")
    papers = sorted(Path(folder).rglob("papers.pdf")) if folder else []
    if not papers:
        print("PROVEOUT_RESULTS names no folder with papers: nothing is measured")
        print(line(name="papers", figures={}, excluded=["no papers on this machine"]))
        return
    figures = {f"{name}_count": 0.0 for name in ("pages", "overlapping", "beyond_edge", "coloured")}
    for path in papers:
        document = pypdfium2.PdfDocument(path)
        for number in range(len(document)):
            page = document[number]
            over, beyond, coloured = overlapping(page), beyond_edge(page), is_coloured(page)
            figures["pages_count"] += 1.0
            for name, found in (("overlapping", over), ("beyond_edge", beyond), ("coloured", coloured)):
                figures[f"{name}_count"] += float(bool(found))
            if over or beyond or coloured:
                told = [*(" and ".join(pair) for pair in over), *beyond, *(["colour"] if coloured else [])]
                print(f"{path.relative_to(folder)}, page {number + 1}: {'; '.join(told[:4])}")
        document.close()
    print(
        line(
            name="papers", figures={"papers_count": float(len(papers)), **figures},
            targets={
                "papers_count": ("at least", float(LEAST_COUNT)), "overlapping_count": ("at most", 0.0),
                "beyond_edge_count": ("at most", 0.0), "coloured_count": ("at most", 0.0),
            },
            excluded=["planning: the papers are read as they lie there"],
        )
    )  # fmt: skip


if __name__ == "__main__":
    main()
