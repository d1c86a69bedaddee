"""The line on the setup sheet for soft jaws that are cut to the work."""

from __future__ import annotations

import msgspec
import pytest
from fixture_plan import FINGERPRINT

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets.jaw_words import pocket_words
from proveout.sheets.writer import Writer


def said(plan: Plan, shop: Shop, index: int) -> str:
    writer = Writer(plan=plan, shop=shop, drawings={}, fingerprint=FINGERPRINT)
    return pocket_words(writer, index, force="15 to 20 kN").replace("\u202f", " ").replace("\u00a0", " ")


def test_slug_depth_program_stop_and_every_relief_are_told(plan: Plan, shop: Shop) -> None:
    words = said(plan, shop, 2)
    for part in (
        "slug 12.00 mm wide", "jaw force 15 to 20 kN", "1.0 mm or more below the step", "10.00 mm deep",
        "3.00 mm into each jaw", "X −17.50 mm", "Program clamping-3-jaws.nc, fingerprint 0a1b 2c3d 4e5f",
        "Stop: the left end wall of the pocket.", "X 1.7 Y −1.7 by 0.8 mm; X 1.7 Y −1.7 by 0.8 mm.", "NOT SHOWN",
    ):  # fmt: skip
        assert part in words


def test_jaws_without_a_planned_pocket_are_said_to_have_none(plan: Plan, shop: Shop) -> None:
    assert "NOT PLANNED" in said(plan, shop, 1)


def test_hard_jaws_have_no_such_line(plan: Plan, shop: Shop) -> None:
    assert said(plan, shop, 0) == ""


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"stop": ""}, "Stop: none in the pocket."),
        ({"reliefs": ()}, "No corner needs a relief."),
        ({"passes": (), "reliefs": (), "seconds": None}, "NO CUTTER of the shop"),
    ],
)
def test_what_a_pocket_lacks_is_said(plan: Plan, shop: Shop, changes: dict[str, object], words: str) -> None:
    form = msgspec.structs.replace(plan.jaw_forms[0], **changes)
    assert words in said(msgspec.structs.replace(plan, jaw_forms=(form,)), shop, 2)


def test_without_a_program_the_reason_is_said(plan: Plan, shop: Shop) -> None:
    assert "No program: " in said(msgspec.structs.replace(plan, jaw_programs=()), shop, 2)


def test_what_the_pockets_cutter_takes_the_place_of_goes_back_after(plan: Plan, shop: Shop) -> None:
    """Worked: the program calls mill-6 as number 3, where the shop file says that another one stands."""
    other = next(one for one in shop.cutters if one.id != "mill-6")

    def told(*changer: str) -> str:
        machines = tuple(msgspec.structs.replace(one, changer=changer) for one in shop.machines)
        return said(plan, msgspec.structs.replace(shop, machines=machines), 2)

    out = "For them out of the changer, then back and measured anew"
    assert f"{out}: {other.name}. The forces" in told("", "", other.id)
    assert out not in told("", other.id, "mill-6")
    assert out not in told("", "", "", other.id)
