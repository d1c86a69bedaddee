"""An order of two plates nearly alike: half-made, one seats in the jaws of the other, and plan and card say so."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from flows.small import JOB, SHOP, STYLE, plan

from proveout.jobs.home import Home
from proveout.jobs.store import Store
from proveout.jobs.trying import make_try, wanted_try
from proveout.model.changes import Change
from proveout.model.plan import Plan
from proveout.model.run import Run
from proveout.sheets.pages_loading import other_rows, tried_words
from proveout.sheets.writer import Writer

PROBE = """
[machine.probe]
error_mm = { low = 0.002, nominal = 0.005, high = 0.010, source = "ten touches on a ring", strength = "measured here" }
ball_mm = 4
stylus_mm = 40
body_mm = 25
"""
HALF = "the work after operation 1 of"
ASIDE_MM = 0.1


def write_bored(folder: Path, number: str, x_mm: float) -> None:
    """A plate 50 x 40 x 12 mm with a hole at either end, the first so far from the left one, and its job."""
    from shapes import box, drilled

    from proveout.solids.shapes import sub_shapes
    from proveout.solids.step import write_step

    folder.mkdir()
    shape = box(50.0, 40.0, 12.0)
    for at in (x_mm, 42.0):
        shape = drilled(shape, at=(at, 20.0, 13.0), along=(0.0, 0.0, -1.0), dia=6.6, deep=50.0)
    write_step(sub_shapes(shape, "solid")[0], folder / "plate.step", name="plate")
    (folder / "plate.toml").write_text(JOB.replace('"T-1"', f'"{number}"'), encoding="utf-8")


@pytest.fixture(scope="module")
def home(store: Path, tmp_path_factory: pytest.TempPathFactory) -> Home:
    """A home with the order, planned; nobody changes it."""
    root = tmp_path_factory.mktemp("order-loads") / "home"
    root.mkdir()
    write_bored(root / "a", "T-1", 8.0)
    write_bored(root / "b", "T-2", 8.0 + ASIDE_MM)
    shop = SHOP.read_text(encoding="utf-8").replace("resolution_mm = 0.001\n", STYLE + PROBE)
    (root / "shop.toml").write_text(shop, encoding="utf-8")
    items = "".join(f'[[item]]\njob = "{sub}/plate.toml"\nquantity = 20\n' for sub in "ab")
    (root / "order.toml").write_text(f'name = "pair"\nstart = 2026-01-05\ndue = 2026-02-16\n{items}', encoding="utf-8")
    plan(root / "order.toml", root.with_name("home-plans") / "order", shop=root / "shop.toml", store=store)
    return Home(root)


def kept(home: Home, number: str) -> Plan:
    entry = home.entry("order")
    return next(p for p in (home.place(address).plan for address in entry.parts) if p.part.number == number)


@pytest.mark.parametrize(("number", "other"), [("T-1", "T-2"), ("T-2", "T-1")])
def test_a_half_made_piece_of_the_other_plate_escapes_in_the_second_operation(
    home: Home, number: str, other: str
) -> None:
    """Turned over as is right, with a hole 0.1 mm off: that seats, is cut wrongly, and neither probe nor eye tells."""
    found = kept(home, number)
    first, second = found.loading
    assert {(one.others_tried, one.others_untried) for one in found.loading} == {((other,), ())}
    escaping = [one for one in second.wrong if one.caught_by == "none" and (one.what, one.part) == (HALF, other)]
    assert escaping
    assert min(one.wrong_mm for one in escaping) == pytest.approx(ASIDE_MM, abs=0.02)
    assert not [one for one in first.wrong if one.caught_by == "none" and one.part]
    (proof,) = (p for p in found.proofs if p.id == f"loading:{second.clamping_id}:wrong loads")
    assert (proof.verdict, found.ready) == ("fails", False)
    assert f"{HALF} {other}" in proof.remedy
    writer = Writer(plan=found, shop=home.shop(), drawings={}, fingerprint="")
    assert f"{HALF} {other}" in [row[0] for row in other_rows(writer, 1)[0]]
    assert f"half-made and finished pieces of {other}" in tried_words(writer, 1)


def test_a_try_on_one_plate_looks_at_the_same_pieces_of_the_other(home: Home, store: Path) -> None:
    """What hangs on the jaws alone leaves the wrong loads as they are kept: they are taken from the store."""
    entry = home.entry("order")
    place = home.place(next(address for address in entry.parts if home.place(address).plan.part.number == "T-1"))
    kind = Store(store)
    more = Change(file="job", path=("pins", "torque_n_m"), value="66")
    tried = make_try(home, wanted_try(home, place, (more,), is_as_cut=True), run=Run(), store=kind)
    assert kind.hits.count("loading") == 1
    assert tried.compared.plan.loading == place.plan.loading
    moved = {one.shown.stage for one in tried.compared.differences.proofs}
    assert "holding" in moved
    assert "loading" not in moved


def test_a_plate_by_itself_says_that_no_other_was_looked_at(home: Home, store: Path, tmp_path: Path) -> None:
    alone = plan(home.root / "a" / "plate.toml", tmp_path / "out", shop=home.root / "shop.toml", store=store).parts[0]
    assert {one.others_tried for one in alone.plan.loading} == {()}
    proofs = [p for p in alone.plan.proofs if p.stage == "loading"]
    assert proofs
    assert all("Pieces of other parts were not laid in" in p.basis.formula for p in proofs)
    assert not [one for loading in alone.plan.loading for one in loading.wrong if one.part]
    assert "keep them away" in (tmp_path / "out" / "plan.html").read_text(encoding="utf-8")
    assert msgspec.structs.asdict(kept(home, "T-1"))["passes"] == alone.plan.passes
