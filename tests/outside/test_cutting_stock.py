"""A share of the OR-Library's bin packing instances: at most the bars that their file knows, counted over, proved."""

from __future__ import annotations

from pathlib import Path

import pytest
from cutting_stock import Instance, instances, solved

# the first of each file, and those where the metal's bound or the file's number is not the fewest (u250_12 takes
# longest and is left to the benchmark)
SHARE = ("u120_00", "u250_00", "u500_00", "u1000_00", "u120_08", "u120_19", "u250_07", "u250_13")


@pytest.fixture(scope="module")
def published(outside_data: Path) -> dict[str, Instance]:
    folder = outside_data / "cutting-stock" / "orlib"
    if not folder.is_dir():
        pytest.skip(f"{folder} is not on this machine")
    return {one.name: one for one in instances(folder)}


@pytest.mark.parametrize("name", SHARE)
def test_published_instances_take_no_more_bars_than_are_known(published: dict[str, Instance], name: str) -> None:
    one = published[name]
    found = solved(one.length, one.pieces)
    made: dict[float, int] = {}
    bars = 0
    for bundle in found.plan.bundles:
        taken = bundle.bars_count * bundle.bundles_count
        bars += taken
        assert sum(length * count for length, count in bundle.pieces) <= one.length
        for length, count in bundle.pieces:
            made[length] = made.get(length, 0) + taken * count
    assert all(made[size] >= count for size, count in one.pieces.items())
    assert bars == found.plan.bars_count <= min(one.best_known, found.by_hand)
    assert found.plan.status == "proved"
    assert -(-sum(size * count for size, count in one.pieces.items()) // one.length) <= found.plan.lower_bound == bars
