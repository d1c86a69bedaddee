"""The list of papers with their pages, against a reader of PDF that others made."""

from __future__ import annotations

import io

import fixture_plan as fixture
import pypdf
import pytest

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets.blocks import page
from proveout.sheets.paper_pages import Paper, papers_in
from proveout.sheets.papers import papers_pdf
from proveout.sheets.typesetting import typeset


@pytest.fixture(scope="module")
def pdf(plan: Plan, shop: Shop) -> bytes:
    return papers_pdf(plan=plan, shop=shop, drawings={}, fingerprint=fixture.FINGERPRINT)


def test_every_paper_is_named_with_its_first_and_last_page(pdf: bytes) -> None:
    """Checked by another reader: titles and pages; the papers follow one another without a gap."""
    other = pypdf.PdfReader(io.BytesIO(pdf))
    wanted = [
        (str(entry["/Title"]), (other.get_destination_page_number(entry) or 0) + 1)
        for entry in other.outline
        if not isinstance(entry, list)
    ]
    found = papers_in(pdf)
    assert [(one.title, one.first) for one in found] == wanted
    assert len(found) > 10
    assert [one.first for one in found[1:]] == [one.last + 1 for one in found[:-1]]
    assert (found[0].first, found[-1].last) == (1, len(other.pages))


def test_titles_are_read_whatever_letters_they_have() -> None:
    titles = ["Plain (in (deep) brackets)", "open ( only", "Ø 6 – größer", "back\\slash"]
    pages = [page(sheet="x", title=title, blocks=[]) for title in titles]
    document = {"title": "x", "part": "x", "revision": "-", "shop": "x", "fingerprint": "", "start": "", "ready": True,
                "band": "", "pages": pages}  # fmt: skip
    assert papers_in(typeset(document)) == tuple(
        Paper(title=title, first=k, last=k) for k, title in enumerate(titles, start=1)
    )


def test_a_file_of_another_make_has_no_list(pdf: bytes) -> None:
    writer = pypdf.PdfWriter()
    writer.add_blank_page(100, 100)
    other = io.BytesIO()
    writer.write(other)
    assert papers_in(other.getvalue()) == ()
    for broken in (b"", b"%PDF-1.7", pdf[:-2000], pdf.replace(b"/Outlines", b"/Outlined"), b"startxref\n999999\n%%EOF"):
        assert papers_in(broken) == ()
