"""The pages of questions: before a plan on a real solid, and of a planned part with its questions in order."""

from __future__ import annotations

import shutil
from pathlib import Path

import msgspec
import pytest
from desk.errands_here import done_at_once, held
from desk.homes import desk_behind
from desk.typed_pages import client_of, form_of
from fastapi.testclient import TestClient
from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]
from small import write_plate  # pyright: ignore[reportMissingImports]
from small_design import small_design

from proveout.intake.drafts import draft_job
from proveout.intake.job_file import read_job
from proveout.jobs import asked_part, errands
from proveout.jobs.home import Home
from proveout.model.plan import Plan, Question
from proveout.model.solid import Drawing

EXAMPLES = Path(__file__).parents[2] / "examples"
QUESTIONS = (
    Question(id="grip", text="What do ten pull tests give?", would_change="2 of the 3 proofs", weight=0.9),
    Question(id="threads", text="Which of these holes are tapped: hole 1?", would_change="a tap", weight=0.5,
             face_ids=("cylinder in d20.000 z #aaaaaa",)),
    Question(id="quantity", text="How many are wanted? 100 are assumed.", would_change="the price", weight=0.1),
    Question(id="open x", text="Then write tilts_dry_run.", would_change="1 of the 3 proofs", weight=0.05),
)  # fmt: skip


DRAWN = Drawing(view_direction=(0.0, 0.0, -1.0), up=(0.0, 1.0, 0.0), visible_mm=(), hidden_mm=())


@pytest.fixture
def planned(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    """A home with one drafted job and its plan; the solid is one written by hand, as only its faces are asked about."""
    home = tmp_path / "home"
    result = tmp_path / "home-plans" / "foot"
    (result / "inputs").mkdir(parents=True)
    home.mkdir()
    design = small_design()
    text = draft_job(design.read, design.survey, step="foot.step", number="foot")
    for path in (home / "foot.toml", result / "inputs" / "job.toml"):
        path.write_text(text, encoding="utf-8")
    (home / "foot.step").write_text("ISO-10303-21;", encoding="utf-8")
    shutil.copy(EXAMPLES / "shop.toml", home / "shop.toml")
    asked: Plan = msgspec.structs.replace(example_plan(), questions=QUESTIONS)
    (result / "plan.json").write_bytes(msgspec.json.encode(asked))
    known = asked_part.PartRead(read=design.read, survey=design.survey, drawings=(DRAWN,))
    done_at_once(monkeypatch)
    monkeypatch.setattr(errands, "read_for_questions", lambda *_, **__: iter([known]))
    monkeypatch.setattr("proveout.desk.questions.design_of", lambda _part, _known: design)
    return client_of(home)


def test_questions_come_in_their_order_each_with_its_own_fields(planned: TestClient) -> None:
    text = planned.get("/parts/foot/questions").text
    places = [text.index(question.text) for question in QUESTIONS]
    assert places == sorted(places)
    assert 'href="/shop#jaws"' in text[places[0] : places[1]]
    assert "faces.svg?numbers=1" in text[places[1] : places[2]]
    assert 'name="size.1"' in text[places[1] : places[2]]
    assert 'name="order/quantity"' in text[places[2] : places[3]]
    assert 'name="prove_out/tilts_dry_run"' in text[places[3] :]
    for name in ("size.1", "size.2", "order/quantity", "prove_out/tilts_mark", "order/due", "part/alloy"):
        assert text.count(f' name="{name}"') == 1
    assert 'name="part/step"' not in text
    assert "Plan again" not in text
    assert " style=" not in text


def test_an_answer_is_written_and_a_new_plan_offered(planned: TestClient, tmp_path: Path) -> None:
    form = form_of(planned.get("/parts/foot/questions").text)
    assert form["critical.1"] == [""]
    path = tmp_path / "home" / "foot.toml"
    before = path.read_bytes()
    same = planned.post("/parts/foot/questions", data=form)
    assert (same.status_code, same.headers["location"]) == (303, "/parts/foot/questions")
    assert path.read_bytes() == before
    given = form | {"size.1": ["20 H8"], "critical.1": ["", "yes"], "order/quantity": ["250"]}
    told = planned.post("/parts/foot/questions", data=given)
    assert told.status_code == 303
    assert '<p class="note" role="status">Written into foot.toml.</p>' in planned.get(told.headers["location"]).text
    assert "Written into" not in planned.get("/parts/foot/questions").text
    job = read_job(path)
    assert (job.sizes[0].text, job.sizes[0].is_critical, job.order.quantity) == ("20 H8", True, 250)
    text = planned.get("/parts/foot/questions").text
    assert 'action="/entries/foot/plan"><button>Plan again' in text
    digest = form_of(text)["digest"]
    assert planned.post("/parts/foot/questions/undo", data={"digest": digest}).status_code == 303
    assert path.read_bytes() == before


def test_a_refused_answer_comes_back_as_typed(planned: TestClient, tmp_path: Path) -> None:
    form = form_of(planned.get("/parts/foot/questions").text)
    given = form | {"size.2": ['about <18> "mm"'], "order/quantity": ["250"], "show.2": ["", "yes"]}
    answer = planned.post("/parts/foot/questions", data=given)
    assert answer.status_code == 400
    assert form_of(answer.text) == given
    assert 'id="line-2-fault"' in answer.text
    assert 'href="#at-size.2"' in answer.text
    assert answer.text.count('id="at-size.2"') == 1
    assert not (tmp_path / "home" / "foot.toml.before").exists()


def test_a_job_file_outside_the_home_is_never_written(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (tmp_path / "secret.toml").write_text('[part]\nnumber = "S"\nstep = "a.step"\n[order]\nquantity = 1\n')
    (tmp_path / "a.step").write_text("ISO-10303-21;")
    (home / "a.step").write_text("ISO-10303-21;")
    (tmp_path / "other.toml").write_text((tmp_path / "secret.toml").read_text())
    (home / "link.toml").symlink_to(tmp_path / "other.toml")
    (home / "o.toml").write_text('name = "o"\n[[item]]\njob = "../secret.toml"\nquantity = 1\n')
    client = client_of(home)
    for name in ("link", "o"):
        answer = client.post(f"/entries/{name}/questions", data={"digest": "", "order/quantity": "9"})
        assert answer.status_code == 400
        assert "outside the folder of the desk" in answer.text
    assert client.get("/entries/..%2Fsecret/questions").status_code in (400, 404)


def test_an_order_names_its_parts(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (home / "o.toml").write_text(
        "".join(['name = "o"\n', *(f'[[item]]\njob = "{n}.toml"\nquantity = 1\n' for n in "ab")])
    )
    for name in "ab":
        (home / f"{name}.toml").write_text(
            f'[part]\nnumber = "N-{name}"\nstep = "{name}.step"\n[order]\nquantity = 1\n'
        )
        (home / f"{name}.step").write_text("ISO-10303-21;")
    text = client_of(home).get("/entries/o/questions").text
    assert 'href="/entries/o/questions?item=2">N-b' in text
    assert client_of(home).get("/entries/o/questions?item=3").status_code == 400
    assert [part.job_path.name for part in asked_part.parts_of_entry(Home(home), "o")] == ["a.toml", "b.toml"]


def test_what_is_known_shows_at_once_and_the_rest_when_it_has_been_worked_out(
    planned: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The questions of a plan stand there while its solid is read; what was typed meanwhile is not lost."""
    form = form_of(planned.get("/parts/foot/questions").text)
    tasks = desk_behind(planned).tasks
    tasks.forget(tasks.all(kind="reading")[0].id)
    monkeypatch.setattr("proveout.desk.questions.WAIT_S", 0.01)
    with held(monkeypatch, stage="reading", text="foot.step") as begun:
        text = planned.get("/parts/foot/questions").text
        assert "foot.step is under way: reading. The fields" in text
        assert '<p class="soft">foot.step</p>' in text
        assert '<noscript><meta http-equiv="refresh"' in text
        for question in QUESTIONS:
            assert question.text in text
        again = planned.post("/parts/foot/questions", data=form | {"size.1": ["20 H8"]})
        assert again.status_code == 503
        assert form_of(again.text)["size.1"] == ["20 H8"]
        picture = planned.get("/parts/foot/questions/faces.svg?numbers=1")
        assert picture.headers["cache-control"] == "no-store"
        assert len(begun) == 1
        assert 'href="/parts/foot/questions">Read foot.step' in planned.get("/work").text


def test_a_reading_that_was_cancelled_begins_again_only_where_somebody_asks(
    planned: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("proveout.desk.questions.WAIT_S", 0.01)
    tasks = desk_behind(planned).tasks
    with held(monkeypatch) as begun:
        planned.get("/parts/foot/questions")
        id = tasks.all(kind="reading")[0].id
        assert planned.post(f"/tasks/{id}/cancel").headers["location"] == "/parts/foot/questions"
        tasks.wait(id, most_s=10.0)
        for _ in range(2):
            assert "Nothing came of it: cancelled." in planned.get("/parts/foot/questions").text
        assert len(begun) == 1
    done_at_once(monkeypatch)
    assert planned.post(f"/tasks/{id}/again").headers["location"] == "/parts/foot/questions"
    assert 'name="size.1"' in planned.get("/parts/foot/questions").text


def test_answers_wait_for_a_reading_that_came_to_nothing_and_say_so(
    planned: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    """Nothing is being read then: the page says how it ended, keeps what was typed and reads again when told to."""
    form = form_of(planned.get("/parts/foot/questions").text) | {"size.1": ["20 H8"]}
    tasks = desk_behind(planned).tasks
    tasks.forget(tasks.all(kind="reading")[0].id)
    monkeypatch.setattr("proveout.desk.questions.WAIT_S", 0.01)
    with held(monkeypatch) as begun:
        planned.get("/parts/foot/questions")
        id = tasks.all(kind="reading")[0].id
        tasks.cancel(id)
        tasks.wait(id, most_s=10.0)
        ended = planned.post("/parts/foot/questions", data=form)
        assert ended.status_code == 503
        assert "foot.step was not read to the end: cancelled." in ended.text
        assert "is being read" not in ended.text
        assert len(begun) == 1
        again = planned.post("/parts/foot/questions", data=form_of(ended.text) | {"read-again": ["yes"]})
        assert "is being read" in again.text
        assert form_of(again.text)["size.1"] == ["20 H8"]
        assert len(begun) == 2


def test_a_solid_that_is_read_has_its_fields_before_it_is_drawn(
    planned: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    design = small_design()
    known = asked_part.PartRead(read=design.read, survey=design.survey)
    monkeypatch.setattr(errands, "read_for_questions", lambda *_, **__: iter([known]))
    text = planned.get("/parts/foot/questions").text
    assert 'name="size.1"' in text
    assert 'alt="The part could not be drawn: ' in text
    assert "<svg" in planned.get("/parts/foot/questions/faces.svg?numbers=1").text


def test_a_bare_solid_is_read_asked_about_and_drawn(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The whole way on one small solid: read in a child, questions, a picture of the hole, and a file of answers."""
    monkeypatch.setenv("PROVEOUT_STORE", str(tmp_path / "store"))
    home = tmp_path / "home"
    home.mkdir()
    write_plate(home / "plate.step")
    client = client_of(home)
    done_at_once(monkeypatch)
    text = client.get("/entries/plate/questions").text
    assert "which will be drafted beside the STEP file" in text
    assert "hole, through: Ø6.6" in text
    assert 'action="/entries/plate/plan"><button>Plan it' in text
    picture = client.get("/entries/plate/questions/faces.svg?numbers=1")
    assert picture.headers["content-type"] == "image/svg+xml"
    assert "hatched and numbered: 1." in picture.text
    assert " style=" not in picture.text
    form = form_of(text) | {"size.1": ["6.6 H12"], "order/quantity": ["25"]}
    assert client.post("/entries/plate/questions", data=form).status_code == 303
    job = read_job(home / "plate.toml")
    assert (job.sizes[0].text, job.order.quantity, len(job.drafted) > 0) == ("6.6 H12", 25, True)
    assert (home / "plate.svg").read_text(encoding="utf-8").startswith("<svg")
    again = client.get("/entries/plate/questions")
    assert form_of(again.text)["size.1"] == ["6.6 H12"]
