"""Parts of orders with minutes that can be added up by hand."""

from __future__ import annotations

from pathlib import Path

import msgspec
from flows.small import SHOP, write_job

from proveout.intake.job_file import read_job
from proveout.intake.shop_file import read_shop
from proveout.model.fact import exact_fact
from proveout.model.job import Coat, Job
from proveout.model.order import OrderedPart
from proveout.model.plan import Plan, TimeLine
from proveout.model.shop import Shop
from proveout.model.stock import Supply

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


def steady_shop() -> Shop:
    """Two people of 8 h a day, a mill that runs 30 h of the 40 of a week, no scrap, bars there at once, no days off."""
    read = read_shop(SHOP)
    bars = Supply(what="square-25", supplier="Example Metals", days_low=0, days_high=0)
    return msgspec.structs.replace(
        read, scrap_ratio=exact_fact(0.0, "ratio", "x", "assumed"),
        bars=(msgspec.structs.replace(read.bars[0], id="square-25"),), supplies=(bars,), closed=(),
        finishers=tuple(msgspec.structs.replace(one, closed=()) for one in read.finishers),
    )  # fmt: skip


def lone_plan(folder: Path) -> tuple[Plan, Job]:
    """The example plan with one upright clamping on the mill, and its job in a folder."""
    from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]

    found = example_plan()
    level = msgspec.structs.replace(found.clampings[0].tilts[0], a_rad=0.0)
    alone = msgspec.structs.replace(found.clampings[0], machine_id="mill-3", tilts=(level,))
    plain = msgspec.structs.replace(
        found, clampings=(alone,), table_loads=(), table_options=(), finish_orders=(), not_cut=(),
        bars=msgspec.structs.replace(found.bars, rack=()),
    )  # fmt: skip
    return plain, read_job(write_job(folder))
