"""The typesetter forgets what it set, so that a desk may print for weeks."""

from __future__ import annotations

import subprocess
import sys

import pytest

from proveout.sheets import typesetting
from proveout.sheets.typesetting import FORGETS_AFTER, typeset

GROWN = """
import resource
from fixture_plan import example_plan
from fixture_shop import example_shop
from proveout.sheets import typesetting
from proveout.sheets.papers import papers_pdf
typesetting.REMEMBERED_LETTERS = 1
peaks = []
for number in range(3):
    papers_pdf(plan=example_plan(), shop=example_shop(), drawings={}, fingerprint=f"{number}")
    peaks.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
print((peaks[-1] - peaks[0]) / 1024)
"""


def test_the_typesetter_is_made_to_forget_once_it_set_much(monkeypatch: pytest.MonkeyPatch) -> None:
    set_of: list[str] = []

    def compiled(_source: bytes, data: str) -> bytes:
        set_of.append(data)
        return b"%PDF"

    monkeypatch.setattr(typesetting, "_compiled", compiled)
    monkeypatch.setattr(typesetting, "_memory", typesetting._Memory())
    page = {"words": "x" * (typesetting.REMEMBERED_LETTERS // 2)}
    assert typeset(page) == b"%PDF"
    assert len(set_of) == 1
    typeset(page)
    assert [bool(data) for data in set_of] == [True, True] + [False] * FORGETS_AFTER
    typeset(page)
    assert len(set_of) == 3 + FORGETS_AFTER


def test_papers_made_again_and_again_take_no_more_memory() -> None:
    """Each would keep some 200 MB otherwise; the first is what the process needs anyway."""
    said = subprocess.run(
        [sys.executable, "-c", f"import sys; sys.path[:0] = {sys.path!r}\n{GROWN}"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert float(said.stdout) < 120.0, said.stdout
