"""Every collected check value has its mark, and every mark its tests or the reason why it has none."""

from __future__ import annotations

import ast
import copy
import re
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

STRENGTHS = {"seen", "as quoted", "from memory", "reckoned here", "common practice", "theory"}
HELD, NOT_USED = {"says", "figures", "strength", "tests"}, {"says", "not_used"}
WAYS_ROUND = {"skip", "skipif", "xfail"}


@pytest.fixture(scope="module")
def marks(root: Path) -> dict[str, Any]:
    return tomllib.loads((root / "tests" / "published" / "marks.toml").read_text(encoding="utf-8"))


@cache
def collected(path: Path) -> dict[str, set[str]]:
    """Tests of a file by name, as they are collected, with the last words of their decorators; none of another file."""
    if not path.is_file() or not path.name.startswith("test_"):
        return {}
    found = {}
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
            calls = [d.func if isinstance(d, ast.Call) else d for d in node.decorator_list]
            found[node.name] = {d.attr for d in calls if isinstance(d, ast.Attribute)}
    return found


@cache
def numerals(path: Path) -> frozenset[str]:
    """Numbers as a file writes them, 10_000 as 10000, with their sign and without."""
    if not path.is_file():
        return frozenset()
    text = re.sub(r"(?<=\d)_(?=\d)", "", path.read_text(encoding="utf-8"))
    found = re.findall(r"-?(?<![\d.])\d+(?:\.\d+)?(?!\d)", text)
    return frozenset(found) | {one.removeprefix("-") for one in found}


def broken(marks: dict[str, Any], root: Path) -> list[str]:
    """What is wrong with the list; empty when nothing is."""
    listed = [mark for section in marks["sections"].values() for mark in section]
    tables = {name: table for name, table in marks.items() if name != "sections"}
    wrong = [f"{mark} stands in the sections twice" for mark in sorted({m for m in listed if listed.count(m) > 1})]
    wrong += [f"{mark} stands in no section" for mark in tables if mark not in listed]
    wrong += [f"{mark} has no table" for mark in listed if mark not in tables]
    for mark, table in tables.items():
        if set(table) not in (HELD, NOT_USED):
            wrong.append(f"{mark} has {', '.join(sorted(table))}")
            continue
        wrong += [f"{mark} has an empty {key}" for key, value in table.items() if not value]
        wrong += [f"{mark} has the strength {word}" for word in table.get("strength", ()) if word not in STRENGTHS]
        files = set()
        for test in table.get("tests", ()):
            place, _, name = test.partition("::")
            files.add(root / place)
            there = collected(root / place)
            if name not in there:
                wrong.append(f"{mark}: {test} is not collected")
            elif there[name] & WAYS_ROUND:
                wrong.append(f"{mark}: {test} may be skipped")
        wrong += [
            f"{mark}: {figure} stands in none of its files"
            for figure in table.get("figures", ()) if not any(figure in numerals(path) for path in files)
        ]  # fmt: skip
    return wrong


def test_every_mark_is_held_by_tests_that_exist_or_says_why_not(marks: dict[str, Any], root: Path) -> None:
    assert broken(marks, root) == []


def test_marks_of_a_section_follow_each_other_without_a_gap(marks: dict[str, Any]) -> None:
    """Worked from the names themselves: the numbers of one letter run from 1 on, in order, over all sections."""
    numbers: dict[str, list[int]] = {}
    for mark in (m for section in marks["sections"].values() for m in section):
        letter, number = re.fullmatch(r"([A-Z])(\d+)[a-f]?", mark).groups()  # type: ignore[union-attr]
        if not numbers.get(letter) or numbers[letter][-1] != int(number):
            numbers.setdefault(letter, []).append(int(number))
    assert {letter: seen for letter, seen in numbers.items() if seen != list(range(1, len(seen) + 1))} == {}
    assert "".join(sorted(numbers)) == "BCDEFHKLMNOPQRSTWXZ"
    assert sum(map(len, marks["sections"].values())) == 114


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda m: m["sections"]["Bar"].append("K1"), "K1 stands in the sections twice"),
        (lambda m: m["sections"]["Bar"].remove("B2"), "B2 stands in no section"),
        (lambda m: m.pop("B2"), "B2 has no table"),
        (lambda m: m["B2"].pop("tests"), "B2 has figures, says, strength"),
        (lambda m: m["B2"].update(tests=[]), "B2 has an empty tests"),
        (lambda m: m["B2"].update(strength=["heard"]), "B2 has the strength heard"),
        (lambda m: m["B2"].update(figures=["0.09755"]), "B2: 0.09755 stands in none of its files"),
        (lambda m: m["B2"].update(figures=["0.0975", "9.754"]), "B2: 9.754 stands in none of its files"),
        (lambda m: m["B2"].update(tests=["tests/published/test_capability.py::test_no"]), "test_no is not collected"),
        (lambda m: m["B2"].update(tests=["tests/published/conftest.py::half_place"]), "half_place is not collected"),
        (lambda m: m["S1"].update(not_used=""), "S1 has an empty not_used"),
    ],
)
def test_a_list_that_is_wrong_is_refused(marks: dict[str, Any], root: Path, change: Any, says: str) -> None:
    other = copy.deepcopy(marks)
    change(other)
    assert any(says in fault for fault in broken(other, root))


def test_a_test_that_may_be_skipped_holds_nothing(marks: dict[str, Any], tmp_path: Path) -> None:
    (tmp_path / "test_it.py").write_text(
        "@pytest.mark.skipif(True)\ndef test_a():\n    assert 1 == 1.0\n\n\ndef helper(): ...\n", encoding="utf-8"
    )
    small = {"sections": {"a": ["B2"]}, "B2": {**marks["B2"], "figures": ["1.0"], "tests": ["test_it.py::test_a"]}}
    assert broken(small, tmp_path) == ["B2: test_it.py::test_a may be skipped"]
    small["B2"]["tests"] = ["test_it.py::helper"]
    assert broken(small, tmp_path) == ["B2: test_it.py::helper is not collected"]
