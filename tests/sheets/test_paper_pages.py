"""The list of papers with their pages, against a reader of PDF that others made."""

from __future__ import annotations

import io

import fixture_plan
import pypdf
import pytest
from proveout.sheets.paper_pages import papers_in
from proveout.sheets.papers import papers_pdf, typeset


@pytest.fixture(scope="module")
def pdf() -> bytes:
    return papers_pdf(plan=fixture_plan.plan(), shop=fixture_plan.shop(), drawings={}, fingerprint="0123456789abcdef")
