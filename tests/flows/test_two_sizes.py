"""Several sizes written at one balloon: a bore with a tapped bottom, from the job file to the papers."""

from __future__ import annotations

from pathlib import Path

import pytest
from flows.small import JOB, LONG_MM, SHOP, THICK_MM, WIDE_MM, plan
from shapes import box, drilled

from proveout.model.plan import Plan

COMMON = "life_min = 400, price = 11"
MORE_CUTTERS = f"""cutter = [
    {{ id = "DR5.0", kind = "drill", diameter_mm = 5, flutes = 2, flute_length_mm = 32, stick_out_mm = 41, \
tip_angle_deg = 118, cutting_speed_m_per_min = 90, tooth_feed_mm = 0.055, speed_max_rpm = 15000, {COMMON} }},
    {{ id = "TP-M6", kind = "tap", diameter_mm = 6, flutes = 3, flute_length_mm = 18, stick_out_mm = 40, \
pitch_mm = 1, cutting_speed_m_per_min = 15, tooth_feed_mm = 0.3333, speed_max_rpm = 3000, {COMMON} }},
"""
MORE_GAUGES = (
    '[[gauge]]\nid = "plug-M6"\nkind = "thread plug"\nlow_mm = 6\nhigh_mm = 6\nuncertainty_mm = 0.005\n\n[bench]'
)
COAT = """[coat]
process = "black hard coat"
thickness_mm = { low = 0.040, nominal = 0.050, high = 0.060, source = "invented", strength = "owner's guess" }
build_up_share = { low = 0.45, nominal = 0.50, high = 0.55, source = "invented", strength = "owner's guess" }
finisher = "hard-coat"
"""


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory, store: Path) -> Plan:
    """A plate with a bore 16 mm, 6 deep, and 5 mm through its bottom, written as a bore and a thread."""
    from proveout.solids.shapes import sub_shapes
    from proveout.solids.step import write_step

    folder = tmp_path_factory.mktemp("two")
    shape = box(LONG_MM, WIDE_MM, THICK_MM)
    for dia, deep in ((16.0, 6.0), (5.0, 50.0)):
        at = (LONG_MM / 2.0, WIDE_MM / 2.0, THICK_MM)
        shape = drilled(shape, at=at, along=(0.0, 0.0, -1.0), dia=dia, deep=deep)
    write_step(sub_shapes(shape, "solid")[0], folder / "plate.step", name="bored")
    shop = SHOP.read_text(encoding="utf-8").replace("cutter = [\n", MORE_CUTTERS, 1)
    (folder / "shop.toml").write_text(shop.replace("[bench]", MORE_GAUGES, 1), encoding="utf-8")
    job = folder / "plate.toml"
    job.write_text(f'{JOB}1 = "16 H11 mask; M6 6H mask"\n{COAT}', encoding="utf-8")
    return plan(job, folder / "out", shop=folder / "shop.toml", store=store).parts[0].plan


def test_bore_and_thread_at_one_balloon_have_a_window_and_a_line_each(planned: Plan) -> None:
    """Printed: 16 H11 is 16.000 to 16.110, the pitch diameter of M6 6H 5.350 to 5.500; both are masked.

    Worked: a caliper of 0.03 mm can tell the bore to 0.110 / 0.060 only, so no gauge is named for it.
    """
    found = {w.mark: (w.kind, w.text, w.before_low_mm, w.before_high_mm) for w in planned.finishing.windows}
    assert found == {
        "1": ("hole", "16 H11 mask", 16.0, 16.11),
        "1b": ("thread", "M6 6H mask", 5.35, 5.5),
    }
    faces = [set(w.face_ids) for w in planned.finishing.windows]
    assert not faces[0] & faces[1]
    gauges = [(line.balloon, line.text, line.gauge) for line in planned.inspection]
    assert gauges == [(1, "16 H11 mask", ""), (1, "M6 6H mask", "plug-M6")]


def test_the_proofs_of_both_sizes_keep_apart(planned: Plan) -> None:
    ids = [proof.id for proof in planned.proofs]
    assert len(set(ids)) == len(ids)
    assert {"finishing:1:window-is-open", "finishing:1b:window-is-open", "finishing:1b:thread-takes-its-screw"} <= {
        *ids
    }
    assert {"inspection:1:gauge-can-tell", "inspection:1b:gauge-can-tell"} <= {*ids}
    assert {p.verdict for p in planned.proofs if p.id == "finishing:1b:thread-takes-its-screw"} == {"holds"}


def test_the_thread_is_tapped_in_the_narrow_step_and_both_are_plugged(planned: Plan) -> None:
    assert [one.cutter_id for one in planned.passes if one.kind == "tap"] == ["TP-M6"]
    assert planned.finishing.plugs == ("1: 16 H11, through: plug", "1: M6 6H, through: plug")


def test_the_bore_is_milled_round_and_can_be_held_so(planned: Plan) -> None:
    """Worked: 16 H11 is 0.110 wide and an end mill that goes round spreads over at most 0.030."""
    (found,) = [proof for proof in planned.proofs if proof.id.endswith("made-as-it-can-be-held")]
    assert (found.id, found.verdict) == ("inspection:1:made-as-it-can-be-held", "holds")
    assert (found.found_high, found.limit) == (0.03, 0.11)
    assert "milled round with EM12" in found.claim


def test_thin_work_is_held_against_the_jaw_force_in_every_clamping(planned: Plan) -> None:
    found = [proof for proof in planned.proofs if proof.id.endswith(":squeezed flat")]
    assert len(found) == len(planned.clampings) == 2
    assert {proof.verdict for proof in found} == {"holds"}
    # b h³ / 12 by hand, of the weakest section from jaw to jaw: in op 1 the strip of 4 mm beside the work that is cut
    # free, in op 2 the part alone across its bore
    strip, part = sorted(proof.basis.inputs["I, least from jaw to jaw"].nominal for proof in found)
    assert LONG_MM * 4.0**3 / 12.0 < strip < (LONG_MM + 3.0) * 5.0**3 / 12.0
    across_the_bore = (LONG_MM - 16.0) * THICK_MM**3 / 12.0
    assert 0.9 * across_the_bore < part < across_the_bore
