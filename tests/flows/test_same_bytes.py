"""One request, one set of bytes: whatever the hash seed, threads, time zone, locale, folder, door and store."""

from __future__ import annotations

from pathlib import Path

import pytest
from flows.small import SHOP, digests, plan, proveout, write_job

from proveout.jobs.store import Store

VIEWS = (
    "plan.json",
    "plan.html",
    "papers.pdf",
    "bars.csv",
    "inspection.csv",
    "inspection.xlsx",
    "clamping-1.svg",
    "clamping-2.svg",
)


@pytest.fixture(scope="module")
def by_library(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    folder = tmp_path_factory.mktemp("library")
    plan_without_store(folder)
    return digests(folder / "out")


def plan_without_store(folder: Path) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PROVEOUT_STORE", "off")
        plan(write_job(folder), folder / "out")


def test_a_result_holds_all_its_views(by_library: dict[str, str]) -> None:
    assert set(VIEWS) < set(by_library)
    assert {"inputs/job.toml", "inputs/part.step", "inputs/shop.toml"} < set(by_library)


def test_surroundings_change_no_byte(by_library: dict[str, str], tmp_path: Path) -> None:
    """Cold by command line, twice: the second time also --fresh over the first one's store; then from that store."""
    store = str(tmp_path / "store")
    surroundings = (
        ("one", (), {"PYTHONHASHSEED": "1", "TZ": "Pacific/Kiritimati", "LC_ALL": "C", "NUMBA_NUM_THREADS": "1"}),
        (
            "two/deep inside",
            ("--fresh",),
            {"PYTHONHASHSEED": "77", "TZ": "America/St_Johns", "LC_ALL": "de_DE.UTF-8", "NUMBA_NUM_THREADS": "3"},
        ),
        ("three", (), {"PYTHONHASHSEED": "5", "TZ": "Asia/Kathmandu", "LANG": "C.UTF-8"}),
    )
    for name, options, names in surroundings:
        folder = tmp_path / name
        job = write_job(folder)
        ran = proveout(
            "plan", job.name, "--shop", SHOP, "--out", "out", *options, cwd=folder, PROVEOUT_STORE=store, **names
        )
        assert ran.returncode == 0, ran.stderr
        assert digests(folder / "out") == by_library, name
    assert "READY" in ran.stdout


def test_two_writers_of_steps_give_the_same_plate(tmp_path: Path) -> None:
    """The matrix above rests on equal inputs."""
    first, second = write_job(tmp_path / "a"), write_job(tmp_path / "b")
    assert first.with_suffix(".step").read_bytes() == second.with_suffix(".step").read_bytes()


def _square(*, side: int, run: object = None) -> int:  # noqa: ARG001 - the shape of a stage
    CALLS.append(side)
    return side * side


CALLS: list[int] = []


def test_a_stored_decision_is_not_decided_again(tmp_path: Path) -> None:
    CALLS.clear()
    first, second = Store(tmp_path), Store(tmp_path)
    assert [first.get("s", _square, side=3), second.get("s", _square, side=3)] == [9, 9]
    assert CALLS == [3]
    assert second.hits == ["s"]
    assert second.get("s", _square, side=4) == 16
    assert second.get("another stage", _square, side=3) == 9
    assert CALLS == [3, 4, 3]


def test_fresh_reads_nothing_but_leaves_its_own(tmp_path: Path) -> None:
    CALLS.clear()
    Store(tmp_path).get("s", _square, side=3)
    Store(tmp_path, is_fresh=True).get("s", _square, side=3)
    assert CALLS == [3, 3]
    Store(tmp_path).get("s", _square, side=3)
    assert CALLS == [3, 3]


@pytest.mark.parametrize("damage", [b"", b"\x80", b"not ours at all", b"\x80\x05\x8c\x04none\x8c\x04none\x93."])
def test_a_damaged_entry_is_decided_anew_and_mended(tmp_path: Path, damage: bytes) -> None:
    CALLS.clear()
    Store(tmp_path).get("s", _square, side=3)
    (entry,) = tmp_path.iterdir()
    whole = entry.read_bytes()
    entry.write_bytes(damage or whole[:-3])
    assert Store(tmp_path).get("s", _square, side=3) == 9
    assert entry.read_bytes() == whole
    assert CALLS == [3, 3]


def test_a_changed_bit_inside_an_entry_is_seen(tmp_path: Path) -> None:
    """An entry that still loads but is not what was written must not become part of a plan."""
    CALLS.clear()
    Store(tmp_path).get("s", _square, side=300)
    (entry,) = tmp_path.iterdir()
    content = entry.read_bytes()
    at = content.index((90000).to_bytes(4, "little"))
    entry.write_bytes(content[:at] + (90001).to_bytes(4, "little") + content[at + 4 :])
    assert Store(tmp_path).get("s", _square, side=300) == 90000
    assert CALLS == [300, 300]


def test_a_store_that_cannot_be_written_stops_nothing(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    assert Store(tmp_path / "file" / "store").get("s", _square, side=3) == 9


def test_no_folder_keeps_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from proveout.jobs.store import default_folder

    for value in ("off", "OFF"):
        monkeypatch.setenv("PROVEOUT_STORE", value)
        assert default_folder() is None
    monkeypatch.setenv("PROVEOUT_STORE", str(tmp_path))
    assert default_folder() == tmp_path
