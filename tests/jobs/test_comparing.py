"""Two plans side by side: what differs is told, once, and nothing else."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec
import pytest
from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]
from fixture_shop import example_shop  # pyright: ignore[reportMissingImports]

from proveout.intake.starting_shop import starting_shop_text
from proveout.jobs.compared_folders import compare_folders
from proveout.jobs.comparing import compare
from proveout.jobs.writing import plan_bytes
from proveout.model.differences import Differences
from proveout.model.plan import Plan
from proveout.model.proof import Proof, prove
from proveout.quantities.errors import BadInput
from proveout.sheets.difference_words import DifferenceWords

OLD = example_plan()


def with_proof(plan: Plan, proof: Proof) -> Plan:
    """The plan with the proof of that id replaced, or with one more."""
    others = tuple(p for p in plan.proofs if p.id != proof.id)
    return msgspec.structs.replace(plan, proofs=(*others, proof))


def again(proof: Proof, *, high: float) -> Proof:
    """The same claim with another high end found."""
    return prove(
        id=proof.id, stage=proof.stage, subject=proof.subject, claim=proof.claim, sense="at most",
        found_low=0.0, found_high=high, limit=10.0, unit="MPa", blocks_release=True, basis=proof.basis,
        decides="measure it", remedy="less",
    )  # fmt: skip


def changed(**fields: Any) -> Differences:
    return compare(OLD, msgspec.structs.replace(OLD, **fields))


def test_equal_plans_differ_in_nothing() -> None:
    assert compare(OLD, example_plan()).is_empty
    assert changed(inputs={"job": "of other bytes"}, warnings=()).is_empty, "nothing was decided otherwise"


def test_a_proof_that_now_fails_stands_before_all_others_and_is_told_to_stop_the_release() -> None:
    base = OLD.proofs[0]
    crush = msgspec.structs.replace(again(base, high=5.0), id="holding:a:bearing")
    near = msgspec.structs.replace(again(base, high=4.0), id="holding:b:bearing")
    before = with_proof(with_proof(OLD, crush), near)
    after = with_proof(
        with_proof(before, msgspec.structs.replace(again(base, high=9.0), id=near.id)),
        msgspec.structs.replace(
            prove(id=crush.id, stage="holding", subject="a", claim=crush.claim, sense="at most", found_low=11.0,
                  found_high=12.0, limit=10.0, unit="MPa", blocks_release=True, basis=base.basis),
        ),
    )  # fmt: skip
    found = compare(before, after)
    assert [(one.shown.id, one.kind) for one in found.proofs] == [(crush.id, "verdict"), (near.id, "margin")]
    assert [one.shown.id for one in found.stopping] == [crush.id]
    back = compare(after, before)
    assert back.stopping == (), "what holds again stops nothing"


def test_a_proof_that_is_open_for_another_reason_is_told() -> None:
    """Not shown, then failing, at one margin: the release was stopped before, too, but the reason is another."""
    straddles = msgspec.structs.replace(again(OLD.proofs[0], high=12.0), id="holding:a:bearing")
    fails = msgspec.structs.replace(straddles, verdict="fails", decides="", found_low=11.0)
    found = compare(with_proof(OLD, straddles), with_proof(OLD, fails))
    assert [(one.shown.id, one.kind) for one in found.proofs] == [(fails.id, "verdict")]
    assert found.stopping == ()


def test_new_proofs_are_told_and_those_that_are_gone_come_last() -> None:
    first = OLD.proofs[0]
    extra = msgspec.structs.replace(first, id="holding:new")
    after = msgspec.structs.replace(OLD, proofs=(*OLD.proofs[1:], extra))
    assert [(one.shown.id, one.kind) for one in compare(OLD, after).proofs] == [(extra.id, "new"), (first.id, "gone")]


def test_a_limit_that_moves_with_the_value_is_told_though_the_margin_stays() -> None:
    one = next(p for p in OLD.proofs if p.limit and p.margin is not None)
    moved = msgspec.structs.replace(one, limit=2.0 * one.limit)  # type: ignore[operator]
    assert [p.shown.id for p in compare(OLD, with_proof(OLD, moved)).proofs] == [one.id]


def test_bar_and_cut_length_are_told_with_what_they_were() -> None:
    blank = msgspec.structs.replace(OLD.blank.chosen, bar_id="flat-30x25", cut_length_mm=93.5)
    found = changed(blank=msgspec.structs.replace(OLD.blank, chosen=blank))
    assert [(s.what, s.old, s.new) for s in found.choices] == [("bar", "square-25", "flat-30x25")]
    assert [(s.what, s.old, s.new) for s in found.numbers] == [("cut length", (92.0, 92.0), (93.5, 93.5))]
    rest = msgspec.structs.replace(found, choices=(), numbers=())
    assert rest.is_empty


def test_passes_are_new_gone_or_changed_in_named_numbers() -> None:
    first, second, *rest = OLD.passes
    fed = msgspec.structs.replace(first, tooth_feed_mm=2.0 * first.tooth_feed_mm)
    extra = msgspec.structs.replace(second, id="another", cutter_id="EM99")
    found = changed(passes=(fed, *rest, extra))
    assert [(p.shown.id, p.old is None, p.new is None) for p in found.passes] == [
        (first.id, False, False), ("another", True, False), (second.id, False, True),
    ]  # fmt: skip
    assert [n.what for n in found.passes[0].numbers] == ["feed per tooth"]
    assert not found.passes[0].are_moves_other
    (swap,) = [s for s in found.choices if s.what == "cutters"]
    assert swap.new == "EM99"


def test_a_size_before_the_coat_is_told_by_its_number() -> None:
    window = OLD.finishing.windows[0]
    other = msgspec.structs.replace(window, before_high_mm=window.before_high_mm + 0.01)
    windows = (other, *OLD.finishing.windows[1:])
    found = changed(finishing=msgspec.structs.replace(OLD.finishing, windows=windows))
    assert [(s.shown.mark, s.old, s.new) for s in found.sizes] == [(window.mark, window, other)]


def test_money_of_an_unknown_metal_is_not_shown_and_never_counted_as_nothing() -> None:
    found = changed(metal_unknown="nobody wrote the alloy")
    for moved in (found.money, found.minutes):
        assert {(s.old is None, s.is_gone) for s in moved} == {(False, True)}
    assert [s.what for s in found.choices] == ["figures of the metal"]


def test_days_are_compared_with_and_without_a_calendar() -> None:
    found = changed(due="2027-03-01")
    assert [(s.what, s.new) for s in found.dates] == [("wanted by", "2027-03-01")]


def test_words_give_the_unit_and_the_system_of_the_shop() -> None:
    blank = msgspec.structs.replace(OLD.blank.chosen, cut_length_mm=101.6)
    new = msgspec.structs.replace(OLD, blank=msgspec.structs.replace(OLD.blank, chosen=blank))
    (shift,) = compare(OLD, new).numbers
    shop = example_shop()
    assert DifferenceWords(plan=new, shop=shop).shift(shift) == ("cut length", "92.00 mm", "101.60 mm")
    inch = msgspec.structs.replace(shop, units="inch")
    assert DifferenceWords(plan=new, shop=inch).shift(shift) == ("cut length", "3.6220 inch", "4.0000 inch")


def write_result(folder: Path, plan: Plan) -> Path:
    (folder / "inputs").mkdir(parents=True)
    (folder / "plan.json").write_bytes(plan_bytes(plan))
    (folder / "inputs" / "shop.toml").write_text(starting_shop_text(), encoding="utf-8")
    return folder


def test_two_result_folders_are_read_and_told_by_the_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from proveout.cli.main import main

    old = write_result(tmp_path / "old", OLD)
    new = write_result(tmp_path / "new", msgspec.structs.replace(OLD, ready=not OLD.ready))
    assert main(["compare", str(old), str(old)]) == 0
    assert capsys.readouterr().out == "Nothing differs.\n"
    assert main(["compare", str(old), str(new)]) == 0
    said = capsys.readouterr().out
    assert said == ("Before NOT READY, now READY.\n" if not OLD.ready else "Before READY, now NOT READY.\n")


def test_orders_are_compared_part_by_part_and_never_with_a_part(tmp_path: Path) -> None:
    part = msgspec.structs.replace
    first, second = (part(OLD, part=part(OLD.part, number=number)) for number in ("A-1", "A-2"))
    for name, plans in (("old", [first, second]), ("new", [first])):
        for plan in plans:
            write_result(tmp_path / name / plan.part.number, plan)
    found = compare_folders(tmp_path / "old", tmp_path / "new")
    assert [one.plan.part.number for one in found.parts] == ["A-1"]
    assert (found.gone, found.more) == (("A-2",), ())
    with pytest.raises(BadInput, match="part, the other of an order"):
        compare_folders(tmp_path / "old", tmp_path / "new" / "A-1")
    with pytest.raises(BadInput, match="no plan"):
        compare_folders(tmp_path / "nothing", tmp_path / "new")
