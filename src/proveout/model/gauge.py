"""A gauge of the shop: what it measures, over which sizes, and how far its readings may be off."""

from __future__ import annotations

from typing import Literal

import msgspec

GaugeKind = Literal[
    "caliper", "micrometer", "bore gauge", "plug", "thread plug", "thread ring", "height gauge", "depth gauge",
    "radius gauge", "chamfer gauge", "comparator", "bevel protractor", "roughness tester", "visual",
]  # fmt: skip


class Gauge(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A gauge with the half-width of its uncertainty interval (k = 2).

    low_mm, high_mm: sizes that it measures; of a thread its major diameter.   uncertainty_rad: of what reads angles;
    None where it reads none, or nobody wrote it.   thread: that a pair of GO and NO-GO is for, such as "M6 6H"; empty
    where `name` tells it, or nothing.   go_pitch_diameter_mm, no_go_pitch_diameter_mm: as calibrated, of a pair that
    is not the standard one of its thread, such as one for before a coat; None of a standard one.
    """

    id: str
    name: str
    kind: GaugeKind
    low_mm: float
    high_mm: float
    uncertainty_mm: float
    uncertainty_rad: float | None = None
    thread: str = ""
    go_pitch_diameter_mm: float | None = None
    no_go_pitch_diameter_mm: float | None = None


class WantedGauge(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A gauge to get. what: its kinds and what it must tell.   mark: of the size.   when: of what a coat changes."""

    what: str
    mark: str
    when: Literal["", "before", "after"] = ""
