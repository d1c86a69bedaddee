"""The first look: told once, before any pass is laid, for one part alone; what it says and what it leaves unsaid."""

from __future__ import annotations

import re
from pathlib import Path

import msgspec
import pytest
from flows.small import JOB, SHOP, plan, write_job

from proveout.cli import main as door
from proveout.cli.first_look_words import HEAD, first_look_words
from proveout.jobs import rounds
from proveout.jobs.plan_path import plan_path
from proveout.model.plan import FirstLook
from proveout.model.pmi import PmiNote
from proveout.model.proof import Basis, prove
from proveout.model.run import Run


class PassesBegunError(Exception):
    """Raised in the stead of laying passes."""


def look_at(
    job: Path, out: Path, store: Path, monkeypatch: pytest.MonkeyPatch, *, shop: Path = SHOP
) -> list[FirstLook]:  # fmt: skip
    """Every look that was told before the first pass would have been laid; nothing after it is done."""

    def begun(*_: object) -> None:
        raise PassesBegunError

    monkeypatch.setattr(rounds, "_make", begun)
    told: list[FirstLook] = []
    with pytest.raises(PassesBegunError):
        plan_path(job, shop_path=shop, out=out, store_folder=store, run=Run(), show=told.append)
    return told


@pytest.fixture
def look(tmp_path: Path, store: Path, monkeypatch: pytest.MonkeyPatch) -> FirstLook:
    (told,) = look_at(write_job(tmp_path), tmp_path / "out", store, monkeypatch)
    return told


def test_the_look_is_told_once_and_before_any_pass_is_laid(
    tmp_path: Path, store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = look_at(write_job(tmp_path), tmp_path / "out", store, monkeypatch)
    assert len(told) == 1
    look = told[0]
    assert look.clampings
    assert look.outlook is not None
    assert set(look.outlook.cycle_s) == {c.id for c in look.clampings}
    assert all(work.moves_digest == "" and work.moves_count == 0 for work in look.passes)


def test_the_same_job_has_the_same_look(
    look: FirstLook, tmp_path: Path, store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (again,) = look_at(write_job(tmp_path / "again"), tmp_path / "out", store, monkeypatch)
    assert msgspec.json.encode(again) == msgspec.json.encode(look)


def test_no_look_is_told_of_an_order(tmp_path: Path, store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_job(tmp_path)
    order = tmp_path / "order.toml"
    order.write_text('name = "one"\n[[item]]\njob = "plate.toml"\nquantity = 10\n', encoding="utf-8")
    assert look_at(order, tmp_path / "out", store, monkeypatch) == []


def test_the_words_say_what_a_shop_asks_first(look: FirstLook) -> None:
    text = "\n".join(first_look_words(look, shop_is_assumed=False))
    flat = re.sub(r"\s+", " ", text)
    assert flat.startswith(HEAD)
    assert "rough" in HEAD
    assert "the plan that follows replaces them" in HEAD
    assert re.search(r"Clamping 1 [+-][xyz] up on \S+ in \S+ jaws: [\d.]+ to [\d.]+ min", flat)
    assert re.search(r"Work roughly [\d.]+ to [\d.]+ min a piece", flat)
    assert re.search(r"Price roughly [\d.]+ to [\d.]+ \S+ a piece, 40 pieces", flat)
    assert "Bar " in flat
    assert "A grip that forces lighter cuts takes longer" in flat
    assert 1 <= len(re.findall(r"min, mostly", text)) <= 3
    assert 1 <= len(re.findall(r"(?m)^\d\. ", text)) <= 5
    assert "starting shop" not in flat
    bare = msgspec.structs.replace(look, assumed=("No shop file, assumed: a mill of 500 mm.", "Unknown: the pivot"))
    told = [line for line in first_look_words(bare, shop_is_assumed=True) if line]
    assert (
        told.index("- A mill of 500 mm.")
        < told.index("- the pivot")
        < next(k for k, t in enumerate(told) if HEAD[:20] in t)
    )
    assert "starting shop printed above is assumed" in " ".join(told)


def test_what_fails_already_is_named_and_the_rest_counted(look: FirstLook) -> None:
    """Nobody shall wait for the plan to learn what no cut can mend."""
    proofs = tuple(
        prove(
            id=f"finishing:{n}", stage="finishing", subject=f"H9 on round {n}", claim="the size can be read",
            sense="at least", found_low=0.0, found_high=0.0, limit=1.0, unit="yes 1, no 0", blocks_release=True,
            basis=Basis(formula="f", source="own-algorithm"), remedy="write h9",
        )
        for n in range(5)
    )  # fmt: skip
    text = "\n".join(first_look_words(msgspec.structs.replace(look, failing=proofs), shop_is_assumed=False))
    flat = re.sub(r"\s+", " ", text)
    assert "Known already to keep it from being ready: fails: the size can be read (H9 on round 0)" in flat
    assert "Do: write h9" in flat
    assert "and 2 more, which the plan names" in flat
    assert "Known already" not in "\n".join(first_look_words(look, shop_is_assumed=False))


def test_ranges_run_from_the_lower_to_the_higher_end(look: FirstLook) -> None:
    assert look.piece_s is not None
    assert look.each is not None
    text = "\n".join(first_look_words(look, shop_is_assumed=False))
    pairs = [(float(a), float(b)) for a, b in re.findall(r"([\d.]+) to ([\d.]+)", text)]
    assert len(pairs) >= 3
    assert all(low < high for low, high in pairs)


def test_nothing_is_reckoned_for_a_metal_that_the_shop_does_not_know(
    tmp_path: Path, store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = write_job(tmp_path, job=JOB.replace("6061-T6", "Ti-6Al-4V"))
    shop = SHOP.read_text(encoding="utf-8").replace('alloy = "6061-T6"', 'alloy = "Ti-6Al-4V"')
    (tmp_path / "shop.toml").write_text(shop, encoding="utf-8")
    (told,) = look_at(job, tmp_path / "out", store, monkeypatch, shop=tmp_path / "shop.toml")
    assert told.outlook is None
    assert told.piece_s is None
    assert told.each is None
    text = re.sub(r"\s+", " ", " ".join(first_look_words(told, shop_is_assumed=False)))
    assert "Work not shown, nor the price: the figures of [material]" in text
    assert not re.search(r"\d min", text)


def test_a_part_that_nothing_holds_is_said_to_be_so(look: FirstLook) -> None:
    why = "this shop cannot hold the part: it is too wide"
    held = msgspec.structs.replace(look, clampings=(), outlook=None, piece_s=None, each=None, not_held=why)
    text = "\n".join(first_look_words(held, shop_is_assumed=False))
    assert f"none: {why}" in text
    assert "not shown, as no cut can be foreseen" in text


@pytest.mark.parametrize("quiet", [(), ("--quiet",)])
def test_the_command_line_tells_it_on_the_error_stream_unless_quiet(
    quiet: tuple[str, ...], tmp_path: Path, store: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    def begun(*_: object) -> None:
        raise PassesBegunError

    monkeypatch.setattr(rounds, "_make", begun)
    monkeypatch.setenv("PROVEOUT_STORE", str(store))
    job = write_job(tmp_path)
    door.main(["plan", str(job), "--shop", str(SHOP), "--out", str(tmp_path / "out"), *quiet])
    said = capsys.readouterr()
    assert ("First look" in said.err) == (not quiet)
    assert "First look" not in said.out


def test_the_plan_keeps_its_outlook_and_the_small_plate_lies_in_it(tmp_path: Path, store: Path) -> None:
    """Frozen in kind: what is fitted to other plans must hold for this one too."""
    (part,) = plan(write_job(tmp_path), tmp_path / "out", store=store).parts
    outlook, planned_s = part.plan.outlook, sum(part.plan.time.cycle_s.values())
    assert outlook is not None
    assert set(outlook.cycle_s) == set(part.plan.time.cycle_s)
    assert len(outlook.dear_faces) <= 3
    assert sum(s.low for s in outlook.cycle_s.values()) <= planned_s <= sum(s.high for s in outlook.cycle_s.values())


def test_what_the_step_file_writes_is_counted_with_what_is_not_used(look: FirstLook) -> None:
    notes = (
        PmiNote(kind="size", text="Ø6.6 ±0.1", status="used", balloons=(1, 2)),
        PmiNote(kind="size", text="30° ±1°", status="not used", why="the plan judges no angles", balloons=(4,)),
        PmiNote(kind="tolerance", text="flatness 0.1", status="not used", why="measure as drawn", balloons=(5,)),
    )
    told = first_look_words(msgspec.structs.replace(look, pmi=notes), shop_is_assumed=False)
    said = re.sub(r"\s+", " ", " ".join(told))
    assert "In the file 2 sizes and 1 geometric tolerance in the STEP file; 1 size used as if typed" in said
    assert "2 not judged by this plan: measure as drawn" in said
    assert "30° ±1° at 4: the plan judges no angles" in said
    assert "In the file" not in " ".join(first_look_words(look, shop_is_assumed=False))
