"""A level taken with limited engagement: entries, layers and feeds of its moves."""

from __future__ import annotations

import inspect
import math
from types import SimpleNamespace
from typing import Any

import msgspec
import numpy as np
import pytest

from proveout.model.limits import Limits
from proveout.model.moves import Moves
from proveout.model.shop import Machine
from proveout.stages.passes.areas import COARSE_MM, area_of, grown
from proveout.stages.passes.kept import Kept
from proveout.stages.passes.laying import take_level
from proveout.stages.passes.pacing import Pacer
from proveout.stages.passes.speeds import Speeds, speeds_of
from proveout.stages.passes.track import Track
from proveout.stages.passes.view import TiltView

RADIUS, TARGET, DEPTH = 4.0, 1.6, 6.0
SPEEDS = Speeds(
    speed_rad_per_s=100.0, tooth_feed_mm=0.05, feed_mm_per_s=10.0, plunge_mm_per_s=2.0, ramp_mm_per_s=5.0,
    air_mm_per_s=50.0, slot_mm_per_s=6.0,
)  # fmt: skip


def box(x_low: float, y_low: float, x_high: float, y_high: float) -> Any:
    return area_of([np.array([[x_low, y_low], [x_high, y_low], [x_high, y_high], [x_low, y_high]])])


BLOCK = box(-22.0, -16.0, 22.0, 16.0)
WORLD = box(-60.0, -60.0, 60.0, 60.0)


def laid(stand: Any) -> tuple[Moves, Any, float]:
    """The moves, the believed work after them, and the area that was to be cut."""
    import manifold3d

    view = TiltView.__new__(TiltView)
    view.work = manifold3d.Manifold.extrude(BLOCK, DEPTH).translate((0.0, 0.0, -DEPTH))
    view.effort_count, view.clear_mm = 0, 5.0
    view._upward, view._metal_kept, view._zones_kept = None, {}, {}
    obstacle = grown(stand, RADIUS, chord_mm=COARSE_MM)
    todo = BLOCK - grown(obstacle, -RADIUS, chord_mm=COARSE_MM)
    track = Track(resolution_mm=0.001, clear_mm=5.0)
    take_level(
        view=view, track=track, speeds=SPEEDS, z_mm=-DEPTH, obstacle=obstacle, todo=todo, standing=todo,
        radius_mm=RADIUS, engagement_mm=TARGET, depth_mm=DEPTH, thin_mm=0.05,
    )  # fmt: skip
    return track.moves().straight(within_mm=5e-4), view.work, float(todo.area())


def replayed(kit: Any, moves: Moves) -> tuple[Any, float]:
    """A plain height map after the moves, and the worst strike of a rapid."""
    blank = SimpleNamespace(low_mm=(-22.0, -16.0, -DEPTH), high_mm=(22.0, 16.0, 0.0))
    work = kit.HeightMap(blank, pitch_mm=0.2)
    struck = work.run(moves.points, moves.feed_mm_per_s, np.zeros_like, RADIUS - 0.03)
    return work, max(struck, default=-math.inf)


POCKET = grown(box(-11.0, -5.0, 11.0, 5.0), 5.0)
BOSS = grown(box(-4.0, -3.0, 4.0, 3.0), 3.0)
SLOT = box(-30.0, -RADIUS - 0.1, 30.0, RADIUS + 0.1)


@pytest.mark.parametrize("stand", [WORLD - POCKET, BOSS, WORLD - SLOT], ids=["pocket", "boss", "slot"])
def test_the_work_believed_is_the_work_there_is_and_no_rapid_meets_it(kit: Any, stand: Any) -> None:
    moves, believed, area = laid(stand)
    work, struck = replayed(kit, moves)
    assert struck < 1e-6
    removed = float((0.0 - work.z).sum()) * work.pitch**2
    assert removed == pytest.approx(area * DEPTH, rel=0.03)
    assert 44.0 * 32.0 * DEPTH - float(believed.volume()) == pytest.approx(area * DEPTH, rel=0.005)


def test_a_closed_pocket_is_gone_down_into_at_three_degrees() -> None:
    moves, _, _ = laid(WORLD - POCKET)
    steps = np.diff(moves.points, axis=0)
    inside = (moves.feed_mm_per_s[1:] > 0.0) & (moves.points[1:, 2] < -0.01)
    down, along = -steps[inside, 2], np.hypot(steps[inside, 0], steps[inside, 1])
    falls = (down > 1e-9) & (along > 0.0)
    assert falls.sum() > 40
    assert float((down[falls] / along[falls]).max()) < math.tan(math.radians(3.1)) + 0.005
    assert (moves.feed_mm_per_s[1:][inside][falls] == SPEEDS.ramp_mm_per_s).all()


def test_an_open_side_is_entered_level_out_of_the_air() -> None:
    moves, _, _ = laid(BOSS)
    first = int(np.flatnonzero(np.abs(moves.points[:, 2] + DEPTH) < 1e-6)[0])
    x, y = moves.points[first, :2]
    assert (
        abs(x) > 22.0 + RADIUS - 1e-6 or abs(y) > 16.0 + RADIUS - 1e-6 or math.hypot(abs(x) - 22.0, abs(y) - 16.0) > 3.9
    )


def test_a_slot_as_wide_as_the_cutter_goes_in_layers() -> None:
    moves, _, _ = laid(WORLD - SLOT)
    fed = moves.feed_mm_per_s[1:] > 0.0
    length = np.abs(np.diff(moves.points[:, 0]))
    level = fed & (np.abs(np.diff(moves.points[:, 2])) < 1e-9) & (length > 5.0)
    heights = np.unique(np.round(moves.points[1:, 2][level], 3))
    # worked: a slot of 8 mm may be 6 x 1.6 / 8 = 1.2 mm deep: five layers, each in halves of 1.2 mm or less
    assert len(heights) >= 5
    assert float(np.diff(np.concatenate([heights, [0.0]])).max()) <= 1.2 + 1e-6


def test_a_thin_chip_is_fed_as_thick_as_the_maker_means(kit: Any) -> None:
    tool = kit.cutter("EM10", "end mill", 10.0)

    def fed(radial_mm: float, machine: Machine) -> Speeds:
        kept = Kept(cutter=tool, machine=machine, limits=Limits(), clamping_id="op1")
        return kept.stage(radial_mm=radial_mm, axial_mm=5.0, axial_ratio=0.5)

    plain = speeds_of(cutter=tool, machine=kit.MACHINE)
    # worked: a fifth of the diameter: 1 / (2 sqrt(0.2 - 0.04)) = 1.25; half of it and more: 1
    assert fed(2.0, kit.MACHINE).feed_mm_per_s == pytest.approx(1.25 * plain.feed_mm_per_s)
    assert fed(2.0, kit.MACHINE).tooth_feed_mm == pytest.approx(1.25 * plain.tooth_feed_mm)
    assert fed(6.0, kit.MACHINE).feed_mm_per_s == pytest.approx(plain.feed_mm_per_s)
    slow = msgspec.structs.replace(kit.MACHINE, feed_max_mm_per_s=1.1 * plain.feed_mm_per_s)
    assert fed(2.0, slow).feed_mm_per_s == pytest.approx(1.1 * plain.feed_mm_per_s)


@pytest.mark.parametrize("asked", ["level", "stage", "wall", "strip", "other"])
def test_what_is_kept_is_asked_by_the_very_keywords_of_what_is_chosen(asked: str) -> None:
    """A misspelt keyword would else pass unseen for every cutter that leaves nothing to choose."""
    assert inspect.signature(getattr(Kept, asked)) == inspect.signature(getattr(Pacer, asked))
