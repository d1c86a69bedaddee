"""Clampings that share a table: seconds and money a piece of each number of pieces, and what is in its way."""

from __future__ import annotations

from collections.abc import Mapping

import msgspec

from proveout.model.shop import Jaws, Machine, Vise
from proveout.model.table_load import Filling, Laid, TableLoad, load_id, places_of
from proveout.model.work import Blank, Clamping, Pass, PassPlan
from proveout.quantities.units import S_PER_H
from proveout.stages.timing.cycle import moves_time_s
from proveout.stages.timing.table_order import order_of
from proveout.stages.timing.table_ways import clear_height_mm, ways_of

KEPT_EACH = 3
"""Of one stretch of clampings so many ways are enough to find the best three of all."""
UNMEASURED = "nobody wrote where its places stand: measure stands_x_mm, stands_y_mm and stands_z_mm of every vise"
ONE_FORCE = "its two sides close with one force, and its clampings are closed with different ones"
TURNED_FORM = "soft jaws are cut to the work in front of a fixed jaw alone, not behind one in the middle"


class Group(msgspec.Struct, frozen=True, kw_only=True):
    """Clampings that share a table, with the money of it.  load: None for one piece a cycle of one clamping."""

    clampings: tuple[Clamping, ...]
    pieces_count: int
    load: TableLoad | None
    seconds: float
    each: float
    why_not: str

    @property
    def id(self) -> str:
        """By what lies in it."""
        return load_id([c.id for c in self.clampings], self.pieces_count)


class Reckoner:
    """Works out the loads of one plan."""

    def __init__(
        self, passes: PassPlan, vises: tuple[Vise, ...], jaws: Mapping[str, Jaws], blank: Blank,
        forces: Mapping[str, float], quantity: int, pieces_count: int, struck: Mapping[str, str],
    ) -> None:  # fmt: skip
        self.passes, self.vises, self.jaws, self.blank, self.forces = passes, vises, jaws, blank, forces
        self.quantity, self.pieces_count, self.struck = quantity, max(pieces_count, 1), struck
        self.formed: set[str] = set()
        self._seconds: dict[tuple[str, str], float] = {}
        self._groups: dict[tuple[str, ...], list[Group]] = {}

    def pass_s(self, one: Pass, machine: Machine) -> float:
        """Seconds of a pass's moves."""
        key = one.moves_digest, machine.id
        if key not in self._seconds:
            self._seconds[key] = moves_time_s(self.passes.moves[one.moves_digest], machine)
        return self._seconds[key]

    def groups(self, machine: Machine, clampings: tuple[Clamping, ...]) -> list[Group]:
        """The cheapest few numbers of pieces for clampings that share a table, one piece a cycle always among them."""
        key = tuple(c.id for c in clampings)
        if key not in self._groups:
            found: list[Group] = []
            while (group := self.group(machine, clampings, len(found) + 1)) is not None:
                found.append(group)
            best = sorted(found, key=lambda g: (round(g.each, 9), g.pieces_count))
            kept = [*best[:KEPT_EACH], *(g for g in best[KEPT_EACH:] if g.pieces_count == 1 or not g.why_not)]
            self._groups[key] = kept
        return self._groups[key]

    def group(self, machine: Machine, clampings: tuple[Clamping, ...], pieces: int) -> Group | None:
        """So many pieces of each clamping a cycle; None where the machine has no room for them."""
        laid = self._laid(machine, clampings, pieces)
        if laid is None:
            return None
        own = {c.id: [p for p in self.passes.passes if p.clamping_id == c.id] for c in clampings}
        steps = order_of([own[one.clamping_id] for one in laid])
        clear = clear_height_mm(laid, {c.id: c for c in clampings}, self.blank)
        load = TableLoad(
            machine_id=machine.id, clamping_ids=tuple(c.id for c in clampings), pieces_count=pieces, laid=laid,
            steps=steps, clear_mm=clear, fillings=(),
        )  # fmt: skip
        load = msgspec.structs.replace(load, fillings=self._fillings(load, clampings, machine))
        seconds = sum(f.seconds * f.cycles_count for f in load.fillings) / self.pieces_count
        setup_s = machine.setup_s + (len(laid) - 1) * machine.setup_of_more_s
        pairs = [self.jaws[c.jaws_id] for c in clampings if c.jaws_id in self.jaws]
        made_s = sum(pair.make_s * pieces for pair in pairs if pair.make_s > 0.0)
        plates = sum(pair.price * pieces for pair in pairs if pair.make_s > 0.0)
        each = (
            machine.rate_per_h / S_PER_H * (seconds + (setup_s + made_s) / self.quantity) + plates / self.quantity
        )  # fmt: skip
        return Group(
            clampings=clampings, pieces_count=pieces, load=load, seconds=seconds, each=each,
            why_not=self._hindrance(load, machine),
        )  # fmt: skip

    def _laid(self, machine: Machine, clampings: tuple[Clamping, ...], pieces: int) -> tuple[Laid, ...] | None:
        free = list(places_of(machine, self.vises))
        offsets = machine.program.work_offsets if machine.program is not None else ("G54",)
        laid: list[Laid] = []
        for clamping in clampings:
            for _ in range(pieces):
                place = next((p for p in free if p.vise_id == clamping.vise_id), None)
                if place is None:
                    return None
                free.remove(place)
                word = offsets[len(laid)] if len(laid) < len(offsets) else ""
                laid.append(Laid(clamping_id=clamping.id, place=place, work_offset=word))
        return tuple(laid)

    def _hindrance(self, load: TableLoad, machine: Machine) -> str:
        """Why a load cannot be taken, whatever it costs; empty where nothing is in its way."""
        if len(load.laid) < 2:
            return ""
        if machine.program is not None and any(not one.work_offset for one in load.laid):
            return f"it needs {len(load.laid)} work offsets and the control has {len(machine.program.work_offsets)}"
        ratios: dict[tuple[str, int], set[float]] = {}
        for one in load.laid:
            key = one.place.vise_id, one.place.vise_number
            ratios.setdefault(key, set()).add(self.forces.get(one.clamping_id, 1.0))
        if any(len(found) > 1 for found in ratios.values()):
            return ONE_FORCE
        if any(one.place.is_turned and one.clamping_id in self.formed for one in load.laid):
            return TURNED_FORM
        if load.id in self.struck:
            return self.struck[load.id]
        return UNMEASURED if load.clear_mm is None else ""

    def _fillings(self, load: TableLoad, clampings: tuple[Clamping, ...], machine: Machine) -> tuple[Filling, ...]:
        """How often which places are filled over the batch: pieces pass from clamping to clamping, cycle by cycle."""
        count, depth, pieces = self.pieces_count, len(clampings), load.pieces_count
        batches = [min(pieces, count - first) for first in range(0, count, pieces)]
        counts: dict[tuple[int, ...], int] = {}
        full = tuple(range(len(load.laid)))
        for cycle in range(len(batches) + depth - 1):
            filled: list[int] = []
            for k in range(depth):
                batch = cycle - k
                if 0 <= batch < len(batches):
                    filled.extend(k * pieces + n for n in range(batches[batch]))
            key = tuple(filled)
            counts[key] = counts.get(key, 0) + 1
        for k in range(depth):  # piece one is proved out alone
            if len(full) > 1:
                counts.setdefault((k * pieces,), 0)
        order = sorted(counts, key=lambda key: (key != full, -len(key), key))
        return tuple(self._filling(load, clampings, machine, filled, counts[filled]) for filled in order)

    def _filling(
        self, load: TableLoad, clampings: tuple[Clamping, ...], machine: Machine, filled: tuple[int, ...], cycles: int
    ) -> Filling:  # fmt: skip
        by_id = {one.id: one for one in self.passes.passes}
        steps = [(load.laid[step.laid], by_id[step.pass_id]) for step in load.steps_of(filled)]
        cutters = [one.cutter_id for _, one in steps]
        changes = sum(here != cutters[k - 1] for k, here in enumerate(cutters))
        ways_count, ways_s = ways_of(steps, load.clear_mm, {c.id: c for c in clampings}, self.passes.moves, machine)
        cut_s = sum(self.pass_s(one, machine) for _, one in steps)
        return Filling(
            filled=filled, cycles_count=cycles, seconds=round(cut_s + changes * machine.cutter_change_s + ways_s, 6),
            changes_count=changes, ways_count=ways_count, ways_s=round(ways_s, 6),
        )  # fmt: skip
