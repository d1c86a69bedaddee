"""What a plan assumed of a machine, against what stands there before a step is started."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from proveout.jobs.batch_route import step_of
from proveout.jobs.check_told import grouped
from proveout.jobs.program_now import places_now, programs_now, programs_of
from proveout.jobs.scanned import BATCH_AT, MARK_AT, MARK_LENGTH, PARTED, REVISION_AT
from proveout.model.batch import Batch
from proveout.model.floor_events import FINGERPRINT_SIGNS, SetUpMeasured
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.model.table_load import zero_at
from proveout.model.work import Clamping, work_zero_mm
from proveout.quantities.errors import Refused
from proveout.sheets.names import capital
from proveout.stages.stability.decide import STICK_OUT_MM

SAME_MM = 1e-9
NOT_SAID = "the plan does not say by how much it may differ"


@dataclass(frozen=True)
class Assumed:
    """One length that a plan rests on. allowed_mm: how far the measured one may lie off, None where nothing says it.

    is_bound: whoever lies farther off stands before another machine than the plan's: nobody may answer for that.
    """

    name: str
    value_mm: float
    allowed_mm: float | None
    is_bound: bool
    said_by: str


@dataclass(frozen=True)
class Hindrance:
    """Why a step is not started. may_agree: a named person may answer for it."""

    what: str
    found: str
    limit: str
    do: str
    may_agree: bool = False

    @property
    def words(self) -> str:
        """In one sentence."""
        return f"{self.what}: {self.found}, planned {self.limit}. {self.do}"


def clamping_of(plan: Plan, step: str) -> Clamping | None:
    """The clamping that is milled in a step of the route; None for a step of another kind."""
    return next((one for one in plan.clampings if step_of(one) == step), None)


def assumed_of(plan: Plan, shop: Shop, clamping: Clamping) -> tuple[Assumed, ...]:
    """Every length that the plan of a clamping rests on and that can be measured at the machine, in its order there."""
    return (*_zeros(plan, shop, clamping), *_pivot(shop, clamping), *_stick_outs(plan, shop, clamping))


def _zeros(plan: Plan, shop: Shop, clamping: Clamping) -> Iterator[Assumed]:
    machine = next(one for one in shop.machines if one.id == clamping.machine_id)
    error = None if machine.zero_error_mm is None else machine.zero_error_mm.high
    # a program of turned work carries where the zero lies from the rotation centre; another one goes where it is set
    is_bound = error is not None and machine.rotary is not None and clamping.is_tilted
    said = NOT_SAID if error is None else f"zero_error of {machine.id} in the shop file"
    load = plan.load_of(clamping.id)
    places: list[tuple[str, tuple[float, float, float] | None]] = []
    if load is None:
        vise = next((one for one in shop.vises if one.id == clamping.vise_id), None)
        stands = None if vise is None else vise.stands_mm
        places.append(("", None if stands is None else work_zero_mm(clamping, stands)))
    else:
        places += [
            (f", place {laid.place.number}", zero_at(clamping, laid.place))
            for laid in plan.table_loads[load].laid
            if laid.clamping_id == clamping.id
        ]
    for where, zero in places:
        for axis, value in zip("XYZ", zero or (), strict=False):
            yield Assumed(f"zero {axis}{where}", value, error, is_bound, said)


def _pivot(shop: Shop, clamping: Clamping) -> Iterator[Assumed]:
    rotary = next(one for one in shop.machines if one.id == clamping.machine_id).rotary
    if rotary is None or rotary.pivot_in_machine_mm is None:
        return
    error = None if rotary.pivot_error_mm is None else rotary.pivot_error_mm.high
    said = NOT_SAID if error is None else f"pivot_error of {clamping.machine_id} in the shop file"
    for axis, value in zip("XYZ", rotary.pivot_in_machine_mm, strict=True):
        yield Assumed(f"rotation centre {axis}", value, error, error is not None, said)


def _stick_outs(plan: Plan, shop: Shop, clamping: Clamping) -> Iterator[Assumed]:
    used = list(dict.fromkeys(one.cutter_id for one in plan.passes if one.clamping_id == clamping.id))
    measured = {one.cutter_id: one.stick_out_mm for one in shop.responses if one.machine_id == clamping.machine_id}
    for cutter in shop.cutters:
        if cutter.id not in used:
            continue
        name, planned = f"stick-out {cutter.id}", cutter.stick_out_mm
        if cutter.id in measured:
            # within so much of the length at which the response was measured, chatter is judged by it
            left = max(0.0, STICK_OUT_MM - abs(measured[cutter.id] - planned))
            yield Assumed(
                name, planned, left, is_bound=False, said_by=f"the response of {cutter.id} is of another length"
            )
        else:
            yield Assumed(name, planned, None, is_bound=False, said_by=NOT_SAID)


def hindrances(of: SetUpMeasured, *, plan: Plan, shop: Shop, clamping: Clamping, batch: Batch) -> tuple[Hindrance, ...]:
    """Why a step is not started with what stands at the machine; none when it may be. batch: released."""
    found = [*_of_papers(of, batch), *_of_program(of, plan, clamping, batch)]
    measured = {one.name: one.value_mm for one in of.measures}
    known = {one.name for one in assumed_of(plan, shop, clamping)}
    found += [
        Hindrance(f"Nothing is planned by the name {name}", "typed", "not known", "Measure what this page names.")
        for name in sorted(measured.keys() - known)
    ]
    for one in assumed_of(plan, shop, clamping):
        value = measured.get(one.name)
        if value is None:
            found.append(Hindrance(capital(one.name), "not measured", _mm(one.value_mm), "Measure it and type it."))
        elif (off := abs(value - one.value_mm)) > (one.allowed_mm or 0.0) + SAME_MM:
            found.append(_off(one, value, off))
    return tuple(found)


def _of_papers(of: SetUpMeasured, batch: Batch) -> Iterator[Hindrance]:
    """By the revision that was typed, or by the whole square code where that was scanned."""
    fields = [field.strip() for field in of.revision.split(PARTED)]
    is_scanned = len(fields) > MARK_AT
    read = fields[REVISION_AT] if is_scanned else of.revision
    if read != batch.revision:
        yield Hindrance(
            "The papers at the machine are of another revision", read or "none read", batch.revision,
            f"Take the papers and the program of revision {batch.revision}; put the others away.",
        )  # fmt: skip
    elif is_scanned:
        named, mark = fields[BATCH_AT] if len(fields) > BATCH_AT else "", batch.plan[:MARK_LENGTH]
        if fields[MARK_AT].lower() != mark or named not in ("", batch.batch):
            yield Hindrance(
                "The papers at the machine are of another plan or batch", f"{grouped(fields[MARK_AT])} {named}".strip(),
                f"{grouped(mark)} {batch.batch}", "Take the papers of this batch; put the others away.",
            )  # fmt: skip


def _of_program(of: SetUpMeasured, plan: Plan, clamping: Clamping, batch: Batch) -> Iterator[Hindrance]:
    every, wanted = programs_of(plan, clamping), programs_now(plan, clamping, batch)
    read, marks = of.program[:FINGERPRINT_SIGNS], [one.fingerprint for one in wanted]
    if every and not wanted:
        yield Hindrance(
            "No program of this table is for the pieces that wait", "none", "one for the places that can be filled",
            "Ask the office: the plan fills this table otherwise.",
        )  # fmt: skip
    elif every and read not in marks:
        is_other = read in {one.fingerprint for one in every}
        what = "The program in the control is not the one of this packet" if of.program else "No program was compared"
        places = ", ".join(str(one) for one in places_now(plan, clamping, batch))
        filled = f", place {places} filled" if places else ""
        yield Hindrance(
            "The program in the control is for another filling of the table" if is_other else what,
            grouped(read) or "none",
            " or ".join(f"{one.file} {grouped(one.fingerprint)}" for one in wanted) + filled,
            f"Load the program {'for these places ' if filled else ''}from the packet, and compare it anew.",
        )  # fmt: skip
    if not every and of.program:
        yield Hindrance(
            "The plan wrote no program for this machine", grouped(read), "none",
            "Have your own program checked at the desk, and start without a fingerprint.",
        )  # fmt: skip


def _off(one: Assumed, value: float, off: float) -> Hindrance:
    within = "" if one.allowed_mm is None else f" within {_mm(one.allowed_mm)}"
    do = f"Measure again; {one.said_by}: a named person must answer for it."
    if one.is_bound:
        do = "Measure again. If it stays, do not start: the machine is not as planned, so plan again with what it is."
    return Hindrance(
        capital(one.name), f"{_mm(value)}, {_mm(off)} off", f"{_mm(one.value_mm)}{within}", do,
        may_agree=not one.is_bound,
    )  # fmt: skip


def _mm(value_mm: float) -> str:
    return f"{round(value_mm, 4):g} mm"


def refuse_start(found: tuple[Hindrance, ...], *, where: str) -> None:
    """Refuse a start that anything stands in the way of.

    Raises:   Refused, with every reason.
    """
    if found:
        raise Refused(
            "This step may not be started", where=where, value="; ".join(one.words for one in found),
            do="ask whoever may answer for it" if all(one.may_agree for one in found) else "set it right first",
        )  # fmt: skip
