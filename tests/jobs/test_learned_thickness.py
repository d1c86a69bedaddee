"""Thickness of coats by a gauge: what is proposed, where it is written, and what plans make of it."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest
import run_batches
from learning_year import folded
from msgspec import structs

from proveout.intake.shop_file import shop_from_text
from proveout.intake.toml_blocks import edited
from proveout.jobs.learning import lesson, puts_of
from proveout.jobs.plan_path import asked_in_shop, asked_of
from proveout.model.close_out import CloseOut, CoatRead
from proveout.model.coat_growth import growth_of
from proveout.model.events import Event
from proveout.model.fact import Fact
from proveout.model.learned import Proposal, key_of
from proveout.model.shop_events import ValueAccepted
from proveout.quantities.errors import BadInput

ORDERED = Fact(low=0.04, nominal=0.05, high=0.06, unit="mm", source="order to the finisher", strength="assumed")


def closed(number: int, *, middle_mm: float, uncertainty_mm: float | None = 0.001) -> CloseOut:
    """A batch of which one lot of eight pieces was read."""
    events: list[Event] = []
    run_batches.Run(events.append, f"B{number}").whole()
    whole = run_batches.closed(folded(events, f"B{number}"), events)
    pieces = tuple(map(float, middle_mm + 0.0005 * np.sin(np.arange(8.0) + number)))
    read = CoatRead(finisher="hard-coat", lot="L1", count=8, ordered=ORDERED, low=min(pieces), high=max(pieces),
                    mean=middle_mm, pieces=pieces, at_mm=0.05, uncertainty_mm=uncertainty_mm)  # fmt: skip
    return structs.replace(whole, coats=(read,))


@pytest.fixture(scope="module")
def some() -> list[CloseOut]:
    return [closed(n, middle_mm=0.052 + 0.0003 * (n % 3)) for n in range(8)]


def thickness(told: tuple[Proposal, ...]) -> Proposal | None:
    return next((one for one in told if one.key.kind == "thickness"), None)


def test_lots_that_are_alike_narrow_it_and_it_is_read_again_as_written(some: list[CloseOut]) -> None:
    shop = run_batches.shop()
    found = thickness(lesson(shop, some).proposals)
    assert found is not None
    assert found.key == key_of("thickness.hard-coat")
    assert ORDERED.low < found.now.low < 0.0518
    assert 0.0528 < found.now.high < ORDERED.high
    assert (found.pieces_count, found.events_count) == (64, 64)
    puts = puts_of(found.key, found.now, tomllib.loads(run_batches.SHOP_TEXT), at_mm=found.at_mm)
    text = edited(run_batches.SHOP_TEXT, puts)
    folder = run_batches.worked_home.SHOP_FILE.parent
    after = shop_from_text(text, file="shop.toml", folder=folder)
    own = next(one for one in after.finishers if one.id == "hard-coat")
    assert own.coat_thickness_at_mm == 0.05
    assert own.coat_thickness_mm is not None
    assert (own.coat_thickness_mm.low, own.coat_thickness_mm.high) == (found.now.low, found.now.high)
    assert own.coat_growth_mm is None
    accepted = ValueAccepted(shop=after.name, key=found.key.words, was=None, now=found.now, batches=found.batches,
                             pieces_count=64)  # fmt: skip
    assert thickness(lesson(after, some, accepted=(accepted,)).proposals) is None
    with pytest.raises(BadInput, match="read where one was asked for"):
        shop_from_text(edited(run_batches.SHOP_TEXT, puts[:1]), file="shop.toml", folder=folder)


def test_pieces_beyond_what_is_ordered_move_it_and_a_gauge_of_no_uncertainty_tells_nothing() -> None:
    shop = run_batches.shop()
    thick = thickness(lesson(shop, [closed(n, middle_mm=0.068 + 0.0005 * n) for n in range(4)]).proposals)
    assert thick is not None
    assert thick.now.high > ORDERED.high
    assert any("outside of what is written" in words for words in thick.cautions)
    told = lesson(shop, [closed(n, middle_mm=0.052, uncertainty_mm=None) for n in range(4)])
    assert thickness(told.proposals) is None
    assert any("thickness of its coat: no gauge" in words for words in told.silent)
    told = lesson(shop, [closed(n, middle_mm=0.052) for n in range(2)])
    assert any("thickness" in words and "2 of at least 3 batches" in words for words in told.silent)


def test_a_part_is_planned_by_the_thickness_that_comes_and_ordered_by_the_one_asked_for(tmp_path: Path) -> None:
    shop = run_batches.shop()
    read = Fact(low=0.05, nominal=0.06, high=0.07, unit="mm", source="batches of this shop", strength="measured here")
    coater = structs.replace(shop.finishers[0], coat_thickness_mm=read, coat_thickness_at_mm=0.05)
    (tmp_path / "a.step").write_text("ISO-10303-21;\n", encoding="utf-8")
    job = tmp_path / "a.toml"
    job.write_text(
        '[part]\nnumber = "A"\nstep = "a.step"\nalloy = "6061-T6"\n[order]\nquantity = 5\n[coat]\n'
        f'process = "hard coat"\nfinisher = "{coater.id}"\nthickness_mm = 0.05\nbuild_up_share = 0.5\netch_mm = 0\n',
        encoding="utf-8",
    )
    asked, _, _ = asked_of(job)
    (one,) = asked_in_shop(asked, structs.replace(shop, finishers=(coater,)), job)
    coat = one.job.coat
    assert coat is not None
    assert coat.thickness_mm.nominal == 0.05
    growth = growth_of(coat, depth_ratio=0.0)
    assert growth.build_up_mm == pytest.approx((0.025, 0.035))  # worked: half of 50 to 70 um
    assert growth.middle_mm == pytest.approx(0.03)
    # a bore 20.000 to 20.033 shrinks by 50 to 70 um
    window = growth.window("bore", 20.0, 20.033)
    assert (window.low_mm, window.high_mm) == pytest.approx((20.07, 20.083))
    # nobody reads the flanks of a thread: they bear what was asked for as well, 40 to 60 um by 80 to 120 %
    thread = growth_of(structs.replace(coat, thickness_mm=ORDERED), depth_ratio=0.0)
    wide, plain = (thread.window(size, 5.0, 5.4) for size in ("internal thread", "bore"))
    assert wide.width_mm == pytest.approx(0.4 - 4.0 * (0.035 - 0.020))
    assert plain.width_mm == pytest.approx(0.4 - 2.0 * (0.035 - 0.025))
    other = structs.replace(coater, coat_thickness_at_mm=0.03)
    (one,) = asked_in_shop(asked, structs.replace(shop, finishers=(other,)), job)
    assert one.job.coat is not None
    assert one.job.coat.comes_mm == one.job.coat.thickness_mm


def test_a_close_out_tells_pieces_what_was_asked_for_and_how_sure_the_gauge_is() -> None:
    from proveout.jobs.close_out import _by_piece
    from proveout.model.batch_events import ReadingTaken

    rows = [("1", 0.050), ("1", 0.052), ("", 0.049), ("", 0.053)]
    own = [ReadingTaken(step="coat", mark="coat", value=value, lot="L", piece=piece) for piece, value in rows]
    assert _by_piece(own) == pytest.approx((0.051, 0.049, 0.053))
