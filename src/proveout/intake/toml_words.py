"""Words of the owner's files: what each key means, its unit, its plausible range, and how a table is read by them.

One table of words serves the reader, the drafts and the JSON schema, so that the three cannot differ.
"""

from __future__ import annotations

import datetime as dt
import difflib
import math
import re
import tomllib
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import Any, Literal, get_args

import msgspec

from proveout.model.fact import Fact, Strength
from proveout.quantities.errors import BadInput, OutOfRange, Unreadable
from proveout.quantities.units import MM_PER_S_PER_M_PER_MIN

STEP_MARK = b"ISO-10303-21"
FILE_BYTES_MAX = 2_000_000
STRENGTHS: tuple[str, ...] = get_args(Strength)
FACT_KEYS = ("low", "nominal", "high", "source", "strength")
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
ID_PATTERN = r"[A-Za-z0-9][A-Za-z0-9._+-]*"

# what a key ends in, and how many of the unit inside one of it makes; the first is the one ranges are written in
MEASURES: dict[str, tuple[str, tuple[tuple[str, float], ...]]] = {
    "": ("", (("", 1.0),)),
    "ratio": ("ratio", (("", 1.0),)),
    "length": ("mm", (("mm", 1.0), ("in", 25.4))),
    "bar length": ("mm", (("m", 1000.0), ("mm", 1.0), ("in", 25.4))),
    "spindle speed": ("rad/s", (("rpm", 2.0 * math.pi / 60.0),)),
    "power": ("mW", (("kw", 1.0e6),)),
    "percent": ("ratio", (("percent", 0.01),)),
    "speed": ("mm/s", (("m_per_min", MM_PER_S_PER_M_PER_MIN), ("in_per_min", 25.4 / 60.0))),
    "cutting speed": ("mm/s", (("m_per_min", MM_PER_S_PER_M_PER_MIN), ("ft_per_min", 304.8 / 60.0))),
    "acceleration": ("mm/s2", (("m_per_s2", 1000.0),)),
    "jerk": ("mm/s3", (("m_per_s3", 1000.0),)),
    "force": ("N", (("kn", 1000.0),)),
    "torque": ("N mm", (("n_m", 1000.0),)),
    "angle": ("rad", (("deg", math.pi / 180.0),)),
    "seconds": ("s", (("s", 1.0), ("min", 60.0))),
    "minutes": ("s", (("min", 60.0), ("s", 1.0))),
    "hours": ("h", (("h", 1.0),)),
    "stress": ("MPa", (("mpa", 1.0),)),
    "mass": ("kg", (("g", 1.0e-3), ("kg", 1.0), ("oz", 0.45359237 / 16.0))),
    "density": ("kg/mm3", (("g_per_cm3", 1.0e-6),)),
    "sawing rate": ("mm2/s", (("cm2_per_min", 100.0 / 60.0), ("in2_per_min", 645.16 / 60.0))),
    "bow": ("mm/m", (("mm_per_m", 1.0), ("in_per_ft", 25.4 / 0.3048))),
    "wear": ("mm/s", (("um_per_min", 0.001 / 60.0), ("thou_per_min", 0.0254 / 60.0))),
    "twist": ("rad/m", (("deg_per_m", math.pi / 180.0), ("deg_per_ft", math.pi / 180.0 / 0.3048))),
}
INCH_ENDINGS = frozenset(
    {"in", "thou_per_min", "in_per_min", "ft_per_min", "in2_per_min", "in_per_ft", "deg_per_ft", "oz"}
)

Kind = Literal[
    "text", "id", "choice", "flag", "count", "number", "fact", "texts", "counts", "numbers", "weekdays", "date"
]


class Word(msgspec.Struct, frozen=True, kw_only=True):
    """One key: `stem` plus the ending of its measure.

    low, high: plausible range, both included, in the first unit of the measure (of each number of a list).
    field: the noun's field that it fills; the stem when empty.
    must: the file is refused without it.  default: used when it is absent, and then listed as assumed unless quiet;
    a word that is neither `must` nor has a default is unknown (None) when absent.
    origin: key of docs/sources.toml for the file that the word stands in; a fact's source begins with it.
    """

    stem: str
    text: str
    kind: Kind = "number"
    measure: str = ""
    low: float = -math.inf
    high: float = math.inf
    choices: tuple[str, ...] = ()
    field: str = ""
    must: bool = False
    default: Any = None
    quiet: bool = False
    origin: str = "shop-file"

    @property
    def keys(self) -> dict[str, float]:
        """Each accepted key with the factor to the unit inside."""
        return {
            f"{self.stem}_{ending}" if ending else self.stem: factor for ending, factor in MEASURES[self.measure][1]
        }

    @property
    def key(self) -> str:
        """The first accepted key."""
        return next(iter(self.keys))

    @property
    def ending(self) -> str:
        """The ending of the first key, without the stem."""
        return MEASURES[self.measure][1][0][0]

    @property
    def unit(self) -> str:
        """The unit inside."""
        return MEASURES[self.measure][0]


class Place(msgspec.Struct, frozen=True, kw_only=True):
    """Where in which file: "shop.toml" and 'machine "mill-5"'; `key_noun` is "column" in a table of rows."""

    file: str
    path: str = ""
    key_noun: str = ""

    def at(self, key: str = "") -> str:
        """The place in words."""
        inner = " ".join(part for part in (self.path, key) if part)
        return f"{self.file}: {inner}" if inner else self.file

    def of(self, key: str) -> str:
        """The place of a value: of its table, or of its row and column."""
        return self.at(f"{self.key_noun} {key}") if self.key_noun else self.at()


def load_toml(text: str, *, file: str) -> dict[str, Any]:
    """The parsed text; Unreadable with line and column when it is not TOML."""
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"\(at line (\d+), column (\d+)\)", str(error))
        reason = str(error).split(" (at ")[0]
        place = f"{file}: line {found[1]}, column {found[2]}" if found else f"{file}: at its end"
        line = text.splitlines()[int(found[1]) - 1].strip() if found and int(found[1]) <= text.count("\n") + 1 else ""
        do = 'correct that line; a text stands in quotes, a key and its value are joined by "="'
        if "overwrite" in reason or "twice" in reason:
            do = "this key or section stands twice: keep one of them"
        elif comma := re.search(r"=\s*([+-]?\d+),(\d+)", line):
            do = f"write the number with a point, as {comma[1]}.{comma[2]}, and no mark between thousands"
        raise Unreadable(f"This is not TOML: {reason}", where=place, value=line[:80], do=do) from error
    except RecursionError as error:
        raise Unreadable("This TOML is nested too deeply", where=file, do="write plain tables") from error


def read_text(path: Path) -> str:
    """The text of an owner's file; BadInput when it is missing, Unreadable when it is no UTF-8 text."""
    if path.is_dir():
        raise BadInput("The path is a folder", where=path.name or str(path), do="name the file itself")
    if not path.is_file():
        raise BadInput("There is no such file", where=path.name, do="check the name and the folder")
    with path.open("rb") as file:
        if file.read(len(STEP_MARK)) == STEP_MARK:
            raise Unreadable(
                "This is a STEP file, and no file that a person types", where=path.name,
                do="end its name in .step, or name the TOML or CSV file that was meant",
            )  # fmt: skip
    if path.stat().st_size > FILE_BYTES_MAX:
        raise Unreadable(
            "This file is too large for one typed by a person",
            where=path.name,
            value=f"{path.stat().st_size} bytes",
            limit=f"{FILE_BYTES_MAX} bytes",
            do="give the TOML or CSV file itself",
        )
    try:
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Unreadable(
            "This is not a UTF-8 text file", where=path.name, value=f"byte {error.start}", do="save it as UTF-8 text"
        ) from error


def shown(value: object) -> str:
    """A value as the owner typed it, shortened."""
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = f'"{value}"'
    elif isinstance(value, dict):
        text = "{" + ", ".join(f"{key} = {shown(inner)}" for key, inner in value.items()) + "}"
    elif isinstance(value, list):
        text = "[" + ", ".join(shown(inner) for inner in value) + "]"
    else:
        text = f"{value}"
    return text if len(text) <= 90 else text[:87] + "..."


def plain(value: float) -> str:
    """A number without needless digits."""
    return f"{value:.0f}" if float(value).is_integer() and abs(value) < 1e15 else f"{value:.6g}"


def unit_words(ending: str) -> str:
    """The ending of a key as a unit in print: m_per_min -> m/min."""
    if ending == "in":
        return "inch"
    text = ending.replace("_per_", "/").replace("n_m", "N m").replace("kw", "kW").replace("kn", "kN")
    return text.replace("mpa", "MPa").replace("deg", "°").replace("rpm", "1/min")


def range_words(word: Word, key: str) -> str:
    """The plausible range in the unit of the key used."""
    factor = next(iter(word.keys.values())) / word.keys.get(key, 1.0)
    unit = unit_words(key.removeprefix(word.stem).removeprefix("_"))
    if math.isinf(word.low) and math.isinf(word.high):
        return f"a number{' in ' + unit if unit else ''}"
    if math.isinf(word.high):
        return f"{plain(word.low * factor)} or more {unit}".strip()
    return f"{plain(word.low * factor)} to {plain(word.high * factor)} {unit}".strip()


def wanted(word: Word, key: str) -> str:
    """What the word accepts, in words."""
    if word.kind in ("number", "fact", "count", "numbers", "counts"):
        many = {"numbers": "numbers, each ", "counts": "whole numbers, each ", "count": "a whole number, "}
        numeral = "" if math.isinf(word.low) and math.isinf(word.high) else "a number, "
        extra = ", or {low =, nominal =, high =, source =, strength =}" if word.kind == "fact" else ""
        return many.get(word.kind, numeral) + range_words(word, key) + extra
    texts = {
        "text": "a text in quotes", "id": "a short name of letters, digits, dot, dash, plus or underscore",
        "flag": "true or false", "texts": "a list of texts", "date": "a date such as 2026-01-05",
        "weekdays": "a list of " + ", ".join(WEEKDAYS), "choice": " or ".join(f'"{choice}"' for choice in word.choices),
    }  # fmt: skip
    return texts[word.kind]


def refuse_unknown(keys: Collection[str], known: Collection[str], place: Place) -> None:
    """BadInput naming the first key that is not known, with the nearest that is."""
    for key in keys:
        if key in known:
            continue
        near = difflib.get_close_matches(key, sorted(known), n=1, cutoff=0.55)
        starts = [name for name in known if name.startswith(key + "_")]
        guess = starts[0] if starts else (near[0] if near else "")
        do = f"did you mean {guess}?" if guess else f"use one of: {', '.join(known)}"
        raise BadInput(f"The key {key} is not known here", where=place.at(), value=key, do=do)


def read_words(
    raw: Mapping[str, Any], words: Sequence[Word], place: Place, assumed: list[str], *, inner: Collection[str] = ()
) -> dict[str, Any]:
    """Values of a table in the units inside, by field of the noun; `inner` are tables read elsewhere.

    Every default filled in is appended to `assumed` in words.
    """
    known = [key for word in words for key in word.keys]
    refuse_unknown(raw.keys(), [*known, *inner], place)
    values: dict[str, Any] = {}
    for word in words:
        given = [key for key in word.keys if key in raw]
        field = word.field or word.stem
        if len(given) > 1:
            raise BadInput(
                f"{word.stem} is given twice", where=place.at(), value=" and ".join(given), do="keep one of them"
            )
        if given:
            values[field] = value_of(raw[given[0]], word, given[0], place)
        elif word.must:
            raise BadInput(
                f"The key {word.key} is missing",
                where=place.of(word.key),
                limit=wanted(word, word.key),
                do=f"add {word.key} = ... ({word.text})",
            )
        elif word.default is None:
            values[field] = None
        else:
            values[field] = value_of(word.default, word, word.key, place)
            if not word.quiet:
                unit = unit_words(word.ending)
                unit = f" {unit}" if unit else ""
                assumed.append(
                    f"{place.at()}: {word.text} is not given; {default_words(word.default)}{unit} is assumed."
                )
    return values


def default_words(default: object) -> str:
    """A default in words: 20 (15 to 25)."""
    if isinstance(default, dict):
        return f"{plain(default['nominal'])} ({plain(default['low'])} to {plain(default['high'])})"
    if isinstance(default, bool):
        return "yes" if default else "no"
    return plain(default) if isinstance(default, int | float) else f"{default}"


def value_of(raw: object, word: Word, key: str, place: Place) -> Any:
    """One value, checked and in the unit inside."""
    if word.kind == "fact":
        return _fact(raw, word, key, place)
    if word.kind in ("number", "count"):
        return _number(raw, word, key, place)
    if word.kind in ("numbers", "counts"):
        if not isinstance(raw, list) or (not raw and word.must):
            raise _wrong_kind(raw, word, key, place)
        return tuple(_number(one, word, key, place) for one in raw)
    if word.kind == "flag":
        if not isinstance(raw, bool):
            raise _wrong_kind(raw, word, key, place)
        return raw
    if word.kind == "date":
        return _date(raw, word, key, place)
    if word.kind in ("texts", "weekdays"):
        return _texts(raw, word, key, place)
    if not isinstance(raw, str) or (word.must and not raw.strip()):
        raise _wrong_kind(raw, word, key, place)
    if word.kind == "choice" and raw not in word.choices:
        # only where the beginning agrees: "z" must not suggest "-z", nor "5-axis" "3-axis"
        near = [one for one in difflib.get_close_matches(raw, word.choices, cutoff=0.7) if one[0] == raw[:1]]
        do = f'did you mean "{near[0]}"?' if near else "choose one of these"
        raise BadInput(
            f"{key} does not know this word", where=place.of(key), value=shown(raw), limit=wanted(word, key), do=do
        )
    if word.kind == "id" and not re.fullmatch(ID_PATTERN, raw):
        raise _wrong_kind(raw, word, key, place)
    return raw


def _wrong_kind(raw: object, word: Word, key: str, place: Place) -> BadInput:
    return BadInput(
        f"{key} has the wrong kind of value",
        where=place.of(key),
        value=shown(raw),
        limit=wanted(word, key),
        do=f"write {key} ({word.text}) in that form",
    )


def _number(raw: object, word: Word, key: str, place: Place) -> float | int:
    if isinstance(raw, bool) or not isinstance(raw, int | float):
        raise _wrong_kind(raw, word, key, place)
    if word.kind in ("count", "counts") and not isinstance(raw, int):
        raise _wrong_kind(raw, word, key, place)
    factor = word.keys[key]
    first = next(iter(word.keys.values()))
    # compared in the unit of the range, with a hair for the rounding of an inch
    amount = raw * (factor / first)
    hair = 1e-9 * max(abs(amount), 1.0)
    if not math.isfinite(amount) or amount < word.low - hair or amount > word.high + hair:
        unit = unit_words(key.removeprefix(word.stem).removeprefix("_"))
        raise OutOfRange(
            f"{key} is outside its plausible range",
            where=place.of(key),
            value=f"{raw} {unit}".strip(),
            limit=range_words(word, key),
            do="correct the number, or the unit that ends the key" if unit else "correct the number",
        )
    if word.kind in ("count", "counts"):
        return raw
    # an inch is 25.4 mm to the last digit shown: 12 inches are 304.8 mm, not 304.79999999999995
    return float(raw) * factor if factor == first else float(f"{raw * factor:.12g}")


def _fact(raw: object, word: Word, key: str, place: Place) -> Fact:
    if not isinstance(raw, dict):
        value = float(_number(raw, word, key, place))
        return Fact(low=value, nominal=value, high=value, unit=word.unit, source=word.origin, strength="owner's guess")
    inner = Place(file=place.file, path=f"{place.path} {key}".strip())
    refuse_unknown(raw.keys(), FACT_KEYS, inner)
    ends: list[float] = []
    for end in FACT_KEYS[:3]:
        if end not in raw:
            raise BadInput(
                f"{key} lacks its {end}",
                where=place.of(key),
                value=shown(raw),
                limit=wanted(word, key),
                do=f"add {end} = ...",
            )
        ends.append(float(_number(raw[end], word, key, place)))
    if not ends[0] <= ends[1] <= ends[2]:
        raise OutOfRange(
            f"{key} must have low <= nominal <= high",
            where=place.of(key),
            value=shown(raw),
            do="put the three in order",
        )
    strength, source = raw.get("strength", "owner's guess"), raw.get("source", "")
    if strength not in STRENGTHS:
        limit = ", ".join(f'"{one}"' for one in STRENGTHS)
        raise BadInput(
            f"{key} has a strength that is not known", where=place.of(key), value=shown(strength), limit=limit,
            do="say how well the number is known with one of these",
        )  # fmt: skip
    if not isinstance(source, str):
        raise BadInput(
            f"{key} has a source that is no text", where=place.of(key), value=shown(source), do="write it in quotes"
        )
    if strength.startswith("published") and not source.strip():
        raise BadInput(
            f"{key} is called {strength} and names no source",
            where=place.of(key),
            value=shown(raw),
            do='add source = "..." or choose another strength',
        )
    said = " ".join(source.split())
    return Fact(
        low=ends[0], nominal=ends[1], high=ends[2], unit=word.unit,
        source=f"{word.origin}: {said}" if said else word.origin, strength=strength,
    )  # fmt: skip


def _date(raw: object, word: Word, key: str, place: Place) -> str:
    if isinstance(raw, dt.date) and not isinstance(raw, dt.datetime):
        return raw.isoformat()
    if raw == "":
        return ""
    try:
        if isinstance(raw, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", raw):
            return dt.date.fromisoformat(raw).isoformat()
    except ValueError as error:
        raise _wrong_kind(raw, word, key, place) from error
    raise _wrong_kind(raw, word, key, place)


def _texts(raw: object, word: Word, key: str, place: Place) -> tuple[Any, ...]:
    if not isinstance(raw, list) or not all(isinstance(one, str) for one in raw):
        raise _wrong_kind(raw, word, key, place)
    if word.kind == "texts":
        named = [one for one in raw if one]
        if len(set(named)) != len(named):
            raise BadInput(f"{key} names one thing twice", where=place.of(key), value=shown(raw), do="keep it once")
        return tuple(raw)
    for day in raw:
        if day not in WEEKDAYS:
            raise BadInput(
                f"{key} has no such weekday", where=place.of(key), value=shown(day), limit=", ".join(WEEKDAYS),
                do="write the day in three letters",
            )  # fmt: skip
    return tuple(sorted({WEEKDAYS.index(day) for day in raw}))


def table_at(raw: Mapping[str, Any], key: str, place: Place, *, must: bool, why: str = "") -> dict[str, Any] | None:
    """The inner table [key]; None when it may be absent and is."""
    if key not in raw:
        if must:
            raise BadInput(f"The section [{key}] is missing", where=place.at(), do=f"add [{key}] ({why})")
        return None
    if not isinstance(raw[key], dict):
        raise BadInput(
            f"[{key}] must be a section", where=place.at(), value=shown(raw[key]), do=f"begin it with [{key}]"
        )
    return raw[key]


def tables_at(raw: Mapping[str, Any], key: str, place: Place, *, must: bool, why: str = "") -> list[dict[str, Any]]:
    """The inner tables [[key]], in order."""
    found = raw.get(key, [])
    if not isinstance(found, list) or not all(isinstance(one, dict) for one in found):
        raise BadInput(
            f"{key} must be a list of sections", where=place.at(), value=shown(found), do=f"begin each with [[{key}]]"
        )
    if must and not found:
        raise BadInput(f"There is no {key}", where=place.at(), do=f"add at least one [[{key}]] ({why})")
    return found


def place_of(raw: Mapping[str, Any], noun: str, number: int, file: str) -> Place:
    """The place of the number-th table of a list, by its id when it has one."""
    name = raw.get("id")
    return Place(file=file, path=f'{noun} "{name}"' if isinstance(name, str) and name else f"{noun} number {number}")


def refuse_twice(ids: Sequence[str], noun: str, place: Place) -> None:
    """BadInput when an id is used twice."""
    for name in ids:
        if ids.count(name) > 1:
            raise BadInput(
                f"Two of {noun} have the same id", where=place.at(), value=f'"{name}"', do="give each an id of its own"
            )
