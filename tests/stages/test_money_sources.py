"""Every proof of the stages about target, bar, minutes and money rests on a source that is listed."""

from __future__ import annotations

import ast
import tomllib
from pathlib import Path

STAGES = ("finishing", "blank", "bars", "timing", "costing", "inspection")


def test_every_basis_names_a_listed_source(root: Path) -> None:
    keys = set(tomllib.loads((root / "docs" / "sources.toml").read_text(encoding="utf-8")))
    named: set[str] = set()
    for stage in STAGES:
        for path in sorted((root / "src" / "proveout" / "stages" / stage).glob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Basis":
                    source = next(k.value for k in node.keywords if k.arg == "source")
                    named |= {
                        c.value for c in ast.walk(source) if isinstance(c, ast.Constant) and isinstance(c.value, str)
                    }
    assert len(named) >= 6
    assert named <= keys, sorted(named - keys)
