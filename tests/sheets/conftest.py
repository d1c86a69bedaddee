"""The example plan and its drawings, built once."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

import fixture_plan
import fixture_shop
import fixture_solid

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.model.target import Target
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.writer import Writer


@pytest.fixture(scope="session")
def plan() -> Plan:
    return fixture_plan.example_plan()


@pytest.fixture(scope="session")
def ready_plan() -> Plan:
    return fixture_plan.example_plan(ready=True)


@pytest.fixture(scope="session")
def shop() -> Shop:
    return fixture_shop.example_shop()


@pytest.fixture(scope="session")
def target() -> Target:
    return fixture_solid.jaw_target()


@pytest.fixture(scope="session")
def drawings(plan: Plan) -> dict[str, ClampingDrawings]:
    return fixture_solid.drawings(plan)


@pytest.fixture
def marked(plan: Plan, shop: Shop, drawings: dict[str, ClampingDrawings]) -> Writer:
    return Writer(plan=plan, shop=shop, drawings=drawings, fingerprint=fixture_plan.FINGERPRINT, marked=True)
