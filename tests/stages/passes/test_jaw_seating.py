"""Work at both ends of its size in a pocket of soft jaws."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from jaw_parts import BLOCK, block, clamping, of_block, round_work, shaped

from proveout.jobs.jaw_files import jaws_solid
from proveout.sheets.jaw_drawing import jaw_drawing
from proveout.solids.measure import volume_of
from proveout.stages.passes.jaw_outline import outline_of
from proveout.stages.passes.jaw_seating import pressed_mm, seating_proof
from proveout.stages.removal_check.jaw_forms import jaws_as_wanted

OUTLINE = outline_of(work=block(), target=block(), clamping=BLOCK)


def test_a_block_goes_in_at_both_ends_of_its_size() -> None:
    """Worked: 60 +- 0.3 grows by 0.15 a side; against the stop it ends 0.3 further right, where 0.5 is free."""
    form = shaped(block(), BLOCK)
    assert pressed_mm(form, OUTLINE, 0.15) == pytest.approx(0.0, abs=1e-6)
    assert pressed_mm(form, OUTLINE, -0.15) == pytest.approx(0.0, abs=1e-6)
    proof = seating_proof(form, OUTLINE, "m")
    assert (proof.verdict, proof.blocks_release) == ("holds", False)
    assert "0.150 mm a side" in proof.basis.formula


def test_work_longer_than_the_open_end_bears_on_it() -> None:
    """Worked: 0.3 a side stands out 0.6 at the end away from the stop, 0.1 more than is free."""
    assert pressed_mm(shaped(block(), BLOCK), OUTLINE, 0.3) == pytest.approx(0.1, abs=2e-3)


def test_a_larger_round_bears_on_the_sides_of_its_pocket() -> None:
    """Worked: radius 20.15 against the wall of a pocket of radius 20: at the jaw's face, 3 mm up, it stands out by
    the root of 20.15^2 - 17.15^2 less that of 20^2 - 17^2, sideways; squarely to the wall 0.15 (1 - cos)."""
    held = clamping(length_mm=40.0, gap_mm=40.0, patch_mm=20.0)
    body = round_work(40.0)
    form = shaped(body, held)
    outline = outline_of(work=body, target=body, clamping=held)
    deepest = 0.15 * (1.0 - (20.0 - form.bite_mm) / 20.0)
    assert pressed_mm(form, outline, 0.15) == pytest.approx(deepest, rel=0.25)
    assert (seating_proof(form, outline, "m").verdict == "holds") == (pressed_mm(form, outline, 0.15) <= 0.02)


def test_without_a_general_tolerance_it_is_not_shown() -> None:
    proof = seating_proof(shaped(block(), BLOCK), OUTLINE, "")
    assert proof.verdict == "not shown"
    assert "general tolerance" in proof.decides


def test_the_solid_of_the_jaws_is_what_the_replay_compares_with() -> None:
    """By volume, above the 2 mm below the step that the replay's target has; arcs against fine chords."""
    (form,) = of_block().value.forms
    wanted = jaws_as_wanted(form)
    more = (form.below_mm - 2.0) * (form.high_mm - form.low_mm) * form.thickness_mm * 2.0
    assert volume_of(jaws_solid(form)) == pytest.approx(wanted.volume_mm3 + more, rel=2e-5)


def test_the_drawing_tells_the_sizes_to_cut_by(tmp_path: Path) -> None:
    (form,) = of_block().value.forms
    text = jaw_drawing(form, title="EX-1 clamping 2: soft jaws")
    (tmp_path / "jaws.svg").write_text(text, encoding="utf-8")
    words = {e.text for e in ET.parse(tmp_path / "jaws.svg").iter() if e.text}  # noqa: S314 - our own file
    assert {f"{form.gap_mm:.2f}", f"{form.depth_mm:.2f}", f"{form.bite_mm:.2f}", "fixed jaw", "moving jaw"} <= words
    assert f"slug {form.slug_width_mm:.2f}" in words
