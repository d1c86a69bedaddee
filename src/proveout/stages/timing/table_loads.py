"""Decide what lies in each place of a machine without rotary axes in one cycle, cheapest first.

Named: one piece; as many pieces of one clamping as there are places for; and clampings of the part that follow each
other on one machine side by side, where each piece moves on one place a cycle.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby, product

import msgspec

from proveout.model.job import Pin
from proveout.model.plan import ClampForce
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.shop import Jaws, Machine, Vise
from proveout.model.table_load import Filling, Laid, TableLoad, TableOption, load_id, places_of
from proveout.model.work import Blank, Clamping, Pass, PassPlan
from proveout.quantities.units import S_PER_H
from proveout.stages.timing.cycle import moves_time_s
from proveout.stages.timing.table_order import order_of
from proveout.stages.timing.table_ways import clear_height_mm, ways_of

STAGE = "timing"
OTHERS_KEPT = 2
KEPT_EACH = 3
"""Of one stretch of clampings so many ways are enough to find the best three of all."""
UNMEASURED = "nobody wrote where its places stand: measure stands_x_mm, stands_y_mm and stands_z_mm of every vise"
ONE_FORCE = "its two sides close with one force, and its clampings are closed with different ones"
TURNED_FORM = "soft jaws are cut to the work in front of a fixed jaw alone, not behind one in the middle"
LESS_MONEY = "it costs more"


class TableChoice(msgspec.Struct, frozen=True, kw_only=True):
    """Loads with more than one place, in working order, and the options in order: taken, then others by money."""

    loads: tuple[TableLoad, ...]
    options: tuple[TableOption, ...]


class _Group(msgspec.Struct, frozen=True, kw_only=True):
    """Clampings that share a table, with the money of it.  load: None for one piece a cycle of one clamping."""

    clampings: tuple[Clamping, ...]
    pieces_count: int
    load: TableLoad | None
    seconds: float
    each: float
    why_not: str

    @property
    def id(self) -> str:
        return load_id([c.id for c in self.clampings], self.pieces_count)


def decide_loads(
    *,
    passes: PassPlan,
    clampings: tuple[Clamping, ...],
    machines: tuple[Machine, ...],
    vises: tuple[Vise, ...],
    jaws: tuple[Jaws, ...],
    blank: Blank,
    clamp_forces: tuple[ClampForce, ...],
    quantity: int,
    pieces_count: int,
    pins: tuple[Pin, ...] = (),
    struck: Mapping[str, str] | None = None,
) -> Decision[TableChoice]:
    """What lies where in one cycle, with the next-best two and what they would cost or save.

    Args:     quantity: ordered; set-ups and jaws are shared by it.   pieces_count: made; the last cycle holds what is
              left of them.   pins: of pieces_a_cycle and side_by_side.   struck: by load, what of it meets what in
              another place, so that it cannot be taken.
    Method:   every named way is worked out: seconds a piece by the moves, shared cutter changes and ways between
              places, first and last cycles with fewer pieces included; money of machine, set-ups and jaws. Loading
              takes each piece as long as one piece at a time.
    """
    by_machine = {m.id: m for m in machines}
    forces = {one.clamping_id: one.ratio for one in clamp_forces}
    reckon = _Reckoner(passes, vises, {j.id: j for j in jaws}, blank, forces, quantity, pieces_count, struck or {})
    reckon.formed = {c.id for c in clampings if c.needs_form}
    ordered = sorted(clampings, key=lambda c: (c.number, c.id))
    stretches = [
        (by_machine[machine_id], tuple(own))
        for machine_id, own in ((m, list(g)) for m, g in groupby(ordered, key=lambda c: c.machine_id))
        if by_machine[machine_id].rotary is None and len(places_of(by_machine[machine_id], vises)) > 1
    ]
    ways = [_ways(machine, own, reckon) for machine, own in stretches]
    ranked = sorted(
        (tuple(g for way in chosen for g in way) for chosen in product(*ways)),
        key=lambda groups: (round(sum(g.each for g in groups), 9), sum(_places(g) for g in groups), _ids(groups)),
    )  # fmt: skip
    pinned, pins, refusals = _pinned(ranked, pins, stretches, ordered)
    allowed = [groups for groups in pinned if not _hindrance(groups, pins)]
    taken = allowed[0] if allowed else _singles(stretches, reckon)
    loads = tuple(g.load for g in taken if g.load is not None and len(g.load.laid) > 1)
    others = [g for g in ranked if _ids(g) != _ids(taken)][:OTHERS_KEPT]
    if not stretches:
        return Decision(value=TableChoice(loads=(), options=()), proofs=tuple(refusals))
    options = (_option(taken, ""), *(_option(g, _why_not(g, taken, pinned, pins)) for g in others))
    proofs = [*refusals, _choice_proof(taken, others, ranked, pinned, pins)]
    proofs += [_batch_proof(load, pieces_count) for load in loads]
    return Decision(value=TableChoice(loads=loads, options=options), proofs=tuple(proofs))


def _ids(groups: Sequence[_Group]) -> tuple[str, ...]:
    return tuple(g.id for g in groups)


def _places(group: _Group) -> int:
    return len(group.clampings) * group.pieces_count


def _ways(machine: Machine, own: tuple[Clamping, ...], reckon: _Reckoner) -> list[tuple[_Group, ...]]:
    """All ways of sharing the table among clampings that follow each other, of each stretch the cheapest few."""
    found: list[tuple[_Group, ...]] = []
    for size in range(1, len(own) + 1):
        first = reckon.groups(machine, own[:size])
        rest = _ways(machine, own[size:], reckon) if size < len(own) else [()]
        found.extend((one, *others) for one in first for others in rest)
    return found


class _Reckoner:
    """Works out the loads of one plan."""

    def __init__(
        self, passes: PassPlan, vises: tuple[Vise, ...], jaws: Mapping[str, Jaws], blank: Blank,
        forces: Mapping[str, float], quantity: int, pieces_count: int, struck: Mapping[str, str],
    ) -> None:  # fmt: skip
        self.passes, self.vises, self.jaws, self.blank, self.forces = passes, vises, jaws, blank, forces
        self.quantity, self.pieces_count, self.struck = quantity, max(pieces_count, 1), struck
        self.formed: set[str] = set()
        self._seconds: dict[tuple[str, str], float] = {}
        self._groups: dict[tuple[str, ...], list[_Group]] = {}

    def pass_s(self, one: Pass, machine: Machine) -> float:
        """Seconds of a pass's moves."""
        key = one.moves_digest, machine.id
        if key not in self._seconds:
            self._seconds[key] = moves_time_s(self.passes.moves[one.moves_digest], machine)
        return self._seconds[key]

    def groups(self, machine: Machine, clampings: tuple[Clamping, ...]) -> list[_Group]:
        """The cheapest few numbers of pieces for clampings that share a table, one piece a cycle always among them."""
        key = tuple(c.id for c in clampings)
        if key not in self._groups:
            found: list[_Group] = []
            while (group := self.group(machine, clampings, len(found) + 1)) is not None:
                found.append(group)
            best = sorted(found, key=lambda g: (round(g.each, 9), g.pieces_count))
            kept = [*best[:KEPT_EACH], *(g for g in best[KEPT_EACH:] if g.pieces_count == 1 or not g.why_not)]
            self._groups[key] = kept
        return self._groups[key]

    def group(self, machine: Machine, clampings: tuple[Clamping, ...], pieces: int) -> _Group | None:
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
        return _Group(
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


def _singles(stretches: Sequence[tuple[Machine, tuple[Clamping, ...]]], reckon: _Reckoner) -> tuple[_Group, ...]:
    found = [reckon.group(machine, (clamping,), 1) for machine, own in stretches for clamping in own]
    return tuple(group for group in found if group is not None)


def _hindrance(groups: Sequence[_Group], pins: tuple[Pin, ...]) -> str:
    """Why these loads are not taken. Where the owner pinned them, unmeasured places do not stand in the way."""
    found = [g.why_not for g in groups if g.why_not and not (_insists(pins) and g.why_not == UNMEASURED)]
    return found[0] if found else ""


def _insists(pins: tuple[Pin, ...]) -> bool:
    """Whether the owner asks for more than one place, measured or not."""
    return any(pin.value == "true" or (pin.quantity == "pieces_a_cycle" and int(pin.value) > 1) for pin in pins)


def _why_not(
    groups: tuple[_Group, ...], taken: tuple[_Group, ...], pinned: Sequence[tuple[_Group, ...]], pins: tuple[Pin, ...]
) -> str:  # fmt: skip
    if pins and groups not in pinned:
        return "a pin fixes it otherwise"
    return _hindrance(groups, pins) or (LESS_MONEY if _money(groups) >= _money(taken) else "")


def _money(groups: Sequence[_Group]) -> float:
    return sum(g.each for g in groups)


def _pinned(
    ranked: list[tuple[_Group, ...]], pins: tuple[Pin, ...],
    stretches: Sequence[tuple[Machine, tuple[Clamping, ...]]], clampings: Sequence[Clamping],
) -> tuple[list[tuple[_Group, ...]], tuple[Pin, ...], list[Proof]]:  # fmt: skip
    """The ways that keep the pins, the pins that are kept, and a proof a pin: kept, or refused with the reason."""
    kept = ranked
    held: list[Pin] = []
    proofs: list[Proof] = []
    for pin in sorted(pins, key=lambda p: p.quantity):
        mine = [groups for groups in kept if _keeps(groups, pin)] if stretches else []
        able = [groups for groups in mine if not _hindrance(groups, (*held, pin))]
        is_idle = pin.value in ("1", "false") and not stretches
        if able:
            kept = able
            held.append(pin)
        why = "" if able or is_idle else _refusal(mine, stretches, clampings)
        proofs.append(_pin_proof(pin, is_kept=bool(able) or is_idle, why=why))
    return kept, tuple(held), proofs


def _keeps(groups: Sequence[_Group], pin: Pin) -> bool:
    if pin.quantity == "pieces_a_cycle":
        return all(g.pieces_count == int(pin.value) for g in groups)
    return any(len(g.clampings) > 1 for g in groups) == (pin.value == "true")


def _refusal(
    mine: Sequence[tuple[_Group, ...]], stretches: Sequence[tuple[Machine, tuple[Clamping, ...]]],
    clampings: Sequence[Clamping],
) -> str:  # fmt: skip
    if mine:
        return _hindrance(mine[0], ())
    if not stretches:
        machines = ", ".join(dict.fromkeys(c.machine_id for c in clampings)) or "no machine"
        return f"{machines}: no machine of the plan is without rotary axes and has more than one place to hold a piece"
    rooms = ", ".join(f"{', '.join(c.id for c in own)} on {machine.id}" for machine, own in stretches)
    return f"there are not the places for it, or no clampings that follow each other on one machine: {rooms}"


def _pin_proof(pin: Pin, *, is_kept: bool, why: str) -> Proof:
    found = float(is_kept)
    return prove(
        id=f"{STAGE}:pin:{pin.quantity}", stage=STAGE, subject=f"{pin.quantity} = {pin.value}",
        claim="the owner's pin is kept", sense="at least", found_low=found, found_high=found, limit=1.0, unit="yes = 1",
        blocks_release=False, basis=Basis(formula=why or "a way of filling the table keeps it", source="own-algorithm"),
        remedy=f"drop the pin, or mend this: {why}; it is planned without {pin.quantity} = {pin.value}",
    )  # fmt: skip


def _words(groups: Sequence[_Group]) -> str:
    told = []
    for g in groups:
        names = ", ".join(c.id for c in g.clampings)
        several = f"{g.pieces_count} pieces" if g.pieces_count > 1 else "one piece"
        if len(g.clampings) > 1:
            told.append(f"{names} side by side, {several} of each")
        else:
            told.append(f"{several} of {names}")
    return "; ".join(told)


def _option(groups: tuple[_Group, ...], why_not: str) -> TableOption:
    machines = tuple(dict.fromkeys(g.clampings[0].machine_id for g in groups))
    return TableOption(
        loads=tuple(g.id for g in groups if _places(g) > 1), text=_words(groups), machine_ids=machines,
        seconds=round(sum(g.seconds for g in groups), 6), each=round(_money(groups), 6), why_not=why_not,
    )  # fmt: skip


def _choice_proof(
    taken: tuple[_Group, ...], others: Sequence[tuple[_Group, ...]], ranked: Sequence[tuple[_Group, ...]],
    pinned: Sequence[tuple[_Group, ...]], pins: tuple[Pin, ...],
) -> Proof:  # fmt: skip
    """That nothing cheaper among the named ways could be taken, with the next-best two."""
    money = _money(taken)
    free = [groups for groups in pinned if not _hindrance(groups, pins)]
    best = min((_money(groups) for groups in free), default=money)
    told = []
    for other in others:
        more, slower = _money(other) - money, sum(g.seconds for g in other) - sum(g.seconds for g in taken)
        why = _why_not(other, taken, pinned, pins)
        told.append(
            f"{_words(other)}: {abs(more):.3f} a piece {'more' if more >= 0.0 else 'less'}, {abs(slower):.1f} s "
            f"{'longer' if slower >= 0.0 else 'quicker'}" + (f" ({why})" if why and why != LESS_MONEY else "")
        )
    text = f"of {len(ranked)} ways: {_words(taken)}" + (f"; next {'; next '.join(told)}" if told else "")
    return prove(
        id=f"{STAGE}:table loads", stage=STAGE, subject="what lies in each place",
        claim="no other way of filling the table costs less", sense="at most", found_low=round(money - best, 6),
        found_high=round(money - best, 6), limit=0.0, unit="money a piece", blocks_release=False,
        basis=Basis(
            formula=f"{text}. Machine at its rate by seconds a piece, set-ups and jaws shared by the order; cutter "
            "changes shared, ways between places counted; loading as long a piece as one at a time",
            source="own-algorithm",
        ),
        remedy="a pin holds it: drop the pin",
    )  # fmt: skip


def _batch_proof(load: TableLoad, pieces_count: int) -> Proof:
    """That the cycles, the first and last of them with fewer pieces, take every piece through every clamping."""
    through = dict.fromkeys(load.clamping_ids, 0)
    for filling in load.fillings:
        for n in filling.filled:
            through[load.laid[n].clamping_id] += filling.cycles_count
    return prove(
        id=f"{STAGE}:{load.id}:every piece", stage=STAGE, subject=load.id,
        claim="the cycles of the batch take every piece through every clamping", sense="at least",
        found_low=float(min(through.values())), found_high=float(max(through.values())), limit=float(pieces_count),
        unit="pieces", blocks_release=True,
        basis=Basis(
            formula=f"{fillings_words(load)}. Where a place stays empty the program of those that are filled is run",
            source="own-algorithm",
        ),
        remedy="count the cycles again",
    )  # fmt: skip


def fillings_words(load: TableLoad) -> str:
    """How many cycles of a batch are full, and what lies where in the others."""
    told: list[str] = []
    for filling in load.fillings:
        if not filling.cycles_count:
            continue
        cycles = f"{filling.cycles_count} cycle{'s' if filling.cycles_count > 1 else ''}"
        if len(filling.filled) == len(load.laid):
            told.append(f"{cycles} with every place filled")
            continue
        names = ", ".join(f"{load.laid[n].clamping_id} in place {load.laid[n].place.number}" for n in filling.filled)
        slug = ", a slug as wide as the work in the other side of its vise" if _is_half(load, filling) else ""
        told.append(f"{cycles} with {names} alone{slug}")
    return "; ".join(told)


def _is_half(load: TableLoad, filling: Filling) -> bool:
    """Whether a vise with two sides holds a piece on one side and none on the other."""
    sides = [(one.place.vise_id, one.place.vise_number) for one in load.laid]
    held = [sides[n] for n in filling.filled]
    return any(0 < held.count(side) < sides.count(side) for side in sides)
