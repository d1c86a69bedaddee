"""The steps of a batch and what is measured at each, as its plan has them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from proveout.jobs.results import distinct_name
from proveout.model.batch_events import Check, RouteStep, StepKind
from proveout.model.plan import InspectionLine, Plan, Window
from proveout.model.shop import Shop
from proveout.model.work import Clamping

SAW, BENCH, CABINET, INSPECTION, PACKING = "saw", "bench", "cabinet", "inspection", "packing"
BY_PLUG = ("plug", "thread plug", "thread ring")
COAT = "coat"
"""The mark of a coat's thickness."""
GO = "1 when GO enters and NO-GO does not"
"""What is written of a size that a plug judges: 1, or 0."""
GO_ON = "1 when GO goes on and NO-GO does not"
"""The same of a thread that a ring judges."""


def route_steps(plan: Plan) -> tuple[RouteStep, ...]:
    """Saw, each clamping at its machine, bench, cabinet, each finisher, inspection, packing: as the plan has them."""
    names: set[str] = set()

    def step(id: str, station: str, kind: StepKind, text: str) -> RouteStep:
        return RouteStep(id=distinct_name(id, names), station=station, kind=kind, text=text)

    chosen, bars = plan.blank.chosen, plan.bars
    also = f", {bars.trial_count} of them to prove the programs" if bars.trial_count else ""
    steps = [step(SAW, SAW, "saw", f"saw {bars.blanks_count} blanks {chosen.cut_length_mm:.1f} mm long{also}")]
    steps += [
        step(step_of(one), one.machine_id, "mill", f"clamping {one.number}")
        for one in sorted(plan.clampings, key=lambda clamping: clamping.number)
    ]
    by_hand = [line.text for line in plan.time.lines if line.station == BENCH and line.per == "piece"]
    hand = [text for text in by_hand if text != "blast" and not text.startswith(("kit", "gauge"))]
    if hand:
        steps.append(step(BENCH, BENCH, "bench", ", ".join(hand)))
    if "blast" in by_hand:
        steps.append(step(CABINET, CABINET, "cabinet", "blast with beads, wash"))
    for order in plan.finish_orders:
        text = f"{order.process}: count out, count back in"
        steps.append(step(order.finisher_id, order.finisher_id, "outside", text))
    if plan.inspection:
        steps.append(step(INSPECTION, INSPECTION, "inspection", "finished sizes, and by eye"))
    if plan.packing.lines or any(text.startswith("kit") for text in by_hand):
        steps.append(step(PACKING, PACKING, "packing", "kit and box"))
    return tuple(steps)


def step_of(clamping: Clamping) -> str:
    """The step of a batch in which a clamping is milled."""
    return f"op{clamping.number}"


def station_of_step(plan: Plan, step: str) -> str:
    """The id of the station under which the pages of a part show a step: a clamping's own, else the step's."""
    return next((clamping.id for clamping in plan.clampings if step_of(clamping) == step), step)


def first_through_of(steps: Iterable[RouteStep]) -> tuple[str, ...]:
    """The clampings that a first piece goes through before the second is cut: all before any outside work.

    None where there are fewer than two: the first piece of that one is read before the next is loaded anyway.
    """
    own: list[str] = []
    for step in steps:
        if step.kind == "outside":
            break
        if step.kind == "mill":
            own.append(step.id)
    return tuple(own) if len(own) > 1 else ()


def checks_of(plan: Plan, shop: Shop, steps: Iterable[RouteStep]) -> tuple[Check, ...]:
    """Each size of the inspection sheet where it is milled, before the coat, and at the inspection, finished.

    A size whose limits before the coat nobody knows is not among those that are milled to. Where a finisher coats, the
    coat's thickness is read of the lot that is back.
    """
    steps = tuple(steps)
    ids = {step.id for step in steps}
    plugs = {gauge.name or gauge.id for gauge in shop.gauges if gauge.kind in BY_PLUG}
    windows = list(plan.finishing.windows)
    used: set[str] = set()
    found: list[Check] = []
    for line in plan.inspection:
        window = next((one for one in windows if (one.balloon, one.text) == (line.balloon, line.text)), None)
        if window is not None:
            windows.remove(window)
        mark = distinct_name(window.mark if window is not None else line.mark or str(line.balloon), used)
        is_judged = line.gauge in plugs or (window is not None and window.kind == "thread")
        is_ring = window is not None and window.kind == "thread" and not window.is_inside
        judged = "" if not is_judged else GO_ON if is_ring else GO
        made_in = _made_in(plan, _faces_of(plan, line, window))
        if line.is_decided and made_in in ids:
            found.append(_check(made_in, mark, line, judged=judged, is_finished=False))
        if INSPECTION in ids:
            found.append(_check(INSPECTION, mark, line, judged=judged, is_finished=True))
    return (*found, *_coats(plan, steps))


def _coats(plan: Plan, steps: tuple[RouteStep, ...]) -> Iterator[Check]:
    """The thickness of each coat that is asked for, read of a lot once it is back, by a gauge that is named."""
    outside = [step for step in steps if step.kind == "outside"]
    for step, order in zip(outside, plan.finish_orders, strict=False):
        if order.thickness_mm is not None:
            yield Check(step=step.id, mark=COAT, text=f"thickness of the coat, {order.process}", names_gauge=True,
                        low=order.thickness_mm.low, high=order.thickness_mm.high)  # fmt: skip


def _check(step: str, mark: str, line: InspectionLine, *, judged: str, is_finished: bool) -> Check:
    """judged: how GO and NO-GO judge it, empty where a number is read."""
    if judged:
        return Check(step=step, mark=mark, text=line.text, low=1.0, high=1.0, unit=judged)
    if is_finished:
        return Check(step=step, mark=mark, text=line.text, low=line.finished_low_mm, high=line.finished_high_mm)
    low, high = line.before_low_mm, line.before_high_mm
    return Check(
        step=step, mark=mark, text=line.text, low=low, high=high, react_low=_within(line.accept_low_mm, low, high),
        react_high=_within(line.accept_high_mm, low, high),
    )  # fmt: skip


def _within(value: float | None, low: float, high: float) -> float | None:
    return value if value is not None and low <= value <= high else None


def _faces_of(plan: Plan, line: InspectionLine, window: Window | None) -> set[str]:
    """Faces of a size; of a radius or chamfer those that it is written at."""
    if window is not None:
        return set(window.face_ids)
    notes = (note for note in plan.finishing.notes if (note.balloon, note.text) == (line.balloon, line.text))
    return {face for note in notes if line.of == note.kind for face in note.face_ids}


def _made_in(plan: Plan, faces: set[str]) -> str:
    """The last step that cuts the faces of a size; the last one that is milled where none is named."""
    numbers = {clamping.id: clamping for clamping in plan.clampings}
    own = [numbers[one.clamping_id] for one in plan.passes if faces & set(one.face_ids) and one.clamping_id in numbers]
    last = max(own or plan.clampings, key=lambda clamping: clamping.number, default=None)
    return "" if last is None else step_of(last)
