"""Learn from the batches on record: what each tells of the shop's numbers, and how their plans held.

Nothing here changes how work is held. The keys that can be written are those of `model/learned.py`, and each has its
place in the shop file below; friction, clamp forces and grips have none.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from proveout.books.stretches import standing_events
from proveout.intake.measured_words import SPINDLE_READING
from proveout.intake.shop_file import read_shop
from proveout.intake.shop_words import BENCH, FINISHER, MATERIAL
from proveout.intake.toml_blocks import Put
from proveout.intake.toml_edit import Step
from proveout.intake.toml_lines import Inline
from proveout.intake.toml_words import Word
from proveout.jobs.close_out import closed_out, plans_below
from proveout.jobs.learned_numbers import learned_numbers
from proveout.model.close_out import CloseOut, days_away
from proveout.model.events import Event
from proveout.model.fact import Fact
from proveout.model.learned import Coverage, Declined, Key, Lesson, key_of
from proveout.model.minute_factors import MINUTE_KINDS, factor_of
from proveout.model.shop import Shop
from proveout.model.shop_events import ValueAccepted, ValueDeclined
from proveout.quantities.errors import BadInput, ProveoutError
from proveout.records.records import Records

OVER = ("counted", "closed")
"""States of a batch in which it tells something: no piece waits any more."""
SAME_RATIO = 1e-5
"""What six figures of another unit may have lost of a number."""


def closed_batches(records: Records, plans: Path) -> tuple[tuple[CloseOut, ...], tuple[str, ...]]:
    """Every batch that is over, in order of release, and those that tell nothing, with why."""
    rows = {row["batch"]: row for row in records.rows("batches")}
    over = [name for name, row in rows.items() if row["state"] in OVER]
    left = [f"{name}: {row['state']}" for name, row in rows.items() if row["state"] not in OVER and row["plan"]]
    found = plans_below(plans, wanted=frozenset(str(rows[name]["plan"]) for name in over))
    told: list[tuple[int, CloseOut]] = []
    for name in over:
        digest = str(rows[name]["plan"])
        batch = records.batch(name)
        if digest not in found or batch is None or not batch.is_released:
            left.append(f"{name}: its plan is not below {plans.name}")
            continue
        folder, plan = found[digest]
        try:
            shop = read_shop(folder / "inputs" / "shop.toml")
        except ProveoutError as fault:
            left.append(f"{name}: {fault.message}")
            continue
        events = records.events(batch=name)
        told.append((events[-1][0], closed_out(batch, events, plan=plan, shop=shop)))
    return tuple(one for _, one in sorted(told, key=lambda row: row[0])), tuple(sorted(left))


def lesson_of(records: Records, shop: Shop, *, plans: Path) -> Lesson:
    """What the batches on record tell of a shop's numbers.

    Raises:   NotKept when the records cannot be read.
    """
    closed, unread = closed_batches(records, plans)
    events = records.events(batch="")
    return lesson(
        shop, closed, accepted=accepted_values(events), declined=declined_values(events), unread=unread
    )  # fmt: skip


def accepted_values(events: Sequence[tuple[int, Event]]) -> tuple[ValueAccepted, ...]:
    """What owners took over, as it stands corrected, in order."""
    return tuple(of for _, of in standing_events(events) if isinstance(of, ValueAccepted))


def declined_values(events: Sequence[tuple[int, Event]]) -> tuple[tuple[str, ValueDeclined], ...]:
    """What owners did not take over, each with who said so, in order."""
    return tuple((event.person, of) for event, of in standing_events(events) if isinstance(of, ValueDeclined))


def lesson(
    shop: Shop, closed: Sequence[CloseOut], *, accepted: Sequence[ValueAccepted] = (),
    declined: Sequence[tuple[str, ValueDeclined]] = (), unread: tuple[str, ...] = (),
) -> Lesson:  # fmt: skip
    """The same from batches that are closed out already."""
    done: dict[str, frozenset[str]] = {}
    for one in accepted:
        key = key_of(one.key)
        if key is not None and one.shop == shop.name and _stands(shop, key, one.now):
            group = key.group
            done[group] = done.get(group, frozenset()) | frozenset(one.batches)
    found = learned_numbers(shop, closed, done)
    said = {(of.key, frozenset(of.batches)): (person, of.why) for person, of in declined if of.shop == shop.name}
    turned = {one.key: said.get((one.key.words, frozenset(one.batches))) for one in found.proposals}
    return Lesson(
        shop=shop.name, batches=tuple(one.batch for one in closed),
        proposals=tuple(one for one in found.proposals if turned[one.key] is None), unread=unread, silent=found.silent,
        declined=tuple(Declined(proposal=one, person=by[0], why=by[1])
                       for one in found.proposals if (by := turned[one.key]) is not None),
        coverage=coverage_of(closed),
    )  # fmt: skip


def coverage_of(closed: Sequence[CloseOut]) -> tuple[Coverage, ...]:
    """How planned intervals held in batches, one line for each sort of them."""
    held: dict[str, list[bool]] = {}
    for one in closed:
        for sort, _, was_held in one.sorted_intervals:
            held.setdefault(sort, []).append(was_held)
    return tuple(Coverage(text=sort, held_count=sum(some), count=len(some)) for sort, some in held.items())


def _stands(shop: Shop, key: Key, now: Fact) -> bool:
    """Whether the shop file still says what was accepted; else its batches count anew against what it says."""
    fact = _written_fact(shop, key)
    return fact is not None and all(
        math.isclose(a, b, rel_tol=SAME_RATIO) for a, b in zip((fact.low, fact.high), (now.low, now.high), strict=True)
    )


def _written_fact(shop: Shop, key: Key) -> Fact | None:
    """What the shop file says at a key now; None where it says nothing, and for what stands in job files."""
    match key.kind:
        case "scrap":
            return shop.scrap_ratio
        case "bench":
            found: Fact | None = getattr(shop.bench, f"{key.stem}_s", None)
            return found
        case "days":
            return next((days_away(one) for one in shop.finishers if one.id == key.of), None)
        case "minutes":
            machine = next((one for one in shop.machines if one.id == key.of), None)
            if machine is None:
                return None
            return next((factor_of(machine.minutes, minutes) for minutes in MINUTE_KINDS if minutes == key.stem), None)
        case "growth":
            return next((one.coat_growth_mm for one in shop.finishers if one.id == key.of), None)
        case "thickness":
            return next((one.coat_thickness_mm for one in shop.finishers if one.id == key.of), None)
        case "pressure":
            return None  # rows are written, and each reading is known by the id of its record


def puts_of(
    key: Key, now: Fact, raw: Mapping[str, Any], *, at_mm: float | None = None, rows: Sequence[Mapping[str, Any]] = ()
) -> tuple[Put, ...]:  # fmt: skip
    """The changes of a shop file that write a number.   at_mm: thickness of the coat of which it was read.

    rows: written in its place, where it rests on rows of its own.

    Raises:   BadInput for what stands in no shop file.
    """
    if key.kind == "minutes":
        path: tuple[Step, ...] = ("machine", _place(raw, "machine", key.of), "minutes", key.stem)
        return (Put(path, _value(now, 1.0)),)
    if key.kind == "days":
        at = _place(raw, "finisher", key.of)
        return (Put(("finisher", at, "days_low"), int(now.low)), Put(("finisher", at, "days_high"), int(now.high)))
    if key.kind == "scrap":
        return (_of_word(raw, "material", _word(MATERIAL.words, "scrap"), now),)
    if key.kind == "bench":
        return (_of_word(raw, "bench", _word(BENCH.words, key.stem), now),)
    if key.kind in ("growth", "thickness") and at_mm is not None:
        at = _place(raw, "finisher", key.of)
        row = raw["finisher"][at]
        name, factor = _named(row, _word(FINISHER.words, f"coat_{key.kind}"))
        at_name, at_factor = _named(row, _word(FINISHER.words, f"coat_{key.kind}_at"))
        return (Put(("finisher", at, name), _value(now, factor)),
                Put(("finisher", at, at_name), _plain(at_mm / at_factor)))  # fmt: skip
    if key.kind == "pressure" and rows:
        name = SPINDLE_READING.name
        first = len(raw.get(name, []))
        return tuple(
            Put((name, first + k), dict(row) | {"date": date.fromisoformat(row["date"])})
            for k, row in enumerate(rows)
        )  # fmt: skip
    raise BadInput("This number stands in no shop file", where=key.words, do="write it in the job's own file")


def _word(words: Sequence[Word], stem: str) -> Word:
    return next(word for word in words if word.stem == stem)


def _of_word(raw: Mapping[str, Any], section: str, word: Word, now: Fact) -> Put:
    """In the unit in which it is written already, else in the first."""
    name, factor = _named(raw.get(section, {}), word)
    return Put((section, name), _value(now, factor))


def _named(table: Mapping[str, Any], word: Word) -> tuple[str, float]:
    """The key under which a word is written, else its first, with the unit's factor."""
    name = next((name for name in word.keys if name in table), word.key)
    return name, word.keys[name]


def _value(now: Fact, factor: float) -> Inline:
    return Inline(
        low=_plain(now.low / factor), nominal=_plain(now.nominal / factor), high=_plain(now.high / factor),
        source=now.source, strength=now.strength,
    )  # fmt: skip


def _plain(value: float) -> float:
    return float(f"{value:.6g}")


def _place(raw: Mapping[str, Any], section: str, id: str) -> int:
    for number, row in enumerate(raw.get(section, [])):
        if row.get("id") == id:
            return number
    raise BadInput("The shop file has none of that name", where=section, value=id)
