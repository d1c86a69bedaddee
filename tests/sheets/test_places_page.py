"""The sheet of what lies where: places from above, a zero for each, which program when; every number addressed."""

from __future__ import annotations

import re

import fixture_plan
import msgspec
import pytest
from test_addresses import MARKED, check_lines, left_over, page_text, pdf_text

from proveout.model.bodies import Bed, Head
from proveout.model.plan import Plan, ProgramSheet
from proveout.model.shop import Shop
from proveout.model.table_load import Filling, Laid, TableLoad, TableOption, places_of
from proveout.sheets.pages_places import TAKEN_OFF, alone_words, order_points, zero_rows
from proveout.sheets.papers import papers_document
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.plan_html import html_of
from proveout.sheets.typesetting import typeset
from proveout.sheets.writer import Writer

OPS = fixture_plan.OPS


def sheet(op: str, file: str, mark: str, filled: tuple[int, ...]) -> ProgramSheet:
    return ProgramSheet(
        clamping_id=op, file=file, fingerprint=mark, blocks_count=200, work_offset="G54", cutters={"1": "mill-6"},
        filled=filled,
    )  # fmt: skip


def with_load(plan: Plan, shop: Shop, *, is_double: bool, is_measured: bool = True) -> tuple[Plan, Shop]:
    """The example with op 1 and op 2 side by side, in two vises or on both sides of one."""
    op = plan.clampings[0]
    machine = msgspec.structs.replace(
        next(m for m in shop.machines if m.id == op.machine_id), vises_count=2, rotary=None, kind="3-axis"
    )
    vise = msgspec.structs.replace(
        next(v for v in shop.vises if v.id == op.vise_id), stands_mm=(211.5, -187.25, -333.75) if is_measured else None,
        more_stand_mm=() if is_double or not is_measured else ((398.5, -187.0, -334.0),), has_middle_jaw=is_double,
        middle_jaw_mm=36.0 if is_double else None, kind_count=1 if is_double else 2,
    )  # fmt: skip
    places = places_of(machine, (vise,))
    load = TableLoad(
        machine_id=machine.id, clamping_ids=(OPS[0], OPS[1]), pieces_count=1,
        laid=tuple(
            Laid(clamping_id=op, place=place, work_offset=f"G5{4 + n}")
            for n, (op, place) in enumerate(zip(OPS[:2], places, strict=True))
        ),
        steps=(), clear_mm=-260.0 if is_measured else None,
        fillings=(
            Filling(filled=(0, 1), cycles_count=154, seconds=431.0, changes_count=7, ways_count=5, ways_s=6.25),
            Filling(filled=(0,), cycles_count=1, seconds=384.0, changes_count=6, ways_count=0, ways_s=0.0),
            Filling(filled=(1,), cycles_count=1, seconds=63.0, changes_count=2, ways_count=0, ways_s=0.0),
        ),
    )  # fmt: skip
    programs = tuple(
        sheet(op, file, mark, filled)
        for file, mark, filled, ops in (
            ("clamping-1-2.nc", "a1b2c3d4e5f6", (0, 1), OPS[:2]),
            ("clamping-1-2-place-1-alone.nc", "b1b2c3d4e5f6", (0,), OPS[:1]),
            ("clamping-1-2-place-2-alone.nc", "c1b2c3d4e5f6", (1,), OPS[1:2]),
        )
        for op in ops
    )
    options = (
        TableOption(loads=(load.id,), text=f"{OPS[0]}, {OPS[1]} side by side, one piece of each", machine_ids=("m",),
                    seconds=447.0, each=11.25),
        TableOption(loads=(), text=f"one piece of {OPS[0]}; one piece of {OPS[1]}", machine_ids=("m",), seconds=455.0,
                    each=11.5, why_not="it costs more"),
    )  # fmt: skip
    planned = msgspec.structs.replace(plan, table_loads=(load,), programs=programs, table_options=options)
    others = tuple(m for m in shop.machines if m.id != machine.id), tuple(v for v in shop.vises if v.id != vise.id)
    return planned, msgspec.structs.replace(shop, machines=(machine, *others[0]), vises=(vise, *others[1]))


def described(shop: Shop) -> Shop:
    """The shop with a bed under every vise and a head over every table."""
    bed = Bed(length_mm=300.0, width_mm=110.0, behind_mm=60.0, below_mm=37.0, height_mm=60.0)
    head = Head(nose_diameter_mm=60.0, nose_length_mm=80.0)
    return msgspec.structs.replace(
        shop, machines=tuple(msgspec.structs.replace(m, head=head) for m in shop.machines),
        vises=tuple(msgspec.structs.replace(v, bed=bed) for v in shop.vises),
    )  # fmt: skip


def writer_of(plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings], *, marked: bool = True) -> Writer:
    return Writer(plan=plan, shop=shop, drawings=drawings, fingerprint=fixture_plan.FINGERPRINT, marked=marked)


@pytest.mark.parametrize(("is_double", "is_measured"), [(False, True), (True, True), (False, False)])
def test_every_number_about_places_stands_at_an_address(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings], *, is_double: bool, is_measured: bool
) -> None:
    planned, changed = with_load(plan, shop, is_double=is_double, is_measured=is_measured)
    writer = writer_of(planned, changed, drawings)
    pages = pdf_text(typeset(papers_document(writer)))
    assert left_over("\n".join(pages)) == []
    page = page_text(html_of(writer, None))
    assert left_over(page) == []
    check_lines(writer, planned, changed)
    assert len([p for p in pages if "what lies where" in p]) == 1


def test_the_sheet_says_what_lies_where_and_which_program_runs(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    planned, changed = with_load(plan, shop, is_double=False)
    writer = writer_of(planned, changed, drawings, marked=False)
    pages = pdf_text(typeset(papers_document(writer)))
    text = " ".join(next(p for p in pages if "what lies where" in p).split())
    # worked: the vise's place less the middle of the jaws in op 1
    middle = planned.clampings[0].jaw_middle_mm
    assert f"1 {changed.vises[0].id} Op 1 G54 {211.5 - middle:.1f} −187.2 −333.8" in text.replace("-187.2", "−187.2")
    for words in (
        "154 times clamping-1-2.nc", "1 alone once clamping-1-2-place-1-alone.nc", "2 alone once",
        "the piece of Op 2 is done, that of Op 1 goes on to Op 2, and a blank comes to Op 1",
        "Of two pieces there the thinner one is loose", "you stand here",
    ):  # fmt: skip
        assert words in text, words


def test_the_back_of_a_middle_jaw_is_told_with_its_stop(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    planned, changed = with_load(plan, shop, is_double=True)
    writer = writer_of(planned, changed, drawings, marked=False)
    text = " ".join(" ".join(pdf_text(typeset(papers_document(writer)))).split())
    assert "turned half round, stop right" in text
    assert "a slug as wide as the work" in text


def test_other_sheets_speak_of_the_places(plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]) -> None:
    planned, changed = with_load(plan, shop, is_double=False)
    writer = writer_of(planned, changed, drawings, marked=False)
    pages = [" ".join(p.split()) for p in pdf_text(typeset(papers_document(writer)))]
    setup = next(p for p in pages if "Setup sheet - Op 2" in p)
    assert "place 2, G55, measured" in setup
    assert "It works in all places of the table: Op 1 and Op 2" in setup
    assert "a cycle with all places filled 7:11" in setup
    route = next(p for p in pages if "Route card" in p)
    assert "beside Op 2" in route
    prove = next(p for p in pages if "Prove-out - piece one" in p)
    assert "piece one alone with clamping-1-2-place-1-alone.nc" in prove
    assert len(zero_rows(writer, 0)) == 1
    assert zero_rows(writer, 2) == []


def test_work_that_lies_alone_names_its_vise_and_leaves_the_others_empty(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    assert "stays EMPTY: that the moves meet nothing of them is NOT SHOWN" in alone_words(
        writer_of(plan, shop, drawings, marked=False), 0
    )
    proof = msgspec.structs.replace(
        plan.proofs[0], id=f"removal check:{plan.clampings[0].id}:idle vises", verdict="holds"
    )
    shown = msgspec.structs.replace(plan, proofs=(*plan.proofs, proof))
    said = alone_words(writer_of(shown, shop, drawings, marked=False), 0)
    assert said.endswith(
        "stays EMPTY: the moves meet nothing that is described of one that is empty; NOT LOOKED AT: its bed, the "
        "spindle's head."
    )
    shop = described(shop)
    writer = writer_of(shown, shop, drawings, marked=False)
    name = shop.vises[0].id
    assert alone_words(writer, 0) == (
        f"The work lies in the first {name}, as the shop file counts them. Every other vise on this table stays EMPTY: "
        "the moves meet nothing of one that is empty."
    )
    pages = [" ".join(p.split()) for p in pdf_text(typeset(papers_document(writer)))]
    assert "Every other vise on this table stays EMPTY" in next(p for p in pages if "Setup sheet - Op 1" in p)
    planned, changed = with_load(plan, shop, is_double=False)
    assert alone_words(writer_of(planned, changed, drawings), 0) == ""


def test_a_load_says_that_the_vises_it_leaves_idle_stay_empty(plan: Plan, shop: Shop) -> None:
    """Its two places are the two vises of one kind; the example has one of another kind beside them."""
    planned, changed = with_load(plan, shop, is_double=False)

    def said(plan: Plan, shop: Shop) -> list[str]:
        return [p for p in order_points(writer_of(plan, shop, {}, marked=False), 0) if "EMPTY" in p]

    words = "Every other vise on this table stays EMPTY: "
    assert said(planned, changed) == [f"{words}that the moves meet nothing of them is NOT SHOWN."]
    load = planned.table_loads[0].id
    proof = msgspec.structs.replace(plan.proofs[0], id=f"removal check:{load}:idle vises", verdict="holds")
    shown = msgspec.structs.replace(planned, proofs=(*planned.proofs, proof))
    assert said(shown, described(changed)) == [f"{words}the moves meet nothing of one that is empty."]
    off = tuple(msgspec.structs.replace(m, idle_vises_off=True) for m in changed.machines)
    assert not said(planned, msgspec.structs.replace(changed, machines=off))
    taken_off = writer_of(planned, msgspec.structs.replace(changed, machines=off), {}, marked=False)
    assert TAKEN_OFF in order_points(taken_off, 0)
    assert alone_words(writer_of(plan, msgspec.structs.replace(shop, machines=off), {}, marked=False), 0).endswith(
        TAKEN_OFF
    )
    alone = msgspec.structs.replace(changed, vises=changed.vises[:1])
    assert said(planned, alone) == []


def test_unmeasured_places_say_so(plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]) -> None:
    planned, changed = with_load(plan, shop, is_double=False, is_measured=False)
    writer = writer_of(planned, changed, drawings, marked=False)
    text = " ".join(" ".join(pdf_text(typeset(papers_document(writer)))).split())
    assert "what stands in the other places are NOT SHOWN" in text
    assert "not to scale" in text


def test_the_page_names_the_ways_with_their_money(
    plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]
) -> None:
    planned, changed = with_load(plan, shop, is_double=False)
    page = page_text(html_of(writer_of(planned, changed, drawings), None))
    section = page[page.index("What lies in each place") :]
    marks = MARKED.findall(section)
    assert "‹11.25›" in marks
    assert "‹7:27›" in marks
    assert re.search(r"it costs more", section)
