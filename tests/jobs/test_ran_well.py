"""A part that did not run well before with its very programs is released with a first piece to go through alone."""

# pyright: reportMissingImports=false
from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from example_home import fixture_shop
from msgspec.structs import replace
from runnable_home import MARA, PROGRAM, drawer, ready_plan, runnable_home

from proveout.books.first_piece import FIRST_PIECE
from proveout.intake.inspection_words import inspection_of_words, inspection_sentence
from proveout.intake.toml_words import Place as FilePlace
from proveout.jobs.home import Home
from proveout.jobs.place import Place
from proveout.jobs.ran_well import ran_well_before
from proveout.jobs.releasing import ask, release, waive
from proveout.jobs.writing import plan_bytes
from proveout.model.batch import Batch
from proveout.model.plan import Plan
from proveout.records.records import Records
from proveout.stages.inspection.frequency import Often, often_words

WHY = "one machine, it would be set up twice"
OPS = ("op1", "op2", "op3")


@pytest.fixture
def records(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Records]:
    monkeypatch.setattr(Place, "shop", property(lambda _: fixture_shop.example_shop()))
    monkeypatch.setattr("proveout.jobs.releasing.write_jaw_files", lambda _folder, _plan: None)
    with Records(str(tmp_path / "records.sqlite"), asks_for_plans=True) as made:
        yield made


@pytest.fixture
def printed(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """What papers are told of each batch."""
    told: list[Any] = []

    def papers(**given: Any) -> bytes:
        told.append(given["batch"])
        return b"%PDF-1.7 papers"

    monkeypatch.setattr("proveout.sheets.papers.papers_pdf", papers)
    return told


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """The example, with a program of the plan for each of its clampings."""
    made = runnable_home(tmp_path, ready_plan())
    place = made.place("jaw")
    first = place.plan.programs[0]
    sheets = tuple(replace(first, clamping_id=one.id, file=f"op{one.number}.nc") for one in place.plan.clampings)
    for sheet in sheets:
        (place.folder / "programs" / sheet.file).write_text(PROGRAM, encoding="ascii", newline="")
    written(made, replace(place.plan, programs=sheets))
    return made


def written(home: Home, plan: Plan) -> None:
    (home.place("jaw").folder / "plan.json").write_bytes(plan_bytes(plan))


def released(home: Home, records: Records, batch: str, *, why: str = "") -> Batch:
    ask(home, records, "jaw", batch=batch, wanted_count=150, signed=MARA)
    if why:
        waive(records, batch=batch, proof_id=FIRST_PIECE, reason=why, signed=MARA)
    return release(home, records, drawer(), batch=batch, signed=MARA)


def came_good(records: Records, monkeypatch: pytest.MonkeyPatch, *, good_count: int) -> None:
    """From now on the records say of every released batch that so many pieces are through its last step."""
    kept = records.batch

    def told(name: str) -> Batch | None:
        batch = kept(name)
        if batch is None or not batch.is_released:
            return batch
        last = replace(batch.steps[-1], good_count=good_count)
        return replace(batch, steps=(*batch.steps[:-1], last))

    monkeypatch.setattr(records, "batch", told)


def test_a_new_part_is_released_with_its_first_piece_to_go_through_and_papers_say_so(
    home: Home, records: Records, printed: list[Any]
) -> None:
    batch = released(home, records, "B-1")
    assert batch.first_through == OPS
    assert printed[-1].first_piece.startswith("Piece one goes through op1, op2, op3 and is read in each")
    assert printed[-1].waivers == ()


def test_whoever_answers_for_it_before_the_release_stands_on_every_paper(
    home: Home, records: Records, printed: list[Any]
) -> None:
    batch = released(home, records, "B-1", why=WHY)
    words = f"Pieces may be cut before the first one went through all clampings. Mara Lind: {WHY}"
    assert [one.words for one in batch.waivers] == [words]
    assert (printed[-1].waivers, printed[-1].first_piece) == ((words,), words)


def test_a_batch_made_as_one_that_came_good_needs_no_first_piece_and_any_other_does(
    home: Home, records: Records, printed: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    released(home, records, "B-1")
    plan = home.place("jaw").plan
    assert released(home, records, "B-2").first_through == OPS  # nothing came good yet
    came_good(records, monkeypatch, good_count=3)
    assert ran_well_before(home, records, plan, revision="B") == "B-2"
    batch = released(home, records, "B-3", why=WHY)
    assert (batch.first_through, printed[-1].first_piece, printed[-1].waivers) == ((), "", ())
    assert ran_well_before(home, records, plan, revision="C") == ""
    other = replace(plan.programs[0], fingerprint="0123456789ab")
    assert ran_well_before(home, records, replace(plan, programs=(other, *plan.programs[1:])), revision="B") == ""
    assert ran_well_before(home, records, replace(plan, programs=plan.programs[1:]), revision="B") == ""
    turned = replace(plan.clampings[0], jaw_top_mm=plan.clampings[0].jaw_top_mm + 1.0)
    assert ran_well_before(home, records, replace(plan, clampings=(turned, *plan.clampings[1:])), revision="B") == ""


def test_a_run_whose_packet_somebody_changed_tells_nothing(
    home: Home, records: Records, printed: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    released(home, records, "B-1")
    came_good(records, monkeypatch, good_count=3)
    plan = home.place("jaw").plan
    assert ran_well_before(home, records, plan, revision="B") == "B-1"
    program = home.plans / "packets" / "B-1" / "programs" / "op1.nc"
    program.chmod(0o644)
    program.write_text(PROGRAM + "M0\n", encoding="ascii")
    assert ran_well_before(home, records, plan, revision="B") == ""
    assert printed


def test_a_night_counts_where_the_shop_or_the_job_says_so(
    home: Home, records: Records, printed: list[Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    top = FilePlace(file="shop.toml", path="")
    wish = inspection_of_words({"inspection": {"first_piece_after_night": True}}, top)
    assert "After a night the next piece is read as a first one" in inspection_sentence(wish)
    often = Often(every_count=5, why="worked", also_pieces=(7,), cutter_ids=("EM6",))
    assert often_words(often, lot_count=40, is_daily=True).startswith(
        "pieces 1, 5, 10, 15 and so on, the first after EM6 is changed and after a night, and the last"
    )
    assert "night" not in often_words(often, lot_count=40)
    assert not released(home, records, "B-1").is_measured_daily
    shop = replace(fixture_shop.example_shop(), inspection=wish)
    monkeypatch.setattr(Place, "shop", property(lambda _: shop))
    assert released(home, records, "B-2").is_measured_daily
    assert len(printed) == 4  # each batch's papers, and those without money
