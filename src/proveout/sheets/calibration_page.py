"""The page beside a machine's calibration program: what to see to first, and a box for the time of each stretch."""

from __future__ import annotations

from typing import Any

import msgspec

from proveout.sheets.blocks import BOX, Cell, framed_lines, page, para, strong, table, ticks
from proveout.sheets.ink import printed
from proveout.sheets.names import digest_words
from proveout.sheets.typesetting import typeset

CAUTION = (
    "Planning aid. It does not replace the instructions of the machine's maker; a person who knows the machine decides."
)


class StretchRow(msgspec.Struct, frozen=True, kw_only=True):
    """One stretch on the page.  seconds: as foretold with the machine's present numbers."""

    number: int
    name: str
    text: str
    times_count: int
    seconds: float


class CalibrationSheet(msgspec.Struct, frozen=True, kw_only=True):
    """What the page says.

    low_mm, high_mm: (3,) the box that the spindle's nose stays in, from program zero.  clear_mm: to be free beyond it.
    cutter_numbers: changed to and fro, none without changes.  tilted_deg: A and C that tilts go to, None without tilts.
    """

    machine_id: str
    shop: str
    program: str
    fingerprint: str
    rows: tuple[StretchRow, ...]
    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]
    clear_mm: float
    cutter_numbers: tuple[int, ...]
    tilted_deg: tuple[float, float] | None


def calibration_pdf(sheet: CalibrationSheet) -> bytes:
    """The page as PDF bytes, the same for the same sheet."""
    return typeset(calibration_document(sheet))


def calibration_document(sheet: CalibrationSheet) -> dict[str, Any]:
    """The page as plain data."""
    return {
        "title": f"Calibration of {sheet.machine_id}", "part": f"Machine {sheet.machine_id}", "revision": "",
        "shop": sheet.shop, "fingerprint": digest_words(sheet.fingerprint), "start": "", "ready": True, "band": "",
        "source": f"Program {sheet.program}", "pages": [_page(sheet)],
    }  # fmt: skip


def _page(sheet: CalibrationSheet) -> dict[str, Any]:
    rows: list[list[Cell]] = [
        [str(row.number), strong(row.name), row.text, str(row.times_count), f"{row.seconds:.1f}", BOX]
        for row in sheet.rows
    ]
    columns = [
        ("", "auto", "r"), ("stretch", "auto", "l"), ("what", "1fr", "l"), ("repeats", "auto", "r"),
        ("about s", "auto", "r"), ("watch, s", "28", "c"),
    ]  # fmt: skip
    return page(
        sheet="Calibration", title="Times of the machine by the stop watch", one_page=True,
        blocks=[framed_lines(_cautions(sheet)), ticks(_steps(sheet)), table(columns, rows, tight=True), para(CAUTION)],
    )  # fmt: skip


def _cautions(sheet: CalibrationSheet) -> list[str]:
    return [
        (
            "No work on the table, no vise that the spindle could reach, no cutter in the spindle or a dummy. Spindle "
            "off, doors shut. It begins and ends at the top of Z, as the machine's description of its programs says."
        ),
        (
            f"From program zero the spindle's nose goes {_box(sheet, 0.0)} mm at full rapid. All of it and "
            f"{printed(sheet.clear_mm, unit='mm', digits=0)} mm beyond must be free, and as far below it as a dummy is "
            "long."
        ),
    ]


def _box(sheet: CalibrationSheet, beyond_mm: float) -> str:
    ends = [
        f"{axis} {printed(low - beyond_mm, unit='mm', digits=0)} to {printed(high + beyond_mm, unit='mm', digits=0)}"
        for axis, low, high in zip("XYZ", sheet.low_mm, sheet.high_mm, strict=True)
    ]
    return ", ".join(ends)


def _steps(sheet: CalibrationSheet) -> list[str]:
    turned = " A and C stand at 0." if sheet.tilted_deg is not None else ""
    jog = (
        f"Jog the nose to a place from which {_box(sheet, sheet.clear_mm)} mm are free and within the travels; set G54 "
        f"X0 Y0 Z0 there, with no length (G49).{turned}"
    )
    steps = [jog]
    if sheet.cutter_numbers:
        named = " and ".join(str(number) for number in sheet.cutter_numbers)
        steps.append(f"Pockets {named}: holders without cutters.")
    if sheet.tilted_deg is not None:
        a, c = (printed(v, unit="°", digits=0, as_is=True) for v in sheet.tilted_deg)
        steps.append(f"See that the table swings clear from A 0 C 0 to A {a} C {c} with Z at its top.")
    timed = (
        "Then timed: single block off, rapid and feed override 100 %. At each stop (M0) press start and watch "
        "together; stop the watch when the axes stand still, and write the seconds. A stretch that went wrong stays "
        "empty."
    )
    return [
        *steps,
        "First time through: single block, lowest rapid override, a hand on the stop.",
        timed,
        f"Type the times into times.toml, then: proveout calibrate {sheet.machine_id} --shop FILE --times times.toml",
    ]
