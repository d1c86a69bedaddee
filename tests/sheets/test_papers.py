"""The papers as a machinist meets them."""

from __future__ import annotations

import re
from typing import Any

import fixture_plan as fixture
import msgspec
import pypdf
import pypdfium2
import pytest
from test_addresses import pdf_text

from proveout.model.plan import Plan
from proveout.model.shop import Finisher, Shop
from proveout.sheets.derived import derive
from proveout.sheets.names import Names
from proveout.sheets.papers import papers_pdf
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.writer import Writer


@pytest.fixture(scope="module")
def made(plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]) -> bytes:
    return papers_pdf(plan=plan, shop=shop, drawings=drawings, fingerprint=fixture.FINGERPRINT)


@pytest.fixture(scope="module")
def texts(made: bytes) -> list[str]:
    return pdf_text(made)


def test_the_same_plan_gives_the_same_bytes(made: bytes, shop: Shop, drawings: dict[str, ClampingDrawings]) -> None:
    again = papers_pdf(plan=fixture.example_plan(), shop=shop, drawings=drawings, fingerprint=fixture.FINGERPRINT)
    assert again == made


def test_the_papers_are_tagged_and_say_so(made: bytes, tmp_path: Any) -> None:
    path = tmp_path / "papers.pdf"
    path.write_bytes(made)
    catalog = pypdf.PdfReader(path).root_object
    assert catalog["/MarkInfo"]["/Marked"].value is True  # type: ignore[index]
    assert "/StructTreeRoot" in catalog
    assert catalog["/Lang"] == "en"
    assert b"pdfuaid:part" in catalog["/Metadata"].get_object().get_data()  # type: ignore[union-attr]


def test_every_page_carries_revision_fingerprint_and_its_place(texts: list[str]) -> None:
    for index, text in enumerate(texts, start=1):
        assert "revision B" in text
        assert "5f0c 2a9b e41d" in text
        assert f"page {index} / {len(texts)}" in text


def test_a_plan_that_is_not_ready_says_so_on_every_page(texts: list[str]) -> None:
    for text in texts:
        assert "NOT READY - do not cut. Proofs that fail: 1. Not shown: 6." in re.sub(r"\s+", " ", text)


def test_a_ready_plan_carries_no_band(ready_plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]) -> None:
    made = papers_pdf(plan=ready_plan, shop=shop, drawings=drawings, fingerprint=fixture.FINGERPRINT)
    assert ready_plan.ready
    assert not any("NOT READY" in text for text in pdf_text(made))


def test_there_is_one_setup_sheet_an_operation_on_a_page_of_its_own(texts: list[str]) -> None:
    for number in (1, 2, 3):
        assert sum(f"Setup sheet - Op {number}" in text for text in texts) == 1
        assert sum(f"Op {number} - Three-axis mill" in text for text in texts) == 1


def test_no_page_calls_anything_safe(texts: list[str]) -> None:
    assert not any(re.search(r"\bsafe", text, re.IGNORECASE) for text in texts)


def test_people_meet_no_digests_and_no_long_ids(texts: list[str]) -> None:
    whole = "\n".join(texts)
    assert not re.search(r"#[0-9a-f]{5,}", whole)
    assert "op1-mill3" not in whole
    assert "/upright/" not in whole


def sizes_of(made: bytes, sheet: str, wanted: str) -> list[float]:
    """Letter sizes in points at which a text stands on the pages of a sheet."""
    document = pypdfium2.PdfDocument(made)
    found: list[float] = []
    for index in range(len(document)):
        page = document[index]
        textpage = page.get_textpage()
        if sheet in textpage.get_text_bounded():
            search = textpage.search(wanted)
            while (hit := search.get_next()) is not None:
                found.append(pypdfium2.raw.FPDFText_GetFontSize(textpage.raw, hit[0]))
            search.close()
        textpage.close()
        page.close()
    document.close()
    return found


def test_sizes_to_machine_to_are_large_and_finished_sizes_small(made: bytes) -> None:
    before = sizes_of(made, "Inspection sheet", "21.860")
    finished = sizes_of(made, "Inspection sheet", "21.900")
    assert before
    assert finished
    assert min(before) >= 20.0
    assert max(finished) <= 10.0
    assert "after coat - do not gauge here" in "\n".join(pdf_text(made))


@pytest.mark.parametrize("wanted", ["92.00", "155", "3.0"])
def test_key_numbers_are_readable_at_arms_length(made: bytes, wanted: str) -> None:
    sheet = "Setup sheet" if wanted == "3.0" else "Saw ticket"
    assert max(sizes_of(made, sheet, wanted)) >= 16.0


def test_piece_one_goes_through_all_operations_before_piece_two(texts: list[str]) -> None:
    sheet = re.sub(r"\s+", " ", next(text for text in texts if "Prove-out sheet" in text))
    assert "piece one through ALL operations and gauge it before piece two" in sheet
    assert "Op 1 - dry run lifted by 30 mm" in sheet.replace("\u202f", " ")


def test_the_dry_run_is_lifted_above_the_blank(plan: Plan, shop: Shop) -> None:
    """Worked: op 1 the blank stands 25 above the step, the deepest tip 5.4: 25 + 5 - 5.4 = 24.6, next ten 30."""
    assert derive(plan=plan, shop=shop).clampings[fixture.OPS[0]].lift_mm == 30.0


def test_a_cutter_keeps_its_pocket_through_all_operations(plan: Plan, shop: Shop) -> None:
    """Worked: order of first use is face-50, rough-10, mill-6, edge-6, spot-8, drill-5, tap-m6."""
    pockets = derive(plan=plan, shop=shop).pockets["mill3"]
    order = ["face-50", "rough-10", "mill-6", "edge-6", "spot-8", "drill-5", "tap-m6"]
    assert [pockets[name] for name in order] == [1, 2, 3, 4, 5, 6, 7]


def test_feed_is_tooth_feed_times_flutes_times_turns(plan: Plan, shop: Shop) -> None:
    """Worked: 0.07 mm x 3 flutes x 9500 a minute = 1995 mm/min."""
    feed = derive(plan=plan, shop=shop).passes[plan.passes[1].id].feed_mm_per_s
    assert feed * 60.0 == pytest.approx(1995.0, rel=1e-12)


def test_ids_inside_sentences_are_put_plainly(plan: Plan, shop: Shop) -> None:
    names = Names(plan=plan, shop=shop)
    assert names.short(f"{fixture.OPS[1]}: {fixture.FLANK} is left") == "op 2: face 4 is left"
    assert names.short(plan.passes[5].id) == "op 1, finish wall, face 4"
    assert names.faces((fixture.TOP, fixture.BACK, fixture.FLANK)) == "faces 1, 3 and 4"


def test_a_name_that_holds_its_own_id_is_said_once(plan: Plan, shop: Shop) -> None:
    laser = Finisher(id="laser", process="laser marking", lot_minimum=120.0, price_each=0.8, freight=0.0, days_low=1,
                     days_high=2, pickup_weekdays=())  # fmt: skip
    names = Names(plan=plan, shop=msgspec.structs.replace(shop, finishers=(laser,)))
    said = names.short("the lot for laser marking pays, laser asks")
    assert said == "the lot for laser marking pays, laser marking asks"


def test_a_plan_of_nothing_but_a_blank_still_gives_papers(plan: Plan, shop: Shop) -> None:
    """Empty lists everywhere: no clamping was found, so there is nothing to set up; the sheets say what they can."""
    bare = msgspec.structs.replace(
        plan,
        clampings=(),
        passes=(),
        not_cut=(),
        inspection=(),
        questions=(),
        warnings=(),
        assumed=(),
        start="",
        time=msgspec.structs.replace(plan.time, lines=(), cycle_s={}),
        bars=msgspec.structs.replace(plan.bars, patterns=()),
    )
    texts = pdf_text(papers_pdf(plan=bare, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT))
    assert not any("Setup sheet" in text for text in texts)
    assert any("No size is written for this part" in text for text in texts)


def test_names_with_signs_of_the_page_languages_are_printed_as_they_are(plan: Plan, shop: Shop) -> None:
    odd = msgspec.structs.replace(plan, part=msgspec.structs.replace(plan.part, name='#panic() *<b>$x$ \\ "q"@'))
    texts = pdf_text(papers_pdf(plan=odd, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT))
    assert '#panic() *<b>$x$ \\ "q"@' in texts[0]


def test_a_feature_of_several_faces_is_named_by_the_first(plan: Plan, shop: Shop) -> None:
    names = Names(plan=plan, shop=shop)
    assert names.feature(f"{fixture.SLOT_A} and 4 more") == "face 7 and 4 more"
    assert names.feature("outside") == "outside"


def test_set_up_minutes_are_those_of_the_clamping(plan: Plan, shop: Shop) -> None:
    """Worked: a line names its clamping as station or at the head of its text: 2700 + 600 in op 1, 2700 in op 2."""
    line = msgspec.structs.replace(
        next(line for line in plan.time.lines if line.per == "batch"),
        station="mill3",
        text=f"{fixture.OPS[0]}: make soft jaws",
        seconds=fixture.fact(600.0, 600.0, 600.0, "s"),
    )
    more = msgspec.structs.replace(plan, time=msgspec.structs.replace(plan.time, lines=(*plan.time.lines, line)))
    sheets = derive(plan=more, shop=shop).clampings
    assert [sheets[id].setup_s for id in fixture.OPS] == [3300.0, 2700.0, 2700.0]


def test_every_proof_is_on_the_proofs_paper(plan: Plan, shop: Shop, texts: list[str]) -> None:
    """Open ones in full, the others on a line each: claim, what was found, what is wanted, verdict."""
    flat = re.sub(r"\s+", "", "".join(t for t in texts if "Proofs, weakest first" in t))
    writer = Writer(plan=plan, shop=shop, drawings={}, fingerprint="")
    for index, proof in enumerate(plan.proofs):
        claim = re.sub(r"\s+", "", writer.title("plan", "proofs", index, "claim"))
        found, wanted = (re.sub(r"\s+", "", words) for words in writer.found_parts(index))
        assert claim in flat
        assert wanted in flat
        assert found in flat or proof.found_low is None
    assert flat.count("holds") >= sum(proof.verdict == "holds" for proof in plan.proofs)


def test_proofs_that_are_open_stand_before_those_that_hold(texts: list[str]) -> None:
    flat = " ".join(t for t in texts if "Proofs, weakest first" in t)
    before, after = flat.split("To be settled")[1].split("Holds", 1)
    assert before.count("not shown") == 6
    assert "fails" in before
    assert "not shown" not in after
    assert after.count("holds") >= 10


def test_without_a_general_class_there_is_no_line_for_it(plan: Plan, shop: Shop) -> None:
    bare = msgspec.structs.replace(plan, part=msgspec.structs.replace(plan.part, general_tolerance=""))
    texts = pdf_text(papers_pdf(plan=bare, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT))
    assert not any("ISO 2768" in text for text in texts)


def test_the_saw_ticket_tells_rack_weights_minutes_and_the_step_that_saves(texts: list[str]) -> None:
    """All on one page: what to take first, what is too heavy for one, how long it takes, what shorter would save."""
    tickets = [text for text in texts if "One piece more a bar" in text]
    assert len(tickets) == 1
    words = " ".join(tickets[0].replace("\u202f", " ").split())
    assert "Take the rack first: remnants of heat 77A12" in words
    assert "24.3 kg: two" in words
    assert "above 23 kg (from memory)" in words
    assert "12:34, 32:00" in words
    assert "31*" in words
    assert "comes out only if pieces are not cut long within their ± 0.20: measure the first ten" in words
    assert "91.26 91.06 0.74 55.69 EUR clean-up of a sawn end" in words
    assert "heat no." in words


def test_the_purchase_list_stands_by_supplier(texts: list[str]) -> None:
    (page,) = [text for text in texts if "count before ordering" in text]
    words = " ".join(page.split())
    assert words.index("Example Metals") < words.index("5 bars") < words.index("Example Fasteners")
    assert "300 pieces 3 of 100 - 2 " in words
    assert "3 to 5" in words
