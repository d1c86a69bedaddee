"""A batch is released from its plan and nothing else, with papers that say what somebody answers for."""

# pyright: reportMissingImports=false
from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pypdf
import pytest
from example_home import example, fixture_shop
from runnable_home import (
    JOB,
    MARA,
    REASON,
    WRONG_LOADS,
    drawer,
    open_plan,
    ready_plan,
    released,
    runnable_home,
    with_quick_papers,
)

from proveout.jobs import close_out, packets
from proveout.jobs.check_plan import read_plan
from proveout.jobs.home import Home
from proveout.jobs.packets import MANIFEST, packet_folder
from proveout.jobs.place import Place
from proveout.jobs.releasing import ask, packet_place, plan_it, release, waive
from proveout.jobs.signed import Signed
from proveout.jobs.writing import plan_bytes
from proveout.model.batch_events import Planned, Released
from proveout.model.events import Event
from proveout.model.plan import Plan
from proveout.quantities.canonical import digest_of
from proveout.quantities.errors import BadInput, NotKept, Refused
from proveout.records.records import Records
from proveout.records.writing import Answer

RESULT = Path("home-plans") / "jaw"


@pytest.fixture
def records(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Records]:
    monkeypatch.setattr(Place, "shop", property(lambda _: fixture_shop.example_shop()))
    with Records(str(tmp_path / "records.sqlite"), asks_for_plans=True) as made:
        yield made


def asked(home: Home, records: Records) -> None:
    ask(home, records, "jaw", batch="B-1", wanted_count=150, signed=MARA)


def test_a_released_batch_has_the_steps_of_its_plan_and_a_packet_with_its_waiver_on_every_page(
    tmp_path: Path, records: Records
) -> None:
    home = runnable_home(tmp_path, open_plan())
    batch = released(home, records)
    assert [(step.id, step.station, step.kind) for step in batch.steps] == [
        ("saw", "saw", "saw"), ("op1", "mill3", "mill"), ("op2", "mill3", "mill"), ("op3", "mill3", "mill"),
        ("bench", "bench", "bench"), ("coat-house", "coat-house", "outside"),
        ("inspection", "inspection", "inspection"), ("packing", "packing", "packing"),
    ]  # fmt: skip
    assert (batch.steps[0].waiting_count, batch.blanks_count) == (155, 155)
    assert (batch.alloy, batch.sections) == ("6061-T6", ("square-25",))
    limits = {(check.step, check.mark): (check.low, check.high) for check in batch.checks if check.unit == "mm"}
    assert (limits["op3", "7"], limits["inspection", "7"]) == ((6.66, 6.84), (6.6, 6.8))
    place = packet_place(home, batch)
    assert digest_of(place.plan) == batch.plan
    assert {"plan.json", "papers.pdf", "programs/op1.nc", "inputs/job.toml", "inputs/shop.toml", MANIFEST} <= set(
        batch.papers
    )
    reader = pypdf.PdfReader(io.BytesIO((place.folder / "papers.pdf").read_bytes()))
    for page in reader.pages:
        text = "".join(page.extract_text().split())
        assert "batchB-1" in text
        assert "".join(f"({WRONG_LOADS}). Mara Lind: {REASON}".split()) in text
        assert "NOTREADY" not in text


def test_a_packet_keeps_its_plans_name_whichever_version_reads_it(
    tmp_path: Path, records: Records, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A later version knows more of a plan than its file says, and would write it otherwise."""
    home = runnable_home(tmp_path, open_plan())
    batch = released(home, records)

    def read_later(folder: Path) -> Plan:
        return msgspec.structs.replace(read_plan(folder), program_version="99.0")

    for module in (packets, close_out):
        monkeypatch.setattr(module, "read_plan", read_later)
    packets._checked.cache_clear()
    place = packet_place(home, batch)
    assert place.plan.program_version == "99.0"
    assert digest_of(place.plan) != batch.plan
    assert place.fingerprint == batch.plan
    assert close_out.plans_below(home.plans, wanted=frozenset((batch.plan,)))[batch.plan][0] == place.folder
    packets._checked.cache_clear()


@pytest.mark.parametrize(
    ("path", "content", "says"),
    [
        ("home/jaw.step", "ISO-10303-21; \n", "has changed.*the solid's file"),
        ("home/jaw.toml", JOB.replace("150", "160"), "changed.*the job file"),
        ("home/shop.toml", None, "has changed.*the shop file"),
        (RESULT / "programs" / "op1.nc", "%\nO1\nM99\n%\n", "program is edited since.*op1.nc"),
        (RESULT / "inputs" / "job.toml", "[part]\n", "keeps of its inputs.*the job file"),
        (RESULT / "plan.json", None, "planned anew"),
    ],
)
def test_what_changed_since_planning_is_not_released(
    tmp_path: Path, records: Records, path: Path, content: str | None, says: str
) -> None:
    home = runnable_home(tmp_path, ready_plan())
    asked(home, records)
    file = tmp_path / path
    if file.name == "plan.json":
        plan = home.place("jaw").plan
        content = plan_bytes(msgspec.structs.replace(plan, warnings=("another",))).decode()
    file.write_text(content or file.read_text() + "\n", newline="")
    with pytest.raises(Refused, match=says):
        release(home, records, drawer(), batch="B-1", signed=MARA)
    assert not packet_folder(home, "B-1").exists()
    batch = records.batch("B-1")
    assert batch is not None
    assert batch.state == "ready"


def test_a_plan_of_another_version_or_quantity_is_refused(tmp_path: Path, records: Records) -> None:
    home = runnable_home(tmp_path, msgspec.structs.replace(ready_plan(), program_version="0.0.9"))
    with pytest.raises(Refused, match="another version"):
        asked(home, records)
    with pytest.raises(Refused, match=r"another quantity.*149.*150"):
        ask(home, records, "jaw", batch="B-1", wanted_count=149, signed=MARA)


def test_an_open_proof_stands_in_the_way_and_holding_cannot_be_answered_for(tmp_path: Path, records: Records) -> None:
    home = runnable_home(tmp_path, example())
    asked(home, records)
    for proof_id in ("holding/slip/op2", "holding/tip/op1"):
        with pytest.raises(Refused, match="Nobody can waive"):
            waive(records, batch="B-1", proof_id=proof_id, reason=REASON, signed=MARA)
    waive(records, batch="B-1", proof_id=WRONG_LOADS, reason=REASON, signed=MARA)
    with pytest.raises(Refused, match=r"Something stands open.*holding/slip/op2"):
        release(home, records, drawer(), batch="B-1", signed=MARA)


def test_nobody_releases_without_a_name(tmp_path: Path, records: Records) -> None:
    home = runnable_home(tmp_path, ready_plan())
    with pytest.raises(BadInput, match="A name is needed"):
        ask(home, records, "jaw", batch="B-1", wanted_count=150, signed=Signed(person=" "))


def test_a_form_sent_twice_counts_once(tmp_path: Path, records: Records, monkeypatch: pytest.MonkeyPatch) -> None:
    home = runnable_home(tmp_path, ready_plan())
    form = Signed(person="Mara Lind", id="7f2e3c1a-7c1d-4b62-9d5e-0e3f5a1b2c3d")
    for _ in range(2):
        ask(home, records, "jaw", batch="B-1", wanted_count=150, signed=form)
    assert [event.kind for _, event in records.events(batch="B-1")] == ["asked", "planned"]
    with_quick_papers(monkeypatch)
    for _ in range(2):
        release(home, records, drawer(), batch="B-1", signed=Signed(person="Mara Lind", id=form.id.replace("7", "8")))
    assert [event.kind for _, event in records.events(batch="B-1")] == ["asked", "planned", "released"]
    with pytest.raises(Refused, match="a batch of this name already"):
        ask(home, records, "jaw", batch="B-1", wanted_count=150, signed=MARA)


def test_a_batch_takes_the_new_plan_of_its_part_but_not_that_of_another_revision(
    tmp_path: Path, records: Records
) -> None:
    home = runnable_home(tmp_path, ready_plan())
    asked(home, records)
    place = home.place("jaw")
    other = msgspec.structs.replace(place.plan, warnings=("another",))
    (place.folder / "plan.json").write_bytes(plan_bytes(other))
    assert plan_it(records, home.place("jaw"), batch="B-1", signed=MARA).plan == digest_of(other)
    part = msgspec.structs.replace(other.part, revision="C")
    (place.folder / "plan.json").write_bytes(plan_bytes(msgspec.structs.replace(other, part=part)))
    with pytest.raises(Refused, match="another part or revision"):
        plan_it(records, home.place("jaw"), batch="B-1", signed=MARA)


@pytest.mark.parametrize(("fault", "is_kept"), [(Refused("no"), False), (NotKept("who knows"), True)])
def test_the_packet_goes_where_the_release_was_refused_and_stays_where_nobody_knows(
    tmp_path: Path, records: Records, monkeypatch: pytest.MonkeyPatch, fault: Exception, *, is_kept: bool
) -> None:
    with_quick_papers(monkeypatch)
    home = runnable_home(tmp_path, ready_plan())
    asked(home, records)
    post = records.post

    def posted(event: Event, *, plan: Plan | None = None) -> Answer:
        if isinstance(event.of, Released):
            raise fault
        return post(event, plan=plan)

    monkeypatch.setattr(records, "post", posted)
    with pytest.raises(type(fault)):
        release(home, records, drawer(), batch="B-1", signed=MARA)
    assert packet_folder(home, "B-1").exists() == is_kept


def test_the_packet_goes_where_its_plan_makes_no_release(
    tmp_path: Path, records: Records, monkeypatch: pytest.MonkeyPatch
) -> None:
    with_quick_papers(monkeypatch)
    home = runnable_home(tmp_path, ready_plan())
    asked(home, records)

    def none(*_: object) -> tuple[()]:
        raise BadInput("A check needs a limit")

    with monkeypatch.context() as there:
        there.setattr("proveout.jobs.releasing.checks_of", none)
        with pytest.raises(BadInput, match="needs a limit"):
            release(home, records, drawer(), batch="B-1", signed=MARA)
    assert release(home, records, drawer(), batch="B-1", signed=MARA).is_released


def test_a_packet_whose_batch_was_released_with_fewer_open_proofs_is_not_opened(
    tmp_path: Path, records: Records, monkeypatch: pytest.MonkeyPatch
) -> None:
    with_quick_papers(monkeypatch)
    home = runnable_home(tmp_path, open_plan())
    batch = released(home, records)
    with pytest.raises(Refused, match="another plan than lies in the packet"):
        packet_place(home, msgspec.structs.replace(batch, opens=()))
    with Records(str(tmp_path / "forged.sqlite")) as forged:
        for _, event in records.events(batch="B-1"):
            of = Planned(plan=event.of.plan) if isinstance(event.of, Planned) else event.of
            if event.kind != "waived":
                forged.post(msgspec.structs.replace(event, of=of))
        wrong = forged.batch("B-1")
    assert wrong is not None
    assert wrong.is_released
    with pytest.raises(Refused, match="another plan than lies in the packet"):
        packet_place(home, wrong)
