"""Which places a machine has, by the vises that stand on it."""

from __future__ import annotations

import foreign_program
import msgspec
import two_places as given

from proveout.model.table_load import places_of

OTHER = msgspec.structs.replace(given.VISE, id="other", stands_mm=(500.0, -200.0, -300.0), more_stand_mm=())


def test_a_machine_with_one_kind_of_vise_has_as_many_as_stand_on_it() -> None:
    places = places_of(given.MILL, (given.VISE,))
    assert [(p.number, p.vise_id, p.vise_number, p.stands_mm) for p in places] == [
        (1, "vise", 1, (200.0, -200.0, -300.0)), (2, "vise", 2, (380.0, -200.5, -301.0)),
    ]  # fmt: skip


def test_of_several_kinds_each_says_how_many() -> None:
    single = msgspec.structs.replace(given.VISE, more_stand_mm=())
    assert [p.vise_id for p in places_of(given.MILL, (single, OTHER))] == ["vise", "other"]
    twice = msgspec.structs.replace(given.VISE, kind_count=2)
    assert [p.vise_id for p in places_of(given.MILL, (twice, OTHER))] == ["vise", "vise", "other"]


def test_a_fixed_jaw_in_the_middle_makes_two_places_of_one_vise() -> None:
    front, back = places_of(given.MILL, (given.DOUBLE,))
    assert (front.is_turned, back.is_turned) == (False, True)
    assert front.vise_number == back.vise_number
    assert back.stands_mm == (200.0, -170.0, -300.0)
    unmeasured = msgspec.structs.replace(given.DOUBLE, middle_jaw_mm=None)
    assert [p.stands_mm for p in places_of(given.MILL, (unmeasured,))] == [(200.0, -200.0, -300.0), None]


def test_vises_of_another_machine_are_none_of_this_one() -> None:
    assert places_of(given.MILL, (msgspec.structs.replace(given.VISE, machines=("lathe",)),)) == ()


def test_a_table_that_turns_has_one_place() -> None:
    tilting = foreign_program.machine()
    assert len(places_of(msgspec.structs.replace(tilting, vises_count=4), (given.VISE,))) == 1
