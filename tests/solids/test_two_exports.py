"""One part as AP203 and as AP242, its round faces cut otherwise: the same clampings, tilts, cutters and bar."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from exports import Export, chosen, differences, export_of, faces_matched, look_of, pieces
from shapes import box, cut_box, drilled

SCHEMA = "write.step.schema"


def part() -> Any:
    """A 50 x 32 x 16 block with a step along one side, a through hole and a blind one: no turn lays it on itself."""
    shape = cut_box(box(50.0, 32.0, 16.0), (-1.0, -1.0, 10.0), (51.0, 8.0, 17.0))
    shape = drilled(shape, at=(14.0, 19.0, -1.0), along=(0.0, 0.0, 1.0), dia=6.0, deep=18.0)
    return drilled(shape, at=(36.0, 20.0, 17.0), along=(0.0, 0.0, -1.0), dia=8.0, deep=10.0)


def in_halves(shape: Any) -> Any:
    """Round faces cut in halves, as some programs write them."""
    from OCP.ShapeUpgrade import ShapeUpgrade_ShapeDivideAngle

    divide = ShapeUpgrade_ShapeDivideAngle(math.pi)
    divide.Init(shape)
    assert divide.Perform()
    return divide.Result()


def written(shape: Any, path: Path, schema: str) -> Export:
    from OCP.Interface import Interface_Static
    from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer

    writer = STEPControl_Writer()
    before = Interface_Static.CVal_s(SCHEMA)
    assert Interface_Static.SetCVal_s(SCHEMA, schema)
    try:
        writer.Transfer(shape, STEPControl_StepModelType.STEPControl_AsIs)
        writer.Write(str(path))
    finally:
        Interface_Static.SetCVal_s(SCHEMA, before)
    return export_of(path)


@pytest.fixture(scope="module")
def pair(tmp_path_factory: pytest.TempPathFactory) -> tuple[Export, Export]:
    folder = tmp_path_factory.mktemp("exports")
    one = written(in_halves(part()), folder / "a.step", "AP203")
    other = written(part(), folder / "b.step", "AP242DIS")
    heads = [path.read_text().split("DATA;")[0] for path in (one.path, other.path)]
    assert ["CONFIG_CONTROL_DESIGN" in heads[0], "AP242" in heads[1]] == [True, True]
    return one, other


def test_the_two_lie_on_each_other_and_every_difference_is_listed(pair: tuple[Export, Export]) -> None:
    one, other = pair
    assert len(one.solid.faces) > len(other.solid.faces)
    found = faces_matched(one, other)
    assert found.motions[0].is_still
    assert (found.count, len(pieces(one))) == (len(pieces(other)), len(pieces(other)))
    assert differences(one, other, found) == []


def test_what_one_export_lacks_is_named(pair: tuple[Export, Export], tmp_path: Path) -> None:
    more = drilled(part(), at=(25.0, 24.0, -1.0), along=(0.0, 0.0, 1.0), dia=4.0, deep=18.0)
    other = written(more, tmp_path / "c.step", "AP242DIS")
    said = differences(pair[0], other, faces_matched(pair[0], other))
    assert any(line.startswith("hole only in the second") for line in said)
    assert any(line.startswith("surface only in the second") for line in said)


def test_both_are_made_the_same_way(pair: tuple[Export, Export]) -> None:
    one, other = pair
    motion = faces_matched(one, other).motions[0]
    first, second = chosen(look_of(one), motion), chosen(look_of(other))
    assert first["bar"]
    assert first["cutters"][0]
    assert first == second
