"""Records in each of both databases."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from postgres_cluster import Cluster

from proveout.records.records import Records

Where = Callable[[], str]


@pytest.fixture(scope="session")
def cluster() -> Iterator[Cluster]:
    """A PostgreSQL for all tests; where it is missing they fail and say what to install."""
    try:
        made = Cluster()
    except RuntimeError as fault:
        pytest.fail(str(fault))
    yield made
    made.remove()


@pytest.fixture(params=["sqlite", "postgres"])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> Where:
    """Names a new place for records at every call, in one database and then in the other."""
    count = iter(range(1, 100))
    if request.param == "sqlite":
        return lambda: str(tmp_path / f"records-{next(count)}.sqlite")
    return request.getfixturevalue("cluster").database


@pytest.fixture
def records(where: Where) -> Iterator[Records]:
    """New records, in one database and then in the other."""
    with Records(where()) as made:
        yield made
