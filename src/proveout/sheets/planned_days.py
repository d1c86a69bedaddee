"""When pieces go to a finisher and are due back, as the order was scheduled."""

from __future__ import annotations

from proveout.sheets.writer import Writer


def stays(writer: Writer, finisher_id: str) -> list[str]:
    """Each stay there with both its days; empty where no order was scheduled."""
    found: list[str] = []
    for i, step in enumerate(writer.schedule):
        if step.kind == "away" and step.station == finisher_id:
            at = ("schedule", i)
            lot = f"lot {writer.ink.number(*at, 'lot', digits=0)}: " if step.lot else ""
            found.append(
                f"{lot}sent on {writer.ink.words(*at, 'day')}, due back {writer.ink.words(*at, 'end_day')}"
            )  # fmt: skip
    return found
