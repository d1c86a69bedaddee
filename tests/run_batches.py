"""Batches of the worked plan, run and written down: seconds at every step are those that a test asks for.

Its part ran well before with the same programs, so that no first piece goes through both clampings alone.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import msgspec
import worked_home

from proveout.intake.shop_file import shop_from_text
from proveout.jobs.close_out import closed_out
from proveout.jobs.writing import plan_bytes
from proveout.model.batch import Batch
from proveout.model.batch_events import (
    Asked,
    Bad,
    Check,
    Counted,
    Done,
    EdgeUse,
    Planned,
    Ran,
    ReadingTaken,
    Released,
    RouteStep,
    Started,
)
from proveout.model.close_out import CloseOut
from proveout.model.events import Corrected, Event, Stating
from proveout.model.fact import Fact, exact_fact, spread_fact
from proveout.model.finish_order import FinishOrder
from proveout.model.outside_events import CameBack, CountedIn, SentOut
from proveout.model.plan import InspectionLine, Plan, TimeLine, Window
from proveout.model.shop import Shop
from proveout.model.stock_events import BarReceived, Sawn
from proveout.quantities.canonical import digest_of
from proveout.records.records import Records

BEGIN = datetime(2027, 3, 1, 7, 0, tzinfo=UTC)  # a Monday
MILL = "mill-3"
ROUTE = (
    RouteStep(id="saw", station="saw", kind="saw", text="saw"),
    RouteStep(id="c1", station=MILL, kind="mill", text="first clamping"),
    RouteStep(id="second", station=MILL, kind="mill", text="second clamping"),
    RouteStep(id="edges", station="bench", kind="bench", text="edges"),
    RouteStep(id="coat", station="hard-coat", kind="outside", text="coat"),
    RouteStep(id="look", station="inspection", kind="inspection", text="gauge"),
)
BORE = Window(
    balloon=7, text="20 H8", kind="hole", finished_low_mm=20.0, finished_high_mm=20.033, before_low_mm=20.05,
    before_high_mm=20.07, width_mm=0.02, is_masked=False, is_critical=False, face_ids=(), is_inside=True,
)  # fmt: skip
CHECKS = (
    Check(step="c1", mark="7", text="20 H8", low=20.05, high=20.07),
    Check(step="look", mark="7", text="20 H8", low=20.0, high=20.033),
)
PIECES = 20
PLANNED_C1 = (30.0, 60.0, 10.0, 30.0)
"""Rough, finish, drill, load: seconds a piece of the first clamping."""


SHOP_TEXT = worked_home.SHOP_FILE.read_text(encoding="utf-8") + (
    '\n[[gauge]]\nid = "bore-gauge"\nkind = "bore gauge"\nlow_mm = 18\nhigh_mm = 25\nuncertainty_mm = 0.001\n'
)
GAUGED = InspectionLine(
    balloon=7, text="20 H8", before_low_mm=20.05, before_high_mm=20.07, finished_low_mm=20.0, finished_high_mm=20.033,
    gauge="bore-gauge", how_often="", reaction="", is_critical=False,
)  # fmt: skip
COATED = FinishOrder(
    finisher_id="hard-coat", process="hard coat", part="EX-1", name="", revision="A", pieces_count=PIECES, alloy="",
    prior="", thickness_mm=spread_fact(0.05, 0.2, "mm", "worked", "owner's guess"),
    build_up_mm=Fact(low=0.0185, nominal=0.0218, high=0.025, unit="mm", source="worked", strength="owner's guess"),
    coated_area_mm2=9000.0, masks=(), watch=(), rack_may=(), rack_not=(), show=(), readings=(), certificate=None,
    due="", days_low=6, days_high=8, after=(), same_load=(), lacks=(),
)  # fmt: skip


def shop() -> Shop:
    return shop_from_text(SHOP_TEXT, file="shop.toml", folder=worked_home.SHOP_FILE.parent)


def plan() -> Plan:
    """The worked plan with a bench, a saw, set-ups and a coated bore; 20 pieces of 60.00 each, 48.00 to 72.00."""
    base = worked_home.plan()
    own = [
        msgspec.structs.replace(
            line, cause="hand" if "load" in line.text else "moves",
            seconds=spread_fact(line.seconds.nominal, 0.15, "s", "worked", "assumed"),
        )
        for line in base.time.lines
    ]  # fmt: skip
    bench = shop().bench
    more = [
        TimeLine(station="bench", text="break edges by hand, look over", per="piece", seconds=bench.deburr_s),
        TimeLine(station="bench", text="gauge", per="piece", seconds=bench.gauging_s),
        TimeLine(station=MILL, text="c1: set up", per="batch", cause="set-up",
                 seconds=exact_fact(1800.0, "s", "shop-file", "owner's guess")),
        TimeLine(station="saw", text="sawing", per="batch", cause="sawing",
                 seconds=exact_fact(600.0, "s", "shop-file", "owner's guess")),
        TimeLine(station="saw", text="set up", per="batch", cause="set-up",
                 seconds=exact_fact(900.0, "s", "shop-file", "owner's guess")),
    ]  # fmt: skip
    return msgspec.structs.replace(
        base, time=msgspec.structs.replace(base.time, lines=(*own, *more)),
        part=msgspec.structs.replace(base.part, quantity=PIECES),
        bars=msgspec.structs.replace(base.bars, bars_count=2, price=100.0),
        cost=msgspec.structs.replace(base.cost, each=spread_fact(60.0, 0.2, "EUR", "worked", "assumed"), band=None),
        finishing=msgspec.structs.replace(base.finishing, windows=(BORE,)), inspection=(GAUGED,),
        finish_orders=(COATED,),
    )  # fmt: skip


def write_plans(folder: Path) -> Path:
    """A folder of plans with the one."""
    result = folder / "block"
    (result / "inputs").mkdir(parents=True)
    (result / "plan.json").write_bytes(plan_bytes(plan()))
    (result / "inputs" / "shop.toml").write_text(SHOP_TEXT, encoding="utf-8")
    return folder


class Run:
    """Posts one batch. c1_s, second_s, edges_s, look_s: seconds a piece.   lost: at the first clamping."""

    def __init__(self, post: Callable[[Event], object], batch: str, *, number: int = 0) -> None:
        self.post, self.batch = post, batch
        self.number = number * 10_000
        self.at = BEGIN + timedelta(days=28 * number)

    def __call__(self, of: Stating | Corrected, station: str = "desk", *, batch: str | None = None) -> Event:
        self.number += 1
        event = Event(
            id=str(uuid.UUID(int=self.number, version=4)), at=self.at, person="mara", station=station,
            batch=self.batch if batch is None else batch, of=of,
        )  # fmt: skip
        self.post(event)
        return event

    def later(self, seconds: float) -> None:
        self.at += timedelta(seconds=seconds)

    def whole(
        self, *, c1_s: float = 130.0, second_s: float = 80.0, edges_s: float = 55.0, look_s: float = 25.0,
        lost: int = 0, days: int = 7, cycles_s: float | None = None, growth_mm: float = -0.044,
    ) -> None:  # fmt: skip
        """All of it, counted in fives, until the last piece is gauged."""
        if self.number % 10_000 == 0 and self.number == 0:
            bars = BarReceived(item="R", alloy="6061-T6", section="x", heat="H1", lot="D", length_mm=3000.0,
                               count=1000, place="rack")  # fmt: skip
            self(bars, batch="")
        digest = digest_of(plan())
        self(Asked(part="EX-1", revision="A", wanted_count=PIECES - lost))
        self(Planned(plan=digest))
        self(Released(plan=digest, revision="A", blanks_count=PIECES, route=ROUTE, checks=CHECKS,
                      papers={"a.pdf": "cd" * 32}))  # fmt: skip
        self(Started(step="saw"), "saw")
        self.later(2000.0)
        self(Sawn(step="saw", item="R", heat="H1", place="rack", bars_count=2, good_count=PIECES), "saw")
        self(Done(step="saw"), "saw")
        self.milled("c1", c1_s, PIECES, lost=lost, setup_s=2400.0, cycles_s=cycles_s)
        left = PIECES - lost
        self.milled("second", second_s, left)
        self.counted("edges", "bench", edges_s, left)
        self(SentOut(step="coat", lot=f"L{self.batch}", finisher="hard-coat", count=left))
        for _ in range(days):
            self.later(86_400.0)
            while self.at.weekday() > 4:
                self.later(86_400.0)
        self(CameBack(lot=f"L{self.batch}", count=left))
        self(CountedIn(lot=f"L{self.batch}", good_count=left))
        self(Done(step="coat"))
        self.counted("look", "inspection", look_s, left, read_mm=20.06 + growth_mm)

    def milled(
        self, step: str, each_s: float, pieces: int, *, lost: int = 0, setup_s: float = 0.0,
        cycles_s: float | None = None,
    ) -> None:  # fmt: skip
        self(Started(step=step), MILL)
        self.later(setup_s)
        for left in range(pieces, 0, -5):
            count = min(5, left)
            for _ in range(count if cycles_s is not None else 0):
                ran = Ran(step=step, program="O1", begun=self.at.isoformat(), run_s=cycles_s or 0.0)
                self(ran, MILL)
            self.later(count * each_s)
            bad = (Bad(reason="wall thin", count=lost),) if lost and left == pieces else ()
            used = (EdgeUse(machine=MILL, cutter="EM12", used_s=40.0 * count),)
            if step == "c1":  # the first piece is read before it is counted
                self(ReadingTaken(step=step, mark="7", value=20.06, piece=str(left)), MILL)
            self(Counted(step=step, good_count=count - sum(one.count for one in bad), bad=bad, used=used), MILL)
        self(Done(step=step), MILL)

    def counted(self, step: str, station: str, each_s: float, pieces: int, *, read_mm: float | None = None) -> None:
        self(Started(step=step), station)
        for left in range(pieces, 0, -5):
            count = min(5, left)
            self.later(count * each_s)
            self(Counted(step=step, good_count=count), station)
            if read_mm is not None:
                self(ReadingTaken(step=step, mark="7", value=read_mm, piece=str(left)), station)
        self(Done(step=step), station)


def run_records(path: Path, batches: list[dict[str, float]]) -> Records:
    """Records with so many batches, each run as asked."""
    records = Records(str(path))
    for number, asked in enumerate(batches):
        Run(records.post, f"B{number}", number=number).whole(**asked)  # type: ignore[arg-type]
    return records


def closed(batch: Batch, events: list[Event]) -> CloseOut:
    """Closed out in memory."""
    return closed_out(batch, list(enumerate(events, start=1)), plan=plan(), shop=shop())
