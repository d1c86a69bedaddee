"""What an engineering change meets: which pieces can go on by the new plan, what is in them, and what is refused."""

# pyright: reportMissingImports=false
from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import changed_home
import msgspec
import pytest
import runnable_home
from changed_home import gripping, new_plan, touching_op2
from floor_home import Floor, copied

from proveout.cli.main import main
from proveout.jobs.changes import CHANGES, change_of, held_against, hold, note, settle, tell
from proveout.jobs.close_out import closed_out
from proveout.jobs.ended import refuse_work
from proveout.jobs.half_made import solid_words, touched_steps
from proveout.jobs.packets import packet_folder
from proveout.jobs.place import Place
from proveout.jobs.releasing import ask, batch_of, packet_place, release
from proveout.jobs.same_so_far import differing
from proveout.jobs.signed import Signed
from proveout.jobs.tied_up import tied_up
from proveout.model.batch_events import Bad, Counted, Started
from proveout.model.change_events import GO_ON, KEPT
from proveout.model.fact import Fact
from proveout.model.half_made import Stage, Way
from proveout.model.revision import Revision, SolidChange
from proveout.model.revision_book import Ending
from proveout.quantities.errors import BadInput, Refused
from proveout.records.records import Records

MARA = Signed(person="Mara Lind")
WHY = "the slot gets deeper"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Floor:
    return changed_home.changed_home(tmp_path_factory.mktemp("made"))


@pytest.fixture
def floor(made: Floor, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Floor:
    monkeypatch.delenv("PROVEOUT_RECORDS", raising=False)
    return copied(made, tmp_path)


@pytest.fixture
def records(floor: Floor) -> Iterator[Records]:
    with floor.records() as found:
        yield found


def ended(records: Records, part: str) -> Ending:
    return note(records, part=part, ends="B", begins="C", from_day=changed_home.DAY, why=WHY, signed=MARA)


def stages(floor: Floor, records: Records, ending: Ending) -> dict[str, Stage]:
    told = tell(floor.home, records, part=changed_home.old_plan(floor).part.number, ending=ending)
    return {stage.step: stage for one in told.batches for stage in one.stages}


def way(stage: Stage, fate: str = GO_ON) -> Way:
    return next(one for one in stage.ways if one.fate == fate)


def with_plan(place: Place, **changed: Any) -> Place:
    plan = msgspec.structs.replace(place.plan, **changed)
    return Place(address=place.address, entry=place.entry, folder=place.folder, plan=plan)


def passes(place: Place, number: int, **changed: Any) -> tuple[Any, ...]:
    own = place.plan.passes
    return (*own[:number], msgspec.structs.replace(own[number], **changed), *own[number + 1 :])


def test_pieces_go_on_up_to_the_first_step_that_the_new_plan_cuts_otherwise(floor: Floor) -> None:
    """Of the new plan the pass of op2 alone is another one: pieces behind op1 are what it has there, behind op2 not."""
    old, new = floor.home.place("@B1"), floor.home.place("@C1")
    for behind in ((), ("saw",), ("saw", "op1")):
        assert differing(old, new, behind) == ()
    assert differing(old, new, ("saw", "op1", "op2")) == ("op2: 1 pass is cut otherwise",)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        (lambda at: {"passes": passes(at, 0, cutter_id="DR68")}, "op1: 1 pass is cut otherwise"),
        (lambda at: {"passes": passes(at, 1, moves_digest="1" * 64)}, "op1: 1 pass is cut otherwise"),
        (lambda at: {"passes": (at.plan.passes[1], at.plan.passes[0], *at.plan.passes[2:])}, "in another order"),
        (lambda at: {"part": msgspec.structs.replace(at.plan.part, alloy="7075")}, "the alloy: .*, now 7075"),
        (lambda at: {"blank": msgspec.structs.replace(
            at.plan.blank, chosen=msgspec.structs.replace(at.plan.blank.chosen, bar_id="other"))}, "the bar: .*other"),
        (lambda at: {"blank": msgspec.structs.replace(
            at.plan.blank, chosen=msgspec.structs.replace(at.plan.blank.chosen, high_mm=(1.0, 2.0, 3.0)))}, "size"),
        (lambda at: {"clampings": tuple(
            msgspec.structs.replace(one, machine_id="mill-9") for one in at.plan.clampings)}, "not step 2 of the new"),
        (lambda at: {"clampings": tuple(
            msgspec.structs.replace(one, frame=at.plan.clampings[1].frame) for one in at.plan.clampings)}, "held"),
    ],
)  # fmt: skip
def test_whatever_places_or_cuts_metal_before_a_stage_is_named(floor: Floor, changed: Any, words: str) -> None:
    old = floor.home.place("@B1")
    found = differing(old, with_plan(old, **changed(old)), ("saw", "op1"))
    assert any(re.search(words, one) for one in found), found


def test_limits_that_held_at_a_step_behind_are_named(floor: Floor) -> None:
    """The same moves, and yet a size cut in op1 has other limits: pieces made to the old ones may be outside."""
    old = floor.home.place("@B1")
    line = old.plan.inspection[0]
    wider = msgspec.structs.replace(line, before_high_mm=line.before_high_mm + 0.5)
    new = with_plan(old, inspection=(wider, *old.plan.inspection[1:]))
    steps = ("saw", "op1", "op2")
    assert any(f"the limits of {line.balloon} {line.text}" in one for one in differing(old, new, steps))
    assert differing(old, new, ("saw",)) == ()


def test_a_cutter_of_the_same_name_and_another_shape_is_another_one(
    floor: Floor, monkeypatch: pytest.MonkeyPatch
) -> None:
    old = floor.home.place("@B1")
    shop = old.shop
    dearer = tuple(msgspec.structs.replace(one, price=one.price + 9.0, life_s=1.0) for one in shop.cutters)
    longer = tuple(msgspec.structs.replace(one, flute_length_mm=one.flute_length_mm + 1.0) for one in shop.cutters)
    new = with_plan(old, due="2029-01-01")
    for cutters, is_same in ((dearer, True), (longer, False)):
        changed = msgspec.structs.replace(shop, cutters=cutters)
        monkeypatch.setattr(Place, "shop", property(lambda place, c=changed: c if place.plan.due else shop))
        assert (differing(old, new, ("saw", "op1")) == ()) is is_same


def test_what_becomes_of_each_stage_is_shown_where_the_new_plan_shows_it(floor: Floor, records: Records) -> None:
    part = changed_home.old_plan(floor).part.number
    found = stages(floor, records, ended(records, part))
    assert list(found) == ["op1", "op2"]
    assert [(way(one).verdict, way(one).batches) for one in found.values()] == [("holds", ("C1",))] * 2
    assert way(found["op2"], "set aside").verdict == "not shown"
    assert way(found["op2"], KEPT).verdict is None
    assert (found["op2"].behind, found["op2"].waiting_count) == (("saw", "op1"), 5)


def test_without_a_plan_of_the_new_revision_nothing_of_it_is_shown(floor: Floor, records: Records) -> None:
    part = changed_home.old_plan(floor).part.number
    ending = note(records, part=part, ends="B", begins="D", from_day=changed_home.DAY, why=WHY, signed=MARA)
    place = floor.home.place("@B1")
    hold(floor.home, records, place, touching_op2(place.plan), solid="ab" * 32, signed=MARA)
    found = stages(floor, records, change_of(records, ending.id)[1])
    assert {way(one).verdict for one in found.values()} == {"not shown"}
    assert "D is not planned yet" in way(found["op2"]).why
    assert "up to here nothing that changed was made or gripped, first op2" in way(found["op2"]).why


def test_what_the_solids_alone_say_is_no_verdict(floor: Floor) -> None:
    plan = changed_home.old_plan(floor)
    assert touched_steps(plan, None) == ()
    assert touched_steps(plan, touching_op2(plan)) == ("op2",)
    assert touched_steps(plan, gripping(plan, "c1")) == ("op1",)
    assert "op1 made or gripped what changed" in solid_words(plan, ("op1",), gripping(plan, "c1"))
    other = Revision(solid=SolidChange(faces=(), same_count=0, why_other="a mirror image"), passes=(), jaws=(),
                     sizes=(), gauges=(), shown=())  # fmt: skip
    assert "another part: a mirror image" in solid_words(plan, (), other)
    alike = msgspec.structs.replace(touching_op2(plan).solid, choices_count=2)
    assert "a guess" in solid_words(plan, (), msgspec.structs.replace(other, solid=alike))


def test_pieces_cannot_be_sent_into_a_plan_that_cuts_otherwise_whoever_says_so(floor: Floor, records: Records) -> None:
    part = changed_home.old_plan(floor).part.number
    ended(records, part)
    changed_home.release(floor, new_plan(floor, changed="c1"), "C2")
    say: dict[str, Any] = {"batch": "B1", "step": "op2", "count": 1, "fate": GO_ON, "why": WHY, "signed": MARA}
    with pytest.raises(Refused, match=r"proved on other pieces than these.*op1: 1 pass is cut otherwise"):
        settle(floor.home, records, **say, to_batch="C2")
    with pytest.raises(Refused, match="only in a batch of the new revision"):
        settle(floor.home, records, **say, to_batch="B1")
    settle(floor.home, records, **say, to_batch="C1")
    assert batch_of(records, "C1").steps[2].brought_count == 1


def test_no_more_pieces_are_carried_on_than_were_said_to_be_used(floor: Floor, records: Records) -> None:
    part = changed_home.old_plan(floor).part.number
    ended(records, part)
    one, two = (Counted(step="op1", good_count=count) for count in (1, 2))
    refuse_work(records, "B1", two, day=date(2027, 3, 19))
    with pytest.raises(Refused, match="none is left"):
        refuse_work(records, "B1", one, day=date(2027, 3, 20))
    settle(floor.home, records, batch="B1", step="op1", count=1, fate=KEPT, why=WHY, signed=MARA)
    refuse_work(records, "B1", one, day=date(2027, 3, 20))
    with pytest.raises(Refused, match="only 1 of its pieces"):
        refuse_work(records, "B1", two, day=date(2027, 3, 20))
    lost = Counted(step="op2", bad=(Bad(reason="dropped", count=1),))
    refuse_work(records, "B1", lost, day=date(2027, 3, 20))
    refuse_work(records, "C1", Started(step="saw"), day=date(2027, 3, 20))


def test_nothing_is_said_of_pieces_whose_revision_goes_on(floor: Floor, records: Records) -> None:
    with pytest.raises(Refused, match="No change ends this revision"):
        settle(floor.home, records, batch="B1", step="op2", count=1, fate="scrap", why=WHY, signed=MARA)


def test_what_was_found_of_the_solid_is_kept_by_its_fingerprint(floor: Floor, records: Records) -> None:
    part = changed_home.old_plan(floor).part.number
    place = floor.home.place("@B1")
    with pytest.raises(Refused, match="note the change first"):
        hold(floor.home, records, place, touching_op2(place.plan), solid="ab" * 32, signed=MARA)
    ended(records, part)
    ending = hold(floor.home, records, place, touching_op2(place.plan), solid="ab" * 32, signed=MARA)
    assert held_against(floor.home, ending, ending.held[0].plan) == touching_op2(place.plan)
    assert held_against(floor.home, ending, "cd" * 32) is None
    path = floor.home.plans / CHANGES / ending.held[0].found
    path.write_bytes(path.read_bytes() + b" ")
    assert held_against(floor.home, ending, ending.held[0].plan) is None


def test_a_packet_that_was_touched_shows_where_its_pieces_are_and_no_more(floor: Floor, records: Records) -> None:
    part = changed_home.old_plan(floor).part.number
    ending = ended(records, part)
    paper = packet_folder(floor.home, "B1") / "plan.json"
    paper.chmod(0o644)
    paper.write_bytes(paper.read_bytes() + b" ")
    told = tell(floor.home, records, part=part, ending=ending).batches[0]
    assert "not as it was released" in told.lost
    assert [(one.step, one.waiting_count, one.each_s, one.ways) for one in told.stages] == [
        ("op1", 2, None, ()), ("op2", 5, None, ())
    ]  # fmt: skip


def test_what_is_in_a_piece_is_its_steps_and_its_share_of_the_bars(floor: Floor, records: Records) -> None:
    """Worked: behind op1 130 s at the machine's rate; the metal is the price of all bars over all blanks."""
    place, batch = floor.home.place("@B1"), batch_of(records, "B1")
    plan, shop = place.plan, place.shop
    rate = shop.machines[0].rate_per_h
    metal = plan.bars.price / plan.bars.blanks_count
    held = tied_up(batch, plan, shop, ("saw", "op1"))
    assert held.each_s is not None
    assert held.each_money is not None
    assert held.each_s.nominal == pytest.approx(130.0)
    assert held.each_money.nominal == pytest.approx(130.0 / 3600.0 * rate + metal, abs=1e-5)
    assert held.lacks == ("saw: nothing is sawn",)
    nothing = tied_up(batch, plan, shop, ())
    assert (nothing.each_s, nothing.each_money) == (None, None)
    unknown = tied_up(batch, msgspec.structs.replace(plan, metal_unknown="another metal"), shop, ("saw", "op1"))
    assert (unknown.each_s, unknown.each_money) == (None, None)


def test_a_share_lost_is_learned_only_of_pieces_that_the_batch_answers_for(floor: Floor, records: Records) -> None:
    """Worked: of B1 eight were sawn, four of them scrapped and one moved by the change: three; C1 has that one."""
    ended(records, changed_home.old_plan(floor).part.number)
    say: dict[str, Any] = {"batch": "B1", "step": "op2", "why": WHY, "signed": MARA}
    settle(floor.home, records, **say, count=4, fate="scrap")
    settle(floor.home, records, **say, count=1, fate=GO_ON, to_batch="C1")
    found = {}
    for name in ("B1", "C1"):
        batch, place = batch_of(records, name), floor.home.place(f"@{name}")
        found[name] = closed_out(batch, records.events(batch=name), plan=place.plan, shop=place.shop)
    assert [(one.begun_count, one.bad_count) for one in found.values()] == [(3, 1), (1, 0)]


def test_every_worst_end_is_kept_in_what_is_tied_up(floor: Floor, records: Records) -> None:
    """Worked: one line of op1 from 20 to 50 s instead of 30: 120 to 150 s, and money as many hours at its rate."""
    place, batch = floor.home.place("@B1"), batch_of(records, "B1")
    lines = list(place.plan.time.lines)
    lines[0] = msgspec.structs.replace(
        lines[0], seconds=Fact(low=20.0, nominal=30.0, high=50.0, unit="s", source="worked", strength="assumed")
    )
    plan = msgspec.structs.replace(place.plan, time=msgspec.structs.replace(place.plan.time, lines=tuple(lines)))
    held = tied_up(batch, plan, place.shop, ("saw", "op1"))
    assert held.each_s is not None
    assert held.each_money is not None
    assert (held.each_s.low, held.each_s.high) == (120.0, 150.0)
    rate = place.shop.machines[0].rate_per_h
    assert held.each_money.high - held.each_money.low == pytest.approx(30.0 / 3600.0 * rate, abs=1e-5)


def test_a_batch_of_an_ended_revision_is_not_released(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    runnable_home.with_quick_papers(monkeypatch)
    monkeypatch.delenv("PROVEOUT_RECORDS", raising=False)
    home = runnable_home.runnable_home(tmp_path, runnable_home.ready_plan())
    with Records(str(home.plans / "records.sqlite"), asks_for_plans=True) as records:
        plan = home.place("jaw").plan
        ask(home, records, "jaw", batch="B-1", wanted_count=plan.part.quantity, signed=MARA)
        ending = ended(records, plan.part.number)
        told = tell(home, records, part=plan.part.number, ending=ending)
        assert told.unreleased == ("B-1",)
        drawer = runnable_home.drawer()
        with pytest.raises(Refused, match=r"Revision B ended on 2027-03-20, C holds: the slot gets deeper"):
            release(home, records, drawer, batch="B-1", signed=MARA, today=date(2027, 3, 20))
        assert not packet_folder(home, "B-1").exists()
        assert release(home, records, drawer, batch="B-1", signed=MARA, today=date(2027, 3, 19)).is_released
        assert packet_place(home, batch_of(records, "B-1"))


def test_the_verb_notes_shows_settles_and_takes_back(
    floor: Floor, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    part = changed_home.old_plan(floor).part.number
    home = ["--home", str(floor.home.root)]
    signed = [*home, "--person", "Mara Lind", "--why", WHY]
    assert main(["change", "show", part, "B", *home]) == 2
    assert main(["change", "note", part, "B", "--begins", "C", "--from", "2027-03-20", *signed]) == 0
    assert "revision B ends, C begins, from 2027-03-20" in capsys.readouterr().out
    out = tmp_path / "collect.pdf"
    assert main(["change", "show", part, "B", "--out", str(out), *home]) == 3
    said = capsys.readouterr().out
    assert "go on in another batch: holds" in said
    assert out.read_bytes().startswith(b"%PDF")
    assert main(["change", "day", part, "B", "--from", "2027-03-22", *signed]) == 0
    assert main(["change", "settle", "B1", "op2", "5", "--fate", "scrap", *signed]) == 0
    assert "0 wait, 0 of them used as they are, 5 taken out" in capsys.readouterr().out
    assert main(["change", "settle", "B1", "op1", "2", "--fate", GO_ON, "--into", "C1", *signed]) == 0
    assert main(["change", "show", part, "B", *home]) == 0
    assert main(["change", "stays", part, "B", *signed]) == 0
    assert main(["change", "list", *home]) == 0
    assert "taken back: the slot gets deeper" in capsys.readouterr().out
    assert main(["change", "show", part, "B", "--json", *home]) == 0


def test_a_change_that_is_not_there_is_told(records: Records) -> None:
    with pytest.raises(BadInput, match="no such change"):
        change_of(records, "none")
