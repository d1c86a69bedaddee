"""The band of the cost as a plan gives it: in plan.json, on the page and as a table."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest
from flows.small import JOB, SHOP, plan, write_job

MONEY = """
[selling]
price = 60
bought_each = { low = 2.0, nominal = 2.5, high = 3.0 }

[demand]
per_year = { low = 80, nominal = 120, high = 200 }
holding_percent = { low = 15, nominal = 20, high = 30 }
"""


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory, store: Path) -> Path:
    """The small plate planned with a price and a demand."""
    folder = tmp_path_factory.mktemp("money")
    job = write_job(folder, job=JOB.split("[sizes]", maxsplit=1)[0] + MONEY)
    plan(job, folder / "out", shop=SHOP, store=store)
    return folder / "out"


def content(folder: Path) -> dict[str, Any]:
    return json.loads((folder / "plan.json").read_text(encoding="utf-8"))


def test_the_plan_holds_the_band_and_its_lines_are_those_of_the_cost(result: Path) -> None:
    cost = content(result)["cost"]
    band = cost["band"]
    assert [line["text"] for line in band["lines"]] == [line["text"] for line in cost["lines"]]
    assert cost["each"]["low"] < band["each"]["p10"] < band["each"]["p50"] < band["each"]["p90"] < cost["each"]["high"]
    assert band["apart"]["p90"] - band["apart"]["p10"] < band["each"]["p90"] - band["each"]["p10"]
    assert {one["id"] for one in band["widest"]} == {"moves", "hand", "once", "lost"}
    assert all(one["measure"] for one in band["widest"])
    for line, drawn in zip(cost["lines"], band["lines"], strict=True):
        if line["text"] != "scrap":
            assert line["each"]["low"] - 1e-3 <= drawn["each"]["p10"] <= drawn["each"]["p90"]
            assert drawn["each"]["p90"] <= line["each"]["high"] + 1e-3


def test_the_proofs_of_money_never_block_release(result: Path) -> None:
    found = {p["id"]: p for p in content(result)["proofs"] if p["stage"] == "costing"}
    assert found["costing:make-or-buy:making-is-cheaper"]["verdict"] == "fails"
    assert found["costing:quantity:costs-little-more-than-the-best"]["verdict"] in ("holds", "fails")
    assert "costing:spares:cover-the-losses" in found
    assert not any(p["blocks_release"] for p in found.values())


def test_the_curve_is_written_beside_the_plan(result: Path) -> None:
    rows = list(csv.DictReader(io.StringIO((result / "cost-curve.csv").read_text(encoding="utf-8"))))
    band = content(result)["cost"]["band"]
    assert [float(row["each_p50"]) for row in rows] == [point["each"]["p50"] for point in band["curve"]]
    assert b"How many at once" in (result / "plan.html").read_bytes()
