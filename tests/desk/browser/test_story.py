"""What an owner does on the desk, step by step in a browser."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from desk.browser.watching import PHONE, Look, told
from playwright.sync_api import Browser, Page, expect

CHECK_LIMIT_MS = 180_000


@pytest.fixture(scope="module")
def edited(home: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, int]:
    """The first program with the floor of the pocket 2 mm deeper, and the line that was edited."""
    program = home.with_name("home-plans") / "plate" / "programs" / "clamping-1.nc"
    lines = program.read_text(encoding="ascii").splitlines()
    at = next(k for k, line in enumerate(lines) if "FINISH FLOOR" in line)
    at = next(k for k in range(at, len(lines)) if re.search(r"G1 Z\d", lines[k]))
    lines[at] = re.sub(r"Z([\d.]+)", lambda found: f"Z{float(found[1]) - 2.0:.3f}", lines[at])
    path = tmp_path_factory.mktemp("edited") / "edited.nc"
    path.write_text("\n".join(lines), encoding="ascii")
    return path, at + 1


def ask(page: Page, program: Path) -> None:
    page.get_by_label("The file that the machine is to run").set_input_files(program)
    page.get_by_label("For which operation").select_option("1")
    page.get_by_role("button", name="Check it").click()


def test_an_edited_program_is_checked_and_the_line_is_reached(look: Look, edited: tuple[Path, int]) -> None:
    program, line = edited
    page = look("/parts/plate/check")
    ask(page, program)
    expect(page.get_by_role("status")).to_be_visible()
    assert told(page) == []
    expect(page.get_by_text(re.compile("^FAILS: "))).to_be_visible(timeout=CHECK_LIMIT_MS)
    assert told(page) == []
    found = page.locator("ol.found a").first
    assert str(line) in found.inner_text()
    found.press("Enter")
    assert page.evaluate("location.hash") == f"#line-{line}"
    bad = page.locator(f"#line-{line}")
    expect(bad).to_be_in_viewport()
    assert "found 1" in bad.inner_text()
    assert page.locator(".program .bad").count() == page.locator(".program p:has(a)").count() > 0
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    assert page.evaluate("document.scrollingElement.scrollWidth") <= PHONE[0]
    assert told(page) == []
    page.goto("/parts/plate/check")
    assert "FAILS" in page.get_by_role("link", name="edited.nc").locator("..").inner_text()


def test_a_program_is_checked_without_any_script(look: Look, tmp_path: Path) -> None:
    program = tmp_path / "short.nc"
    program.write_text("G21 G90\nG77\nM30\n", encoding="ascii")
    page = look("/parts/plate/check", script=False)
    ask(page, program)
    expect(page.get_by_text(re.compile("^(FAILS|NOT SHOWN): "))).to_be_visible(timeout=CHECK_LIMIT_MS)
    assert "G77" in page.locator("#line-2").inner_text()


def test_the_page_of_a_result_runs_apart_from_the_desk(browser: Browser, desk: str) -> None:
    """Its script draws the part; it has no origin of its own, and cannot ask the desk for anything.

    Not watched: being refused is a complaint of the browser's.
    """
    page = browser.new_page(base_url=desk)
    page.goto("/parts/plate/files/plan.html")
    assert page.evaluate("self.origin") == "null"
    assert page.evaluate("document.querySelectorAll('canvas').length") > 0
    refused = page.evaluate("fetch('/shop').then(() => 'answered', () => 'refused')")
    assert refused == "refused"
    page.close()


def test_the_papers_show_themselves_and_each_sheet_leads_to_its_page(look: Look) -> None:
    page = look("/parts/plate/papers")
    expect(page.locator("iframe")).to_be_visible()
    link = page.get_by_role("link", name="Saw ticket")
    assert link.get_attribute("href") == "/parts/plate/files/papers.pdf#page=3"
    with page.expect_download() as saved:
        page.get_by_role("link", name="save clamping-1.nc").first.press("Enter")
    assert saved.value.suggested_filename == "clamping-1.nc"
