"""Which jaws are made for the part, and so bought for it."""

from __future__ import annotations

import msgspec
import pytest
from two_places import SOFT, clamping

from proveout.stages.costing.jaw_pairs import made_pairs


@pytest.mark.parametrize(
    ("make_s", "held", "kind", "count"),
    [(1200.0, "flat", "soft", 1), (0.0, "flat", "soft", 0), (0.0, "formed", "soft", 1), (0.0, "formed", "smooth", 0)],
)
def test_soft_jaws_that_are_cut_to_the_work_are_made_whatever_minutes_are_written(
    make_s: float, held: str, kind: str, count: int
) -> None:
    jaws = msgspec.structs.replace(SOFT, make_s=make_s, kind=kind)
    one = msgspec.structs.replace(clamping(2, jaws="soft"), needs_form=held == "formed")
    assert len(made_pairs((one,), (jaws,), ())) == count
