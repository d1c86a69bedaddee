"""An alloy that the shop has no figures for: nothing that rests on them is shown, and nothing prints them."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import msgspec
import pypdfium2
import pytest
from flows.small import JOB, SHOP, proveout, write_job

from proveout.intake.job_file import job_from_text
from proveout.intake.shop_file import read_shop
from proveout.jobs.metal import lacking, metal_proofs, without_figures
from proveout.model.order import OrderedPart
from proveout.sheets.order_html import order_html
from proveout.stages.schedule.hours import order_load

TITANIUM = "Ti-6Al-4V"
# money and minutes as the pages print them: 12.34 EUR, 4:07
PRINTED = re.compile(r"\d+\.\d\d\s*(?:to\s*\d+\.\d\d\s*)?EUR|\b\d+:\d\d\b")


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory, store: Path) -> tuple[Path, int, str]:
    """The small plate of titanium from bars of titanium: its result folder, exit status and what was said."""
    folder = tmp_path_factory.mktemp("titanium")
    job = write_job(folder, job=JOB.replace("6061-T6", TITANIUM))
    shop = SHOP.read_text(encoding="utf-8")
    shop = re.sub(r'(?m)^alloy = "6061-T6"$', f'alloy = "{TITANIUM}"', shop)
    assert f'alloy = "{TITANIUM}"' in shop
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    said = proveout(
        "plan", job, "--shop", folder / "shop.toml", "--out", folder / "out", PROVEOUT_STORE=str(store)
    )  # fmt: skip
    return folder / "out", said.returncode, said.stdout + said.stderr


def test_loads_grip_crush_power_cycle_and_price_are_not_shown(planned: tuple[Path, int, str]) -> None:
    out, status, said = planned
    assert status == 3, said
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert not plan["ready"]
    assert not plan["blank"]["chosen"]["is_ideal"]
    proofs = {p["id"]: p for p in plan["proofs"]}
    for words in (":power", ":grip", ":bearing", ":cycle-has-been-timed", ":price is known", ":speeds are for it"):
        found = [p for id, p in proofs.items() if id.endswith(words)]
        assert found, words
        for proof in found:
            assert (proof["verdict"], proof["blocks_release"]) == ("not shown", True), proof["id"]
            assert (proof["found_low"], proof["found_high"], proof["margin"]) == (None, None, None)
            assert f'put "{TITANIUM}" into its alloys' in proof["decides"]
            assert not proof["basis"]["inputs"]
    weighed = [p for p in proofs.values() if p["unit"].startswith("money")]
    assert len(weighed) >= 2
    assert {(p["verdict"], p["found_high"], p["limit"]) for p in weighed} == {("not shown", None, None)}
    assert not any(p["blocks_release"] for p in weighed if p["stage"] not in ("costing", "timing"))
    rated = [p for id, p in proofs.items() if id.endswith((":rated speed", ":vise rating"))]
    assert {p["verdict"] for p in rated} == {"holds"}
    assert len(plan["rounds"]) == 1  # nothing is eased for the sake of forces that nobody knows


def test_no_price_and_no_minutes_are_printed(planned: tuple[Path, int, str]) -> None:
    out, _, said = planned
    assert "not shown, nor the price" in said
    assert not PRINTED.search(said)
    page = (out / "plan.html").read_text(encoding="utf-8")
    body = re.sub(r"<script.*?</script>|<style.*?</style>|<svg.*?</svg>", "", page, flags=re.DOTALL)
    body = body[body.index("<body>") :]
    read = re.sub(r"<[^>]+>", " ", body)
    assert not PRINTED.search(read), PRINTED.findall(read)[:5]
    assert "Times and money are not shown" in body
    papers = pypdfium2.PdfDocument(out / "papers.pdf")
    for number, sheet in enumerate(papers, start=1):
        told = sheet.get_textpage().get_text_range()
        # at the saw hands take the same time whatever the metal is, the blade does not
        told = re.sub(r"not shown,\s*\d+:\d\d", "", told) if "Saw ticket" in told else told
        assert not PRINTED.search(told), (number, PRINTED.findall(told))


def test_not_shown_stands_on_one_line_of_a_column_of_minutes(planned: tuple[Path, int, str]) -> None:
    told = [sheet.get_textpage().get_text_range() for sheet in pypdfium2.PdfDocument(planned[0] / "papers.pdf")]
    for head in ("Route card", "Setup sheet"):
        own = [text for text in told if head in text[:120]]
        assert own
        for text in own:
            assert "not shown" in text
            assert not re.search(r"(?m)^not\s*$|\bnot[ \r]*\n+shown", text), head


def test_its_bars_are_on_the_purchase_list_without_money_and_no_edges_are(planned: tuple[Path, int, str]) -> None:
    plan = json.loads((planned[0] / "plan.json").read_text(encoding="utf-8"))
    bars = [one for one in plan["purchases"] if one["kind"] == "bar"]
    assert sum(bar["count"] for bar in bars) == plan["bars"]["bars_count"] > 0
    assert {bar["price_total"] for bar in bars} == {None}
    assert all(bar["why"].startswith(TITANIUM) for bar in bars)
    assert not [one for one in plan["purchases"] if one["kind"] == "cutter"]
    written = list(csv.DictReader((planned[0] / "purchases.csv").read_text(encoding="utf-8").splitlines()))
    assert [(row["what"], row["price_total"]) for row in written if row["kind"] == "bar"] == [
        (bar["what"], "") for bar in bars
    ]


def test_an_order_with_a_part_of_unknown_metal_is_not_said_to_be_on_time() -> None:
    from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]
    from fixture_shop import example_shop  # pyright: ignore[reportMissingImports]

    job = job_from_text(JOB.replace("6061-T6", TITANIUM))
    known = msgspec.structs.replace(example_plan(), start="2026-01-05")
    plan = msgspec.structs.replace(known, metal_unknown="the figures are for another metal")
    load = order_load(parts=[OrderedPart(plan=plan, job=job)], shop=example_shop())
    assert (load.verdict, load.stations, load.ways_out) == ("not shown", (), ())
    assert load.notes == (
        "On time: not shown; minutes of EX-102 are not known, as the figures are for another metal",
    )  # fmt: skip
    assert order_load(parts=[OrderedPart(plan=known, job=job)], shop=example_shop()).stations
    page = order_html(parts=[(plan, "EX-102")], load=load, shop=example_shop(), name="an order")
    assert "not shown" in page[page.index("How it stands") if "How it stands" in page else 0 :]
    assert not PRINTED.search(page)


def test_what_rests_on_figures_of_another_metal_stops_release_even_where_it_did_not() -> None:
    from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]

    proofs = tuple(msgspec.structs.replace(proof, blocks_release=False) for proof in example_plan().proofs)
    told = without_figures(proofs, "no figures")
    changed = [after for before, after in zip(proofs, told, strict=True) if after != before]
    assert {p.stage for p in changed} >= {"loads", "holding"}
    assert {(p.verdict, p.blocks_release, p.found_low, p.found_high, p.margin) for p in changed} == {
        ("not shown", True, None, None, None)
    }
    assert without_figures(proofs, "") == proofs


def test_what_weighs_money_is_not_shown_and_blocks_no_more_than_before() -> None:
    from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]

    weighed = msgspec.structs.replace(
        example_plan().proofs[0], id="bars:45x20:no-cheaper-bars", stage="bars", verdict="holds", unit="money",
        found_low=80.19, found_high=80.19, limit=80.19, margin=0.0, blocks_release=False,
    )  # fmt: skip
    (told,) = without_figures((weighed,), "no figures")
    assert (told.verdict, told.blocks_release, told.found_high, told.limit) == ("not shown", False, None, None)
    length = msgspec.structs.replace(weighed, unit="mm")
    assert without_figures((length,), "no figures") == (length,)


def test_figures_serve_the_named_alloy_and_its_stretched_temper_alone() -> None:
    shop = read_shop(SHOP)
    for alloy in ("6061-T6", "6061-t6", "6061-T6511"):
        assert lacking(alloy, shop) == ""
        assert metal_proofs(alloy, shop, "") == ()
    for alloy in ("6061", "6061-T4", "6061-T651x", "7075-T6", TITANIUM):
        assert f"not for {alloy}" in lacking(alloy, shop)
    nameless = msgspec.structs.replace(shop, alloys=())
    assert "for no alloy that is named" in lacking("6061-T6", nameless)


def test_a_shop_that_names_no_alloy_says_so(tmp_path: Path) -> None:
    shop = tmp_path / "shop.toml"
    shop.write_text(re.sub(r"(?m)^alloys = .*\n", "", SHOP.read_text(encoding="utf-8")), encoding="utf-8")
    assert read_shop(shop).alloys == ()
    assert any("alloys" in line for line in read_shop(shop).assumed)
