"""The stations that a part goes through, from bar to box, with minutes, money and proofs of each."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Literal

from proveout.model.fact import Fact, weaker_of
from proveout.model.plan import CostLine, Plan, TimeLine
from proveout.model.proof import Proof, weakest_first
from proveout.model.shop import Noun
from proveout.sheets.derived import PACKING
from proveout.sheets.pages_front import OUTSIDE

StationKind = Literal["buying", "saw", "clamping", "bench", "finisher", "inspection", "packing"]
BUYING, SAW, BENCH, INSPECTION, PACK = "buying", "saw", "bench", "inspection", "packing"
FIXED: tuple[StationKind, ...] = (BUYING, SAW, BENCH, INSPECTION, PACK)
GAUGE = "gauge"  # begins the time line of gauging a piece
# lines of the cost that one station takes whole
WHOLE = {"material": BUYING, "saw, whole batch": SAW, "saw": SAW, "hardware of the kit": PACK}
HOME = {
    "blank": SAW, "bars": SAW, "bench": BENCH, "inspection": INSPECTION, "fits": INSPECTION, "packing": PACK,
    "buying": BUYING,
}  # fmt: skip
COATED = ("sending", "finishing")  # stages whose proofs are of the coat where nothing else is named
NUMBERED = re.compile(r"clamping (\d+)\b")


class Station(Noun, frozen=True, kw_only=True):
    """One station. id: in its address.   place: of the clamping or of the finisher's order in the plan, else -1.

    piece_s, batch_s: at it, each piece and once a batch; each: money a piece; every worst end together, None where the
    plan does not tell it apart.   proofs: places in the plan, weakest first.
    """

    id: str
    kind: StationKind
    place: int
    piece_s: Fact | None
    batch_s: Fact | None
    each: Fact | None
    proofs: tuple[int, ...]


class Route(Noun, frozen=True, kw_only=True):
    """All stations in order; proofs: of none of them, weakest first; rest: money a piece that is of none of them."""

    stations: tuple[Station, ...]
    proofs: tuple[int, ...]
    rest: Fact | None

    def place_of(self, id: str) -> int | None:
        """Where the station of that id stands, None for an unknown one."""
        return next((i for i, one in enumerate(self.stations) if one.id == id), None)


def route_of(plan: Plan) -> Route:
    """The stations of a plan; minutes and money are left out where the shop's figures are not for its metal."""
    named = _named(plan)
    proofs: dict[str, list[int]] = {id: [] for id, _, _ in named}
    loose: list[int] = []
    finishers = [id for id, kind, _ in named if kind == "finisher"]
    places = {proof.id: i for i, proof in enumerate(plan.proofs)}
    for proof in weakest_first(plan.proofs):
        own = homes_of(proof, plan=plan, finishers=finishers)
        for id in own:
            proofs[id].append(places[proof.id])
        if not own:
            loose.append(places[proof.id])
    known = not plan.metal_unknown
    at = [_station_of(line, plan) for line in plan.time.lines]

    def seconds(id: str, per: str) -> Fact | None:
        lines = [line for line, own in zip(plan.time.lines, at, strict=True) if own == id and line.per == per]
        return _summed([line.seconds for line in lines]) if known and lines else None

    money = _money(plan, named, at) if known else {}
    stations = tuple(
        Station(
            id=id, kind=kind, place=place, piece_s=seconds(id, "piece"), batch_s=seconds(id, "batch"),
            each=money.get(id), proofs=tuple(proofs[id]),
        )
        for id, kind, place in named
    )  # fmt: skip
    return Route(stations=stations, proofs=tuple(loose), rest=money.get(""))


def _named(plan: Plan) -> list[tuple[str, StationKind, int]]:
    """Id, kind and place of each station, every id once."""
    found: list[tuple[str, StationKind, int]] = [(BUYING, "buying", -1), (SAW, "saw", -1)]
    found.extend((clamping.id, "clamping", i) for i, clamping in enumerate(plan.clampings))
    found.append((BENCH, "bench", -1))
    used = {*FIXED, *(clamping.id for clamping in plan.clampings)}
    for i, order in enumerate(plan.finish_orders):
        id, number = order.finisher_id, 2
        while id in used:
            id, number = f"{order.finisher_id}-{number}", number + 1
        used.add(id)
        found.append((id, "finisher", i))
    return [*found, (INSPECTION, "inspection", -1), (PACK, "packing", -1)]


def _station_of(line: TimeLine, plan: Plan) -> str:
    """Id of the station at which the seconds of a line are spent; empty for what no station can be named of."""
    own = {one.id: one.clamping_id for one in plan.passes}
    if line.pass_id in own:
        return own[line.pass_id]
    for clamping in plan.clampings:
        if line.station == clamping.id or line.text.startswith(f"{clamping.id}:"):
            return clamping.id
    if line.per == "design":
        return ""
    if line.station == BENCH:
        return PACK if line.text.startswith(PACKING) else INSPECTION if line.text.startswith(GAUGE) else BENCH
    return SAW if line.station == SAW else ""


def _summed(facts: Sequence[Fact]) -> Fact:
    """The sum with every worst end together, known no better than the worst known of them."""
    strength = facts[0].strength
    for fact in facts[1:]:
        strength = weaker_of(strength, fact.strength)
    return Fact(
        low=sum(f.low for f in facts), nominal=sum(f.nominal for f in facts), high=sum(f.high for f in facts),
        unit=facts[0].unit, source="own-algorithm", strength=strength,
    )  # fmt: skip


def _money(plan: Plan, named: Iterable[tuple[str, StationKind, int]], at: list[str]) -> dict[str, Fact]:
    """Money a piece by station, and under the empty name what is of none; together they are the price of a piece.

    A line that is minutes at a rate falls to the stations by their minutes in it.
    """
    shares: dict[str, list[Fact]] = {}
    finishers = {plan.finish_orders[place].process: id for id, kind, place in named if kind == "finisher"}
    for line in plan.cost.lines:
        whole = WHOLE.get(line.text) or finishers.get(line.text.removeprefix(OUTSIDE), "")
        spent = {} if whole else _spent(line, plan, at)
        if spent:
            for id, fact in spent.items():
                shares.setdefault(id, []).append(fact)
        else:
            shares.setdefault(whole, []).append(line.each)
    return {id: _summed(facts) for id, facts in shares.items()}


def _spent(line: CostLine, plan: Plan, at: list[str]) -> dict[str, Fact]:
    """The shares of stations in a line of minutes at a rate; empty where the line is none."""
    timed: dict[str, tuple[str, str]] = {"bench": (BENCH, "piece")}
    for machine in {clamping.machine_id for clamping in plan.clampings}:
        timed[f"machine {machine}"] = (machine, "piece")
        timed[f"set-ups on {machine}"] = (machine, "batch")
    station, per = timed.get(line.text, ("", ""))
    own = [(t, id) for t, id in zip(plan.time.lines, at, strict=True) if t.station == station and t.per == per]
    if not own or any(total <= 0.0 for total in _ends(t.seconds for t, _ in own)):
        return {}
    totals, money = _ends(t.seconds for t, _ in own), (line.each.low, line.each.nominal, line.each.high)
    found: dict[str, Fact] = {}
    for id in dict.fromkeys(id for _, id in own):
        ends = _ends(t.seconds for t, i in own if i == id)
        low, nominal, high = (m * e / total for m, e, total in zip(money, ends, totals, strict=True))
        found[id] = Fact(
            low=low, nominal=nominal, high=high, unit=line.each.unit, source="own-algorithm",
            strength=line.each.strength,
        )  # fmt: skip
    return found


def _ends(facts: Iterable[Fact]) -> tuple[float, float, float]:
    every = list(facts)
    return sum(f.low for f in every), sum(f.nominal for f in every), sum(f.high for f in every)


def homes_of(proof: Proof, *, plan: Plan, finishers: Sequence[str]) -> tuple[str, ...]:
    """Ids of the stations that a proof is of; none for one of the whole part.   finishers: ids of their stations."""
    found = _clampings_of(proof, plan)
    if found:
        return found
    parts = _parts(proof.id)
    named = tuple(id for id in finishers if id in parts or id == proof.subject)
    if named:
        return named
    if proof.stage in COATED and finishers:
        coats = [
            id for id, order in zip(finishers, plan.finish_orders, strict=True) if order.thickness_mm is not None
        ]  # fmt: skip
        return tuple(coats or finishers)[:1]
    home = HOME.get(proof.stage)
    return (home,) if home else ()


def _parts(id: str) -> list[str]:
    """What an id of a proof names, between its colons and strokes, places and pieces of a cycle left out."""
    parts: list[str] = []
    for piece in re.split(r"[:/]", id):
        parts += [re.sub(r"^\d+ x | in place \d+$|-jaws$", "", one) for one in piece.split(" + ")]
    return parts


def _clampings_of(proof: Proof, plan: Plan) -> tuple[str, ...]:
    """Clampings that a proof names: by themselves, by a pass, by their number, or by their machine and cutter."""
    parts, own = set(_parts(proof.id)), {one.id: one.clamping_id for one in plan.passes}
    numbers = {int(n) for n in NUMBERED.findall(proof.subject)}
    move = proof.basis.move
    found = [
        c.id
        for c in plan.clampings
        if c.id in parts or c.number in numbers or proof.subject == c.id or proof.subject.startswith(f"{c.id}/")
        or (move is not None and own.get(move.pass_id) == c.id)
        or (proof.stage in ("removal check", "removal_check") and proof.subject in (*c.makes_faces, *c.makes_holes))
    ]  # fmt: skip
    if found:
        return tuple(found)
    at = [c.id for c in plan.clampings if c.machine_id in parts or c.machine_id == proof.subject]
    cutters = {one.cutter_id for one in plan.passes} & parts
    if cutters:
        at = [id for id in at if any(one.clamping_id == id and one.cutter_id in cutters for one in plan.passes)]
    return tuple(at)
