"""What is left between the jaws, counted by hand on a block with a pocket."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
from shapes import fact
from stages.gripped import CLAMPING

from proveout.geometry.frames import Frame
from proveout.model.work import Clamping
from proveout.removal.fields import Fields
from proveout.stages.removal_check.strips import ROWS, strip_left

LONG = msgspec.structs.replace(CLAMPING, patch_length_mm=fact(80.0, 80.0, 80.0, "mm"))
SHORT = msgspec.structs.replace(CLAMPING, patch_length_mm=fact(40.0, 80.0, 80.0, "mm"))


def pocketed() -> Fields:
    """A block 80 x 40 x 20 at y -40 to 0, from x 5 to 75 and y -30 to -10 down to a floor of 2 mm."""
    fields = Fields.from_box(
        low_mm=np.array([0.0, -40.0, 0.0]), high_mm=np.array([80.0, 0.0, 20.0]), pitch_mm=0.5
    )  # fmt: skip
    along, across = fields.rays_uv(2)
    x = 0.5 * (np.arange(along) + 0.5)
    y = -40.0 + 0.5 * (np.arange(across) + 0.5)
    is_pocket = ((x > 5.0) & (x < 75.0))[:, None] & ((y > -30.0) & (y < -10.0))[None, :]
    fields.spans[2][is_pocket.ravel(), 0, 1] = 2.0
    return fields


def test_a_full_block_is_alike_everywhere() -> None:
    """Worked. 80 x 20^3 / 12 = 53 333 mm4."""
    block = Fields.from_box(low_mm=np.array([0.0, -40.0, 0.0]), high_mm=np.array([80.0, 0.0, 20.0]), pitch_mm=0.5)
    found = strip_left(block, LONG, "")
    assert (len(found.least_mm4), found.pass_id, found.clamping_id) == (ROWS, "", "c1")
    assert found.least_mm4 == pytest.approx([80.0 * 8000.0 / 12.0] * ROWS)
    assert found.most_mm4 == pytest.approx(found.least_mm4)


def test_a_pocket_leaves_its_floor_and_the_walls_at_its_ends() -> None:
    """Worked. Beside it 53 333 mm4; across it 70 2^3 / 12 + 10 20^3 / 12 = 46.7 + 6666.7, bending each for itself.

    As one: areas 140 and 200 at heights 1 and 10: middle 6.294; 6713.3 + 140 5.294^2 + 200 3.706^2 = 13 384.
    """
    found = strip_left(pocketed(), LONG, "p")
    assert found.least_mm4[0] == pytest.approx(80.0 * 8000.0 / 12.0)
    assert found.least_mm4[ROWS // 2] == pytest.approx(6713.3, abs=0.1)
    middle = (140.0 * 1.0 + 200.0 * 10.0) / 340.0
    whole = 6713.333 + 140.0 * (middle - 1.0) ** 2 + 200.0 * (10.0 - middle) ** 2
    assert found.most_mm4[ROWS // 2] == pytest.approx(whole, rel=1e-4)
    assert sum(value < 7000.0 for value in found.least_mm4) == ROWS // 2
    # jaws that are only sure to touch along 40 mm may press where the floor alone is between them
    short = strip_left(pocketed(), SHORT, "p")
    assert short.least_mm4[ROWS // 2] == pytest.approx(40.0 * 8.0 / 12.0)


def turned(x: tuple[float, float, float], y: tuple[float, float, float], z: tuple[float, float, float]) -> Clamping:
    frame = Frame(x=x, y=y, z=z, origin_mm=(0.0, 0.0, 0.0))
    return msgspec.structs.replace(CLAMPING, frame=frame, gap_mm=80.0, patch_length_mm=fact(40.0, 40.0, 40.0, "mm"))


def test_across_the_other_side_the_walls_stand_in_the_way() -> None:
    """Worked. Jaws on the ends, y along -x: across the pocket 20 2^3 / 12 + 20 20^3 / 12 = 13 346.7 mm4 everywhere."""
    found = strip_left(pocketed(), turned((0.0, 1.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0)), "p")
    assert found.least_mm4[ROWS // 2] == pytest.approx(20.0 * 8.0 / 12.0 + 20.0 * 8000.0 / 12.0)
    assert found.least_mm4[0] == pytest.approx(40.0 * 8000.0 / 12.0)
    # upside down it is the same work between jaws of 19 mm; those of 3 mm do not reach the floor, now 18 mm up
    flat = turned((0.0, -1.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 0.0, -1.0))
    frame = msgspec.structs.replace(flat.frame, origin_mm=(0.0, 0.0, 20.0))
    tall = strip_left(pocketed(), msgspec.structs.replace(flat, frame=frame, jaw_top_mm=19.0), "p")
    assert tall.least_mm4 == pytest.approx(found.least_mm4)
    over = strip_left(pocketed(), msgspec.structs.replace(flat, frame=frame), "p")
    assert over.least_mm4[ROWS // 2] == pytest.approx(20.0 * 8000.0 / 12.0)


def test_work_that_lies_askew_or_elsewhere_is_not_followed() -> None:
    s = math.sqrt(0.5)
    askew = strip_left(pocketed(), turned((s, s, 0.0), (-s, s, 0.0), (0.0, 0.0, 1.0)), "p")
    assert (askew.clamping_id, askew.pass_id, askew.least_mm4, askew.is_followed) == ("c1", "p", (), False)
    far = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 500.0, 0.0))
    assert not strip_left(pocketed(), msgspec.structs.replace(LONG, frame=far), "p").is_followed


def slotted() -> Fields:
    """The same block, slotted from side to side all across from 6 mm to 9 mm above its foot."""
    fields = Fields.from_box(
        low_mm=np.array([0.0, -40.0, 0.0]), high_mm=np.array([80.0, 0.0, 20.0]), pitch_mm=0.5
    )  # fmt: skip
    rays = fields.spans[2].shape[0]
    spans = np.zeros((rays, max(2, fields.spans[2].shape[1]), 2))
    spans[:, 0], spans[:, 1] = (0.0, 6.0), (9.0, 20.0)
    fields.spans[2] = spans
    fields.counts[2][:] = 2
    return fields


def test_a_plate_that_the_jaws_do_not_reach_bears_nothing() -> None:
    """Worked. Jaws 3 high press on the lower 6 mm alone: 80 6^3 / 12 = 1440; jaws 10 high on the upper 11 mm as well:
    80 11^3 / 12 = 8873.3 more. Upside down jaws of 3 press on the 11 alone. At best all of it bends as one."""
    low = strip_left(slotted(), LONG, "p")
    assert low.least_mm4 == pytest.approx([1440.0] * ROWS)
    high = strip_left(slotted(), msgspec.structs.replace(LONG, jaw_top_mm=10.0), "p")
    assert high.least_mm4 == pytest.approx([1440.0 + 80.0 * 1331.0 / 12.0] * ROWS)
    frame = Frame(x=(1.0, 0.0, 0.0), y=(0.0, -1.0, 0.0), z=(0.0, 0.0, -1.0), origin_mm=(0.0, -40.0, 20.0))
    over = strip_left(slotted(), msgspec.structs.replace(LONG, frame=frame), "p")
    assert over.least_mm4 == pytest.approx([80.0 * 1331.0 / 12.0] * ROWS)
    middle = (6.0 * 3.0 + 11.0 * 14.5) / 17.0
    whole = 80.0 * ((216.0 + 1331.0) / 12.0 + 6.0 * (middle - 3.0) ** 2 + 11.0 * (14.5 - middle) ** 2)
    assert low.most_mm4 == pytest.approx([whole] * ROWS)
