"""A home with one planned part whose metal can be counted by hand: a block, and four passes in two clampings.

The rest of its plan is that of `tests/sheets/fixture_plan.py`. The blank is 60 x 40 x 20 mm with its low corner at the
origin. Passes 1 and 2 mill a slot 12 mm wide right through along x: first 3 mm deep, then to 6 mm. Pass 3 drills;
pass 4, from below, mills a slot 12 mm wide and 5 mm deep through along y.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import msgspec
import numpy as np

from proveout.geometry.frames import frame_looking_down
from proveout.intake.shop_file import read_shop
from proveout.jobs.home import Home
from proveout.jobs.writing import plan_bytes
from proveout.model.fact import spread_fact
from proveout.model.moves import Moves
from proveout.model.plan import PassLimit, Plan, TimePlan
from proveout.model.proof import Basis, prove
from proveout.model.shop import Shop
from proveout.model.turn_push import PassPush, SteadyCut
from proveout.model.work import Clamping, Pass, Tilt

TESTS = Path(__file__).resolve().parent
sys.path.insert(0, str(TESTS / "sheets"))

SHOP_FILE = TESTS / "flows" / "small_shop.toml"
BLANK_LOW, BLANK_HIGH = (0.0, 0.0, 0.0), (60.0, 40.0, 20.0)
SECONDS = (30.0, 60.0, 10.0, 50.0)
ADDRESS = "block"
FEED = 20.0


def shop() -> Shop:
    return read_shop(SHOP_FILE)


def cutter_of(kind: str) -> str:
    return next(c.id for c in shop().cutters if c.kind == kind and (kind != "end mill" or c.diameter_mm == 12.0))


def _moves(points: list[list[float]]) -> Moves:
    feeds = np.full(len(points), FEED)
    feeds[0] = 0.0
    feeds[-1] = 0.0
    return Moves(points=np.array(points), feed_mm_per_s=feeds)


def moves() -> tuple[Moves, ...]:
    """In the frames of the tilts; the tip feeds along the slot, then lifts."""
    return (
        _moves([[-20.0, 20.0, 17.0], [80.0, 20.0, 17.0], [80.0, 20.0, 40.0]]),
        _moves([[-20.0, 20.0, 14.0], [80.0, 20.0, 14.0], [80.0, 20.0, 40.0]]),
        _moves([[10.0, 8.0, 22.0], [10.0, 8.0, 16.0], [10.0, 8.0, 22.0]]),
        # the second clamping looks from below: its z is -z of the part, from its top face, y the part's -y
        _moves([[30.0, -60.0, 15.0], [30.0, 20.0, 15.0], [30.0, 20.0, 40.0]]),
    )


def clampings() -> tuple[Clamping, ...]:
    from fixture_clampings import clampings as drawn  # pyright: ignore[reportMissingImports] - lies with the sheets

    known = shop()
    shared = {"machine_id": known.machines[0].id, "vise_id": known.vises[0].id, "jaws_id": known.jaws[0].id}
    up = frame_looking_down(up=(0.0, 0.0, 1.0), along=(1.0, 0.0, 0.0), origin_mm=(0.0, 0.0, 0.0))
    down = frame_looking_down(up=(0.0, 0.0, -1.0), along=(1.0, 0.0, 0.0), origin_mm=(0.0, 0.0, 20.0))
    return tuple(
        msgspec.structs.replace(
            one, id=f"c{number}", number=number, frame=frame, gap_mm=40.0, jaw_top_mm=6.0, jaw_middle_mm=30.0,
            tilts=(Tilt(id="upright", frame=frame, a_rad=0.0, c_rad=0.0),), **shared,
        )
        for number, frame, one in zip((1, 2), (up, down), drawn(), strict=False)
    )  # fmt: skip


def passes() -> tuple[Pass, ...]:
    from fixture_plan import passes as drawn  # pyright: ignore[reportMissingImports] - lies with the sheets

    mill, drill = cutter_of("end mill"), cutter_of("drill")
    rows = (("c1", "rough", mill, "levels"), ("c1", "finish floor", mill, "floor"), ("c1", "drill", drill, "hole"),
            ("c2", "rough", mill, "levels"))  # fmt: skip
    shape = drawn()[0]
    return tuple(
        msgspec.structs.replace(
            shape, id=f"{clamping}/upright/{cutter}/{kind}/{feature}", kind=kind, clamping_id=clamping,
            cutter_id=cutter, feature=feature, moves_digest=its.digest, moves_count=len(its.points),
        )
        for (clamping, kind, cutter, feature), its in zip(rows, moves(), strict=True)
    )  # fmt: skip


STEADY = SteadyCut(tooth_feed_mm=0.05, radial_mm=4.0, axial_mm=3.0, seconds=4.0, section_error_ratio=0.1)
"""Where a test says that a meter can be read."""


def steady_push(pass_id: str, steady: SteadyCut | None = STEADY) -> PassPush:
    """A pass that pushes with next to nothing, and where its spindle's meter can be read."""
    return PassPush(
        pass_id=pass_id, row=1, moves_count=1, tangential_n=1.0, radial_n=1.0, across_n=1.0, axial_n=1.0,
        mean_tangential_n=1.0, mean_radial_n=1.0, mean_axial_n=1.0, by_pressure_n=None, by_edges_n=None,
        torque_n_mm=1.0, mean_torque_n_mm=1.0, power_mw=1.0, mean_power_mw=1.0, tooth_feed_mm=0.05, bent_mm=None,
        steady=steady,
    )  # fmt: skip


def plan() -> Plan:
    """Margins, worked: pass 1: power 0.4 and reserve 1.5 give 0.5; pass 2, a proof at its move 1: (2 - 1.9) / 2."""
    from fixture_plan import example_plan  # pyright: ignore[reportMissingImports] - lies with the sheets

    base, own = example_plan(), passes()
    first = base.time.lines[0]
    lines = [
        msgspec.structs.replace(
            first, station="mill-3", text=f"{one.clamping_id}: a pass", per="piece", pass_id=one.id,
            seconds=spread_fact(seconds, 0.0, "s", "worked", "assumed"),
        )
        for one, seconds in zip(own, SECONDS, strict=True)
    ]  # fmt: skip
    idle = msgspec.structs.replace(lines[0], text="c1: unload and load", pass_id="")
    basis = Basis(formula="worked", source="own-algorithm")
    near = prove(
        id="loads:near", stage="loads", subject=f"{own[1].id}, move 1", claim="the cutter bends little enough",
        sense="at most", found_low=1.0, found_high=1.9, limit=2.0, unit="mm", blocks_release=True, basis=basis,
    )  # fmt: skip
    unknown = prove(
        id="stability:unknown", stage="stability", subject=own[0].id, claim="no chatter", sense="at most",
        found_low=None, found_high=None, limit=1.0, unit="mm", blocks_release=False, basis=basis, decides="a test cut",
    )  # fmt: skip
    chosen = msgspec.structs.replace(base.blank.chosen, low_mm=BLANK_LOW, high_mm=BLANK_HIGH)
    return msgspec.structs.replace(
        base, clampings=clampings(), passes=own, proofs=(near, unknown), inputs={},
        blank=msgspec.structs.replace(base.blank, chosen=chosen),
        time=TimePlan(
            lines=(*lines, idle), cycle_s={"c1": 130.0, "c2": 50.0}, piece_s=first.seconds, batch_s=first.seconds
        ), pass_limits=(
            PassLimit(
                pass_id=own[0].id, speed_by="", feed_by="", depth_by="", power_ratio=0.4, reserve_ratio=1.5
            ),
        ),
    )  # fmt: skip


def write_result(folder: Path) -> Path:
    """A result folder with plan, moves and shop."""
    (folder / "moves").mkdir(parents=True)
    (folder / "inputs").mkdir()
    (folder / "plan.json").write_bytes(plan_bytes(plan()))
    shutil.copyfile(SHOP_FILE, folder / "inputs" / "shop.toml")
    for its in moves():
        np.save(folder / "moves" / f"{its.digest[:32]}.npy", its.table.astype("<f8"), allow_pickle=False)
    for number in (1, 2):
        (folder / f"clamping-{number}.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"/>', encoding="utf-8")
    return folder


def write_home(root: Path) -> Home:
    """A home with the one part, planned."""
    home = root / "home"
    home.mkdir()
    (home / f"{ADDRESS}.step").write_text("never read", encoding="ascii")
    write_result(root / "home-plans" / ADDRESS)
    return Home(home)
