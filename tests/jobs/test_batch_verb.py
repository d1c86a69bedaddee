"""`proveout batch`: from asking to the frozen packet, in words and as JSON."""

# pyright: reportMissingImports=false
from __future__ import annotations

import json
from pathlib import Path

import pytest
from example_home import fixture_shop
from runnable_home import REASON, WRONG_LOADS, open_plan, runnable_home, with_quick_papers

from proveout.cli.main import main
from proveout.jobs.packets import packet_of
from proveout.jobs.place import Place

WHO = ("--person", "Mara Lind")


def test_a_batch_is_asked_for_answered_for_released_and_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(Place, "shop", property(lambda _: fixture_shop.example_shop()))
    monkeypatch.setenv("PROVEOUT_STORE", "off")
    monkeypatch.setenv("PROVEOUT_RECORDS", str(tmp_path / "own.sqlite"))
    with_quick_papers(monkeypatch)
    home = runnable_home(tmp_path, open_plan())

    def ran(*arguments: str) -> tuple[int, str]:
        code = main(["batch", arguments[0], *arguments[1:], "--home", str(home.root)])
        return code, capsys.readouterr().out

    assert ran("list") == (0, "No batch yet: proveout batch ask\n")
    code, out = ran("ask", "B-1", "jaw", *WHO)
    assert (code, "150 wanted, planned" in out, f"({WRONG_LOADS}); answer for it with" in out) == (3, True, True)
    assert ran("release", "B-1", *WHO)[0] == 2
    code, out = ran("waive", "B-1", WRONG_LOADS, "--reason", REASON, *WHO)
    assert (code, f"Mara Lind: {REASON}" in out) == (0, True)
    code, out = ran("release", "B-1", *WHO)
    assert (code, "saw at saw: 155 wait" in out) == (0, True)
    assert packet_of(home, "B-1").plan == home.place("jaw").plan
    assert json.loads(ran("show", "B-1", "--json")[1])["steps"][0]["in_count"] == 155
    assert [row["state"] for row in json.loads(ran("list", "--json")[1])] == ["released"]
    assert ran("list")[1] == "B-1: EX-102 revision B, 150 wanted, released, 0 good, 0 bad\n"
    assert (tmp_path / "own.sqlite").is_file()
