"""Measured responses and readings of a shop file, and the tables of responses that lie beside it."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from proveout.intake.measured_words import RESPONSE, SPINDLE_READING, TEST_CUT
from proveout.intake.toml_words import Place, plain, read_text, read_words, tables_at
from proveout.model.cutter import SQUARE_KINDS, TRIED_KINDS
from proveout.model.measured import Response, ScrapCut, SpindleReading
from proveout.model.shop import Cutter, Machine
from proveout.quantities.errors import BadInput, OutOfRange, Unreadable

FREQUENCY = "frequency_hz"
PARTS = ("x_real", "x_imag", "y_real", "y_imag")
ENDINGS = {"um_per_n": 1.0e-3, "m_per_n": 1.0e3}
ROWS_LEAST, ROWS_MOST = 20, 20_000
SPREAD_LEAST = 2.0
"""The highest frequency of a table in its lowest: less is no look at how a spindle gives way."""
STEP_SHARE, STEP_LEAST_MW = 0.01, 1.0e5


def responses_of_words(
    raw: Mapping[str, Any], *, file: str, folder: Path | None, machines: Sequence[Machine], cutters: Sequence[Cutter],
    assumed: list[str],
) -> tuple[Response, ...]:  # fmt: skip
    """Every measured response of a shop file, its table read from `folder`.

    Raises:   BadInput for a wrong word, an unknown machine or cutter, two of one pair, and a table that is missing or
              is none.
    """
    found: list[Response] = []
    for number, table in enumerate(tables_at(raw, RESPONSE.name, Place(file=file), must=False), start=1):
        place = Place(file=file, path=f"response number {number}")
        values = read_words(table, RESPONSE.words, place, assumed)
        _refuse_unknown(values, machines, cutters, place)
        pair = (values["machine_id"], values["cutter_id"])
        if pair in [(one.machine_id, one.cutter_id) for one in found]:
            raise BadInput(
                "Two responses are given for one cutter on one machine", where=place.at(),
                value=" on ".join(pair[::-1]),
                do="keep the one of the stick-out in use",
            )  # fmt: skip
        name = values["file"]
        if Path(name).name != name or name in (".", ".."):
            raise BadInput(
                "The table of a response lies beside the shop file", where=place.of("file"), value=f'"{name}"',
                do="write the name alone, without a folder",
            )  # fmt: skip
        if not name.lower().endswith(".csv"):
            raise BadInput(
                "The table of a response has a name that ends in .csv", where=place.of("file"), value=f'"{name}"',
                do="rename the table",
            )  # fmt: skip
        if folder is None:
            raise BadInput(
                "The table of a response cannot be found", where=place.of("file"), value=f'"{name}"',
                do="name the shop file itself, with the table beside it",
            )  # fmt: skip
        found.append(Response(rows=response_rows(read_text(folder / name), file=name), **values))
    return tuple(found)


def response_rows(text: str, *, file: str) -> tuple[tuple[float, float, float, float, float], ...]:
    """The rows of a table: Hz, then mm/N.

    Raises:   Unreadable for what is no table; BadInput and OutOfRange for columns or numbers that cannot be.
    """
    try:
        lines = [line for line in csv.reader(io.StringIO(text), strict=True) if any(f.strip() for f in line)]
    except csv.Error as error:
        raise Unreadable("This is no CSV table", where=file, value=str(error), do="save it as plain CSV") from error
    if not lines:
        raise Unreadable("This table is empty", where=file, do=f"name the columns {_wanted()} in its first line")
    heads = [field.strip() for field in lines[0]]
    columns, factor = _columns(heads, file)
    rows: list[tuple[float, float, float, float, float]] = []
    for number, line in enumerate(lines[1:], start=2):
        place = Place(file=file, path=f"row {number}", key_noun="column")
        if len(line) != len(heads):
            raise BadInput(
                "This row has another number of fields than the first line", where=place.at(),
                value=f"{len(line)} fields", limit=f"{len(heads)} fields", do="correct the row; decimals have a point",
            )  # fmt: skip
        hz, *parts = (_number(line[k], heads[k], place) for k in columns)
        if hz <= (rows[-1][0] if rows else 0.0):
            raise OutOfRange(
                "The frequencies do not rise", where=place.of(FREQUENCY), value=f"{plain(hz)} Hz",
                limit=f"more than {plain(rows[-1][0] if rows else 0.0)} Hz", do="sort the rows and leave out 0 Hz",
            )  # fmt: skip
        xr, xi, yr, yi = (float(f"{part * factor:.12g}") for part in parts)
        rows.append((hz, xr, xi, yr, yi))
    if not ROWS_LEAST <= len(rows) <= ROWS_MOST:
        raise OutOfRange(
            "This response has too few or too many rows", where=file, value=f"{len(rows)} rows",
            limit=f"{ROWS_LEAST} to {ROWS_MOST}", do="export the whole band, one row a frequency",
        )  # fmt: skip
    if rows[-1][0] < SPREAD_LEAST * rows[0][0]:
        raise OutOfRange(
            "This response covers too narrow a band", where=file,
            value=f"{plain(rows[0][0])} to {plain(rows[-1][0])} Hz",
            limit=f"the highest at least {plain(SPREAD_LEAST)} times the lowest", do="export the whole band",
        )  # fmt: skip
    if all(row[k] >= 0.0 for row in rows for k in (1, 3)):
        raise OutOfRange(
            "The real parts of this response are never below 0, which no spindle gives way like", where=file,
            value=f"{len(rows)} rows", limit="below 0 above each natural frequency",
            do="export real and imaginary part, not size and phase",
        )  # fmt: skip
    return tuple(rows)


def response_text(response: Response) -> str:
    """The table of a response as its CSV file, in um/N."""
    lines = [",".join((FREQUENCY, *(f"{part}_um_per_n" for part in PARTS)))]
    lines += [",".join(f"{v:.12g}" for v in (hz, *(1.0e3 * p for p in parts))) for hz, *parts in response.rows]
    return "\n".join(lines) + "\n"


def readings_of_words(
    raw: Mapping[str, Any], *, file: str, machines: Sequence[Machine], cutters: Sequence[Cutter], assumed: list[str]
) -> tuple[SpindleReading, ...]:
    """Every reading of a spindle's meter, all in mW.

    Raises:   BadInput for a wrong word, an unknown machine or cutter, two kinds of meter at once, and loads that cannot
              be.
    """
    found: list[SpindleReading] = []
    for number, table in enumerate(tables_at(raw, SPINDLE_READING.name, Place(file=file), must=False), start=1):
        place = Place(file=file, path=f"spindle_reading number {number}")
        values = read_words(table, SPINDLE_READING.words, place, assumed)
        machine, cutter = _refuse_unknown(values, machines, cutters, place)
        meters = {kind: [values.pop(f"{name}_{kind}") for name in ("load", "idle", "step")] for kind in ("mw", "ratio")}
        is_share = meters["mw"][0] is None
        kind, other = ("ratio", "mw") if is_share else ("mw", "ratio")
        load, idle, step = meters[kind]
        unit = "percent" if is_share else "kw"
        if load is None or idle is None or any(one is not None for one in meters[other]):
            raise BadInput(
                "A reading has load and idle of one meter", where=place.at(),
                value="no load" if load is None else "no idle" if idle is None else "kW and percent together",
                do=f"write load_{unit} and idle_{unit}, and nothing in the other unit",
            )  # fmt: skip
        whole = machine.power_mw if is_share else 1.0
        load, idle = load * whole, idle * whole
        if load <= idle:
            raise OutOfRange(
                "The load in the cut is not above that in the air", where=place.at(f"load_{unit}"),
                value=plain(load / (whole / 100.0 if is_share else 1.0e6)),
                limit=f"above {plain(idle / (whole / 100.0 if is_share else 1.0e6))}",
                do="read both at the same speed, or leave the reading out",
            )  # fmt: skip
        if step is None:
            step = STEP_SHARE * whole if is_share else STEP_LEAST_MW
            told = "1 percent" if is_share else "0.1 kW"
            assumed.append(f"{place.at()}: the smallest step of the meter is not given; {told} is assumed.")
        else:
            step *= whole
        _refuse_cut(values, cutter, place)
        found.append(SpindleReading(load_mw=load, idle_mw=idle, step_mw=step, is_share=is_share, **values))
    return tuple(found)


def scrap_cuts_of_words(
    raw: Mapping[str, Any], *, file: str, machines: Sequence[Machine], cutters: Sequence[Cutter], assumed: list[str]
) -> tuple[ScrapCut, ...]:
    """Every cut in scrap that was made and listened to.

    Raises:   BadInput for a wrong word, an unknown machine or cutter, a cutter of another kind; OutOfRange for a cut
              that its cutter cannot make, and one that howled before it was quiet no more.
    """
    found: list[ScrapCut] = []
    for number, table in enumerate(tables_at(raw, TEST_CUT.name, Place(file=file), must=False), start=1):
        place = Place(file=file, path=f"test_cut number {number}")
        values = read_words(table, TEST_CUT.words, place, assumed)
        _, cutter = _refuse_unknown(values, machines, cutters, place)
        if cutter.kind not in TRIED_KINDS:
            raise BadInput(
                "No test cut is made with such a cutter", where=place.at("cutter"), value=f"{cutter.id}: {cutter.kind}",
                limit=" or ".join(TRIED_KINDS), do="leave the cut out",
            )  # fmt: skip
        howled = values["howled_mm"]
        if howled is not None and howled <= values["quiet_mm"]:
            raise OutOfRange(
                "This cut howled where it was still quiet", where=place.at("howled_mm"), value=f"{plain(howled)} mm",
                limit=f"more than {plain(values['quiet_mm'])} mm", do="correct one of both depths",
            )  # fmt: skip
        _refuse_larger({"radial_mm": cutter.diameter_mm, "quiet_mm": cutter.flute_length_mm}, values, place)
        found.append(ScrapCut(**values))
    return tuple(found)


def _refuse_cut(values: Mapping[str, Any], cutter: Cutter, place: Place) -> None:
    """A cut whose chip is reckoned from its width alone: of an end mill with square edges, no wider than the cutter."""
    if cutter.kind not in SQUARE_KINDS:
        raise BadInput(
            "A reading is of a side cut with an end mill", where=place.at("cutter"),
            value=f"{cutter.id}: {cutter.kind}",
            limit=" or ".join(SQUARE_KINDS), do="leave the reading out",
        )  # fmt: skip
    _refuse_larger({"radial_mm": cutter.diameter_mm, "axial_mm": cutter.flute_length_mm}, values, place)


def _refuse_larger(most_of: Mapping[str, float], values: Mapping[str, Any], place: Place) -> None:
    for key, most in most_of.items():
        if values[key] > most + 1e-9:
            raise OutOfRange(
                "This cut is larger than its cutter", where=place.at(key), value=f"{plain(values[key])} mm",
                limit=f"{plain(most)} mm or less", do="correct the cut or the cutter",
            )  # fmt: skip


def _refuse_unknown(
    values: Mapping[str, Any], machines: Sequence[Machine], cutters: Sequence[Cutter], place: Place
) -> tuple[Machine, Cutter]:
    by_machine, by_cutter = {m.id: m for m in machines}, {c.id: c for c in cutters}
    for noun, known in (("machine", by_machine), ("cutter", by_cutter)):
        if values[f"{noun}_id"] not in known:
            raise BadInput(
                f"This names a {noun} that the shop does not have", where=place.at(noun),
                value=f'"{values[f"{noun}_id"]}"', do=f"correct the name or add the {noun}",
            )  # fmt: skip
    return by_machine[values["machine_id"]], by_cutter[values["cutter_id"]]


def _wanted() -> str:
    return ", ".join((FREQUENCY, *(f"{part}_um_per_n" for part in PARTS)))


def _columns(heads: list[str], file: str) -> tuple[list[int], float]:
    """Places of frequency and the four parts, and what one of the parts is in mm/N."""
    for ending, factor in ENDINGS.items():
        names = [FREQUENCY, *(f"{part}_{ending}" for part in PARTS)]
        if set(names) <= set(heads):
            stray = [head for head in heads if head not in names or heads.count(head) > 1]
            if stray:
                raise BadInput(
                    "This column is not known here, or stands twice", where=f"{file}: row 1", value=stray[0],
                    limit=", ".join(names), do="leave it out",
                )  # fmt: skip
            return [heads.index(name) for name in names], factor
    raise BadInput(
        "The columns of a response are missing", where=f"{file}: row 1", value=", ".join(heads)[:80], limit=_wanted(),
        do="name them so in the first line; all four parts end in _um_per_n, or all in _m_per_n",
    )  # fmt: skip


def _number(field: str, head: str, place: Place) -> float:
    try:
        value = float(field)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise BadInput(
            f"{head} is no number", where=place.of(head), value=f'"{field[:40]}"', do="write it with a decimal point"
        )
    return value
