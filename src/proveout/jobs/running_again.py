"""A batch made once more: the packet of the earlier run, and all that has changed since it was released."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from proveout.books.stretches import standing_events
from proveout.intake.toml_words import load_toml, read_text
from proveout.jobs.changed_files import own_files
from proveout.jobs.home import Home
from proveout.jobs.packets import packet_address
from proveout.jobs.plan_path import inputs_now
from proveout.jobs.releasing import batch_of, packet_place
from proveout.model.batch_events import Released
from proveout.model.plan import Plan
from proveout.model.shop import Noun
from proveout.model.shop_events import ValueAccepted
from proveout.quantities.errors import Refused
from proveout.records.records import Records

NONE = "nothing"
PLAN_AGAIN = "Plan it again before it is run."


class ChangedKey(Noun, frozen=True, kw_only=True):
    """A key of the shop or job file. was, now: as typed; "nothing" where it is not there."""

    file: str
    key: str
    was: str
    now: str


class EdgeNow(Noun, frozen=True, kw_only=True):
    """A cutter that the plan uses. left_s: on its edge now, at the record's word, None where nobody knows.

    needed_s: for the pieces planned, at the worst end;  is_enough: None where what is left is not known.
    """

    machine: str
    cutter: str
    left_s: float | None
    needed_s: float
    is_enough: bool | None


class Again(Noun, frozen=True, kw_only=True):
    """packet: its address on the desk;  papers_count: files in it, each held against its fingerprint.

    good_count, bad_count: of that run.   is_same_solid: the STEP file is the one it was planned from.
    keys: changed since planning.   learned: keys that were taken over from batches since the release.
    may_run_as_is: nothing that it was planned from has changed: the plan can be released again as it is.
    """

    batch: str
    part: str
    revision: str
    packet: str
    papers_count: int
    good_count: int
    bad_count: int
    is_same_solid: bool
    keys: tuple[ChangedKey, ...]
    learned: tuple[str, ...]
    edges: tuple[EdgeNow, ...]
    may_run_as_is: bool

    @property
    def changes(self) -> tuple[str, ...]:
        """Changed keys, then those that were taken over from batches, a line each."""
        lines = [f"{one.file} {one.key}: {one.was} -> {one.now}" for one in self.keys]
        return (*lines, *(f"taken over from batches since: {key}" for key in self.learned))

    @property
    def cutters(self) -> tuple[str, ...]:
        """Every cutter that is used, with what is left on its edge, a line each."""
        lines: list[str] = []
        for one in self.edges:
            left = "not known what is left" if one.left_s is None else f"{one.left_s / 60.0:.0f} min left"
            short = "" if one.is_enough is None else " enough" if one.is_enough else " TOO LITTLE"
            lines.append(f"{one.cutter} on {one.machine}: {left}, {one.needed_s / 60.0:.0f} min needed at most{short}")
        return tuple(lines)

    @property
    def verdict(self) -> str:
        """Whether it may be released again as it is."""
        return "Nothing that it was planned from has changed." if self.may_run_as_is else PLAN_AGAIN


def run_again(home: Home, records: Records, batch: str) -> Again:
    """What to know before a released batch is made once more.

    Raises:   BadInput when there is no such batch; Refused when it was not released or its packet is not as it was.
    """
    found = batch_of(records, batch)
    if not found.is_released:
        raise Refused("The batch was never released: it has no packet", where=batch, value=found.state)
    place = packet_place(home, found)
    plan, own = place.plan, own_files(home, place)
    keys: list[ChangedKey] = []
    for kind in ("shop", "job"):
        kept = place.folder / "inputs" / f"{kind}.toml"
        if kind in own and kept.is_file():
            was, now = load_toml(read_text(kept), file=kept.name), load_toml(own[kind].text, file=own[kind].path.name)
            keys += [ChangedKey(file=kind, key=key, was=a, now=b) for key, a, b in differences(was, now)]
    shop_path = home.shop_path if home.has_shop else None
    digests = inputs_now(home.entry(place.entry).path, number=plan.part.number, shop_path=shop_path)
    is_same = {kind: digests.get(kind) == digest for kind, digest in plan.inputs.items()}
    released = max((seq for seq, event in records.events(batch=batch) if isinstance(event.of, Released)), default=0)
    beside = records.events(batch="")
    numbers = {event.id: seq for seq, event in beside}
    learned = [of.key for event, of in standing_events(beside)
               if isinstance(of, ValueAccepted) and numbers[event.id] > released]  # fmt: skip
    return Again(
        batch=batch, part=found.part, revision=found.revision, packet=packet_address(batch),
        papers_count=len(found.papers), good_count=found.steps[-1].good_count,
        bad_count=sum(one.count for one in found.bad), is_same_solid=is_same.get("step", False), keys=tuple(keys),
        learned=tuple(dict.fromkeys(learned)), edges=_edges(records, plan), may_run_as_is=all(is_same.values()),
    )  # fmt: skip


def differences(was: Any, now: Any, key: str = "") -> Iterator[tuple[str, str, str]]:
    """Keys that two files say differently, with both; rows of lists are told by their ids where they have them."""
    if isinstance(was, Mapping) and isinstance(now, Mapping):
        for name in [*was, *(one for one in now if one not in was)]:
            yield from differences(was.get(name), now.get(name), f"{key}.{name}" if key else str(name))
    elif _rows(was) and _rows(now):
        yield from differences(_by_id(was), _by_id(now), key)
    elif was != now:
        yield key, _said(was), _said(now)


def _rows(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(row, Mapping) and "id" in row for row in value)


def _by_id(rows: Any) -> dict[str, Mapping[str, Any]]:
    return {str(row["id"]): row for row in rows}


def _said(value: Any) -> str:
    if value is None:
        return NONE
    if isinstance(value, Mapping) and "nominal" in value:
        return f"{value['nominal']} ({value.get('low', '?')} to {value.get('high', '?')})"
    return "a section" if isinstance(value, Mapping) else str(value)[:120]


def _edges(records: Records, plan: Plan) -> tuple[EdgeNow, ...]:
    """Every cutter of the plan with what is left on its edge."""
    left = {(row["machine"], row["cutter"]): row["left_s"] for row in records.rows("cutters")}
    found: list[EdgeNow] = []
    for use in plan.cutter_uses:
        now = left.get((use.machine_id, use.cutter_id))
        needed = use.piece_s.high * plan.part.quantity
        found.append(EdgeNow(machine=use.machine_id, cutter=use.cutter_id, left_s=now, needed_s=needed,
                             is_enough=None if now is None else now >= needed))  # fmt: skip
    return tuple(found)
