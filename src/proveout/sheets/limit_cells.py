"""What binds passes, as cells of a row."""

from __future__ import annotations

from proveout.sheets.writer import Writer

LIMITS = ("speed_by", "feed_by", "depth_by")


def limit_cells(writer: Writer, places: tuple[int, ...]) -> list[str]:
    """What binds speed, feed and depth of like passes, each limit told once.   places: in plan.passes."""
    limits = writer.plan.pass_limits
    told: list[str] = []
    for field in LIMITS:
        own = [getattr(limits[place], field) for place in places if place < len(limits)]
        firsts = [places[own.index(words)] for words in dict.fromkeys(own)]
        told.append(", ".join(writer.words("plan", "pass_limits", place, field) for place in firsts) or "-")
    return told
