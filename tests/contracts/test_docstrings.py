"""Docstrings say what the code does: arguments, units, sources and checks are compared with what exists."""

from __future__ import annotations

import inspect
import tomllib
from pathlib import Path

import pytest
from docstring_headings import module_faults

from proveout.quantities import errors

ENGINES = ("cutting", "motion", "grip", "gauging", "learning", "money")
FORMULA_FILES = (
    "quantities/coat.py", "quantities/limits.py", "quantities/deviations.py", "quantities/distribution.py",
    "quantities/warmth.py",
)  # fmt: skip
ERROR_NAMES = {name for name, _ in inspect.getmembers(errors, inspect.isclass)}

GOOD = '''
def edge_load_n(*, chip_width_mm: float, pressure_mpa: float) -> float:
    """Force on one edge, along the cutting velocity.

    Formula:  F = p * b
    Args:     chip_width_mm: b, > 0.   pressure_mpa: p, > 0.
    Returns:  N, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    any width.
    Source:   some-book eq. 3.4, p. 61, seen directly; other-book as quoted by some-book.   Departs: nothing.
    Checked:  tests/contracts/test_docstrings.py
    """
'''


def source_keys(root: Path) -> set[str]:
    path = root / "docs" / "sources.toml"
    return set(tomllib.loads(path.read_text(encoding="utf-8"))) if path.is_file() else set()


def is_formula_file(relative: Path) -> bool:
    if "kernels" in relative.parts:
        return False
    return relative.parts[0] in ENGINES or relative.as_posix() in FORMULA_FILES


def test_every_public_function_is_described_truly(root: Path) -> None:
    package = root / "src" / "proveout"
    keys = source_keys(root)
    faults = [
        f"{path.relative_to(root)}: {fault}"
        for path in sorted(package.rglob("*.py"))
        for fault in module_faults(
            path.read_text(encoding="utf-8"),
            computes=is_formula_file(path.relative_to(package)),
            keys=keys,
            errors=ERROR_NAMES,
            root=root,
        )
    ]
    assert not faults, "\n".join(faults)


def judge(text: str, root: Path) -> list[str]:
    return module_faults(text, computes=True, keys={"some-book", "other-book"}, errors=ERROR_NAMES, root=root)


def test_a_true_docstring_is_accepted(root: Path) -> None:
    assert judge(GOOD, root) == []


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("chip_width_mm: b", "chip_height_mm: b", "chip_height_mm, which the signature does not have"),
        ("   pressure_mpa: p, > 0.", "", "does not name pressure_mpa"),
        ("Returns:  N,", "Returns:  mm,", "must begin with N"),
        ("Returns:  N,", "Returns:  N/mm,", "must begin with N"),
        ("Returns:  N,", "Returns:  N mm,", "must begin with N"),
        ("edge_load_n(", "edge_load_ratio(", "must have no unit"),
        ("edge_load_n(", "edge_load_mm_per_s(", "must begin with mm/s"),
        ("Source:   some-book", "Source:   no-book", "'no-book' is not a key"),
        ("quoted by some-book", "quoted by no-book", "'no-book' is not a key"),
        ("OutOfRange", "NoSuchError", "NoSuchError"),
        ("tests/contracts/test_docstrings.py", "tests/contracts/test_nothing.py", "does not exist"),
        ("tests/contracts/test_docstrings.py", "by hand", "names no file"),
        ("    Valid:    any width.\n", "", "heading Valid: is missing"),
        ("   Departs: nothing.", "", "heading Departs: is missing"),
        ("    Formula:  F = p * b\n", "", "has no Formula: heading"),
    ],
)
def test_an_untrue_docstring_is_refused(root: Path, old: str, new: str, says: str) -> None:
    assert GOOD.count(old) == 1
    assert any(says in fault for fault in judge(GOOD.replace(old, new), root))


@pytest.mark.parametrize("shape", ["(low, high) in", "(n,)", "(n, 2) float64,"])
def test_a_pair_or_an_array_states_its_unit_after_its_shape(root: Path, shape: str) -> None:
    assert judge(GOOD.replace("Returns:  N,", f"Returns:  {shape} N,"), root) == []
    assert judge(GOOD.replace("Returns:  N,", f"Returns:  {shape} mm,"), root) != []


def test_a_public_function_without_docstring_is_refused_everywhere(root: Path) -> None:
    text = "class Bar:\n    def length(self) -> float:\n        return 1.0\n"
    assert module_faults(text, computes=False, keys=(), errors=(), root=root) == ["line 2, length: no docstring"]
