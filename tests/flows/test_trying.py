"""A change tried on the small plate: what it does to proofs, minutes, money and days, kept in the files or dropped."""

from __future__ import annotations

import shutil
from pathlib import Path

import msgspec
import pytest
from flows.small import SHOP, plan, write_job

from proveout.jobs.changed_files import own_files
from proveout.jobs.home import Home
from proveout.jobs.offers import offers_of
from proveout.jobs.store import Store
from proveout.jobs.trying import Tried, drop_try, keep_try, make_try, tries_of, wanted_try
from proveout.model.changes import Change
from proveout.model.run import Run
from proveout.quantities.errors import BadInput

TORQUE = ("pins", "torque_n_m")
SLOW = {"clampings look", "passes", "removal check", "loads", "program", "jaw forms", "finishing"}
"""Decisions that take long, and that neither money nor counts nor the grip hang on."""
FRICTION = '{ low = 0.1501, nominal = 0.2, high = 0.25, source = "workshop-practice", strength = "common practice" }'


@pytest.fixture(scope="module")
def planned(store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home with the small plate, planned; nobody changes it."""
    root = tmp_path_factory.mktemp("trying") / "home"
    write_job(root)
    shutil.copyfile(SHOP, root / "shop.toml")
    plan(root / "plate.toml", root.with_name("home-plans") / "plate", store=store)
    return root


@pytest.fixture
def home(planned: Path, tmp_path: Path) -> Home:
    shutil.copytree(planned.parent, tmp_path / "all")
    return Home(tmp_path / "all" / "home")


def change(*path: str, value: str, file: str = "job") -> Change:
    return Change(file=file, path=path, value=value)  # type: ignore[arg-type] - the name of a file as text


def tried(home: Home, store: Path, *changes: Change, is_as_cut: bool = False) -> Tried:
    wanted = wanted_try(home, home.place("plate"), changes, is_as_cut=is_as_cut)
    return make_try(home, wanted, run=Run(), store=Store(store))


def test_more_torque_moves_the_proofs_of_holding_and_too_much_of_it_fails(home: Home, store: Path) -> None:
    """The vise presses with 15 to 20 kN at 60 N m and may with 30: at 150 N m even its low end is 37.5 kN."""
    more = tried(home, store, change(*TORQUE, value="66"), is_as_cut=True).compared.differences
    moved = {one.shown.id.rpartition(":")[2]: one for one in more.proofs if one.shown.stage == "holding"}
    assert {"vise rating", "bearing", "grip"} <= moved.keys()
    assert moved["vise rating"].kind == "margin"
    assert not more.passes, "they were to stay as they are"
    much = tried(home, store, change(*TORQUE, value="150"), is_as_cut=True)
    stopping = {one.shown.id: one.shown for one in much.compared.differences.stopping}
    ratings = [proof for id, proof in stopping.items() if id.endswith(":vise rating")]
    assert ratings
    assert {proof.verdict for proof in ratings} == {"fails"}
    assert ratings[0].found_low == pytest.approx(2.5 * 15e3)
    assert much.compared.differences.ready in ((True, False), None)
    assert not much.compared.plan.ready


def test_a_day_alone_changes_no_decision(home: Home, store: Path) -> None:
    due, start = (
        tried(home, store, change("order", key, value=day)).compared.differences
        for key, day in (("due", "2026-03-01"), ("start", "2026-01-12"))
    )
    assert [(day.what, day.old, day.new) for day in due.dates] == [("wanted by", "2026-02-16", "2026-03-01")]
    moved = {day.what: (day.old, day.new) for day in start.dates}
    assert moved["done"] == ("2026-01-06", "2026-01-13"), "the same work, a week later"
    for found in (due, start):
        rest = msgspec.structs.replace(found, dates=())
        assert rest.is_empty


def test_more_pieces_move_money_and_minutes_and_no_pass(home: Home, store: Path) -> None:
    fresh = Store(store)
    wanted = wanted_try(home, home.place("plate"), [change("order", "quantity", value="44")])
    found = make_try(home, wanted, run=Run(), store=fresh).compared.differences
    assert {"the batch", "a piece"} <= {one.what for one in found.money}
    assert ("pieces wanted", (40.0, 40.0), (44.0, 44.0)) in [(n.what, n.old, n.new) for n in found.numbers]
    assert not found.passes
    assert "clampings" in fresh.misses, "set-ups are shared by more pieces"
    assert "clampings look" in fresh.hits, "the part is as it was"
    assert not (SLOW | {"clampings reach", "stability", "holding"}) & set(fresh.misses), (
        "nothing else hangs on the quantity"
    )


@pytest.mark.parametrize(
    ("path", "value", "moved"),
    [
        (("crib", "cutter", "EM12", "price"), "61", "costing"),
        (("crib", "cutter", "EM12", "life_min"), "77", "edges"),
        (("machine", "mill-3", "rate_per_h"), "66", "clampings"),
        (("machine", "mill-3", "setup_min"), "44", "timing"),
        (("vise", "vise-3", "rating_kn"), "29", "holding"),
        (("jaws", "soft", "friction"), FRICTION, "holding"),
    ],
)
def test_what_moves_no_cut_has_no_cut_worked_out_anew(
    home: Home, store: Path, path: tuple[str, ...], value: str, moved: str
) -> None:
    fresh = Store(store)
    wanted = wanted_try(home, home.place("plate"), [change(*path, value=value, file="shop")])
    make_try(home, wanted, run=Run(), store=fresh)
    assert moved in fresh.misses
    assert not SLOW & set(fresh.misses)


def test_a_try_touches_nothing_and_keeping_it_writes_the_one_key(home: Home, store: Path) -> None:
    job = home.root / "plate.toml"
    before = job.read_text("utf-8")
    kept = tried(home, store, change("order", "due", value="2026-03-01"))
    assert job.read_text("utf-8") == before
    assert list(tries_of(home, "plate")) == [kept.id]
    assert keep_try(home, kept.id) == (job,)
    assert job.read_text("utf-8") == before.replace("due = 2026-02-16", "due = 2026-03-01")
    assert tries_of(home, "plate") == {}


def test_a_try_is_dropped_without_a_trace_and_not_kept_on_another_file(home: Home, store: Path) -> None:
    one = tried(home, store, change("order", "due", value="2026-03-02"))
    (home.root / "plate.toml").write_text((home.root / "plate.toml").read_text("utf-8") + "\n# typed since\n")
    with pytest.raises(BadInput, match="changed since the change was tried"):
        keep_try(home, one.id)
    assert one.folder.is_dir()
    drop_try(home, one.id)
    assert not one.folder.exists()


@pytest.mark.parametrize(
    ("one", "says"),
    [
        (change("order", "quantity", value="0"), "outside its plausible range"),
        (change("order", "quantity", value="40"), "Nothing is changed"),
        (change("order", "quantitty", value="4"), "did you mean"),
        (change("pins", "bar", value='"no such"'), "does not have"),
        (change("no", "such", value="1"), "not known here"),
        (change("crib", "cutter", "EM99", "life_min", value="9", file="shop"), "no such place"),
        (change("vise", "vise-3", "preload_kn", value="{ low = 1, ", file="shop"), "cannot be read"),
        (change("name", value='"x"', file="order"), "no order file"),
    ],
)
def test_what_the_readers_refuse_is_not_tried(home: Home, one: Change, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        wanted_try(home, home.place("plate"), [one])


def test_what_is_offered_says_what_is_written_now_and_may_be_tried_as_it_stands(home: Home) -> None:
    place = home.place("plate")
    offers = {one.key: one for one in offers_of(place.plan, own_files(home, place), home.shop())}
    assert offers["job:order/quantity"].present == "40"
    assert offers["job:pins/torque_n_m"].present == ""
    assert offers["shop:vise/vise-3/rating_kn"].present == "30"
    assert set(offers["job:pins/bar"].choices) == {f'"{bar.id}"' for bar in home.shop().bars}
    assert "shop:crib/cutter/EM12/tooth_feed_mm" in offers
    for one in list(offers.values())[::4]:
        if one.present and one.present != "there" and one.path[0] != "rack":  # that stands once above all rows
            with pytest.raises(BadInput, match="Nothing is changed"):
                wanted_try(home, place, [Change(file=one.file, path=one.path, value=one.present)])


def test_a_cutter_is_taken_out_of_the_crib_for_a_try_alone(home: Home) -> None:
    one = change("crib", "cutter", "EM6", value="", file="shop")
    wanted = wanted_try(home, home.place("plate"), [one])
    assert "EM6" not in {cutter.id for cutter in wanted.shop.cutters}
    assert wanted.texts["shop"].count("# one row a cutter") == 1, "comments stay"
    assert "EM6" in {cutter.id for cutter in home.shop().cutters}
