"""What parts share: who stays in which place, what is loaded for whom, and which bars are the same."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from proveout.model.fact import exact_fact
from proveout.stages.sharing.decide import decide


def machine(places: int, id: str = "mill", changer: tuple[str, ...] = ()) -> Any:
    return SimpleNamespace(id=id, pockets_count=places, changer=changer)


def plan(*cutters: str, machine_id: str = "mill", bar: str = "30x20", bars: int = 2, known: bool = True) -> Any:
    """A plan with a pass for each cutter, 60 s a piece each where the minutes are known."""
    seconds = exact_fact(60.0, "s", "own-algorithm", "assumed")
    uses = [SimpleNamespace(machine_id=machine_id, cutter_id=c, piece_s=seconds) for c in cutters] if known else []
    return SimpleNamespace(
        clampings=[SimpleNamespace(id="c1", machine_id=machine_id)],
        passes=[SimpleNamespace(clamping_id="c1", cutter_id=c) for c in cutters], cutter_uses=uses,
        blank=SimpleNamespace(chosen=SimpleNamespace(bar_id=bar)),
        bars=SimpleNamespace(bars_count=bars, blanks_count=10 * bars, price=25.0 * bars),
    )  # fmt: skip


def test_with_room_for_all_every_cutter_has_a_place_for_good_and_that_of_most_parts_the_first() -> None:
    found = decide(parts=[("A", plan("d", "b")), ("B", plan("b", "a"))], machines=[machine(3)])
    (changer,) = found.value.changers
    assert [(c.cutter_id, c.place, c.parts) for c in changer.cutters] == [
        ("b", 1, ("A", "B")), ("a", 2, ("B",)), ("d", 3, ("A",)),
    ]  # fmt: skip
    assert (changer.loads_count, changer.guests, changer.status) == (0, {}, "proved")
    assert [proof.verdict for proof in found.proofs] == ["holds"]


def test_without_room_what_is_loaded_for_each_part_is_named() -> None:
    found = decide(parts=[("A", plan("b", "x", "y")), ("B", plan("b", "u", "v"))], machines=[machine(3)])
    (changer,) = found.value.changers
    assert {c.cutter_id: c.place for c in changer.cutters} == {"b": 1, "u": None, "v": None, "x": None, "y": None}
    assert changer.guests == {"A": ("x", "y"), "B": ("u", "v")}
    assert changer.loads_count == 4
    assert found.proofs[0].verdict == "holds"
    assert found.proofs[0].found_high == 3.0


def test_a_part_with_too_many_cutters_is_named_and_the_others_are_served() -> None:
    found = decide(parts=[("A", plan("a", "b", "c")), ("B", plan("b"))], machines=[machine(2)])
    (changer,) = found.value.changers
    assert (changer.status, changer.too_many) == ("cannot", ("A",))
    assert {c.cutter_id: c.place for c in changer.cutters} == {"b": 1, "a": None, "c": None}
    (proof,) = found.proofs
    assert (proof.verdict, proof.found_high, proof.limit) == ("fails", 3.0, 2.0)
    assert "A" in proof.remedy


def test_a_machine_that_makes_nothing_has_no_changer_here() -> None:
    found = decide(parts=[("A", plan("a"))], machines=[machine(9, "idle"), machine(9)])
    assert [c.machine_id for c in found.value.changers] == ["mill"]


def test_seconds_that_nobody_knows_are_none() -> None:
    (changer,) = decide(parts=[("A", plan("a", known=False))], machines=[machine(9)]).value.changers
    assert changer.cutters[0].piece_s == (None,)


def test_parts_of_one_section_stand_together() -> None:
    parts = [("A", plan("a")), ("B", plan("a", bar="40x20")), ("C", plan("a", bars=3)), ("D", plan("a", bars=0))]
    found = decide(parts=parts, machines=[machine(9)]).value.sections
    assert [(s.bar_id, s.parts, s.bars_count, s.pieces_count, s.price) for s in found] == [
        ("30x20", ("A", "C"), 5, 50, 125.0), ("40x20", ("B",), 2, 20, 50.0),
    ]  # fmt: skip


def test_what_stands_in_the_changer_already_keeps_its_place() -> None:
    found = decide(parts=[("A", plan("d", "b", "a"))], machines=[machine(4, changer=("", "x", "d"))])
    assert {c.cutter_id: c.place for c in found.value.changers[0].cutters} == {"a": 1, "b": 4, "d": 3}
