"""JSON schemas of the owner's files, generated from the words that the readers use."""

from __future__ import annotations

import math
from typing import Any, Literal

from proveout.intake.job_words import JOB_SECTIONS, NUMBERED, ORDER_SECTIONS
from proveout.intake.program_words import MEANINGS, OWN_WORDS, PLANE, PROGRAM
from proveout.intake.shop_words import SHOP_SECTIONS, Section
from proveout.intake.toml_words import FACT_KEYS, ID_PATTERN, STRENGTHS, WEEKDAYS, Word, unit_words
from proveout.intake.vise_places import FURTHER_VISE

_SECTIONS = {"shop": (*SHOP_SECTIONS, PROGRAM, PLANE, FURTHER_VISE), "job": JOB_SECTIONS, "order": ORDER_SECTIONS}


def schema(noun: Literal["shop", "job", "order"]) -> dict[str, Any]:
    """JSON schema (draft 2020-12) of a shop, job or order file once its TOML is read."""
    sections = _SECTIONS[noun]
    tree = _table(sections[0])
    tree = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": f"{noun} file", **tree}
    for section in sections[1:]:
        *outer, name = section.name.split(".")
        holder = tree
        for step in outer:
            holder = holder["properties"][step]
            holder = holder.get("items", holder)
        table = _numbered(section) if section in NUMBERED else _table(section)
        if section.is_list:
            table = {"type": "array", "items": table, **({"minItems": 1} if section.must else {})}
        if section is PROGRAM:
            table["properties"][OWN_WORDS] = {
                "type": "object", "description": "what words of the control's own do", "patternProperties":
                {"^[A-Z][0-9]+([.][0-9])?$": {"enum": list(MEANINGS)}}, "additionalProperties": False,
            }  # fmt: skip
        holder["properties"][name] = table
        if section.must:
            holder.setdefault("required", []).append(name)
    return tree


def _table(section: Section) -> dict[str, Any]:
    properties = {key: _value(word, key, factor) for word in section.words for key, factor in word.keys.items()}
    must = [list(word.keys) for word in section.words if word.must]
    table: dict[str, Any] = {
        "type": "object", "description": section.text, "properties": properties, "additionalProperties": False,
    }  # fmt: skip
    single = [keys[0] for keys in must if len(keys) == 1]
    if single:
        table["required"] = single
    several = [{"anyOf": [{"required": [key]} for key in keys]} for keys in must if len(keys) > 1]
    # a key that may stand once above the rows is not demanded in each of them
    shared = {"crib.cutter": "crib", "rack.bar": "rack"}.get(section.name)
    if shared:
        above = {key for one in SHOP_SECTIONS if one.name == shared for word in one.words for key in word.keys}
        several = [one for one in several if one["anyOf"][0]["required"][0] not in above]
        table["required"] = [key for key in table.get("required", []) if key not in above]
    if several:
        table["allOf"] = several
    return table


def _numbered(section: Section) -> dict[str, Any]:
    return {
        "type": "object", "description": section.text, "patternProperties": {"^[1-9][0-9]{0,3}$": {"type": "string"}},
        "additionalProperties": False,
    }  # fmt: skip


def _range(word: Word, factor: float) -> dict[str, float]:
    scale = next(iter(word.keys.values())) / factor
    ends = {"minimum": word.low * scale, "maximum": word.high * scale}
    return {name: float(f"{end:.6g}") for name, end in ends.items() if math.isfinite(end)}


def _value(word: Word, key: str, factor: float) -> dict[str, Any]:
    unit = unit_words(key.removeprefix(word.stem).removeprefix("_"))
    text = f"{word.text}, {unit}" if unit else word.text
    number: dict[str, Any] = {
        "type": "integer" if word.kind in ("count", "counts") else "number",
        **_range(word, factor),
    }
    value: dict[str, Any] = {
        "text": {"type": "string", **({"minLength": 1} if word.must else {})},
        "id": {"type": "string", "pattern": f"^{ID_PATTERN}$"},
        "choice": {"enum": list(word.choices)},
        "flag": {"type": "boolean"},
        "count": number,
        "number": number,
        "numbers": {"type": "array", "items": number},
        "counts": {"type": "array", "items": number},
        "texts": {"type": "array", "items": {"type": "string"}, "uniqueItems": True},
        "weekdays": {"type": "array", "items": {"enum": list(WEEKDAYS)}},
        "date": {"type": "string", "pattern": r"^(\d{4}-\d{2}-\d{2})?$"},
        "fact": {"anyOf": [number, _fact(number)]},
    }[word.kind]
    out = {"description": text, **value}
    if word.default is not None and key == word.key:
        out["default"] = word.default
    return out


def _fact(number: dict[str, Any]) -> dict[str, Any]:
    ends = dict.fromkeys(FACT_KEYS[:3], number)
    return {
        "type": "object", "properties": {**ends, "source": {"type": "string"}, "strength": {"enum": list(STRENGTHS)}},
        "required": list(FACT_KEYS[:3]), "additionalProperties": False,
    }  # fmt: skip
