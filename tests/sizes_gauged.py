"""Sizes with their windows, gauges that read them, and the inspection of them, for tests of stages."""

from __future__ import annotations

from typing import Any

from proveout.model.gauge import Gauge
from proveout.model.inspection import InspectionRule
from proveout.model.plan import Finishing, InspectionLine, SizeNote, Window
from proveout.model.proof import Decision
from proveout.model.work import Survey
from proveout.stages.inspection.decide import Inspection, decide
from proveout.stages.inspection.frequency import Cutting

AS_USUAL, NOTHING_KNOWN = InspectionRule(), Cutting()
SURVEY = Survey(faces=(), holes=(), directions=(), access=(), unreached=())


def gauge(id: str, kind: str, low: float, high: float, uncertainty: float) -> Gauge:
    return Gauge(id=id, name="", kind=kind, low_mm=low, high_mm=high, uncertainty_mm=uncertainty)  # type: ignore[arg-type]


CALIPER = gauge("caliper", "caliper", 0.0, 150.0, 0.03)
BORE = gauge("bore-18-35", "bore gauge", 18.0, 35.0, 0.003)
PLUG = gauge("plug-M6", "thread plug", 6.0, 6.0, 0.005)
DEPTH = gauge("depth-150", "depth gauge", 0.0, 150.0, 0.03)
MICROMETER = gauge("micrometer", "micrometer", 0.0, 25.0, 0.004)
ALL = (CALIPER, BORE, PLUG, MICROMETER)


def window(low: float, high: float, **more: Any) -> Window:
    given: dict[str, Any] = {
        "balloon": 1, "text": "H8", "kind": "hole", "finished_low_mm": 20.0, "finished_high_mm": 20.033,
        "is_masked": False, "is_critical": False, "face_ids": (), **more,
    }  # fmt: skip
    return Window(before_low_mm=low, before_high_mm=high, width_mm=round(high - low, 6), **given)


def inspect(
    *windows: Window, gauges: tuple[Gauge, ...] = ALL, rule: InspectionRule = AS_USUAL, lot_count: int = 150,
    cutting: Cutting = NOTHING_KNOWN, notes: tuple[SizeNote, ...] = (), coated_area_mm2: float = 0.0,
) -> Decision[tuple[InspectionLine, ...]]:  # fmt: skip
    found = whole(
        *windows, gauges=gauges, rule=rule, lot_count=lot_count, cutting=cutting, notes=notes,
        coated_area_mm2=coated_area_mm2,
    )  # fmt: skip
    return Decision(value=found.value.lines, proofs=found.proofs)


def whole(
    *windows: Window, gauges: tuple[Gauge, ...] = ALL, rule: InspectionRule = AS_USUAL, lot_count: int = 150,
    cutting: Cutting = NOTHING_KNOWN, notes: tuple[SizeNote, ...] = (), coated_area_mm2: float = 0.0,
) -> Decision[Inspection]:  # fmt: skip
    finishing = Finishing(
        offset_mm={}, windows=windows, coated_area_mm2=coated_area_mm2, plugs=(), notes=notes
    )  # fmt: skip
    return decide(finishing=finishing, survey=SURVEY, gauges=gauges, rule=rule, lot_count=lot_count, cutting=cutting)


def thread(text: str, low: float, high: float, grown: float = 0.0) -> Window:
    return window(
        low + grown, high + grown, kind="thread", text=text, finished_low_mm=low, finished_high_mm=high,
        is_inside=not text.endswith(("g", "h", "A")),
    )  # fmt: skip
