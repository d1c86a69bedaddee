"""A home folder with the example part planned by itself, and with an order of it, written as results are."""

# pyright: reportMissingImports=false
# (the fixtures of the sheets are found by a path that is set here)
from __future__ import annotations

import sys
from pathlib import Path
from typing import Literal

import msgspec
import pytest
from fastapi.testclient import TestClient

sys.path.insert(0, str(Path(__file__).parent / "sheets"))

import fixture_plan
import fixture_shop

from proveout.desk.app import desk_app
from proveout.jobs.home import Home, Place
from proveout.jobs.writing import plan_bytes
from proveout.model.order import OrderLoad
from proveout.model.plan import Plan

OWN = "http://127.0.0.1:8417"
ORDER = """name = "Spring"
start = 2026-03-02
due = 2026-03-20

[[item]]
job = "jaw.toml"
quantity = 150
"""


def write_home(root: Path, plan: Plan) -> Home:
    """A bare STEP file with its plan beside it; the file itself is never read here."""
    home = root / "home"
    home.mkdir()
    (home / "jaw.step").write_text("ISO-10303-21;\n", encoding="ascii")
    result = root / "home-plans" / "jaw"
    (result / "inputs").mkdir(parents=True)
    (result / "plan.json").write_bytes(plan_bytes(plan))
    return Home(home)


def write_order(root: Path, plan: Plan, load: OrderLoad) -> Home:
    """An order of one part with its result."""
    home = root / "home"
    home.mkdir()
    (home / "jaw.step").write_text("ISO-10303-21;\n", encoding="ascii")
    (home / "jaw.toml").write_text('[part]\nnumber = "EX-102"\nstep = "jaw.step"\nrevision = "B"\n', encoding="utf-8")
    (home / "order.toml").write_text(ORDER, encoding="utf-8")
    result = root / "home-plans" / "order"
    (result / "EX-102" / "inputs").mkdir(parents=True)
    (result / "EX-102" / "plan.json").write_bytes(plan_bytes(plan))
    (result / "order.toml").write_text(ORDER, encoding="utf-8")
    said = {"ready": plan.ready, "parts": [{"folder": "EX-102"}], "load": load, "fits": []}
    (result / "order.json").write_bytes(msgspec.json.encode(said))
    return Home(home)


def desk_of(home: Home, monkeypatch: pytest.MonkeyPatch, *, units: Literal["mm", "inch"] = "mm") -> TestClient:
    """The desk over a home, whose parts were planned for the example shop.   units: that its people read."""
    shop = msgspec.structs.replace(fixture_shop.example_shop(), units=units)
    monkeypatch.setattr(Place, "shop", property(lambda _: shop))
    monkeypatch.setattr(Home, "is_inch", units == "inch")
    monkeypatch.setenv("PROVEOUT_STORE", "off")
    return TestClient(desk_app(home), base_url=OWN, raise_server_exceptions=False)


def example() -> Plan:
    """The example's plan."""
    return fixture_plan.example_plan()
