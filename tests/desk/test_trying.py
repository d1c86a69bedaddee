"""The pages of a try, of two plans side by side and of a new revision: forms that work without any script."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import msgspec
import pytest
from desk.errands_here import done_at_once, held
from desk.homes import desk_behind, write_job, write_plan
from fastapi.testclient import TestClient

from proveout.desk import trying
from proveout.desk.app import desk_app
from proveout.intake.starting_shop import starting_shop_text
from proveout.jobs import errands, taking_in
from proveout.jobs import trying as tries
from proveout.jobs.background_task import ROOMS, BackgroundTask
from proveout.jobs.home import Home
from proveout.jobs.tasks import Tasks
from proveout.model.changes import Change
from proveout.model.plan import Plan
from proveout.model.revision import Revision, SolidChange
from proveout.model.run import Run
from proveout.quantities.errors import BadInput
from proveout.sheets import cautions as c

OWN = "http://127.0.0.1:8417"


@pytest.fixture
def home(tmp_path: Path) -> Home:
    root = tmp_path / "home"
    job = write_job(root, "plate")
    (root / "shop.toml").write_text(starting_shop_text())
    write_plan(
        tmp_path / "home-plans" / "plate", job=job, step=root / "plate.step", shop_text=starting_shop_text(),
    )  # fmt: skip
    return Home(root)


@pytest.fixture
def client(home: Home, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    """A desk whose plans are made at once: that of the place, for the new due day."""

    def planned(_home: Home, wanted: tries.Wanted, _store: Any, run: Run) -> Plan:
        run.check("passes", "the only one")
        return msgspec.structs.replace(wanted.place.plan, due=wanted.asked[0].job.order.due)

    monkeypatch.setattr(tries, "_planned", planned)
    done_at_once(monkeypatch)
    monkeypatch.setenv("PROVEOUT_STORE", "off")
    return TestClient(desk_app(home), base_url=OWN, headers={"origin": OWN}, follow_redirects=False)


def begun(client: TestClient, **typed: str) -> str:
    answer = client.post("/parts/plate/try", data={key.replace("__", ":"): value for key, value in typed.items()})
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def test_the_form_shows_what_is_written_now(client: TestClient) -> None:
    text = client.get("/parts/plate/try").text
    assert 'name="job:order/quantity" value="40"' in text
    assert 'name="job:pins/torque_n_m"' in text


def test_a_try_cautions_as_the_papers_do_before_and_after(client: TestClient) -> None:
    """The shop's mill turns nothing: six cautions of holding, loads and chatter, none of rotary axes."""
    before = client.get("/parts/plate/try").text
    after = client.get(begun(client, **{"job__order/due": "2026-04-01"})).text
    for text in (before, after):
        (box,) = re.findall(r'<div class="cautions".*?</div>', text, re.DOTALL)
        found = [unescape(line) for line in re.findall(r"<li>(.*?)</li>", box)]
        assert found == [c.HOLDING, c.GRIP, c.LOADS, c.PROVE, c.SPEED, c.NO_RESPONSE]


def test_what_the_reader_refuses_comes_back_with_what_was_typed(client: TestClient) -> None:
    typed = {"job:order/quantity": "0", "job:order/due": "2026-04-01", "path1": "saw / kerf_mm", "value1": "2"}
    answer = client.post("/parts/plate/try", data={**typed, "file1": "shop"})
    assert answer.status_code == 400
    assert "outside its plausible range" in answer.text
    for value in ('value="0"', 'value="2026-04-01"', 'value="saw / kerf_mm"'):
        assert value in answer.text


def test_nothing_changed_is_said_and_not_planned(client: TestClient) -> None:
    answer = client.post("/parts/plate/try", data={})
    assert answer.status_code == 400
    assert "Nothing is changed" in answer.text


def test_a_try_shows_only_what_differs_and_can_be_dropped(client: TestClient, home: Home) -> None:
    where = begun(client, **{"job__order/due": "2026-04-01"})
    text = client.get(where).text
    assert '<th scope="row">wanted by</th><td>none</td><td>2026-04-01</td>' in text
    assert "As before: minutes, money" in text
    assert client.post(f"{where}/drop").headers["location"] == "/parts/plate/try"
    assert tries.tries_of(home, "plate") == {}
    assert client.get(where).status_code == 400
    assert "2026-02-16" in (home.root / "plate.toml").read_text()


def test_a_try_is_kept_in_the_file_and_planned_anew(
    client: TestClient, home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []

    class Task:
        id = "t-1"

    def ask(_tasks: Any, _home: Home, entry: Any) -> Any:
        asked.append(entry.name)
        return Task()

    monkeypatch.setattr(trying, "ask_for_plan", ask)
    where = begun(client, **{"job__order/due": "2026-04-01"})
    answer = client.post(f"{where}/keep")
    assert answer.status_code == 200
    assert "/tasks/t-1" in answer.text
    assert asked == ["plate"]
    text = (home.root / "plate.toml").read_text()
    assert "due = 2026-04-01" in text
    again = client.post(f"{where}/keep")  # whoever presses twice
    assert (again.status_code, again.text) == (200, answer.text)
    assert asked == ["plate"]
    assert (home.root / "plate.toml").read_text() == text
    back = begun(client, **{"job__order/due": "2026-02-16"})
    assert client.post(f"{back}/keep").status_code == 200
    assert begun(client, **{"job__order/due": "2026-04-01"}) == where  # the same try once more is kept anew
    assert client.post(f"{where}/keep").status_code == 200
    assert (asked, "due = 2026-04-01" in (home.root / "plate.toml").read_text()) == (["plate"] * 3, True)


def test_nothing_is_kept_while_a_plan_from_the_old_files_is_under_way(
    client: TestClient, home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    where = begun(client, **{"job__order/due": "2026-04-01"})
    waiting = BackgroundTask(id="plate-1", subject="plate", title="Plan plate", arguments=(), out="x")
    monkeypatch.setattr(Tasks, "all", lambda _, **_kinds: (waiting,))
    answer = client.post(f"{where}/keep")
    assert answer.status_code == 400
    assert "under way" in answer.text
    assert "due = 2026-02-16" in (home.root / "plate.toml").read_text()


def test_a_file_that_changed_since_is_never_overwritten(client: TestClient, home: Home) -> None:
    where = begun(client, **{"job__order/due": "2026-04-01"})
    job = home.root / "plate.toml"
    job.write_text(job.read_text() + "# typed since\n")
    assert "cannot be kept" in client.get(where).text
    assert client.post(f"{where}/keep").status_code == 400
    assert "2026-04-01" not in job.read_text()


def test_a_long_try_tells_how_far_it_is_and_can_be_cancelled(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(trying, "WAIT_S", 0.01)
    with held(monkeypatch) as begun_:
        where = begun(client, **{"job__order/due": "2026-05-01"})
        text = client.get(where).text
        assert 'http-equiv="refresh"' in text
        assert '<p role="status">Under way: passes</p>' in text
        assert '<p class="soft">one of many</p>' in text  # which changes too often to be read aloud
        told = client.get("/work").text
        assert "Try a change on EX-102: the order, day on which they are wanted: 2026-05-01" in told
        assert "order / due" not in told  # a key of the file
        assert begun(client, **{"job__order/due": "2026-05-01"}) == where  # the same asked twice is one
        assert len(begun_) == 1
        id = f"try-{where.rpartition('/')[2]}"
        assert f'action="/tasks/{id}/cancel"' in text
        client.post(f"/tasks/{id}/cancel")
        desk_behind(client).tasks.wait(id, most_s=10.0)
        assert "Nothing came of it: cancelled." in client.get(where).text


def test_a_failed_try_says_why_and_can_be_begun_again(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    made = errands.make_try

    def broken(_home: Home, wanted: tries.Wanted, *, run: Run) -> None:
        run.check("passes")
        raise ZeroDivisionError(wanted.id)

    monkeypatch.setattr(errands, "make_try", broken)
    where = begun(client, **{"job__order/due": "2026-05-01"})
    text = client.get(where).text
    assert "Nothing came of it: failed." in text
    assert "Proveout is at fault: ZeroDivisionError" in text
    monkeypatch.setattr(errands, "make_try", made)
    again = client.post(f"/tasks/try-{where.rpartition('/')[2]}/again")
    assert again.headers["location"] == where
    assert "2026-05-01" in client.get(where).text
    assert "Nothing came of it" not in client.get(where).text


def test_a_try_of_files_that_changed_while_it_waited_is_refused(
    client: TestClient, home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    with held(monkeypatch):
        monkeypatch.setattr(trying, "WAIT_S", 0.01)
        where = begun(client, **{"job__order/due": "2026-05-01"})
        id = f"try-{where.rpartition('/')[2]}"
        client.post(f"/tasks/{id}/cancel")
        desk_behind(client).tasks.wait(id, most_s=10.0)
    job = home.root / "plate.toml"
    job.write_text(job.read_text() + "# typed since\n")
    done_at_once(monkeypatch)
    client.post(f"/tasks/{id}/again")
    text = client.get(where).text
    assert "Nothing came of it: refused." in text
    assert "changed since it was asked" in text


def test_a_name_that_leads_out_of_the_folder_is_no_try(client: TestClient, home: Home) -> None:
    for name in ("..", "../plate", "/tmp", ".tried", ""):  # noqa: S108 - a path that must be refused
        with pytest.raises(BadInput, match="no such try"):
            tries.folder_of(home, name)
    assert client.get("/parts/plate/tries/no-such").status_code == 400


def test_a_change_leads_to_no_other_file(client: TestClient, home: Home) -> None:
    outside = home.root.parent / "secret.step"
    outside.write_text((home.root / "plate.step").read_text())
    for path, value in (("part / step", str(outside)), ("part", '{ number = "p", step = "../secret.step" }')):
        answer = client.post("/parts/plate/try", data={"file1": "job", "path1": path, "value1": value})
        assert answer.status_code == 400
        assert "names another file" in answer.text


def test_on_a_broken_job_file_nothing_is_tried_and_it_is_said(client: TestClient, home: Home) -> None:
    job = home.root / "plate.toml"
    for text in (
        job.read_text().replace("[order]", "[order"),
        'order = 3\n[part]\nnumber = "x"\nstep = "plate.step"\n',
    ):
        job.write_text(text)
        answer = client.get("/parts/plate/try")
        assert answer.status_code == 400
        assert "plate.toml" in answer.text


def test_a_plan_that_cannot_be_read_hides_no_other_from_comparing(
    client: TestClient, home: Home, tmp_path: Path
) -> None:
    for name in ("lid", "worn"):
        job = write_job(home.root / name, name)
        folder = tmp_path / "home-plans" / name
        write_plan(folder, job=job, step=home.root / name / f"{name}.step", shop_text=starting_shop_text())
    (tmp_path / "home-plans" / "worn" / "plan.json").write_text("{")
    answer = client.get("/parts/plate/compare")
    assert answer.status_code == 200
    assert 'value="lid"' in answer.text
    assert 'value="worn"' not in answer.text


def test_no_more_tries_at_once_than_the_machine_bears(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trying, "WAIT_S", 0.01)
    with held(monkeypatch) as begun_:
        most = ROOMS["try"].open_most or 0
        places = [begun(client, **{"job__order/due": f"2026-05-0{day}"}) for day in range(1, most + 1)]
        assert len(begun_) == ROOMS["try"].at_once
        refused = client.post("/parts/plate/try", data={"job:order/due": "2026-06-01"})
        assert refused.status_code == 400
        assert "Too many of this kind" in refused.text
        assert 'value="2026-06-01"' in refused.text
        for place in places:
            client.post(f"{place}/drop")
        assert desk_behind(client).tasks.all() == ()


def test_a_try_against_a_plan_that_was_made_anew_is_not_kept(client: TestClient, home: Home) -> None:
    where = begun(client, **{"job__order/due": "2026-04-01"})
    plan = home.plans / "plate" / "plan.json"
    plan.write_bytes(plan.read_bytes() + b"\n")
    assert "cannot be kept" in client.get(where).text


def test_a_try_is_kept_and_dropped_on_its_own_part_alone(client: TestClient, home: Home, tmp_path: Path) -> None:
    job = write_job(home.root / "lid", "lid")
    shop = starting_shop_text()
    write_plan(tmp_path / "home-plans" / "lid", job=job, step=home.root / "lid" / "lid.step", shop_text=shop)
    id = begun(client, **{"job__order/due": "2026-04-01"}).rpartition("/")[2]
    before = (home.root / "plate.toml").read_bytes()
    desk_behind(client).tasks.forget(f"try-{id}")  # long ago
    here = f"/parts/lid/tries/{id}"
    for answer in (client.get(here), client.post(f"{here}/keep"), client.post(f"{here}/drop")):
        assert answer.status_code == 400, answer.text
        assert "of another part" in answer.text
    assert list(tries.tries_of(home, "plate")) == [id]
    assert (home.root / "plate.toml").read_bytes() == before


@pytest.mark.parametrize("other", ["home-plans/both/lid/plan.json", "home-plans/both/order.json", "home/lid/lid.toml"])
def test_a_try_in_an_order_is_another_one_once_something_of_the_order_is(
    home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, other: str
) -> None:  # fmt: skip
    """Fits and the bars of all hang on the other parts: what was tried beside others of them is not shown again."""
    lid, shop = write_job(home.root / "lid", "lid"), starting_shop_text()
    items = "".join(f'[[item]]\njob = "{path}"\nquantity = 3\n' for path in ("plate.toml", "lid/lid.toml"))
    (home.root / "both.toml").write_text(f'name = "Both"\n{items}')
    for job in (home.root / "plate.toml", lid):
        where = home.plans / "both" / job.stem
        write_plan(where, job=job, step=job.with_suffix(".step"), shop_text=shop, number=job.stem)
    (home.plans / "both" / "order.json").write_text("{}\n")
    monkeypatch.setattr(tries, "_planned", lambda _home, wanted, _store, _run: wanted.place.plan)
    monkeypatch.setattr(tries, "compare_results", lambda *_, **__: SimpleNamespace(differences={}))
    monkeypatch.setattr(tries, "tried", lambda _home, _id: None)
    changes = [Change(file="order", path=("item", 0, "quantity"), value="4")]

    wanted = tries.wanted_try(home, home.place("both:plate"), changes)
    tries.make_try(home, wanted, run=Run())
    (told,) = tries.tries_of(home, "both:plate").values()
    assert tries.is_of_kept(home, told)
    assert tries.wanted_try(home, home.place("both:plate"), changes).id == wanted.id
    path = tmp_path / other
    path.write_bytes(path.read_bytes() + b"\n")
    assert not tries.is_of_kept(home, told)
    assert tries.wanted_try(home, home.place("both:plate"), changes).id != wanted.id


def test_passes_stay_only_where_the_grip_alone_changes() -> None:
    grip = Change(file="job", path=("pins", "torque_n_m"), value="90")
    day = Change(file="job", path=("order", "due"), value="2026-04-01")
    feed = Change(file="shop", path=("crib", "cutter", "EM6", "tooth_feed_mm"), value="0.03")
    no_grip = Change(file="shop", path=("vise", "vise-3", "preload_kn"), value="")
    assert tries.leaves_passes([grip])
    for more in (day, feed, no_grip):
        assert not tries.leaves_passes([grip, more])


def test_a_plan_is_compared_with_a_try_of_it(client: TestClient) -> None:
    where = begun(client, **{"job__order/due": "2026-04-01"})
    id = where.rpartition("/")[2]
    text = client.get("/parts/plate/compare", params={"with": f"try {id}"}).text
    assert "2026-04-01" in text
    assert client.get("/parts/plate/compare").status_code == 200
    assert client.get("/parts/plate/compare", params={"with": "try ../x"}).status_code == 400
    assert client.get("/parts/plate/compare", params={"with": "plate"}).status_code == 400


def test_a_file_that_is_no_solid_or_too_large_is_refused_and_the_form_stays(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert client.get("/parts/plate/revision").status_code == 200
    wrong = client.post("/parts/plate/revision", files={"given": ("note.txt", b"hello")})
    assert wrong.status_code == 400
    assert "no STEP file by its name" in wrong.text
    none = client.post("/parts/plate/revision", data={"chosen": "../shop.toml"})
    assert none.status_code == 400
    packed = client.post("/parts/plate/revision", files={"given": ("a.step", b"PK\x03\x04")})
    assert packed.status_code == 400
    assert "This is a zip archive" in packed.text
    monkeypatch.setattr(taking_in, "FILE_SIZE_LIMIT_BYTES", 10)
    large = client.post("/parts/plate/revision", files={"given": ("a.step", b"x" * 11)})
    assert large.status_code == 400
    assert "too large" in large.text


def test_a_revision_is_of_its_part_and_says_when_the_plan_is_another(
    client: TestClient, home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    same = Revision(
        solid=SolidChange(faces=(), same_count=6), passes=(), jaws=(), sizes=(), gauges=(), shown=()
    )  # fmt: skip
    monkeypatch.setattr(errands, "revise", lambda *_, **__: same)
    stale = "The plan was made anew since"
    where = client.post("/parts/plate/revision", data={"chosen": "plate.step"}).headers["location"]
    found = client.get(where)
    assert (found.status_code, stale in found.text) == (200, False)
    assert "plate.step" in found.text
    job = write_job(home.root, "lid")
    write_plan(home.plans / "lid", job=job, step=job.with_suffix(".step"), shop_text=starting_shop_text())
    assert client.get(where.replace("plate", "lid")).status_code == 400
    plan = home.plans / "plate" / "plan.json"
    plan.write_bytes(plan.read_bytes() + b"\n")
    assert stale in client.get(where).text
