"""Route card, inspection and prove-out: the order of the work, what a limit is a limit of, a stop at every new tilt."""

from __future__ import annotations

import re

import fixture_plan as fixture
import msgspec
import pytest
from test_addresses import pdf_text

from proveout.model.plan import Plan, TimeLine
from proveout.model.shop import Shop
from proveout.model.work import NotCut, Tilt
from proveout.sheets.derived import reading_sheet
from proveout.sheets.ink import digits_apart
from proveout.sheets.names import shape_words
from proveout.sheets.pages_floor import middle_of
from proveout.sheets.papers import papers_pdf
from proveout.sheets.writer import Writer

THREAD = 13


def sheet_of(plan: Plan, shop: Shop, name: str) -> str:
    """All pages of one sheet as one line of words."""
    texts = pdf_text(papers_pdf(plan=plan, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT))
    return " ".join(re.sub(r"\s+", " ", text) for text in texts if name in text)


def with_window(plan: Plan, *, is_masked: bool) -> Plan:
    """The example with the window of its tapped hole, which the inspection sheet measures under the same number."""
    (text,) = [line.text for line in plan.inspection if line.balloon == THREAD]
    window = msgspec.structs.replace(
        plan.finishing.windows[0], balloon=THREAD, text=text, kind="thread", is_masked=is_masked
    )
    finishing = msgspec.structs.replace(plan.finishing, windows=(*plan.finishing.windows, window))
    return msgspec.structs.replace(plan, finishing=finishing)


def test_a_thread_says_that_its_limits_are_of_the_pitch_diameter(plan: Plan, shop: Shop) -> None:
    assert "pitch diameter" in sheet_of(with_window(plan, is_masked=False), shop, "Inspection sheet")
    assert "pitch diameter" not in sheet_of(plan, shop, "Inspection sheet")


def test_a_masked_size_is_not_said_to_change_under_the_coat(plan: Plan, shop: Shop) -> None:
    """Four sizes are measured: each stands over its finished limits, or is said to get no coat."""
    plan = msgspec.structs.replace(plan, pmi=())  # what the file writes has a heading with the same words
    bare = sheet_of(with_window(plan, is_masked=False), shop, "Inspection sheet")
    masked = sheet_of(with_window(plan, is_masked=True), shop, "Inspection sheet")
    assert (bare.count("do not gauge here"), bare.count("no coat here")) == (4, 0)
    assert (masked.count("do not gauge here"), masked.count("no coat here")) == (3, 1)


@pytest.mark.parametrize(
    ("every", "count", "pieces", "open_from"),
    [
        (10, 156, (1, *range(10, 151, 10)), 0),
        (10, 150, (1, *range(10, 141, 10)), 0),  # piece 150 is the last, whose box is named so
        (25, 40, (1, 25), 0),
        (1, 4, (1, 2, 3), 0),
        (1, 155, tuple(range(1, 35)), 35),
        (5, 300, (1, *range(5, 166, 5)), 170),
        (5, 1, (), 0),
    ],
)
def test_a_box_stands_for_each_piece_that_is_measured(
    every: int, count: int, pieces: tuple[int, ...], open_from: int
) -> None:
    """Worked: at most 35 boxes with that of the last piece, so the first 34 numbers and then a second sheet."""
    sheet = reading_sheet(every_count=every, pieces_count=count)
    assert (sheet.pieces, sheet.open_from) == (pieces, open_from)


def test_each_box_of_the_inspection_sheet_names_its_piece(plan: Plan, shop: Shop) -> None:
    """Of the example's 155 blanks: two sizes on every tenth, two on every piece, for which the boxes do not do."""
    sheet = sheet_of(plan, shop, "Inspection sheet")
    assert [len(re.findall(rf"piece {n}\b", sheet)) for n in (1, 2, 10, 34, 140, 150)] == [4, 2, 4, 2, 2, 2]
    assert sheet.count("from piece 35 on write number and reading on a second sheet") == 2
    assert len(re.findall(r"last piece(?! signed)", sheet)) == 5  # with the table of all other sizes
    single = msgspec.structs.replace(
        plan,
        part=msgspec.structs.replace(plan.part, quantity=1),
        bars=msgspec.structs.replace(plan.bars, pieces_count=1),
    )
    assert sheet_of(single, shop, "Inspection sheet").count("the piece ") == 4


def test_the_route_card_names_the_unit_of_all_lengths(plan: Plan, shop: Shop) -> None:
    assert "All lengths on these papers are in mm." in sheet_of(plan, shop, "Route card")
    inches = msgspec.structs.replace(shop, units="inch")
    assert "papers are in mm, not in inches: one inch is 25.4 mm." in sheet_of(plan, inches, "Route card")
    texts = pdf_text(papers_pdf(plan=plan, shop=inches, drawings={}, fingerprint=fixture.FINGERPRINT))
    assert sum("Route card" in text.split("NOT READY", maxsplit=1)[0] for text in texts) == 1


@pytest.mark.parametrize("due", ["2026-04-20", ""])
def test_the_route_card_says_when_the_pieces_are_wanted_where_somebody_said(plan: Plan, shop: Shop, due: str) -> None:
    text = sheet_of(msgspec.structs.replace(plan, due=due), shop, "Route card")
    assert ("wanted by" in text, "2026-04-20" in text) == (bool(due), bool(due))


def test_two_sizes_at_one_number_are_told_apart_by_their_text(plan: Plan, shop: Shop) -> None:
    """A bore under the number of the thread: only the thread's own line speaks of a pitch diameter."""
    thread = with_window(plan, is_masked=True)
    (line,) = [line for line in plan.inspection if line.balloon == THREAD]
    bore = msgspec.structs.replace(line, text="20 H8")
    window = msgspec.structs.replace(thread.finishing.windows[-1], text="20 H8", kind="hole", letter="b")
    finishing = msgspec.structs.replace(thread.finishing, windows=(*thread.finishing.windows, window))
    both = msgspec.structs.replace(thread, finishing=finishing, inspection=(*plan.inspection, bore))
    assert sheet_of(both, shop, "Inspection sheet").count("pitch diameter") == 1


def test_a_written_size_says_where_it_is(plan: Plan, shop: Shop) -> None:
    """Worked: the tapped hole of the example enters at x 45.5, y 0, z 9."""
    assert plan.survey.holes[0].balloon == THREAD
    sheet = sheet_of(plan, shop, "Inspection sheet")
    assert "Hole 13, mouth at x 45.50, y 0.00, z 9.00" in sheet


def test_a_part_without_a_coat_has_no_word_of_it(plan: Plan, shop: Shop) -> None:
    finishing = msgspec.structs.replace(plan.finishing, coated_area_mm2=0.0, offset_mm={})
    sheet = sheet_of(msgspec.structs.replace(plan, finishing=finishing), shop, "Inspection sheet")
    assert "MACHINE TO" in sheet
    assert "coat" not in sheet
    assert "before coat" in sheet_of(plan, shop, "Inspection sheet")


def test_pieces_are_checked_before_they_go_out_and_packed_after(plan: Plan, shop: Shop) -> None:
    line = TimeLine(station="bench", text="kit and box", per="piece", seconds=fixture.fact(40.0, 60.0, 90.0, "s"))
    more = msgspec.structs.replace(plan, time=msgspec.structs.replace(plan.time, lines=(*plan.time.lines, line)))
    card = sheet_of(more, shop, "Route card")
    places = [card.index(words) for words in ("Bench", "Inspection sheet signed, before it goes out", "Outside: ")]
    places.append(card.index("Kit and box"))
    assert places == sorted(places)
    assert "Pack Kit and box 1:00" in card
    assert card.count("Kit and box") == 1


def tilted(plan: Plan) -> Plan:
    """The example with its roughing of op 1 done once more, last of all and at a tilt."""
    op = plan.clampings[0]
    tilt = Tilt(id="aside", frame=op.tilts[0].frame, a_rad=1.5707963267948966, c_rad=-1.5707963267948966)
    first = msgspec.structs.replace(op, tilts=(*op.tilts, tilt))
    rough = next(one for one in plan.passes if one.clamping_id == op.id and one.kind == "rough")
    again = msgspec.structs.replace(rough, id="rough aside", tilt_id="aside")
    cut = next(c for c in plan.removal.passes if c.pass_id == rough.id)
    cuts = (*plan.removal.passes, msgspec.structs.replace(cut, pass_id=again.id, low_mm=-7.25))
    own = [one for one in plan.passes if one.clamping_id == op.id]
    return msgspec.structs.replace(
        plan,
        clampings=(first, *plan.clampings[1:]),
        passes=(*own, again, *(one for one in plan.passes if one.clamping_id != op.id)),
        removal=msgspec.structs.replace(plan.removal, passes=cuts),
    )


def test_the_dry_run_stops_at_the_first_pass_of_every_tilt(plan: Plan, shop: Shop) -> None:
    """The cutter has stood upright before, yet turned aside it is stopped and read again: 90, -90, lowest Z -7.25."""
    shown = sheet_of(tilted(plan), shop, "Prove-out sheet")
    assert "90.0° −90.0° tip at its deepest Z −7.25" in shown
    assert "along its own cutter axis" in shown
    assert "cutter axis" not in sheet_of(plan, shop, "Prove-out sheet")


def test_a_prove_out_that_needs_two_pages_is_parted_between_operations(plan: Plan, shop: Shop) -> None:
    """Nineteen faces more to stop at than one page holds: the release does not stand on a page by itself."""
    first = next(one for one in plan.passes if one.kind == "face")
    more = tuple(msgspec.structs.replace(first, id=f"{first.id}-{k}") for k in range(19))
    cut = next(one for one in plan.removal.passes if one.pass_id == first.id)
    cuts = tuple(msgspec.structs.replace(cut, pass_id=one.id) for one in more)
    changed = msgspec.structs.replace(
        plan, passes=(*plan.passes, *more),
        removal=msgspec.structs.replace(plan.removal, passes=(*plan.removal.passes, *cuts)),
    )  # fmt: skip
    texts = pdf_text(papers_pdf(plan=changed, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT))
    pages = [text for text in texts if "Prove-out sheet" in text.split("NOT READY", maxsplit=1)[0]]
    assert len(pages) == 2
    assert "stand on the next page" in pages[0]
    assert "released for piece two by" not in pages[0]
    assert "dry run lifted" in pages[1]
    assert "released for piece two by" in pages[1]


@pytest.mark.parametrize(("rows", "before"), [([18, 8], 1), ([2, 3, 9], 2), ([9, 1, 1], 1), ([4, 4, 4, 4], 2)])
def test_the_prove_out_is_parted_in_the_middle(rows: list[int], before: int) -> None:
    assert middle_of(rows) == before


@pytest.mark.parametrize("name", ["Route card", "Prove-out sheet"])
def test_card_and_prove_out_keep_to_one_page(plan: Plan, shop: Shop, name: str) -> None:
    texts = pdf_text(papers_pdf(plan=plan, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT))
    assert sum(name in text.split("NOT READY", maxsplit=1)[0] for text in texts) == 1


@pytest.mark.parametrize(
    ("values", "unit", "digits"),
    [
        ([112.04, 112.84, 112.9], "mm", 1),  # 112 to 113 of at most 113 would tell nothing
        ([0.0041, 0.01], "mm", 3),
        ([15000.0, 20000.0, 30000.0], "kN", 1),
        ([156.0, 156.0, 156.0], "pieces", 0),
        ([-118.4, -118.4, 0.0], "mm", 0),
        ([1.05, 4.15, 1.0], "times the cutting force", 2),
    ],
)
def test_numbers_side_by_side_can_be_told_apart(values: list[float], unit: str, digits: int) -> None:
    assert digits_apart(values, unit=unit, as_is=unit != "kN") == digits


def test_proofs_are_read_in_the_units_of_the_shop(plan: Plan, shop: Shop) -> None:
    """Worked: 15 000 to 20 000 N of at most 30 000 N is 15.0 to 20.0 kN of 30.0 kN; 90 deg is 90°."""
    proof = next(p for p in plan.proofs if p.found_low is not None)
    force = msgspec.structs.replace(
        proof, unit="N", found_low=15000.0, found_high=20000.0, limit=30000.0, sense="at most"
    )
    angle = msgspec.structs.replace(force, unit="deg", found_low=90.0, found_high=90.0, limit=110.0)
    changed = msgspec.structs.replace(plan, proofs=(force, angle))
    writer = Writer(plan=changed, shop=shop, drawings={}, fingerprint="")
    said = [tuple(words.replace("\u202f", " ") for words in writer.found_parts(i)) for i in (0, 1)]
    assert said == [("15.0 to 20.0 kN", "at most 30.0 kN"), ("90°", "at most 110°")]


@pytest.mark.parametrize(
    ("id", "words"),
    [
        ("plane +z 18.000 #a1b2c3", "plane facing +z, at z 18.000"),
        ("plane -z 0.000", "plane facing −z, at z 0.000"),
        ("plane (0.000,-0.940,-0.342) -7.524", "slanted plane facing (0.000,−0.940,−0.342), −7.524 from the origin"),
        ("cylinder in d6.600 z #0a0b0c", "hollow round Ø6.600 along z"),
        ("cylinder out d1.600 (0.000,-0.342,0.940)", "outside round Ø1.600 along (0.000,−0.342,0.940)"),
        ("cone in 118.00deg -z", "hollow cone of 118.00° along −z"),
        ("sphere out d1.600 #068f9f", "outside ball corner Ø1.600"),
        ("torus out r0.800 on r5.200 z", "bent round R0.800 on R5.200 about z"),
        ("hole -z dia 5.000 at 38.000,76.000,0.000", "Ø5.000 hole from −z, mouth at x 38.000, y 76.000, z 0.000"),
        ("other at (1.0,-2.0,3.0)", "other at (1.0,−2.0,3.0)"),
    ],
)
def test_a_shape_is_told_in_words(id: str, words: str) -> None:
    assert shape_words(id) == words


def test_the_page_of_numbers_lists_what_the_papers_name(plan: Plan, shop: Shop) -> None:
    sheet = sheet_of(plan, shop, "Faces and holes by number")
    assert "hole 13" in sheet
    named = {int(n) for n in re.findall(r"face (\d+)", sheet)}
    assert {note.balloon for note in plan.survey.faces if note.face_id in (fixture.TOP, fixture.FLANK)} <= named


def test_what_is_left_uncut_is_told_once_a_reason_and_operation(plan: Plan, shop: Shop) -> None:
    """Two faces of one reason share a line; the same face in another operation is another matter."""
    first, second = fixture.OPS[:2]
    uncut = tuple(
        NotCut(clamping_id=op, subject=face, face_ids=(face,), reason=reason)
        for op, face, reason in (
            (first, fixture.TOP, "no cutter reaches it"),
            (first, fixture.FLANK, "no cutter reaches it"),
            (second, fixture.TOP, "it leans under"),
        )
    )
    writer = Writer(plan=msgspec.structs.replace(plan, not_cut=uncut), shop=shop, drawings={}, fingerprint="")
    assert writer.not_cut() == ["Faces 1 and 4 in op 1: no cutter reaches it", "Face 1 in op 2: it leans under"]


def test_a_force_of_which_nothing_is_known_can_still_be_printed(plan: Plan, shop: Shop) -> None:
    """A new shop knows neither its jaw force nor the vise's rating: both ends and the limit are unknown."""
    proof = next(p for p in plan.proofs if p.verdict == "not shown")
    force = msgspec.structs.replace(proof, unit="N", found_low=None, found_high=None, limit=None, margin=None)
    changed = msgspec.structs.replace(plan, proofs=(force,))
    writer = Writer(plan=changed, shop=shop, drawings={}, fingerprint="")
    assert writer.found_parts(0) == ("nothing yet", "no limit known")
