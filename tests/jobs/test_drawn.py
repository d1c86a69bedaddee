"""Hidden-line drawings that cannot be made are told, and the papers come without them."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from proveout.jobs import drawn
from proveout.jobs.store import Store
from proveout.quantities.errors import OutOfTime


class Late:
    """A child that never comes to an end."""

    def result(self) -> Any:
        raise OutOfTime("It took too long and was stopped", where="EX-1", limit="900 s")

    def stop(self) -> None:
        pass


def test_papers_without_hidden_lines_say_why(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drawn, "begin_drawings", lambda *_: Late())
    solid: Any = SimpleNamespace(brep=b"")
    for is_wanted, why_not in ((True, "It took too long and was stopped; where: EX-1; limit: 900 s"), (False, "")):
        with drawn.Drawn(solid=solid, clampings=(), store=Store(None), is_wanted=is_wanted) as found:
            assert found.result() == ({}, None)
        assert found.why_not == why_not
