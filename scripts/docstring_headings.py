"""Read the docstrings of formula functions from source text and say what is wrong with their headings.

A function whose docstring has a `Formula:` heading computes a physical quantity. Its arguments must match its
signature, the unit it returns must match the ending of its name, its sources must exist in docs/sources.toml, and
the file that checks it must exist. In the formula engines a function named by a quantity must have the heading.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path

from proveout.jobs.figures import headings_of

REQUIRED = ("Formula", "Args", "Returns", "Valid", "Source", "Departs", "Checked")
# the ending of a name, longest first, and how its unit may be written after Returns
UNITS = {
    "_mm3_per_s": ("mm3/s", "mm³/s"),
    "_mm_per_s2": ("mm/s2", "mm/s²"),
    "_rad_per_s2": ("rad/s2", "rad/s²"),
    "_mm_per_s": ("mm/s",),
    "_rad_per_s": ("rad/s",),
    "_n_per_mm": ("N/mm",),
    "_n_mm": ("N mm",),
    "_mm2": ("mm2", "mm²"),
    "_mm3": ("mm3", "mm³"),
    "_mm": ("mm",),
    "_rad": ("rad",),
    "_mpa": ("MPa",),
    "_mw": ("mW",),
    "_kg": ("kg",),
    "_n": ("N",),
    "_s": ("s",),
    "_count": (),
    "_ratio": (),
}
_NAME_WITH_COLON = re.compile(r"(?<![\w.])([a-z][a-z0-9]*(?:_[a-z0-9]+)+):")
_TEST_FILE = re.compile(r"tests/[\w./-]+\.py")
_ERROR_NAME = re.compile(r"\b[A-Z][a-z]+(?:[A-Z][a-z]+)+\b")
_KEY = re.compile(r"[a-z0-9][a-z0-9_-]*")


@dataclass(frozen=True, kw_only=True)
class Function:
    """A public function or method as its source text gives it."""

    name: str
    is_method: bool
    arguments: tuple[str, ...]
    docstring: str | None
    line: int


def public_functions(text: str) -> Iterator[Function]:
    """Public functions of a module and public methods of its public classes."""
    tree = ast.parse(text)
    classes = [node for node in tree.body if isinstance(node, ast.ClassDef) and not node.name.startswith("_")]
    for owner in (tree, *classes):
        for node in owner.body:
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and not node.name.startswith("_"):
                given = (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)
                names = tuple(argument.arg for argument in given if argument.arg not in {"self", "cls"})
                yield Function(
                    name=node.name,
                    is_method=owner is not tree,
                    arguments=names,
                    docstring=ast.get_docstring(node),
                    line=node.lineno,
                )


def unit_ending(name: str) -> str:
    """The ending of a name that states a unit, empty when there is none."""
    return next((ending for ending in UNITS if name.endswith(ending)), "")


def _argument_faults(function: Function, text: str) -> Iterator[str]:
    for name in function.arguments:
        if not re.search(rf"(?<!\w){name}(?!\w)", text):
            yield f"Args does not name {name}"
    for name in _NAME_WITH_COLON.findall(text):
        if name not in function.arguments:
            yield f"Args names {name}, which the signature does not have"


def _begins_with(text: str, units: Collection[str]) -> bool:
    """Whether a Returns text begins with a unit, after `(low, high) in` of a pair or `(n,) float64,` of an array."""
    plain = re.sub(r"^\([^)]*\)(?:,? (?:in|float64|float32|int64))*,? ", "", text)
    return any(re.match(rf"{re.escape(unit)}(?![\w/²³^]| mm\b)", plain) for unit in units)


def _unit_faults(function: Function, text: str) -> Iterator[str]:
    ending = unit_ending(function.name)
    if not ending:
        return
    if UNITS[ending] and not _begins_with(text, UNITS[ending]):
        yield f"Returns must begin with {' or '.join(UNITS[ending])}, as the name ends in {ending}; found {text[:30]!r}"
    if not UNITS[ending] and any(_begins_with(text, units) for units in UNITS.values()):
        yield f"Returns must have no unit, as the name ends in {ending}; found {text[:30]!r}"


def source_keys(text: str) -> list[str]:
    """Keys named under Source: the first word of each part between semicolons, and what follows `as quoted by`."""
    keys = []
    for part in text.split(";"):
        first = _KEY.match(part.strip())
        keys.append(first[0] if first else part.strip()[:30])
        keys += re.findall(r"quoted by\s+([a-z0-9][a-z0-9_-]*)", part)
    return keys


def heading_faults(function: Function, *, keys: Collection[str], errors: Collection[str], root: Path) -> list[str]:
    """What is wrong with the docstring of a function that has a Formula heading; empty when nothing is."""
    found = headings_of(function.docstring or "")
    faults = [f"the heading {heading}: is missing" for heading in REQUIRED if not found.get(heading)]
    if function.arguments and "Args" in found:
        faults += _argument_faults(function, found["Args"])
    faults += _unit_faults(function, found.get("Returns", ""))
    faults += [
        f"Source {key!r} is not a key of docs/sources.toml"
        for key in source_keys(found.get("Source", ""))
        if key not in keys
    ]
    faults += [
        f"Raises names {name}, which quantities/errors.py does not have"
        for name in _ERROR_NAME.findall(found.get("Raises", ""))
        if name not in errors
    ]
    checks = _TEST_FILE.findall(found.get("Checked", ""))
    if not checks:
        faults.append("Checked names no file of tests/")
    faults += [f"Checked: {path} does not exist" for path in checks if not (root / path).is_file()]
    return faults


def module_faults(
    text: str, *, computes: bool, keys: Collection[str], errors: Collection[str], root: Path
) -> list[str]:
    """What is wrong with a module's public docstrings, each with line and function.

    computes: whether the module belongs to the formula engines, where a quantity's function must have the headings.
    """
    faults = []
    for function in public_functions(text):
        place = f"line {function.line}, {function.name}"
        if not function.docstring:
            faults.append(f"{place}: no docstring")
        elif "Formula" in headings_of(function.docstring):
            if computes:
                faults += [
                    f"{place}: {fault}" for fault in heading_faults(function, keys=keys, errors=errors, root=root)
                ]
        elif computes and not function.is_method and unit_ending(function.name):
            faults.append(f"{place}: computes a quantity and has no Formula: heading")
    return faults
