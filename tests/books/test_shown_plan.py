"""What speaks of a plan is held against it: nobody releases by saying that nothing is open."""

# pyright: reportMissingImports=false
from __future__ import annotations

from pathlib import Path

import pytest
from batch_story import Teller
from example_home import example
from msgspec.structs import replace

from proveout.books.release import opens_of
from proveout.books.shown_plan import as_plan_says
from proveout.model.batch_events import Planned, Started
from proveout.quantities.canonical import digest_of
from proveout.quantities.errors import Refused
from proveout.records.records import Records

PLAN = example()
DIGEST = digest_of(PLAN)
OPENS = opens_of(PLAN.proofs)


def test_what_the_plan_says_passes_and_what_speaks_of_none() -> None:
    assert OPENS
    as_plan_says(Planned(plan=DIGEST, opens=OPENS), PLAN)
    as_plan_says(replace(Teller.released(), plan=DIGEST), PLAN)
    as_plan_says(Started(step="saw"), None)


@pytest.mark.parametrize(
    ("of", "says"),
    [
        (Planned(plan=DIGEST), "open proofs are not those of the plan"),
        (Planned(plan=DIGEST, opens=OPENS[1:]), "open proofs are not those of the plan"),
        (Planned(plan=DIGEST, opens=tuple(replace(one, may_waive=True) for one in OPENS)), "told otherwise"),
        (Planned(plan="ab" * 32, opens=OPENS), "not the plan that it speaks of"),
        (replace(Teller.released(), plan=DIGEST, revision="C"), "another revision"),
    ],
)
def test_what_says_something_else_of_it_is_refused(of: Planned, says: str) -> None:
    with pytest.raises(Refused, match=says):
        as_plan_says(of, PLAN)
    with pytest.raises(Refused, match="comes with the plan"):
        as_plan_says(of, None)


def test_records_that_ask_for_plans_write_none_that_comes_without(tmp_path: Path) -> None:
    teller = Teller()
    asked, *_ = teller.release()
    with Records(str(tmp_path / "records.sqlite"), asks_for_plans=True) as records:
        records.post(asked)
        with pytest.raises(Refused, match="comes with the plan"):
            records.post(teller(Planned(plan=DIGEST)))
        with pytest.raises(Refused, match="open proofs"):
            records.post(teller(Planned(plan=DIGEST)), plan=PLAN)
        records.post(teller(Planned(plan=DIGEST, opens=OPENS)), plan=PLAN)
        batch = records.batch("100")
    assert batch is not None
    assert batch.state == "planned"
