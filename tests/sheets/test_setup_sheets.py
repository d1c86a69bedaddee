"""The setup sheet: one page however full the operation, its cautions on it, rotary positions and centre named."""

from __future__ import annotations

import re

import fixture_plan as fixture
import msgspec
import pypdfium2
import pytest
from fixture_names import FACES
from fixture_shop import fact
from test_addresses import MARKED, check_lines, left_over, pdf_text

from proveout.model.plan import ClampForce, Plan
from proveout.model.shop import Rotary, Shop
from proveout.model.work import Pass, Tilt
from proveout.sheets.derived import derive
from proveout.sheets.pages_setup import _cutter_rows, _to_load, caution_lines
from proveout.sheets.papers import papers_document, papers_pdf
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.typesetting import typeset
from proveout.sheets.writer import Writer

FULL_PASSES, FULL_CUTTERS = 14, 8
SMALLEST_PT = 9.0


@pytest.fixture(scope="module")
def crowded(plan: Plan, shop: Shop) -> tuple[Plan, Shop]:
    """The example with op 1 as full as a sheet must bear: 14 passes, 8 cutters, two tilts, grip cut away."""
    extra = msgspec.structs.replace(shop.cutters[1], id="rough-8", name="rough 8")
    rotary = Rotary(
        a_low_rad=-0.5,
        a_high_rad=1.9,
        c_is_continuous=True,
        pivot_in_machine_mm=(300.012, -224.987, -352.405),
        pivot_error_mm=fact(0.0, 0.006, 0.015, "mm"),
        brake_torque_n_mm=None,
        tilt_s=3.0,
    )
    machine = msgspec.structs.replace(shop.machines[0], kind="3+2", rotary=rotary)
    shop = msgspec.structs.replace(shop, cutters=(*shop.cutters, extra), machines=(machine,))
    op = plan.clampings[0]
    tilt = Tilt(id="tilted", frame=op.tilts[0].frame, a_rad=0.349065850398866, c_rad=1.5707963267948966)
    op = msgspec.structs.replace(op, tilts=(*op.tilts, tilt), removes_grip=True)
    cutters = [cutter.id for cutter in shop.cutters][:FULL_CUTTERS]
    assert len(cutters) == FULL_CUTTERS
    own = [one for one in plan.passes if one.clamping_id == op.id]
    tilts = ("upright", "tilted")

    def one_of(i: int) -> Pass:
        cutter_id, face, tilt_id = cutters[i % FULL_CUTTERS], FACES[i % len(FACES)], tilts[i % 2]
        return msgspec.structs.replace(
            own[i % len(own)],
            id=f"{op.id}/{tilt_id}/{cutter_id}/finish wall/{face}",
            kind="finish wall",
            cutter_id=cutter_id,
            tilt_id=tilt_id,
            feature=face,
            face_ids=FACES[:5],
        )

    more = tuple(one_of(i) for i in range(FULL_PASSES))
    others = tuple(one for one in plan.passes if one.clamping_id != op.id)
    return msgspec.structs.replace(plan, clampings=(op, *plan.clampings[1:]), passes=(*more, *others)), shop


@pytest.fixture(scope="module")
def made(crowded: tuple[Plan, Shop], drawings: dict[str, ClampingDrawings]) -> bytes:
    plan, shop = crowded
    assert not plan.ready  # the band takes its room too
    return papers_pdf(plan=plan, shop=shop, drawings=drawings, fingerprint=fixture.FINGERPRINT)


def letters_of(made: bytes, page_number: int) -> list[float]:
    """Letter sizes in points of all words of one page."""
    document = pypdfium2.PdfDocument(made)
    page = document[page_number]
    textpage = page.get_textpage()
    text = textpage.get_text_range()
    found = []
    for i, sign in enumerate(text):
        if sign.isspace():
            continue
        turn = pypdfium2.raw.FS_MATRIX()
        assert pypdfium2.raw.FPDFText_GetMatrix(textpage.raw, i, turn)
        found.append(pypdfium2.raw.FPDFText_GetFontSize(textpage.raw, i) * abs(turn.d))
    textpage.close()
    page.close()
    document.close()
    return found


def test_a_full_operation_stays_on_one_page(made: bytes) -> None:
    texts = pdf_text(made)
    own = [text for text in texts if "Setup sheet - Op 1" in text]
    assert len(own) == 1
    assert own[0].count("finish wall") == FULL_PASSES
    assert "whole cycle" in own[0]


def test_a_full_operation_is_still_readable(made: bytes) -> None:
    """8 points is the fingerprint in the foot; everything to be read at the machine is larger."""
    place = next(i for i, text in enumerate(pdf_text(made)) if "Setup sheet - Op 1" in text)
    sizes = letters_of(made, place)
    assert sum(size < SMALLEST_PT - 0.01 for size in sizes) <= len("5f0c2a9be41d")


def test_a_sheet_with_room_is_set_roomy(plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]) -> None:
    roomy = papers_pdf(plan=plan, shop=shop, drawings=drawings, fingerprint=fixture.FINGERPRINT)
    texts = pdf_text(roomy)
    place = next(i for i, text in enumerate(texts) if "Setup sheet - Op 3" in text)
    assert max(letters_of(roomy, place)) >= 17.0


def test_passes_name_their_rotary_positions(made: bytes) -> None:
    """Worked: 0.349066 rad is 20 degrees about A, 1.570796 rad is 90 degrees about C."""
    sheet = next(text for text in pdf_text(made) if "Setup sheet - Op 1" in text)
    assert sheet.count("20.0°") == FULL_PASSES // 2 + 1  # and once where the tilt is explained
    assert sheet.count("90.0°") == FULL_PASSES // 2 + 1


def test_the_rotation_centre_is_printed_beside_boxes_for_the_measured_one(made: bytes) -> None:
    texts = pdf_text(made)
    sheet = next(text for text in texts if "Setup sheet - Op 1" in text)
    for words in ("rotation centre, assumed", "300.012", "−224.987", "−352.405", "rotation centre, measured"):
        assert words in sheet


def test_a_mill_without_rotary_axes_has_no_rotation_centre(plan: Plan, shop: Shop) -> None:
    texts = pdf_text(papers_pdf(plan=plan, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT))
    assert not any("rotation centre" in text for text in texts)


def test_every_setup_sheet_carries_its_cautions_holding_first(plan: Plan, shop: Shop) -> None:
    texts = pdf_text(papers_pdf(plan=plan, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT))
    for number in (1, 2, 3):
        text = next(re.sub(r"\s+", " ", t) for t in texts if f"Setup sheet - Op {number}" in t)
        places = [text.index(words) for words in ("Holding:", "Check the jaw force", "First cut at reduced depth")]
        assert places == sorted(places)
        for words in ("door closed", "nobody in line with the cutter plane", "vouches for no set-up"):
            assert words in text


def test_the_caution_names_what_the_holding_rests_on(plan: Plan, shop: Shop) -> None:
    """Op 1: friction is not measured here, the jaw force is; the grip proof is quoted. Op 2: friction is unknown."""
    writer = Writer(plan=plan, shop=shop, drawings={}, fingerprint="")
    first = caution_lines(writer, 0)
    assert "friction 0.25 to 0.50 is assumed, the jaw force is measured here" in first[0]
    assert "1.08 to 3.94 times the cutting force, wanted at least 1.0: holds" in first[0]
    assert "seated and bitten" in first[1]
    second = caution_lines(writer, 1)
    assert "friction of these jaws is NOT KNOWN" in second[0]
    assert any("cut away here" in line for line in second)
    assert not any("cut away here" in line for line in first)


def test_a_vise_closed_softer_says_with_what_torque(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    """Worked: 0.65 of 60 N m are 39 N m, of 15 to 20 kN 9.75 to 13 kN; a plan that does not say prints the shop's."""
    vise = msgspec.structs.replace(
        shop.vises[0], torque_n_mm=60_000.0, preload_n=fact(15_000.0, 17_500.0, 20_000.0, "N", "measured here")
    )
    shop = msgspec.structs.replace(shop, vises=(vise, *shop.vises[1:]))
    usual = caution_lines(Writer(plan=plan, shop=shop, drawings={}, fingerprint=""), 0)[1].replace("\u202f", " ")
    assert usual.startswith("Close the vise with 60 N m (15.0 to 20.0 kN at the jaws). Check the jaw force")
    force = ClampForce(
        clamping_id=plan.clampings[0].id,
        ratio=0.65,
        torque_n_mm=39_000.0,
        force_n=fact(9_750.0, 11_375.0, 13_000.0, "N", "common practice"),
    )
    softer = msgspec.structs.replace(plan, clamp_forces=(force,))
    lines = caution_lines(Writer(plan=softer, shop=shop, drawings={}, fingerprint=""), 0)
    assert "the jaw force is assumed" in lines[0]
    said = lines[1].replace("\u202f", " ")
    assert said.startswith("Close the vise with 39.0 N m (9.8 to 13.0 kN at the jaws), softer than usual")
    for torque_n_mm, printed in ((42_000.0, "42 N m"), (42_500.0, "42.5 N m"), (42_250.0, "42.25 N m")):
        pinned = msgspec.structs.replace(force, ratio=1.0, torque_n_mm=torque_n_mm)
        asked = msgspec.structs.replace(plan, clamp_forces=(pinned,))
        lines = caution_lines(Writer(plan=asked, shop=shop, drawings={}, fingerprint=""), 0)
        assert lines[1].replace("\u202f", " ").startswith(f"Close the vise with {printed} ("), "as it was proved"
    unknown = msgspec.structs.replace(
        plan, clamp_forces=(msgspec.structs.replace(force, torque_n_mm=None, force_n=None),)
    )
    lines = caution_lines(Writer(plan=unknown, shop=shop, drawings={}, fingerprint=""), 0)
    assert lines[1].startswith("How hard to close the vise is NOT KNOWN.")
    writer = Writer(plan=softer, shop=shop, drawings=drawings, fingerprint=fixture.FINGERPRINT, marked=True)
    text = "\n".join(pdf_text(typeset(papers_document(writer))))
    assert left_over(text) == []
    check_lines(writer, softer, shop)


def test_tilts_are_run_dry_first(crowded: tuple[Plan, Shop]) -> None:
    plan, shop = crowded
    lines = caution_lines(Writer(plan=plan, shop=shop, drawings={}, fingerprint=""), 0)
    assert any(
        line.startswith("Tilts:")
        and "signs and centres" in line
        and "dry, block by block with rapids slowed and the zero lifted by" in line
        for line in lines
    )
    assert not any(re.search(r"\bsafe", line, re.IGNORECASE) for line in lines)


def test_every_number_of_a_tilted_sheet_stands_at_an_address(
    crowded: tuple[Plan, Shop], drawings: dict[str, ClampingDrawings]
) -> None:
    plan, shop = crowded
    writer = Writer(plan=plan, shop=shop, drawings=drawings, fingerprint=fixture.FINGERPRINT, marked=True)
    text = "\n".join(pdf_text(typeset(papers_document(writer))))
    assert len(MARKED.findall(text)) > 300
    assert left_over(text) == []
    check_lines(writer, plan, shop)


def test_a_pass_that_nothing_replayed_is_lifted_clear_of_the_whole_blank(plan: Plan, shop: Shop) -> None:
    """Worked: the blank is 25 high in every clamping, whole height + 5 of free air = 30 above its lowest point."""
    bare = msgspec.structs.replace(plan, removal=msgspec.structs.replace(plan.removal, passes=()))
    sheets = derive(plan=bare, shop=shop).clampings
    assert [sheets[op].lift_mm for op in fixture.OPS] == [30.0, 30.0, 30.0]


def test_what_is_to_be_loaded_is_told_where_the_changer_is_written(plan: Plan, shop: Shop) -> None:
    writer = Writer(plan=plan, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT)
    assert _to_load(writer, 0) == ""
    used = list(dict.fromkeys(plan.passes[at].cutter_id for at in writer.passes_of(plan.clampings[0].id)))
    place = writer.place("machines", plan.clampings[0].machine_id)
    assert place is not None

    def told(*changer: str) -> str:
        machines = list(shop.machines)
        machines[place] = msgspec.structs.replace(machines[place], changer=changer)
        own = msgspec.structs.replace(shop, machines=tuple(machines))
        return _to_load(Writer(plan=plan, shop=own, drawings={}, fingerprint=fixture.FINGERPRINT), 0)

    checked = "stand in the changer: check each one."
    assert told(*used) == f"By the shop file they {checked}"
    rest = f"By the shop file the others {checked}"
    assert told(used[0], "", *used[1:-1]) == f"Load and measure: pocket 2. {rest}"
    assert told("other") == f"Load and measure: pockets {', '.join(str(k + 2) for k in range(len(used)))}."


def test_what_comes_out_of_a_full_changer_is_named_and_goes_back(plan: Plan, shop: Shop) -> None:
    """Worked: no place is empty; the first cutter takes the last number, whose stranger is told by its name."""
    here = plan.clampings[0]
    used = list(dict.fromkeys(one.cutter_id for one in plan.passes if one.clamping_id == here.id))
    on = {one.id for one in plan.clampings if one.machine_id == here.machine_id}
    all_used = list(dict.fromkeys(one.cutter_id for one in plan.passes if one.clamping_id in on))
    stranger = next(one for one in shop.cutters if one.id not in all_used)
    changer = (*all_used[1:], "unknown", stranger.id)
    machines = tuple(
        msgspec.structs.replace(one, changer=changer, pockets_count=len(changer)) if one.id == here.machine_id else one
        for one in shop.machines
    )
    own = msgspec.structs.replace(shop, machines=machines)
    said = _to_load(Writer(plan=plan, shop=own, drawings={}, fingerprint=fixture.FINGERPRINT), 0)
    assert all_used[0] in used
    assert said == (
        f"Load and measure: pocket {len(changer)}. Takes out {stranger.name} from pocket {len(changer)}; put it back "
        "after and measure it anew. By the shop file the others stand in the changer: check each one."
    )


@pytest.mark.parametrize(("mm", "told"), [(5.05, "Ø5.05"), (6.0, "Ø6.0"), (3.175, "Ø3.175"), (6.35, "Ø6.35")])
def test_a_cutter_stands_with_its_whole_diameter(mm: float, told: str, plan: Plan, shop: Shop) -> None:
    first = plan.passes[0]
    index = next(i for i, one in enumerate(plan.clampings) if one.id == first.clamping_id)
    cutters = tuple(
        msgspec.structs.replace(one, diameter_mm=mm) if one.id == first.cutter_id else one for one in shop.cutters
    )
    writer = Writer(
        plan=plan, shop=msgspec.structs.replace(shop, cutters=cutters), drawings={}, fingerprint=fixture.FINGERPRINT
    )  # fmt: skip
    assert told in [row["diameter"] for row in _cutter_rows(writer, index)]
