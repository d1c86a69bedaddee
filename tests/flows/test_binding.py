"""What binds a pass is told by what its speed, feed and depth rest on, and by who asked for less."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
from shapes import MILL, VISE
from stages.loads.test_loads import CLAMPING, MILL_12, TAP

from proveout.jobs.binding import pass_limits
from proveout.model.loads import PassLoad
from proveout.model.pace import Pace
from proveout.model.plan import PassLimit, Round
from proveout.model.proof import Tighten
from proveout.model.shop import Cutter, Machine
from proveout.model.work import Pass, PassKind

OWN = 2.0 * MILL_12.cutting_speed_mm_per_s / MILL_12.diameter_mm
NAME = "p"


def limit_of(
    *, tool: Cutter = MILL_12, machine: Machine = MILL, kind: PassKind = "rough", speed: float = OWN,
    tooth: float = 0.06, rounds: tuple[Round, ...] = (), lack: str = "", pace: Pace | None = None,
) -> PassLimit:  # fmt: skip
    one = Pass(
        id=NAME, kind=kind, clamping_id="c1", tilt_id="up", cutter_id=tool.id, feature="", face_ids=(),
        speed_rad_per_s=speed, tooth_feed_mm=tooth, radial_mm=3.6, axial_mm=6.0, moves_digest="", moves_count=2,
        cut_length_mm=1.0, pace=pace,
    )  # fmt: skip
    load = PassLoad(
        pass_id=NAME, clamping_id="c1", is_tilted=False, tangential_n=1.0, plane_n=1.0, axial_n=1.0, torque_n_mm=1.0,
        power_mw=1.5e6, height_mm=1.0, along_mm=1.0, across_mm=1.0, radial_mm=1.0, axial_mm=1.0,
    )  # fmt: skip
    (found,) = pass_limits(
        passes=(one,), clampings=(CLAMPING,), machines=(machine,), cutters=(tool,), rounds=rounds, loads=(load,),
        reserves={NAME: 1.7}, lack=lack, vises=(msgspec.structs.replace(VISE, grip_reserve_ratio=1.5),),
    )  # fmt: skip
    return found


def asked(quantity: str, by: str, subject: str = "c1/mill 12") -> Round:
    step = Tighten(subject=subject, quantity=quantity, bound=0.3, unit="of the usual")
    return Round(number=1, tightened=(step,), failing=(by,), piece_s=1.0, asked_by=(by,))


def test_the_speed_is_bound_by_the_lowest_of_three() -> None:
    """The cutter's own 833 rad/s; 700 by a spindle of 700, or by a rating of 700 below the spindle's."""
    assert limit_of().speed_by == "cutting speed of the cutter"
    slow = msgspec.structs.replace(MILL, speed_max_rad_per_s=700.0)
    assert limit_of(machine=slow, speed=700.0).speed_by == "top speed of the spindle"
    rated = msgspec.structs.replace(MILL_12, speed_max_rad_per_s=700.0)
    assert limit_of(tool=rated, speed=700.0).speed_by == "rated speed of the cutter"
    held = msgspec.structs.replace(MILL_12, speed_max_rad_per_s=800.0, holder_speed_max_rad_per_s=700.0)
    assert limit_of(tool=held, speed=700.0).speed_by == "rated speed of the holder"


def test_the_feed_is_bound_by_cutter_machine_thread_or_who_asked() -> None:
    """0.06 3 833 / 2 pi is 23.9 mm/s; a machine of 20 stops it; a wall slowed to 0.03 was asked for by the grip."""
    assert limit_of().feed_by == "tooth feed of the cutter"
    assert limit_of(machine=msgspec.structs.replace(MILL, feed_max_mm_per_s=20.0)).feed_by == "top feed of the machine"
    assert limit_of(tool=TAP, kind="tap").feed_by == "pitch of the thread"
    by_grip = asked("wall_feed_ratio", "holding:c1:grip")
    assert limit_of(kind="finish wall", tooth=0.03, rounds=(by_grip,)).feed_by == "grip"
    assert limit_of(kind="finish wall", tooth=0.06, rounds=(by_grip,)).feed_by == "tooth feed of the cutter"
    bent = asked("wall_feed_ratio", "loads:mill:mill 12:wall error")
    assert limit_of(kind="finish wall", tooth=0.03, rounds=(bent,)).feed_by == "bending of the cutter"
    neck = asked("feed_ratio", "loads:mill:mill 12:neck")
    assert limit_of(kind="undercut", tooth=0.03, rounds=(neck,)).feed_by == "neck of the cutter"
    brake = asked("feed_ratio", "holding:c1:rotary brake", subject="c1")
    assert limit_of(kind="finish floor", tooth=0.03, rounds=(brake,)).feed_by == "rotary brake"


def paced(feed_by: str = "thickest chip of the cutter", depth_by: str = "cutter and part") -> Pace:
    return Pace(
        speed_by="top speed of the spindle", feed_by=feed_by, depth_by=depth_by, axial_ratio=0.5, feed_floor_ratio=0.4
    )


def test_a_chosen_pace_says_what_stopped_it_and_the_rounds_what_they_asked_for() -> None:
    """Of a level that grip and brake brought down, the proof that last asked; power that still binds comes first."""
    own = limit_of(pace=paced(depth_by="deepest cut of the cutter"))
    assert (own.speed_by, own.feed_by, own.depth_by) == (
        "top speed of the spindle", "thickest chip of the cutter", "deepest cut of the cutter",
    )  # fmt: skip
    grip, brake = asked("axial_ratio", "holding:c1:grip"), asked("axial_ratio", "holding:c1:rotary brake")
    assert limit_of(pace=paced(), rounds=(grip,)).depth_by == "grip"
    assert limit_of(pace=paced(), rounds=(grip, brake)).depth_by == "rotary brake"
    assert limit_of(pace=paced(depth_by="power of the spindle"), rounds=(grip,)).depth_by == "power of the spindle"
    slow = asked("feed_ratio", "holding:c1:rotary brake")
    assert limit_of(kind="finish floor", pace=paced(), rounds=(slow,)).feed_by == "rotary brake"
    by_machine = paced(feed_by="top feed of the machine")
    assert limit_of(kind="finish floor", pace=by_machine, rounds=(slow,)).feed_by == "top feed of the machine"
    bent = paced(feed_by="bending of the cutter")
    assert limit_of(kind="finish wall", pace=bent).feed_by == "bending of the cutter"


@pytest.mark.parametrize(
    ("kind", "quantity", "by", "words"),
    [
        ("rough", "axial_ratio", "loads:mill:power", "power of the spindle"),
        ("rough", "axial_ratio", "loads:mill:torque", "torque of the spindle"),
        ("finish wall", "wall_ratio", "holding:c1:bearing", "jaws"),
        ("rough", "radial_ratio", "holding:c1:grip mill 12 radial_ratio", "grip"),
        ("rough", "axial_ratio", "holding:c1:bearing mill 12 axial_ratio", "jaws"),
        ("rough", "axial_ratio", "stability:mill:mill 12", "chatter"),
        ("rough", "axial_ratio", "stability:mill:mill 12:beyond lobes", "chatter"),
        ("rough", "axial_ratio", "stability:mill:mill 12:test cut", "chatter"),
        ("finish wall", "wall_ratio", "loads:mill:mill 12:wall error", "bending of the cutter"),
        ("undercut", "radial_ratio", "loads:mill:mill 12:face error", "bending of the cutter"),
        ("undercut", "radial_ratio", "loads:mill:mill 12:neck", "neck of the cutter"),
        ("undercut", "wall_ratio", "loads:mill:mill 12:neck", "cutter and part"),
        ("finish wall", "axial_ratio", "holding:c1:grip", "cutter and part"),
        ("rough", "wall_ratio", "holding:c1:grip", "cutter and part"),
    ],
)
def test_the_depth_is_bound_by_who_asked_last(kind: PassKind, quantity: str, by: str, words: str) -> None:
    first = asked(quantity, "holding:c1:rotary brake")
    assert limit_of(kind=kind, rounds=(first, asked(quantity, by))).depth_by == words
    assert limit_of(kind=kind).depth_by == "cutter and part"


def test_how_near_power_and_grip_are_is_told_where_the_metal_is_known() -> None:
    """Worked. 1.5 kW of the edge are up to 2 kW of the motor by the least efficiency, 0.75: 2 / 7.5."""
    known, unknown = limit_of(), limit_of(lack="other metal")
    assert (known.power_ratio, known.reserve_ratio) == (pytest.approx(0.2667), 1.7)
    assert known.reserve_asked_ratio == 1.5
    assert (unknown.power_ratio, unknown.reserve_ratio) == (None, None)
    spread: Any = msgspec.to_builtins(known)
    assert spread["pass_id"] == NAME
