"""Parts of orders with minutes that can be added up by hand."""

from __future__ import annotations

import msgspec

from proveout.model.fact import exact_fact
from proveout.model.job import Coat, Job
from proveout.model.order import OrderedPart
from proveout.model.plan import Plan, TimeLine

H = 3600.0


def line_of(station: str, text: str, seconds: float, per: str = "piece") -> TimeLine:
    return TimeLine(station=station, text=text, per=per, seconds=exact_fact(seconds, "s", "x", "assumed"))  # type: ignore[arg-type]


def part_of(planned: tuple[Plan, Job], *, pieces: int, sawn: int, minutes: float, due: str, coat: bool) -> OrderedPart:
    """Pieces of so many minutes of running program, 1 min of loading, an hour of setting up, 3 min at the bench."""
    found, job = planned
    first = found.clampings[0].id
    lines = (
        line_of("mill-3", f"{first}: rough", 60.0 * minutes),
        line_of("mill-3", f"{first}: unload and load", 60.0),
        line_of("mill-3", f"{first}: set up", H, per="batch"),
        line_of("bench", "gauge", 180.0),
    )
    thick = exact_fact(0.05, "mm", "x", "assumed")
    share = exact_fact(0.5, "ratio", "x", "assumed")
    coats = Coat(process="black hard coat", thickness_mm=thick, build_up_ratio=share, finisher="hard-coat")
    return OrderedPart(
        plan=msgspec.structs.replace(
            found, time=msgspec.structs.replace(found.time, lines=lines), start="2026-01-05",
            part=msgspec.structs.replace(found.part, quantity=pieces),
            bars=msgspec.structs.replace(found.bars, pieces_count=sawn),
        ),
        job=msgspec.structs.replace(
            job, order=msgspec.structs.replace(job.order, due=due), coat=coats if coat else None
        ),
    )  # fmt: skip
