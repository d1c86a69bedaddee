"""Every published formula that Proveout uses, by name: worked out on typed inputs, and told with source and validity.

The formulas are functions of the engines whose docstrings carry the headings that a contract test reads; this module
reads the same headings, so that list, answers and the page of the documentation cannot drift from the code.
"""

from __future__ import annotations

import inspect
import itertools
import math
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from types import ModuleType
from typing import Any, Literal, get_args, get_origin, get_type_hints

import msgspec

from proveout.quantities.errors import BadInput
from proveout.quantities.measures import MEASURES, bare_name, beside, ending_of, told, typed

HEADINGS = ("Formula", "Args", "Returns", "Raises", "Valid", "Source", "Departs", "Checked")
_HEADING = re.compile(rf"(?<![\w.])({'|'.join(HEADINGS)}):")
_KEY = re.compile(r"(?<![\w-])([a-z0-9][a-z0-9_-]*)")
WITHIN_COUNT = 3
"""Places that each interval input is tried at: both ends and the middle."""


@dataclass(frozen=True)
class Given:
    """One input: name inside, name as typed, its choices where it is a word, its default where it has one."""

    name: str
    bare: str
    words: tuple[str, ...] = ()
    default: Any = None
    is_whole: bool = False


@dataclass(frozen=True)
class Figure:
    """One formula: how it is called and what its docstring says."""

    name: str
    title: str
    call: Callable[..., Any]
    given: tuple[Given, ...]
    headings: Mapping[str, str]
    inside: str


@dataclass(frozen=True)
class Answer:
    """What a formula gives: ends of each result in its unit, as (name, low, high)."""

    figure: Figure
    inputs: tuple[tuple[str, str], ...]
    results: tuple[tuple[str, float, float], ...]
    is_interval: bool


@cache
def figures() -> dict[str, Figure]:
    """All formulas by name, in order."""
    found: dict[str, Figure] = {}
    for loaded in _modules():
        for name, function in inspect.getmembers(loaded, inspect.isfunction):
            if function.__module__ != loaded.__name__ or name.startswith("_"):
                continue
            headings = headings_of(inspect.getdoc(function) or "")
            if "Formula" not in headings or "Source" not in headings:
                continue
            given = _given(function)
            if given is not None:
                bare = bare_name(name)
                found[bare] = Figure(
                    name=bare, title=(inspect.getdoc(function) or "").split("\n", 1)[0], call=function, given=given,
                    headings=headings, inside=name,
                )  # fmt: skip
    return dict(sorted(found.items()))


def _modules() -> tuple[ModuleType, ...]:
    """Where the formulas stand; loaded when one is asked for."""
    from proveout.cutting import (
        chip_thickness,
        deflection,
        drilling,
        engaged_length,
        feed_marks,
        force_bound,
        handbook_drill,
        power,
        scallop,
        shear_plane_drill,
        specific_force,
        speeds,
        stability,
        tapping,
        thread_limits,
        thread_strength,
        threads,
        tool_life,
        unit_power,
    )  # fmt: skip
    from proveout.gauging import acceptance, capability, constants, deciding, drift
    from proveout.grip import bent_wall, clamp_force, strip
    from proveout.money import attending, hour_rate, learning, order_quantity
    from proveout.motion import move_time
    from proveout.quantities import coat, deviations, distribution, limits, mass
    from proveout.solving import cutting_stock

    return (
        chip_thickness, deflection, drilling, engaged_length, feed_marks, force_bound, power, scallop,
        shear_plane_drill, specific_force, speeds, tapping, thread_limits, thread_strength, threads, tool_life,
        unit_power, handbook_drill, clamp_force, limits, deviations, coat, mass, distribution, move_time,
        cutting_stock, strip, bent_wall, stability, acceptance, capability, constants, deciding, drift,
        order_quantity, learning, hour_rate, attending,
    )  # fmt: skip


def headings_of(text: str) -> dict[str, str]:
    """Text under each heading of a docstring; a heading may follow another on the same line."""
    marks = list(_HEADING.finditer(text))
    starts = [mark.start() for mark in marks] + [len(text)]
    return {
        mark[1]: re.sub(r"\s+", " ", text[mark.end() : end]).strip()
        for mark, end in zip(marks, starts[1:], strict=True)
    }  # fmt: skip


def _given(function: Callable[..., Any]) -> tuple[Given, ...] | None:
    """The inputs; None where one is neither a number nor a word of a list, so that nobody could type it."""
    hints = get_type_hints(function)
    out: list[Given] = []
    parameters = inspect.signature(function).parameters
    bares = [bare_name(name) for name in parameters]
    for name, one in parameters.items():
        hint = hints.get(name)
        # where two inputs differ only in their unit, the name in full tells them apart
        bare = (
            bare_name(name)
            if bares.count(bare_name(name)) == 1 or ending_of(name) != "_ratio"
            else name.replace("_", "-")
        )
        default = None if one.default is inspect.Parameter.empty else one.default
        if hint in (float, int):
            out.append(Given(name=name, bare=bare, default=default, is_whole=hint is int))
        elif get_origin(hint) is Literal:
            out.append(Given(name=name, bare=bare, words=tuple(map(str, get_args(hint))), default=default))
        elif hint is str:
            out.append(Given(name=name, bare=bare, words=("",), default=default))
        else:
            return None
    return tuple(out)


def figure(name: str, inputs: Sequence[str]) -> Answer:
    """One formula worked out.

    Args:     inputs: each as key=value, the value with its unit or an interval as low..high.
    Raises:   BadInput for an unknown formula, key, unit or word, a missing input, or what the formula itself refuses.
    """
    known = figures()
    if name not in known:
        near = [n for n in known if any(word in n for word in name.split("-"))][:6]
        raise BadInput(
            "There is no formula of this name", where="proveout figure", value=name,
            limit=", ".join(near) or f"{len(known)} names", do="call proveout figure alone to see all",
        )  # fmt: skip
    one = known[name]
    values = _typed_inputs(one, inputs)
    numbers = [g.name for g in one.given if not g.words and g.name in values]
    tried = [_places(values[n], is_whole=next(g.is_whole for g in one.given if g.name == n)) for n in numbers]
    fixed = {g.name: values[g.name] for g in one.given if g.words and g.name in values}
    seen: dict[str, tuple[float, float]] = {}
    for corner in itertools.product(*tried):
        got = one.call(**fixed, **dict(zip(numbers, corner, strict=True)))
        for result, value in _results(one, got):
            low, high = seen.get(result, (math.inf, -math.inf))
            seen[result] = (min(low, value), max(high, value))
    return Answer(
        figure=one, inputs=tuple((g.bare, _said(values[g.name], g)) for g in one.given if g.name in values),
        results=tuple((result, *ends) for result, ends in seen.items()),
        is_interval=any(len(places) > 1 for places in tried),
    )  # fmt: skip


def _typed_inputs(one: Figure, inputs: Sequence[str]) -> dict[str, Any]:
    by_bare = {g.bare: g for g in one.given}
    values: dict[str, Any] = {}
    for text in inputs:
        key, equals, value = text.partition("=")
        given = by_bare.get(key.strip().replace("_", "-"))
        if given is None or not equals:
            raise BadInput(
                "This is no input of the formula", where=f"proveout figure {one.name}", value=text,
                limit=", ".join(by_bare), do="write each as name=value",
            )  # fmt: skip
        if given.words:
            if given.words != ("",) and value not in given.words:
                raise BadInput(
                    "This word is not known here", where=given.bare, value=value, limit=", ".join(given.words),
                    do="choose one of these",
                )  # fmt: skip
            values[given.name] = value
        else:
            values[given.name] = typed(value, name=given.name)
    missing = [g.bare for g in one.given if g.name not in values and g.default is None]
    if missing:
        raise BadInput(
            "An input is missing", where=f"proveout figure {one.name}", value=", ".join(missing),
            limit=", ".join(by_bare), do=f"add {missing[0]}=... with its unit",
        )  # fmt: skip
    return values


def _places(ends: tuple[float, float], *, is_whole: bool) -> list[float]:
    low, high = ends
    if is_whole:
        if low != int(low) or high != int(high):
            raise BadInput("A count is a whole number", value=f"{low:g}..{high:g}", do="write a whole number")
        return [int(low)] if low == high else list(range(int(low), int(high) + 1))
    if low == high:
        return [low]
    return [low + (high - low) * k / (WITHIN_COUNT - 1) for k in range(WITHIN_COUNT)]


def _results(one: Figure, got: Any) -> Iterator[tuple[str, float]]:
    if isinstance(got, msgspec.Struct):
        for field in got.__struct_fields__:
            yield field, float(getattr(got, field))
    elif isinstance(got, tuple):
        ends = ("low", "high") if len(got) == 2 else tuple(str(k) for k in range(1, len(got) + 1))
        for end, value in zip(ends, got, strict=True):
            yield f"{end}_{one.inside}", float(value)
    else:
        yield one.inside, float(got)


def _said(value: Any, given: Given) -> str:
    if isinstance(value, str):
        return value
    low, high = value
    return (
        told(low, name=given.name) if low == high else f"{told(low, name=given.name)} to {told(high, name=given.name)}"
    )


def answer_words(answer: Answer) -> list[str]:
    """The answer in lines: results, inputs, formula, validity, sources with their strength."""
    one = answer.figure
    lines = [one.title, ""]
    for name, low, high in answer.results:
        other = beside(name)
        ends = (low,) if low == high else (low, high)
        text = " to ".join(told(v, name=name) for v in ends)
        if other:
            text += f" ({' to '.join(told(v, name=name, unit=other) for v in ends)})"
        lines.append(f"{bare_name(name).replace('-', ' ')}: {text}")
    if answer.is_interval:
        lines.append(
            "Least and greatest over both ends and the middle of every interval; a formula that turns round between "
            "them may go further."
        )
    lines += ["", "Inputs: " + "; ".join(f"{name} {value}" for name, value in answer.inputs)]
    lines += [*_about(one)]
    return lines


def _about(one: Figure) -> list[str]:
    heads = (("Formula", "Formula"), ("With", "Args"), ("Valid", "Valid"), ("Departs", "Departs"))
    told_by = [f"{shown}: {one.headings[head]}" for shown, head in heads if head in one.headings]
    return [*told_by, f"Source: {one.headings['Source']}", *(f"  {line}" for line in sources_of(one))]


def sources_of(one: Figure) -> list[str]:
    """Each source with its title, whether it was read, and the most that may be claimed from it."""
    known = _sources()
    keys = [k for k in _KEY.findall(one.headings["Source"]) if k in known]
    return [
        f"{key}: {known[key]['title']} (seen {known[key]['seen']}; {known[key]['strength']})"
        for key in dict.fromkeys(keys)
    ]  # fmt: skip


@cache
def _sources() -> dict[str, dict[str, str]]:
    """The sources that are shipped with the package; in a checkout those of docs/."""
    packed = files("proveout") / "sources.toml"
    if packed.is_file():
        return tomllib.loads(packed.read_text(encoding="utf-8"))
    return tomllib.loads(
        (Path(str(files("proveout"))).parents[1] / "docs" / "sources.toml").read_text(encoding="utf-8")
    )


def source_titles() -> dict[str, str]:
    """By key the title of each source, with whether it was read."""
    return {key: f"{one['title']} (seen {one['seen']})" for key, one in _sources().items()}


def list_words() -> list[str]:
    """Every formula with its inputs, one line each."""
    lines = []
    for one in figures().values():
        inputs = " ".join(f"[{g.bare}]" if g.default is not None else g.bare for g in one.given)
        lines.append(f"{one.name}  {one.title}")
        lines.append(f"    {inputs}")
    return lines


def page() -> str:
    """The page of the documentation: all formulas with inputs, validity and sources."""
    told_first = (
        "Written by `proveout figure --page`; not to be edited. Each is worked out by `proveout figure NAME "
        "key=value ...`, a value with its unit or an interval as `low..high`."
    )
    parts = ["# Formulas", "", told_first, ""]
    for one in figures().values():
        parts += [f"## {one.name}", "", one.title, ""]
        parts += [f"- inputs: {', '.join(f'`{g.bare}`' + _kind(g) for g in one.given)}", f"- gives: {_unit(one)}"]
        parts += [
            f"- {head.lower()}: {one.headings[head]}" for head in ("Formula", "Args", "Valid") if head in one.headings
        ]
        parts += [f"- source: {line}" for line in sources_of(one)] or [f"- source: {one.headings['Source']}"]
        parts.append("")
    return "\n".join(parts)


def _kind(given: Given) -> str:
    if given.words and given.words != ("",):
        return f" ({' or '.join(given.words)})"
    unit = next(iter(MEASURES.get(ending_of(given.name), {"": 1.0})))
    return f" ({unit})" if unit else ""


def _unit(one: Figure) -> str:
    return one.headings.get("Returns", "").split(";")[0]
