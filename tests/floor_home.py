"""A home whose worked part is released as a batch with its packet: what the tests of the floor stand on."""

from __future__ import annotations

import shutil
import uuid
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import msgspec
import worked_home

from proveout.jobs.batch_route import first_through_of
from proveout.jobs.check_program import fingerprint_of_text
from proveout.jobs.home import Home
from proveout.jobs.packets import freeze
from proveout.jobs.records import records_of_home
from proveout.jobs.writing import plan_bytes
from proveout.model.batch_events import Asked, Check, Planned, Released, RouteStep
from proveout.model.events import Event, Stating
from proveout.model.plan import Plan, ProgramSheet
from proveout.model.stock_events import BarReceived
from proveout.model.turn_push import PassPush
from proveout.quantities.canonical import digest_of
from proveout.records.records import Records

PROGRAM = "G21 G90\nG0 X0 Y0\nM30\n"
MARK = fingerprint_of_text(PROGRAM)
MILL = "mill-3"
ROUTE = (
    RouteStep(id="saw", station="saw", kind="saw", text="saw blanks"),
    RouteStep(id="op1", station=MILL, kind="mill", text="clamping 1"),
    RouteStep(id="bench", station="bench", kind="bench", text="break edges"),
    RouteStep(id="coat", station="coater", kind="outside", text="hard coat"),
    RouteStep(id="inspection", station="inspection", kind="inspection", text="finished sizes"),
    RouteStep(id="packing", station="packing", kind="packing", text="box"),
)
CHECKS = (
    Check(step="op1", mark="1", text="Ø 20 H8", low=20.05, high=20.07, react_low=20.053, react_high=20.067),
    Check(step="op1", mark="2", text="12 ±0.1", low=11.9, high=12.1),
    Check(step="inspection", mark="1", text="Ø 20 H8", low=20.0, high=20.033),
)
SECOND = RouteStep(id="op2", station=MILL, kind="mill", text="clamping 2")
BOTH = (*ROUTE[:2], SECOND, *ROUTE[2:])
"""The route with a second clamping on the same machine, of which one size is read."""
OF_BOTH = (*CHECKS, Check(step="op2", mark="3", text="40 ±0.1", low=39.9, high=40.1))
BARS = BarReceived(
    item="B-1", alloy="6061-T6", section="60x40", heat="H77", lot="D-9", length_mm=3000.0, count=10, place="rack 1"
)  # fmt: skip

PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d49484452000000010000000108060000001f15c4890000000d49444154789c6360f8cfc00000030101"
    "00c9fe92ef0000000049454e44ae426082"
)
"""A photo of one pixel."""


def happening(of: Stating, *, batch: str = "B1", station: str = "desk", person: str = "mara") -> Event:
    """An event of now; of a step its own station."""
    own = next((one.station for one in (*ROUTE, SECOND) if one.id == getattr(of, "step", "")), station)
    return Event(
        id=str(uuid.uuid4()), at=datetime.now(UTC), person=person, station=own if station == "desk" else station,
        batch=batch, of=of,
    )  # fmt: skip


@dataclass
class Floor:
    """home, and its records opened for a test; they are closed before a desk opens its own."""

    home: Home

    def records(self) -> Records:
        return Records(records_of_home(self.home))

    def post(
        self, *of: Stating, batch: str = "B1", station: str = "desk", person: str = "mara", plan: Plan | None = None
    ) -> None:  # fmt: skip
        with self.records() as records:
            for one in of:
                records.post(happening(one, batch=batch, station=station, person=person), plan=plan)


def floor_home(
    folder: Path, *, batches: tuple[tuple[str, str], ...] = (("B1", "2027-04-12"),), blanks: int = 8,
    route: tuple[RouteStep, ...] = ROUTE, checks: tuple[Check, ...] = CHECKS, is_daily: bool = False,
    is_new: bool = True, pushes: tuple[PassPush, ...] = (),
) -> Floor:  # fmt: skip
    """A home with bars, and released batches by name and day; the plan writes a program for its first clamping.

    is_new: of a route with several clampings the first piece goes through all; not where it ran well before.
    is_daily: a night makes the next one a first.   pushes: of the plan's passes.
    """
    home = worked_home.write_home(folder)
    place = home.plans / worked_home.ADDRESS
    sheet = ProgramSheet(
        clamping_id="c1", file="clamping-1.nc", fingerprint=MARK, blocks_count=3, work_offset="G54", cutters={}
    )  # fmt: skip
    plan = msgspec.structs.replace(worked_home.plan(), programs=(sheet,), jaw_programs=(), pass_pushes=pushes)
    (place / "plan.json").write_bytes(plan_bytes(plan))
    (place / "programs").mkdir()
    (place / "programs" / "clamping-1.nc").write_text(PROGRAM, encoding="ascii")
    floor = Floor(home)
    floor.post(BARS, batch="")
    for name, due in batches:
        papers = freeze(home, name, home.place(worked_home.ADDRESS), anew={})
        mark, revision = digest_of(plan), plan.part.revision
        floor.post(
            Asked(part=plan.part.number, revision=revision, wanted_count=blanks - 1, due=due), Planned(plan=mark),
            Released(plan=mark, revision=revision, blanks_count=blanks, route=route, checks=checks, papers=papers,
                     first_through=first_through_of(route) if is_new else (), is_measured_daily=is_daily),
            batch=name, plan=plan,
        )  # fmt: skip
    return floor


def copied(made: Floor, folder: Path) -> Floor:
    """The same home in another folder, for a test that writes into it."""
    shutil.copytree(made.home.root.parent, folder, dirs_exist_ok=True)
    return Floor(Home(folder / made.home.root.name))
