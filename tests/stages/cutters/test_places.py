"""Every cutter needs its place in the changer, and those that stand there keep theirs."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from proveout.model.plan import pockets_of, taken_out
from proveout.stages.cutters.places import place_proofs


def machine(places: int, *changer: str, id: str = "mill") -> Any:
    return SimpleNamespace(id=id, pockets_count=places, changer=changer)


def passes(*cutters: str, clamping: str = "c1") -> list[Any]:
    return [SimpleNamespace(clamping_id=clamping, cutter_id=cutter) for cutter in cutters]


CLAMPINGS: list[Any] = [SimpleNamespace(id="c1", machine_id="mill"), SimpleNamespace(id="c2", machine_id="other")]


def found(machines: list[Any], made: list[Any]) -> list[tuple[str, float | None, str]]:
    proofs = place_proofs(passes=made, clampings=CLAMPINGS, machines=machines)
    return [(proof.subject, proof.found_high, proof.verdict) for proof in proofs]


def test_as_many_cutters_as_places_hold_and_one_more_fails() -> None:
    made = [*passes("a", "b", "a"), *passes("a", "b", "c", clamping="c2")]
    assert found([machine(2), machine(2, id="other")], made) == [("mill", 2.0, "holds"), ("other", 3.0, "fails")]


def test_a_machine_without_a_changer_or_without_work_is_not_judged() -> None:
    assert found([machine(1), machine(4, id="idle")], passes("a", "b")) == []


def numbers(one: Any, *cutters: str) -> dict[str, int]:
    return pockets_of(passes=passes(*cutters), clampings=CLAMPINGS, machines=[one])["mill"]


def test_with_nothing_written_numbers_go_by_first_use() -> None:
    assert numbers(machine(9), "d", "b", "d", "a") == {"d": 1, "b": 2, "a": 3}


def test_what_stands_in_the_changer_keeps_its_number_and_others_take_the_empty_places() -> None:
    one = machine(5, "x", "", "b", "y")
    assert numbers(one, "d", "b", "a") == {"d": 2, "b": 3, "a": 5}


def test_with_no_place_left_empty_those_give_way_that_the_plan_does_not_use_last_ones_first() -> None:
    one = machine(4, "x", "b", "y", "z")
    assert numbers(one, "d", "b", "a") == {"d": 4, "b": 2, "a": 3}
    assert numbers(machine(2, "x", "b"), "d", "b", "a") == {"d": 1, "b": 2, "a": 3}  # and a proof fails


def test_what_gives_way_is_named_by_the_cutter_that_takes_its_number() -> None:
    """Worked: c takes the empty place 2, d the last number 5, a that of y; b stands, and e lies beyond."""
    changer = ("x", "", "b", "y", "z")
    told = numbers(machine(5, *changer), "c", "b", "d", "a")
    assert told == {"c": 2, "b": 3, "d": 5, "a": 4}
    assert taken_out(changer, told) == {"d": "z", "a": "y"}
    assert taken_out(changer, {"e": 6}) == {}
