"""What a shop measured on its own machines: how a cutter's tip gives way, what a spindle's meter read in a cut."""

from __future__ import annotations

from typing import Literal

import msgspec

from proveout.model.fact import Fact

EdgeState = Literal["sharp", "used", "dull"]
EFFICIENCY = Fact(low=0.75, nominal=0.9, high=1.0, unit="ratio", source="workshop-practice", strength="common practice")
"""Of a spindle's power above idle, what reaches the edge, where nobody wrote it."""


class Response(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How the tip of one cutter in its holder, in one machine's spindle, gives way to a push that changes in time.

    stick_out_mm: of the cutter when it was measured.   error_ratio: how far the size of the response may be off, to
    either side.   frequency_error_ratio: likewise its frequencies.   measured: ISO date or empty.   file: name of the
    table beside the shop file.   rows: frequency in Hz, then real and imaginary part along machine X and along machine
    Y, mm/N.
    """

    machine_id: str
    cutter_id: str
    stick_out_mm: float
    error_ratio: Fact
    frequency_error_ratio: Fact
    measured: str
    file: str
    rows: tuple[tuple[float, float, float, float, float], ...]


class SpindleReading(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One look at the spindle's meter in a steady side cut.

    load_mw: what the meter read, with what it read at the same speed in the air, idle_mw, and its smallest step,
    step_mw; a meter that reads a share of the machine's power has been multiplied by it, and is_share says so.
    efficiency_ratio: of the power above idle, what reaches the edge.   source: who read it in which batch, empty where
    nobody wrote it;  event: id of the record that it was taken over from, empty for one that was typed in.
    section_error_ratio: share by which width times depth may be off, to either side.
    """

    machine_id: str
    cutter_id: str
    alloy: str
    speed_rad_per_s: float
    tooth_feed_mm: float
    axial_mm: float
    radial_mm: float
    load_mw: float
    idle_mw: float
    step_mw: float
    is_share: bool
    edge: EdgeState
    date: str
    efficiency_ratio: Fact
    source: str = ""
    event: str = ""
    section_error_ratio: float = 0.0


class ScrapCut(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One cut in scrap that got evenly deeper, made and listened to.

    stick_out_mm: of the cutter then.   quiet_mm: how deep it was still quiet, 0 where it howled from the first.
    howled_mm: how deep it was when it howled; None where it never did.   date: ISO.
    """

    machine_id: str
    cutter_id: str
    alloy: str
    stick_out_mm: float
    speed_rad_per_s: float
    tooth_feed_mm: float
    radial_mm: float
    quiet_mm: float
    howled_mm: float | None
    date: str
