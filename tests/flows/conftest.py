"""One store for all flows of a run, so that what one test has decided the next need not decide again."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).resolve().parent.parent / "sheets"))  # its invented plan serves here too


@pytest.fixture(scope="session")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that all workers of this run share."""
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "flows"
    folder.mkdir(exist_ok=True)
    return folder


@pytest.fixture(scope="session")
def store(shared: Path) -> Path:
    """Decisions kept during this run; while faults are planted, from one run of the very same code to the next."""
    kept = os.environ.get("DECISIONS_KEPT", "")
    return Path(kept) if kept else shared / "store"
