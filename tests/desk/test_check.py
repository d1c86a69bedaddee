"""Checks of programs on the desk: asked for, watched, cancelled, and what was found told by line."""

from __future__ import annotations

from pathlib import Path
from typing import Any, cast

import msgspec
import pytest
import worked_home
from desk.errands_here import done_at_once, held
from desk.homes import desk_behind
from fastapi.testclient import TestClient

from proveout.desk.app import desk_app
from proveout.desk.check import plain_text
from proveout.desk.program_text import WHOLE_MOST, Gap, Line, shown_text, with_links
from proveout.jobs import errands
from proveout.jobs import tasks as tasks_module
from proveout.jobs.background_task import ROOMS
from proveout.jobs.check_program import Checked, fingerprint_of_text, text_of
from proveout.jobs.check_told import check_told
from proveout.jobs.checks import BYTES_MOST, CheckAsked, chosen, one_check
from proveout.jobs.errand_sheet import Sheet
from proveout.jobs.home import Home
from proveout.jobs.writing import plan_bytes
from proveout.model.checking import Finding, ProgramCheck
from proveout.model.plan import ProgramSheet
from proveout.model.proof import Basis, prove
from proveout.programs.reading.blocks import read_program
from proveout.quantities.errors import BadInput
from proveout.sheets.names import Names

OWN = "http://127.0.0.1:8417"
HERE = f"/parts/{worked_home.ADDRESS}/check"
ORIGIN = {"origin": OWN}
TEXT = b"G21 G90\nG0 X0 Y0\n(R\xe9)\nG1 Z-9 F100\nG1 X9\nM30\n"


def checked(program: Path, *, findings: tuple[Finding, ...] = ()) -> Checked:
    """A check of a program in which somebody found these things."""
    text = text_of(program)
    gouge = prove(
        id="program check:gouge", stage="program check", subject="the program", claim="nothing is cut below the target",
        sense="at most", found_low=1.6 if findings else 0.0, found_high=1.6 if findings else 0.0, limit=0.01, unit="mm",
        blocks_release=True, basis=Basis(formula="worked", source="own-algorithm"), remedy="see line 4: keep off it",
    )  # fmt: skip
    found = ProgramCheck(
        lines_count=text.count("\n"), motions_count=3, pitch_mm=0.1, findings=findings, faces=(), uses=(),
        removed_mm3=0.0, seconds=90.0,
    )  # fmt: skip
    return Checked(
        program=program, fingerprint=fingerprint_of_text(text), check=found, proofs=(gouge,), course=cast("Any", None),
        finished=None, fields=cast("Any", None), taken=("All of it.",), differs=("The text.",),
    )  # fmt: skip


def faulty(program: Path, **_: Any) -> Checked:
    heading = text_of(program).splitlines()[2]
    wrong = [Finding(kind="gouge", line=n, heading=heading, what="cut too deep <b>", found=1.6, limit=0.01, unit="mm")
             for n in (4, 5)]  # fmt: skip
    return checked(program, findings=tuple(wrong))


def desk_with(root: Path) -> TestClient:
    home = worked_home.write_home(root)
    folder = home.plans / worked_home.ADDRESS
    sheet = ProgramSheet(
        clamping_id="c2", file="clamping-2.nc", fingerprint="0" * 12, blocks_count=3, work_offset="G54", cutters={}
    )  # fmt: skip
    plan = msgspec.structs.replace(worked_home.plan(), programs=(sheet,), jaw_programs=(), table_loads=())
    (folder / "plan.json").write_bytes(plan_bytes(plan))
    (folder / "programs").mkdir()
    (folder / "programs" / "clamping-2.nc").write_bytes(TEXT)
    return TestClient(desk_app(home), base_url=OWN, raise_server_exceptions=False)


def found(client: TestClient, where: str) -> Any:
    """The check at that address as it stands."""
    tasks = desk_behind(client).tasks
    return one_check(tasks, where.rpartition("/")[2], address=worked_home.ADDRESS)


def post(client: TestClient, text: bytes = TEXT, **fields: str) -> Any:
    files = {"program": ("../my part.nc", text, "text/plain")}
    return client.post(HERE, files=files, data=fields, headers=ORIGIN, follow_redirects=False)


@pytest.fixture
def client(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    """A desk whose checks are done at once, and find something in lines 4 and 5."""
    done_at_once(monkeypatch)
    monkeypatch.setattr(errands, "check_against_plan", faulty)
    return desk_with(tmp_path)


def test_what_was_found_is_told_by_line_with_the_text(client: TestClient) -> None:
    answer = post(client, clamping="1")
    assert answer.status_code == 303
    told = found(client, answer.headers["location"]).told
    assert told.program == "my-part.nc"
    assert told.verdict == "FAILS: 1 claim not met"
    page = client.get(answer.headers["location"]).text
    assert '<a href="#line-4">2 lines from 4 to 5</a>: cut too deep &lt;b&gt; (worst 1.6 mm, limit 0.01 mm)' in page
    assert 'see <a href="#line-4">line 4</a>: keep off it' in page.replace("See", "see")
    for number, is_bad in ((2, False), (4, True), (5, True)):
        assert (f'<p id="line-{number}" class="bad">' in page) is is_bad
    assert page.count('<a href="#finding-1">found 1</a>') == 2
    assert "1.50" in page
    before = client.get(HERE).text
    assert "my part.nc" in before
    assert "FAILS: 1 claim not met" in before  # among those checked before
    assert "FAILS: 1 claim not met" in client.get("/work").text


def test_whoever_comes_later_sees_the_same_and_the_same_is_checked_once(
    client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was found lies in a file: a server that begins anew shows it."""
    begun = done_at_once(monkeypatch)
    where = post(client, clamping="1").headers["location"]
    later = TestClient(desk_app(Home(tmp_path / "home")), base_url=OWN)
    assert later.get(where).text == client.get(where).text
    assert post(later, clamping="1").headers["location"] == where
    assert len(begun) == 1
    assert post(later, clamping="1", last="yes").headers["location"] != where


def test_lines_are_counted_as_the_check_counts_them() -> None:
    text = "G21 (a\x0cb)\rG0 Z5\r\nG1 X1 (\x85)\nG1 X2"
    asked = CheckAsked(
        address="a", folder="", plan_digest="", name="a.nc", text=text.encode(), clamping_number=1
    )  # fmt: skip
    assert len(asked.lines) == len(read_program(text).blocks) == 4
    assert asked.lines[3] == "G1 X2"
    assert fingerprint_of_text("G1 X1\nG1 X2\r\n") == fingerprint_of_text("G1 X1\rG1 X2")
    assert fingerprint_of_text("G1 X1\x0cG1 X2") != fingerprint_of_text("G1 X1\nG1 X2")


def test_letters_outside_of_utf_8_are_shown_as_unknown(client: TestClient) -> None:
    one = found(client, post(client, clamping="1").headers["location"])
    assert one.told.findings[0].text.endswith("[(R\ufffd)]")
    assert one.asked.lines[2] == "(R\ufffd)"


@pytest.mark.parametrize(
    ("text", "clamping", "says"),
    [
        (b"", "1", "There is no program to check"),
        (b" \r\n", "1", "There is no program to check"),
        (b"G0 \x00", "1", "This is no text"),
        (b"G" * (BYTES_MOST + 1), "1", "too long"),
        (TEXT, "7", "no such clamping"),
        (TEXT, "", "not said for which clamping"),
    ],
)
def test_what_cannot_be_checked_is_said_and_what_was_chosen_is_kept(
    client: TestClient, text: bytes, clamping: str, says: str
) -> None:
    answer = post(client, text, clamping=clamping, last="yes")
    assert answer.status_code == 400
    assert says in answer.text
    assert 'name="last" value="yes" checked' in answer.text
    if clamping == "1":
        assert '<option value="1" selected>' in answer.text


def test_the_program_on_disk_is_checked_for_its_own_clamping(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[tuple[bytes, int]] = []

    def note(program: Path, *, clamping_number: int, **_: Any) -> Checked:
        seen.append((program.read_bytes(), clamping_number))
        return checked(program)

    monkeypatch.setattr(errands, "check_against_plan", note)
    assert '<input type="hidden" name="clamping" value="2">' in client.get(HERE).text
    answer = client.post(HERE, data={"own": "clamping-2.nc", "clamping": "2"}, headers=ORIGIN, follow_redirects=False)
    one = found(client, answer.headers["location"])
    assert seen == [(TEXT, 2)]
    assert one.told.verdict.startswith("HOLDS")
    refused = client.post(HERE, data={"own": "../plan.json", "clamping": "2"}, headers=ORIGIN)
    assert refused.status_code == 400
    assert "no such file" in refused.text


def test_progress_is_told_and_a_check_can_be_cancelled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    client = desk_with(tmp_path)
    with held(monkeypatch, stage="program", text="line 7"):
        where = post(client, clamping="1").headers["location"]
        page = client.get(where).text
        assert '<p role="status">Under way: program</p>' in page
        assert '<p class="soft">line 7</p>' in page
        assert '<progress max="1" value="0.25"' in page
        assert '<noscript><meta http-equiv="refresh"' in page
        second = post(client, clamping="1", last="yes").headers["location"]
        assert "It waits for its turn." in client.get(second).text
        tasks = desk_behind(client).tasks
        for one in (second, where):
            id = one.rpartition("/")[2]
            client.post(f"/tasks/{id}/cancel", headers=ORIGIN)
            assert tasks.wait(id, most_s=10.0).state == "cancelled"
        assert "Nothing came of it: cancelled." in client.get(where).text


def test_no_more_wait_than_can_be_looked_after(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    client = desk_with(tmp_path)
    with held(monkeypatch) as begun:
        for number in range(ROOMS["check"].open_most or 0):
            assert post(client, TEXT + b"G4 P%d\n" % number, clamping="1").status_code == 303
        refused = post(client, clamping="1")
        assert refused.status_code == 400
        assert "Too many of this kind" in refused.text
        assert len(begun) == 1  # one after the other: each takes a core whole
        tasks = desk_behind(client).tasks
        for task in tasks.all():
            tasks.cancel(task.id)  # what waits would begin when the test is over


def test_a_check_that_is_refused_or_breaks_says_nothing_of_the_program(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_program: Path, **_: Any) -> Checked:
        raise BadInput("Moves of the plan are missing", do="plan the part again")

    def broken(_program: Path, **_: Any) -> Checked:
        raise ZeroDivisionError

    for wrong, state, says in ((refuse, "refused", "Moves of the plan are missing"), (broken, "failed", "at fault")):
        monkeypatch.setattr(errands, "check_against_plan", wrong)
        where = post(client, clamping="1").headers["location"]
        one = found(client, where)
        assert (one.task.state, one.told) == (state, None)
        assert says in client.get(where).text


def test_a_check_of_a_plan_that_was_made_anew_says_so(client: TestClient, tmp_path: Path) -> None:
    where = post(client, clamping="1").headers["location"]
    assert "The plan was made anew since" not in client.get(where).text
    plan = next(tmp_path.rglob("plan.json"))
    plan.write_bytes(plan.read_bytes() + b"\n")
    assert "The plan was made anew since" in client.get(where).text
    assert client.get(where.replace("block", "other")).status_code == 400
    assert post(client, clamping="1").headers["location"] != where


@pytest.mark.parametrize("when", ["before", "meanwhile"])
def test_a_check_never_tells_of_another_plan_than_it_was_asked_about(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, when: str
) -> None:  # fmt: skip
    """The plan becomes another one before the check is begun, or while it is worked out."""
    client = desk_with(tmp_path)
    plan = next(tmp_path.rglob("plan.json"))

    def replanned(program: Path, **_: Any) -> Checked:
        plan.write_bytes(plan.read_bytes() + b"\n")
        return checked(program)

    begun = done_at_once(monkeypatch)
    begin = tasks_module.begin_errand

    def late(sheet: Sheet, **_: object) -> tuple[int, None]:
        plan.write_bytes(plan.read_bytes() + b"\n")
        return begin(sheet)  # pyright: ignore[reportReturnType] - the one of done_at_once

    monkeypatch.setattr(errands, "check_against_plan", replanned if when == "meanwhile" else faulty)
    if when == "before":
        monkeypatch.setattr(tasks_module, "begin_errand", late)
    one = found(client, post(client, clamping="1").headers["location"])
    assert (len(begun), one.task.state, one.told) == (1, "refused", None)
    assert "changed since it was asked" in one.task.said


def test_a_long_program_is_shown_around_what_was_found(tmp_path: Path) -> None:
    program = tmp_path / "long.nc"
    program.write_text("G0 X1\n" * (WHOLE_MOST + 100))
    told = check_told(checked(program, findings=(Finding(kind="gouge", line=2000, heading="", what="x"),)))
    shown = shown_text(("G0 X1",) * (WHOLE_MOST + 100), told)
    lines = [one for one in shown if isinstance(one, Line)]
    assert [one.number for one in lines if one.findings] == [2000]
    assert [one.number for one in lines] == [*range(1, 11), *range(1994, 2007)]  # line 4 is told of, too
    gaps = [one for one in shown if isinstance(one, Gap)]
    assert gaps == [Gap(first=11, last=1993), Gap(first=2007, last=WHOLE_MOST + 100)]
    whole = shown_text(("G0 X1",) * 50, told)
    assert len(whole) == 50


def test_a_clamping_is_chosen_by_its_number() -> None:
    plan = msgspec.structs.replace(worked_home.plan(), table_loads=())
    assert chosen(plan, "2").clamping.id == "c2"
    one = msgspec.structs.replace(plan, clampings=plan.clampings[:1])
    assert chosen(one, "").clamping.id == "c1"
    with pytest.raises(BadInput, match="not said"):
        chosen(plan, "")


def test_a_sentence_is_shown_as_it_is() -> None:
    """What a program's own comment brings into a sentence stays text; only lines that are there are led to."""
    assert with_links("line 3: <b>x</b>", 5) == '<a href="#line-3">line 3</a>: &lt;b&gt;x&lt;/b&gt;'
    assert with_links("line 9", 5) == "line 9"


def test_what_a_check_says_calls_faces_by_their_numbers() -> None:
    """An id of a face with its digest is nothing that anybody can look for on a drawing."""
    plan = worked_home.plan()
    note = plan.survey.faces[0]
    names = Names(plan=plan, shop=worked_home.shop())
    said = note.face_id[:1].upper() + note.face_id[1:]
    assert plain_text(names, f"{said} is cut 2.000 mm too deep in line 4") == (
        f"Face {note.balloon} is cut 2.000 mm too deep in line 4"
    )
    assert plain_text(names, "Line 4: metal is taken (worst 57.8 mm3)") == "Line 4: metal is taken (worst 57.8 mm³)"
