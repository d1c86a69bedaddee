"""Growth of a coat by readings before and after: what is proposed, what is silent, and what plans make of it."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import msgspec
import pytest
import run_batches
from learning_year import folded

from proveout.intake.shop_file import shop_from_text
from proveout.intake.toml_blocks import edited
from proveout.jobs.learning import lesson, puts_of
from proveout.jobs.plan_path import asked_in_shop, asked_of
from proveout.model.close_out import CloseOut
from proveout.model.events import Event
from proveout.model.fact import Fact
from proveout.model.learned import Proposal
from proveout.model.shop_events import ValueAccepted
from proveout.quantities.errors import BadInput


def closed(number: int, **asked: Any) -> CloseOut:
    events: list[Event] = []
    run_batches.Run(events.append, f"B{number}").whole(**asked)
    return run_batches.closed(folded(events, f"B{number}"), events)


@pytest.fixture(scope="module")
def dozen() -> list[CloseOut]:
    """Twelve lots that scatter by a micrometre about 22 a surface."""
    changes = 2 * (-0.0435, -0.0445, -0.0440, -0.0450, -0.0430, -0.0440)
    return [closed(number, growth_mm=change) for number, change in enumerate(changes)]


def growth(told: tuple[Proposal, ...]) -> Proposal | None:
    return next((one for one in told if one.key.kind == "growth"), None)


def test_a_close_out_tells_the_growth_of_one_surface() -> None:
    """Worked: a bore that shrinks by 44 um has grown 22 on each side; its gauge reads to 1, a difference to 1.414."""
    (grown,) = closed(0, growth_mm=-0.044).grown
    assert grown.surface is not None
    ((lot, values),) = grown.surface.lots
    assert lot == ""
    assert values == pytest.approx((0.022,) * 4)
    assert grown.surface.uncertainty_mm == pytest.approx(0.001 * 2.0**0.5 / 2.0)
    assert grown.surface.thickness_mm == 0.05


def test_lots_that_are_alike_narrow_it_and_it_is_read_again_as_written(dozen: list[CloseOut]) -> None:
    shop = run_batches.shop()
    found = growth(lesson(shop, dozen).proposals)
    assert found is not None
    assert found.was is None
    assert found.taken.low < found.now.low < 0.0215
    assert 0.0225 < found.now.high < found.taken.high
    assert found.now.high - found.now.low > 2.0 * 0.001 * 2.0**0.5 / 2.0  # never closer than the gauge reads
    assert found.now.strength == "measured here"
    assert "99 % of pieces at 95 % confidence" in found.how
    puts = puts_of(found.key, found.now, tomllib.loads(run_batches.SHOP_TEXT), at_mm=found.at_mm)
    text = edited(run_batches.SHOP_TEXT, puts)
    assert [line for line in run_batches.SHOP_TEXT.splitlines() if "#" in line and line not in text] == []
    after = shop_from_text(text, file="shop.toml", folder=run_batches.worked_home.SHOP_FILE.parent)
    (own,) = [one for one in after.finishers if one.id == "hard-coat"]
    assert own.coat_growth_at_mm == 0.05
    assert own.coat_growth_mm is not None
    assert (own.coat_growth_mm.low, own.coat_growth_mm.high) == (found.now.low, found.now.high)
    accepted = ValueAccepted(shop=after.name, key=found.key.words, was=None, now=found.now, batches=found.batches,
                             pieces_count=48)  # fmt: skip
    assert growth(lesson(after, dozen, accepted=(accepted,)).proposals) is None


def test_few_lots_or_a_coarse_gauge_leave_it_as_it_is_written(dozen: list[CloseOut]) -> None:
    shop = run_batches.shop()
    told = lesson(shop, dozen[3:6])
    assert growth(told.proposals) is None
    assert any("3 lots leave it as open as what is written" in words for words in told.silent)
    told = lesson(shop, dozen[:2])
    assert any("growth" in words and "2 of at least 3 batches" in words for words in told.silent)
    coarse = []
    for one in dozen:
        (grown,) = one.grown
        assert grown.surface is not None
        surface = msgspec.structs.replace(grown.surface, uncertainty_mm=0.004)
        coarse.append(msgspec.structs.replace(one, grown=(msgspec.structs.replace(grown, surface=surface),)))
    assert growth(lesson(shop, coarse).proposals) is None


def test_pieces_outside_of_what_is_written_widen_or_move_it_and_say_so() -> None:
    """Three lots at 29 um where 18.5 to 25 are written: however few they are, what is written is not left alone."""
    told = lesson(run_batches.shop(), [closed(n, growth_mm=-0.058 - 0.001 * n) for n in range(3)])
    found = growth(told.proposals)
    assert found is not None
    assert found.now.low < 0.029 < found.now.high
    assert found.now.high > found.taken.high
    assert any("outside of what is written" in words for words in found.cautions)


def test_a_part_that_is_asked_for_is_planned_by_what_was_read(tmp_path: Path) -> None:
    shop = run_batches.shop()
    read = Fact(low=0.02, nominal=0.022, high=0.024, unit="mm", source="batches of this shop", strength="measured here")
    coater = msgspec.structs.replace(shop.finishers[0], coat_growth_mm=read, coat_growth_at_mm=0.05)
    (tmp_path / "a.step").write_text("ISO-10303-21;\n", encoding="utf-8")
    job = tmp_path / "a.toml"
    job.write_text(
        '[part]\nnumber = "A"\nstep = "a.step"\nalloy = "6061-T6"\n[order]\nquantity = 5\n[coat]\n'
        f'process = "hard coat"\nfinisher = "{coater.id}"\nthickness_mm = 0.05\nbuild_up_share = 0.5\n',
        encoding="utf-8",
    )
    asked, _, _ = asked_of(job)
    (one,) = asked_in_shop(asked, msgspec.structs.replace(shop, finishers=(coater,)), job)
    assert one.job.coat is not None
    assert one.job.coat.grown_mm == read


def test_a_growth_alone_without_its_thickness_is_refused() -> None:
    """Nothing is taken to grow at one thickness what it was read to grow at another."""
    fact = Fact(low=0.02, nominal=0.021, high=0.022, unit="mm", source="x", strength="measured here")
    raw = tomllib.loads(run_batches.SHOP_TEXT)
    key = next(one.key for one in lesson(run_batches.shop(), [closed(n, growth_mm=-0.058) for n in range(3)]).proposals
               if one.key.kind == "growth")  # fmt: skip
    with pytest.raises(BadInput, match="stands in no shop file"):
        puts_of(key, fact, raw)
    puts = puts_of(key, fact, raw, at_mm=0.05)
    with pytest.raises(BadInput, match="read at a thickness"):
        shop_from_text(edited(run_batches.SHOP_TEXT, puts[:1]), file="shop.toml",
                       folder=run_batches.worked_home.SHOP_FILE.parent)  # fmt: skip
