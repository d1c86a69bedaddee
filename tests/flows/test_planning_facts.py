"""What must follow when one thing about the small part or its shop changes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from flows.small import SHOP, THICK_MM, plan, write_job, write_plate

from proveout.jobs.drafting import new_shop
from proveout.model.plan import Plan

# worked: height of the blank above the part: strip in the jaws 4, cutter to jaw 1, overrun 0.5, clean-up of the top 1,
# section tolerance 0.35, bow 2 mm/m over the piece of 62.5 mm, twist 1.7 degrees/m over it and across the bar's 45 mm
ABOVE_MM = 4.0 + 1.0 + 0.5 + 1.0 + 0.35 + 2.0 * 0.0625 + 0.02967060 * 0.0625 * 45.0
# worked: 42 pieces (40 and two spares) of 62.47 + 1.8 mm from (3000 - 6 - 65 + 1.8) mm: 45 go into one bar, so one bar
KG_PER_MM2 = 3000.0 * 2.70e-6
EUR_PER_KG = 11.0
QUANTITY = 40


def _shop(folder: Path, *changes: tuple[str, str]) -> Path:
    text = SHOP.read_text(encoding="utf-8")
    for pattern, new in changes:
        text, count = re.subn(pattern, new, text, count=1, flags=re.MULTILINE)
        assert count == 1, pattern
    (folder / "shop.toml").write_text(text, encoding="utf-8")
    return folder / "shop.toml"


@pytest.fixture(scope="module")
def thinner(tmp_path_factory: pytest.TempPathFactory, store: Path) -> Plan:
    folder = tmp_path_factory.mktemp("thinner")
    return plan(write_job(folder), folder / "out", store=store).parts[0].plan


@pytest.fixture(scope="module")
def thicker(tmp_path_factory: pytest.TempPathFactory, store: Path) -> Plan:
    folder = tmp_path_factory.mktemp("thicker")
    return plan(write_job(folder, thick_mm=THICK_MM + 0.1), folder / "out", store=store).parts[0].plan


def test_the_small_part_is_ready(thinner: Plan) -> None:
    assert thinner.ready, [p.id for p in thinner.proofs if p.blocks_release and p.verdict != "holds"]
    assert thinner.not_cut == ()
    assert thinner.part.volume_mm3 == pytest.approx(60 * 40 * 12.9 - thinner_removed_mm3(), rel=1e-6)


def thinner_removed_mm3() -> float:
    """worked: two holes and the pocket with its four rounded corners."""
    pi = 3.14159265358979
    return 2 * pi * 3.3**2 * 12.9 + 4.0 * (26.0 * 16.0 - (4.0 - pi) * 5.0**2)


def test_a_tenth_of_a_millimetre_across_a_section_limit_takes_the_next_bar(thinner: Plan, thicker: Plan) -> None:
    assert THICK_MM + ABOVE_MM < 20.0 < THICK_MM + 0.1 + ABOVE_MM
    assert thinner.blank.chosen.bar_id == "45x20"
    assert thicker.blank.chosen.bar_id == "45x25"
    stack = sum(line.size_mm for line in thinner.blank.chosen.stack if line.side == "section height")
    assert stack == pytest.approx(THICK_MM + ABOVE_MM, abs=2e-6)


def test_the_next_bar_costs_what_its_section_weighs(thinner: Plan, thicker: Plan) -> None:
    for found, section_mm2 in ((thinner, 45 * 20), (thicker, 45 * 25)):
        material = next(line for line in found.cost.lines if line.text == "material")
        assert found.bars.bars_count == 1
        assert material.each.nominal == pytest.approx(section_mm2 * KG_PER_MM2 * EUR_PER_KG / QUANTITY, abs=5e-6)
    assert thicker.cost.each.nominal > thinner.cost.each.nominal + 5 * 45 * KG_PER_MM2 * EUR_PER_KG / QUANTITY


def test_the_extra_metal_takes_the_minutes_that_its_volume_says(thinner: Plan, thicker: Plan) -> None:
    """worked: 4.9 mm more above a top of 45 x 62.5 mm, faced off at the face mill's own depth, width and feed."""
    face = next(p for p in thicker.passes if p.kind == "face")
    feed_mm_per_s = face.tooth_feed_mm * 3 * face.speed_rad_per_s / 6.283185307
    least_s = 4.9 * 45.0 * 62.47 / (face.axial_mm * face.radial_mm * feed_mm_per_s)
    first = thinner.clampings[0].id
    assert thicker.clampings[0].id == first
    more_s = thicker.time.cycle_s[first] - thinner.time.cycle_s[first]
    assert least_s < more_s < 6.0 * least_s + 30.0


TOOTHED = r"(?<=^friction = \{ low = 0.38, nominal = 0.42, high = 0.45), source = .pull tests, ten of them."
CELL = r", source = .load cell between the jaws, ten closings., strength = .measured here. \}"


@pytest.mark.parametrize(
    ("pattern", "new", "lacking", "slugs"),
    [
        (TOOTHED, "", "has no source", ("grip",)),
        (r"^friction = .*pull tests.*$", "friction = 0.42", "has no lowest and highest", ("grip",)),
        (TOOTHED + r", strength = .measured here.", ', source = "pull tests", strength = "assumed"', "is only assumed",
         ("grip",)),
        (r"^friction = .*pull tests.*$", "", "ten pull tests", ("grip",)),
        (CELL, " }", "has no source",
         ("grip", "bearing", "vise rating", "squeezed flat", "slab between the jaws", "wall bent in", "wall yields")),
    ],
    ids=("friction without source", "a lone friction", "assumed friction", "no friction", "force without source"),
)  # fmt: skip
def test_without_the_source_of_what_holds_the_work_nothing_is_ready(
    tmp_path: Path, store: Path, thinner: Plan, pattern: str, new: str, lacking: str, slugs: tuple[str, ...]
) -> None:
    """Only the source is taken away, or the spread, or the strength; what it concerns is not shown, the rest holds."""
    shop = _shop(tmp_path, (pattern, new))
    found = plan(write_job(tmp_path), tmp_path / "out", shop=shop, store=store).parts[0].plan
    assert not found.ready
    open_now = {p.id: p for p in found.proofs if p.blocks_release and p.verdict != "holds"}
    first = thinner.clampings[0].id
    # the slab is asked for where a later clamping faces, walls where the jaws hold no strip of the bar
    later = ("slab between the jaws", "wall bent in", "wall yields")
    assert {f"holding:{first}:{slug}" for slug in slugs if slug not in later} <= set(open_now)
    for one in open_now.values():
        assert one.id.startswith("turning_over:" if one.id.endswith("slab between the jaws") else "holding:")
        assert one.id.rpartition(":")[2] in slugs
        assert (one.verdict, one.margin, one.tighten) == ("not shown", None, None)
        assert lacking in one.decides
    assert found.rounds[-1].tightened == ()
    assert any(lacking in question.text or "pull tests" in question.text for question in found.questions)


def test_with_the_starting_shop_no_jaw_force_is_shown(tmp_path: Path, store: Path) -> None:
    """Nobody measured its 15 to 20 kN: it is printed as assumed, and no grip, bearing or rating leans on it."""
    found = plan(write_plate(tmp_path / "plate.step"), tmp_path / "out", shop=None, store=store).parts[0].plan
    holding = [p for p in found.proofs if p.stage == "holding" and not p.id.endswith("rotary brake")]
    assert len(holding) >= 3 * len(found.clampings) > 0
    assert {p.verdict for p in holding} == {"not shown"}
    assert not found.ready
    for one in holding:
        assert "is only assumed: write where the value comes from" in one.decides
    assert any("preload 17.5 (15 to 20) kN, assumed" in line for line in found.assumed)


def test_a_shop_of_nothing_but_defaults_is_planned_with_its_papers(tmp_path: Path, store: Path) -> None:
    """As a newcomer does it: return at all ten questions, then a plan; only what nobody measured stands in the way."""
    new_shop(tmp_path / "mine.toml", answers={}, cutters_csv=None)
    found = plan(write_plate(tmp_path / "plate.step"), tmp_path / "out", shop=tmp_path / "mine.toml", store=store)
    made = found.parts[0].plan
    assert not found.ready
    assert made.not_cut == ()
    waiting = [p for p in made.proofs if p.blocks_release and p.verdict != "holds"]
    assert {p.stage for p in waiting} == {"holding", "turning_over", "loads"}
    assert {p.verdict for p in waiting} == {"not shown"}
    assert any(line.startswith("mine.toml: [saw] marked as assumed: ") for line in made.assumed)
    for name in ("plan.json", "plan.html", "papers.pdf", "bars.csv", "clamping-1.svg"):
        assert (tmp_path / "out" / name).stat().st_size > 0
    page = (tmp_path / "out" / "plan.html").read_text(encoding="utf-8")
    assert page.count("mine.toml: [saw] marked as assumed: ") == 1


def test_smooth_jaws_on_the_raw_bar_ask_for_lighter_cuts(tmp_path: Path, store: Path) -> None:
    """The toothed jaws are taken out of the shop, so that only the smooth ones are left for the raw bar."""
    text = SHOP.read_text(encoding="utf-8")
    start = text.index('[[jaws]]\nid = "toothed"')
    (tmp_path / "shop.toml").write_text(text[:start] + text[text.index("[[jaws]]", start + 1) :], encoding="utf-8")
    found = plan(write_job(tmp_path), tmp_path / "out", shop=tmp_path / "shop.toml", store=store).parts[0].plan
    assert found.clampings[0].jaws_id == "smooth"
    first = found.rounds[0]
    assert any(name.startswith("holding:c1") and ":grip" in name for name in first.failing), first.failing
    assert first.tightened
    assert found.rounds[-1].piece_s > 1.2 * first.piece_s
