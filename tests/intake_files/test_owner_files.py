"""The owner's files say what they say: units, intervals, unknowns, defaults."""

from __future__ import annotations

import math
import re
import tomllib
from pathlib import Path

import msgspec
import pytest

from proveout.intake.cutters_csv import columns_words, cutter_rows
from proveout.intake.job_file import check_job_in_shop, job_from_step, job_from_text, read_job, step_of_job
from proveout.intake.order_file import is_order_text, jobs_of_order, read_order
from proveout.intake.shop_file import read_shop, shop_from_text
from proveout.intake.shop_sentences import check_words
from proveout.intake.shop_words import CUTTER
from proveout.intake.starting_shop import starting_shop, starting_shop_text
from proveout.model.cutter_pieces import body_pieces, cutting_pieces
from proveout.quantities.errors import BadInput

EXAMPLES = Path(__file__).parents[2] / "examples"
SHOP_TEXT = (EXAMPLES / "shop.toml").read_text(encoding="utf-8")
# without its masks and pins: the tests write their own
JAW_TEXT = (EXAMPLES / "jaw.toml").read_text(encoding="utf-8").partition("\n[masked]")[0]


def changed(old: str, new: str, text: str = SHOP_TEXT) -> str:
    assert old in text
    return text.replace(old, new, 1)


def test_a_spindles_torque_is_read_by_its_speeds() -> None:
    """Worked. 3000 1/min are 100 pi rad/s, 20 N m are 20 000 N mm."""
    more = "power_kw = 15\ntorque_speeds_rpm = [3000, 9000]\ntorques_n_m = [20, 12]"
    mill = shop_from_text(changed("power_kw = 15", more)).machines[0]
    assert mill.torque_curve == (
        (pytest.approx(100.0 * math.pi), pytest.approx(20_000.0)), (pytest.approx(300.0 * math.pi), 12_000.0),
    )  # fmt: skip


def test_trade_units_become_the_units_inside() -> None:
    # worked: 12000 1/min = 400 pi rad/s; 15 kW = 15e6 mW; 24 m/min = 400 mm/s; 3 m/s2 = 3000 mm/s2
    shop = read_shop(EXAMPLES / "shop.toml")
    mill = shop.machines[0]
    assert mill.speed_max_rad_per_s == pytest.approx(400.0 * math.pi)
    assert mill.power_mw == 15.0e6
    assert mill.rapid_mm_per_s == pytest.approx(400.0)
    assert mill.feed_max_mm_per_s == pytest.approx(200.0)
    assert mill.accel_mm_per_s2 == 3000.0
    assert (mill.jerk_mm_per_s3, mill.corner_jump_mm_per_s) == (50_000.0, pytest.approx(20.0))
    assert mill.setup_s == 2400.0
    assert mill.torque_curve == ()
    assert mill.rotary is not None
    assert mill.rotary.a_high_rad == pytest.approx(math.radians(110.0))
    assert mill.rotary.brake_torque_n_mm is not None
    assert mill.rotary.brake_torque_n_mm.low == 420_000.0
    vise = shop.vises[0]
    assert vise.preload_n is not None
    assert (vise.preload_n.low, vise.preload_n.high, vise.preload_n.unit) == (15_000.0, 20_000.0, "N")
    assert vise.torque_n_mm == 60_000.0
    # worked: 350 m/min = 5833.33 mm/s; 80 cm2/min = 133.33 mm2/s; 2.70 g/cm3 = 2.70e-6 kg/mm3
    cutter = next(one for one in shop.cutters if one.id == "EM12")
    assert cutter.cutting_speed_mm_per_s == pytest.approx(350_000.0 / 60.0)
    assert cutter.life_s == 18_000.0
    assert shop.saw.rate_mm2_per_s == pytest.approx(8000.0 / 60.0)
    assert shop.density_kg_per_mm3 == pytest.approx(2.70e-6)


def test_inches_are_accepted_key_by_key() -> None:
    bars = {bar.id: bar for bar in read_shop(EXAMPLES / "shop.toml").bars}
    assert bars["4x1.5in"].width_mm == 101.6
    assert bars["4x1.5in"].height_tolerance_mm == 0.3556
    assert bars["100x40"].width_mm == 100.0
    wide = shop_from_text(changed("travel_x_mm = 600", "travel_x_in = 24"))
    assert wide.machines[0].travel_mm[0] == 609.6


def test_a_plain_number_counts_as_the_owners_guess() -> None:
    shop = shop_from_text(changed("load_s = { low = 20, nominal = 30, high = 45, source", "load_s = 30 # { source"))
    assert shop.bench.load_s.low == shop.bench.load_s.high == 30.0
    assert shop.bench.load_s.strength == "owner's guess"
    assert shop.bench.gauging_s.strength == "owner's guess"
    assert shop.bench.blast_s.strength == "measured here"


SOURCED = 'friction = { low = 0.25, nominal = 0.35, high = 0.43, source = "chuck_clamping_table", strength = "common'


@pytest.mark.parametrize(
    ("old", "new", "source", "why"),
    [
        (SOURCED, SOURCED, "shop-file: chuck_clamping_table", ""),
        (SOURCED, SOURCED.replace('source = "chuck_clamping_table", ', ""), "shop-file", "has no source"),
        (SOURCED, SOURCED.replace("chuck_clamping_table", " "), "shop-file", "has no source"),
        (SOURCED + ' practice" }', "friction = 0.35", "shop-file", "has no source and has no lowest and highest value"),
        (
            SOURCED,
            SOURCED.replace("low = 0.25, nominal = 0.35, high = 0.43", "low = 0.35, nominal = 0.35, high = 0.35"),
            "shop-file: chuck_clamping_table",
            "has no lowest and highest value",
        ),
        (
            SOURCED + " practice",
            SOURCED.replace("common", "assumed"),
            "shop-file: chuck_clamping_table",
            "only assumed",
        ),
    ],
)
def test_only_a_written_source_and_a_spread_make_a_friction_known(old: str, new: str, source: str, why: str) -> None:
    """The file's own key stands before what the owner wrote, so that nobody takes it for a source that was opened."""
    shop = shop_from_text(changed(old, new))
    friction = shop.jaws[0].friction_ratio
    assert friction is not None
    assert friction.source == source
    assert friction.is_backed == (not why)
    said = [words for words in check_words(shop) if words.startswith("Counts as unknown: the friction of toothed")]
    assert bool(said) == bool(why)
    assert all(why in words for words in said)


def test_what_the_job_says_of_a_coat_is_the_jobs() -> None:
    job = read_job(EXAMPLES / "jaw.toml")
    assert job.coat is not None
    assert job.coat.thickness_mm.source == "job-file: the finisher's own word"


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ("friction = { low = 0.25", "Unknown: the friction of toothed."),
        ("brake_torque_n_m = ", "Unknown: the torque that the brake of mill-5 holds."),
        ("pivot_error_mm = ", "Unknown: the measured pivot of mill-5"),
        ("preload_kn = ", "Unknown: the preload of vise-5."),
        ("blank_height_mm = ", "Unknown: thickness and height of soft before they are cut."),
    ],
)
def test_what_is_left_out_stays_unknown_and_is_said(line: str, sentence: str) -> None:
    assert not [words for words in check_words(shop_from_text(SHOP_TEXT)) if words.startswith("Unknown")]
    lines = changed(line, "# " + line).splitlines()
    shop = shop_from_text("\n".join(line for line in lines if not line.startswith("chart_")))
    assert [words for words in check_words(shop) if words.startswith(sentence)]
    assert not [words for words in shop.assumed if "friction" in words or "preload" in words or "pivot" in words]


def test_a_rated_speed_left_out_is_unknown() -> None:
    shop = shop_from_text(changed("speed_max_rpm = 9000, ", ""))
    assert shop.cutters[-1].speed_max_rad_per_s is None
    assert any(words.startswith("Unknown: the rated speed of UC32-20.") for words in check_words(shop))


def test_a_head_of_unknown_strength_is_said() -> None:
    shop = shop_from_text(changed("bending_strength_mpa = 2500, ", ""))
    assert shop.cutters[-1].bending_strength_mpa is None
    said = [words for words in check_words(shop) if words.startswith("Unknown")]
    assert said == ["Unknown: the bending strength of UC32-20. Nothing shows that the neck bears its cuts."]


def test_a_neck_lies_between_head_and_shank() -> None:
    """Worked: the flank of 26 with a neck of 10 up to 34, its shank of 20 from there to the holder at 38."""
    told = "shank_diameter_mm = 20, neck_diameter_mm = 10, neck_length_mm = 8, bending"
    cutter = shop_from_text(changed("shank_diameter_mm = 12, bending", told)).cutters[-1]
    neck, shank, holder = body_pieces(cutter)
    assert (neck.z_low_mm, neck.z_high_mm, neck.r_low_mm, neck.r_high_mm) == (26.0, 34.0, 5.0, 5.0)
    assert (shank.z_low_mm, shank.z_high_mm, shank.r_low_mm, shank.r_high_mm) == (34.0, 38.0, 10.0, 10.0)
    assert holder.z_low_mm == 38.0
    assert (cutter.shank_from_mm, cutter.neck_or_shank_mm) == (34.0, 10.0)
    bare = shop_from_text(SHOP_TEXT).cutters[-1]
    assert (bare.shank_from_mm, bare.neck_or_shank_mm, len(body_pieces(bare))) == (26.0, 12.0, 2)


def test_a_whole_crib_unrated_is_said_in_one_word_and_a_small_one_by_name() -> None:
    shop = shop_from_text(re.sub(r"speed_max_rpm = \d+, ", "", SHOP_TEXT))
    many = [cutter for cutter in shop.cutters if cutter.speed_max_rad_per_s is None]
    assert many == list(shop.cutters)
    assert any(f"the rated speed of every cutter ({len(many)})." in words for words in check_words(shop))
    few = msgspec.structs.replace(shop, cutters=shop.cutters[:2])
    assert any("the rated speed of FM50 and EM16." in words for words in check_words(few))


def test_a_gauge_of_one_size_says_it_once_and_a_tolerance_its_thousandths() -> None:
    said = " ".join(check_words(shop_from_text(SHOP_TEXT)))
    assert "plug-M6 (thread plug, 6 mm," in said
    assert "1.1176" not in said


def test_every_default_is_listed() -> None:
    shop = shop_from_text(changed("resolution_mm = 0.001\n", "").replace("handling_s = 40\n", "", 1), file="shop.toml")
    assert shop.assumed == (
        'shop.toml: machine "mill-5": smallest step a program can ask for is not given; 0.001 mm is assumed.',
        "shop.toml: saw: hand time for one stroke of the saw is not given; 30 s is assumed.",
    )
    assert read_shop(EXAMPLES / "shop.toml").assumed == ()


def test_a_key_above_the_rows_yields_to_the_row() -> None:
    bars = {bar.id: bar for bar in read_shop(EXAMPLES / "shop.toml").bars}
    assert bars["100x40"].lengths_mm == (3000.0, 5000.0)
    assert bars["cf-1x1in"].lengths_mm == (3000.0,)
    # the row has its bow in inch a foot, above it stands one in mm a metre: 0.0125 in/ft = 1.0417 mm/m (worked)
    assert bars["cf-1x1in"].bow_mm_per_m == pytest.approx(0.0125 / 12.0 * 1000.0)
    assert bars["100x40"].bow_mm_per_m == 2.0


def test_the_example_shop_is_the_one_described() -> None:
    shop = read_shop(EXAMPLES / "shop.toml")
    tilting, plain = shop.machines
    assert (tilting.kind, tilting.travel_mm, tilting.pockets_count) == ("3+2", (600.0, 450.0, 400.0), 30)
    assert (plain.kind, plain.vises_count, plain.pockets_count) == ("3-axis", 2, 20)
    assert (shop.saw.bundle_width_mm, shop.saw.bundle_height_mm) == (220.0, 150.0)
    assert (shop.saw.kerf_mm, shop.saw.trim_mm, shop.saw.tail_mm, shop.saw.length_tolerance_mm) == (1.8, 6.0, 65.0, 0.2)
    coat, laser = shop.finishers
    assert (coat.lot_minimum, coat.price_each, coat.days_low, coat.days_high) == (300.0, 6.5, 6, 8)
    assert (coat.pickup_weekdays, laser.pickup_weekdays, laser.lot_minimum) == ((3,), (1, 4), 120.0)
    assert 28 <= len(shop.cutters) <= 32
    assert {jaws.kind: jaws.for_surface for jaws in shop.jaws} == {
        "toothed": "raw",
        "smooth": "any",
        "soft": "finished",
    }
    assert [(jaws.blank_thickness_mm, jaws.blank_height_mm) for jaws in shop.jaws if jaws.kind == "soft"] == [(25, 40)]
    assert any(words.startswith("Jaws soft: soft, 25 thick, 40 high, ") for words in check_words(shop))
    assert shop.people_count == 2


def test_every_cutter_has_an_outline() -> None:
    for shop in (read_shop(EXAMPLES / "shop.toml"), starting_shop()):
        for cutter in shop.cutters:
            assert cutting_pieces(cutter)
            assert body_pieces(cutter)[-1].z_low_mm == cutter.stick_out_mm


def test_the_table_of_cutters_gives_the_crib_of_the_shop() -> None:
    rows = cutter_rows((EXAMPLES / "cutters.csv").read_text(encoding="utf-8"))
    lines = "\n".join("{ " + ", ".join(f'{k} = "{v}"' if isinstance(v, str) else f"{k} = {v}" for k,
        v in row.items()) + " },"
                      for row in rows)  # fmt: skip
    start, end = SHOP_TEXT.index("cutter = [\n"), SHOP_TEXT.index("[rack]")
    shop = shop_from_text(f"{SHOP_TEXT[:start]}cutter = [\n{lines}\n]\n{SHOP_TEXT[end:]}")
    assert shop.cutters == read_shop(EXAMPLES / "shop.toml").cutters


def test_a_table_with_semicolons_may_use_decimal_commas() -> None:
    text = "id;kind;diameter_mm;flutes;flute_length_mm;stick_out_mm;cutting_speed_m_per_min;tooth_feed_mm\n"
    rows = cutter_rows(text + "A1;end mill;6,35;3;12,5;20;300;0,05\n")
    assert rows[0]["diameter_mm"] == 6.35
    assert rows[0]["flutes"] == 3


def test_every_column_is_described() -> None:
    described = columns_words()
    assert len(described) == len(CUTTER.words)
    assert described[3].startswith("diameter_mm or diameter_in (needed): cutting diameter;")


def test_the_starting_shop_lists_every_line_as_assumed() -> None:
    shop = starting_shop()
    words = "\n".join(shop.assumed)
    things = [*shop.machines, *shop.vises, *shop.jaws, *shop.cutters, *shop.finishers, *shop.gauges]
    for thing in things:
        assert thing.id in words
    for bar in shop.bars:
        assert bar.id.removesuffix("in") in words
    for word in ("Saw: ", "Hand work, each piece", "Hand work, each design", "Metal: ", "prices are in", "shift of"):
        assert word in words
    said = ("No shop file, assumed: ", "Unknown: ", "Counts as unknown: ")
    assert all(line.startswith(said) for line in shop.assumed)
    assert "Counts as unknown: the preload of vise-3 is only assumed." in words


def test_the_starting_shop_reaches_far_enough_and_guesses_no_measurement() -> None:
    shop = starting_shop()
    for machine in shop.machines:
        assert all(found >= wanted for found, wanted in zip(machine.travel_mm, (500.0, 400.0, 400.0), strict=True))
    assert {machine.kind for machine in shop.machines} == {"3-axis", "3+2"}
    rotary = shop.machines[0].rotary
    assert rotary is not None
    assert rotary.pivot_in_machine_mm is None
    assert rotary.brake_torque_n_mm is None
    assert all(cutter.speed_max_rad_per_s is None for cutter in shop.cutters)
    drills = {cutter.diameter_mm for cutter in shop.cutters if cutter.kind == "drill"}
    assert {2.5, 3.3, 4.2, 5.0, 6.8, 8.5, 10.2} <= drills  # tap drills M3 to M12
    assert {3.4, 4.5, 5.5, 6.6, 9.0, 11.0, 13.5} <= drills  # clearance M3 to M12
    assert {cutter.diameter_mm for cutter in shop.cutters if cutter.kind == "tap"} == {3.0, 4.0, 5.0, 6.0, 8.0}
    assert max(bar.width_mm for bar in shop.bars) >= 300.0


def test_the_sources_of_the_starting_shop_are_listed() -> None:
    listed = tomllib.loads((EXAMPLES.parent / "docs" / "sources.toml").read_text(encoding="utf-8"))
    named = re.findall(r'source = "([^"]*)"', starting_shop_text())
    assert named
    assert set(named) <= set(listed)


def test_friction_is_rounded_against_the_shop() -> None:
    # printed: 0.45 toothed on unmachined, 0.07 smooth on finished; times 0.95 for aluminium
    for shop in (starting_shop(), read_shop(EXAMPLES / "shop.toml")):
        toothed, smooth, soft = (jaws.friction_ratio for jaws in shop.jaws)
        assert toothed is not None
        assert smooth is not None
        assert soft is not None
        assert toothed.low <= 0.25
        assert toothed.high == pytest.approx(0.45 * 0.95, abs=0.005)
        assert smooth.low == pytest.approx(0.07 * 0.95)
        assert (soft.low, soft.high) == (0.15, 0.25)


@pytest.mark.parametrize(
    ("name", "number", "quantity", "masked"),
    [("jaw", "EX-102", 150, (1,)), ("body", "EX-101", 150, (1, 2)), ("knob", "EX-103", 300, (1,))],
)
def test_the_example_jobs_are_those_described(name: str, number: str, quantity: int, masked: tuple[int, ...]) -> None:
    job = read_job(EXAMPLES / f"{name}.toml")
    assert (job.part.number, job.order.quantity) == (number, quantity)
    assert job.coat is not None
    assert (job.coat.thickness_mm.low, job.coat.thickness_mm.high) == pytest.approx((0.04, 0.06))
    assert (job.coat.build_up_ratio.low, job.coat.build_up_ratio.high) == (0.45, 0.55)
    check_job_in_shop(job, read_shop(EXAMPLES / "shop.toml"))
    assert job.masked_balloons == masked


def test_the_example_order_names_the_three_jobs() -> None:
    path = EXAMPLES / "order.toml"
    order = read_order(path)
    assert [file.name for file in jobs_of_order(path, order)] == ["body.toml", "jaw.toml", "knob.toml"]
    assert [item.quantity for item in order.items] == [150, 150, 300]
    assert [item.coat_load for item in order.items] == ["clamps", "clamps", ""]
    assert is_order_text(path.read_text(encoding="utf-8"))
    assert not is_order_text(JAW_TEXT)


def test_balloons_tie_sizes_show_faces_and_masks_to_ids() -> None:
    text = JAW_TEXT.partition("\n[show]")[0] + (
        '\n[balloons]\n1 = "hole -y dia 5.000 at 45.500,0.000,9.000"\n32 = "plane +z 18.000 #8b70e5"\n'
        "[show]\nballoons = [32]\n[masked]\nballoons = [1]\n[critical]\nballoons = [1]\n"
        '[pins]\nbar = "25x25"\nup = "+z"\n'
    )
    job = job_from_text(text)
    assert job.sizes[0].face_ids == ()
    assert job.balloons[0].id == "hole -y dia 5.000 at 45.500,0.000,9.000"
    assert job.sizes[0].is_masked
    assert job.sizes[0].is_critical
    assert job.show_faces == ("plane +z 18.000 #8b70e5",)
    assert job.masked_balloons == (1,)
    assert {pin.quantity: pin.value for pin in job.pins} == {"bar": "25x25", "up": "+z"}


def test_a_dry_run_of_the_tilts_is_recorded_with_the_mark_of_its_moves() -> None:
    job = job_from_text(JAW_TEXT + '\n[prove_out]\ntilts_dry_run = "2026-01-12, M. Miller"\ntilts_mark = "3f9a02c1"\n')
    assert (job.tilts_dry_run, job.tilts_mark) == ("2026-01-12, M. Miller", "3f9a02c1")
    assert job_from_text(JAW_TEXT).tilts_dry_run == ""


def test_what_an_indicator_read_on_walls_is_read_beside_the_dry_run() -> None:
    row = "[[prove_out.wall]]\noperation = 2\nbent_mm = 0.03\nstays_mm = 0\nuncertainty_mm = 0.002\n"
    named = 'by = "2026-01-07, A"\nmark = "abcd1234"\n'
    job = job_from_text(f'{JAW_TEXT}\n[prove_out]\ntilts_mark = "3f9a02c1"\n{row}{named}')
    (read,) = job.wall_readings
    assert (job.tilts_mark, read.operation, read.bent_mm, read.stays_mm) == ("3f9a02c1", 2, pytest.approx(0.03), 0.0)
    assert (read.uncertainty_mm, read.by, read.mark) == (0.002, "2026-01-07, A", "abcd1234")
    with pytest.raises(BadInput, match="mark"):
        job_from_text(f'{JAW_TEXT}\n{row}by = "A"\n')
    with pytest.raises(BadInput, match="number 1"):
        job_from_text(f"{JAW_TEXT}\n{row.replace('= 2', '= 0')}{named}")
    with pytest.raises(BadInput, match="did you mean tilts_mark"):
        job_from_text(JAW_TEXT + '\n[prove_out]\ntilts_marks = "3f9a02c1"\n')


def test_marks_are_read_by_the_number_of_the_clamping() -> None:
    text = JAW_TEXT.split("[marks]", maxsplit=1)[0]
    job = job_from_text(text + '[marks]\n3 = "notch, at the stop"\n2 = " stroke, to you "\n')
    assert job.marks == ((2, "stroke, to you"), (3, "notch, at the stop"))
    assert job_from_text(text).marks == ()
    with pytest.raises(BadInput, match=r"A key of \[marks\] is a clamping number"):
        job_from_text(text + '[marks]\nsecond = "stroke"\n')
    with pytest.raises(BadInput, match="Clamping 2 needs a text in quotes"):
        job_from_text(text + "[marks]\n2 = 4\n")


def test_mask_written_as_the_size_masks() -> None:
    job = read_job(EXAMPLES / "knob.toml")
    assert [(s.mark, s.text, s.is_masked) for s in job.sizes] == [("1", "20 H8 mask", True), ("1b", "M5 6H mask", True)]
    assert job.masked_balloons == (1,)


def test_a_mask_behind_one_of_two_sizes_is_its_own_alone() -> None:
    text = (EXAMPLES / "knob.toml").read_text(encoding="utf-8")
    for written, masked, whole in (
        ("20 H8 mask; M5 6H", [True, False], ()),
        ("20 H8; M5 6H mask;", [False, True], ()),
        ("20 H8; mask", [False, True], (1,)),
    ):
        job = job_from_text(text.replace("20 H8 mask; M5 6H mask", written))
        assert [size.is_masked for size in job.sizes] == masked
        assert job.masked_balloons == whole


def test_a_job_that_names_a_stranger_is_refused() -> None:
    shop = read_shop(EXAMPLES / "shop.toml")
    job = job_from_text(changed('finisher = "hard-coat"', 'finisher = "soft-coat"', JAW_TEXT))
    with pytest.raises(
        BadInput, match=r'a finisher that the shop does not have; .*found: "soft-coat"; limit: hard-coat'
    ):
        check_job_in_shop(job, shop)
    pinned = job_from_text(JAW_TEXT + '\n[pins]\nvise = "vise-9"\n')
    with pytest.raises(BadInput, match=r'a vise that the shop does not have; .*found: "vise-9"; limit: vise-5, vise-3'):
        check_job_in_shop(pinned, shop)


def test_a_bare_step_file_lists_every_default() -> None:
    job = job_from_step("some folder/Bracket.STEP")
    assert (job.part.number, job.part.step, job.order.quantity) == ("Bracket", "some folder/Bracket.STEP", 100)
    words = "\n".join(job.assumed)
    for word in ("called Bracket", "6061-T6", "no coat", "class m", "broken 0.3 mm", "show face", "no day", "100"):
        assert word in words
    assert not any("quantity" in line for line in job_from_step("a.stp", quantity=7).assumed)


def test_paths_count_from_the_folder_of_the_file(tmp_path: Path) -> None:
    (tmp_path / "sub").mkdir()
    (tmp_path / "part.step").write_text("x", encoding="utf-8")
    path = tmp_path / "sub" / "jaw.toml"
    path.write_text(changed("solids/out/EX-102.step", "../part.step", JAW_TEXT), encoding="utf-8")
    assert step_of_job(path, read_job(path)).resolve() == (tmp_path / "part.step").resolve()
