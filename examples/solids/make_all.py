"""Writes the three demo solids as STEP into a folder: python examples/solids/make_all.py DIR."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

import clamp_jaw
import pivot_knob_block
import table_clamp_body


def main(folder: str) -> list[Path]:
    """The files written, EX-101.step to EX-103.step."""
    return [
        module.main(str(Path(folder) / f"{module.NAME}.step"))
        for module in (table_clamp_body, clamp_jaw, pivot_knob_block)
    ]


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python examples/solids/make_all.py DIR")
    for path in main(sys.argv[1]):
        print(path)
