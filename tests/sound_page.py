"""Whether a page of the desk is sound HTML that the desk's policy lets through."""

# pyright: reportMissingImports=false
from __future__ import annotations

import itertools
import re
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent / "sheets"))

from test_page import read


def sound(page: str) -> None:
    """One h1, headings in order, ids once, all closed, nothing that the policy of the desk forbids."""
    reader = read(page)
    assert reader.faults == []
    assert reader.open == []
    assert len(reader.ids) == len(set(reader.ids))
    levels = [int(tag[1]) for tag, _ in reader.seen if re.fullmatch(r"h[1-6]", tag)]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
    assert not re.search(r"<style|\sstyle=|\son\w+=|<script(?![^>]*\ssrc=)", page)
    ids = set(reader.ids)
    for tag, attributes in reader.seen:
        if tag == "svg":
            assert attributes.get("aria-hidden") == "true" or attributes["aria-labelledby"] in ids
        if tag == "select":
            assert ("label", {"for": attributes["id"]}) in reader.seen
