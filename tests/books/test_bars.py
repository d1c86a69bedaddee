"""A batch is sawn from what it was planned in: its alloy, its sections, and one heat where it wants one."""

from __future__ import annotations

import pytest
from batch_story import BARS, Teller, batch_after_all, books_after
from msgspec.structs import replace

from proveout.model.batch import Batch
from proveout.model.stock_events import BarReceived, Sawn
from proveout.quantities.errors import Refused

SAWN = Sawn(
    step="saw", item="B-1", heat="H77", place="rack 1", bars_count=1, good_count=4, alloy="6061-T6", section="120x30"
)
OTHER = BarReceived(
    item="B-2", alloy="6061-T6", section="120x30", heat="H80", lot="D-10", length_mm=3000.0, count=10, place="rack 1"
)


def sawn(*sawings: Sawn, is_one_heat: bool = True) -> Batch:
    """The usual batch, planned in the alloy and section of the usual bars, after these sawings."""
    teller = Teller()
    asked, planned, release = teller.release()
    of = replace(release.of, alloy="6061-T6", sections=("120x30", "130x30"), is_one_heat=is_one_heat)
    begun = teller.sawn()[0]
    return batch_after_all(
        [teller(BARS), teller(OTHER), asked, planned, replace(release, of=of), begun, *(teller(one) for one in sawings)]
    )


def test_the_bars_of_the_plan_are_sawn() -> None:
    batch = sawn(SAWN, replace(SAWN, good_count=3))
    assert (batch.heats, batch.steps[1].waiting_count) == (("H77",), 7)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"alloy": "7075-T6"}, "planned in another alloy.*7075-T6.*6061-T6"),
        ({"alloy": ""}, "planned in another alloy.*not said"),
        ({"section": "100x30"}, "planned from another section.*100x30.*120x30, 130x30"),
        ({"section": ""}, "planned from another section.*not said"),
        ({"section": "130x30"}, "another section than its tag says.*130x30.*120x30"),
        ({"heat": ""}, "sawn from one heat, and none was read"),
        ({"heat": " "}, "sawn from one heat, and none was read"),
    ],
)
def test_another_alloy_or_section_and_a_heat_not_read_are_refused(change: dict[str, str], says: str) -> None:
    with pytest.raises(Refused, match=says):
        sawn(replace(SAWN, **change))


def test_a_second_heat_is_refused_where_one_is_wanted_and_kept_where_not() -> None:
    second = replace(SAWN, item="B-2", heat="H80")
    with pytest.raises(Refused, match=r"sawn from one heat.*another.*H80.*H77"):
        sawn(SAWN, second)
    assert sawn(SAWN, second, is_one_heat=False).heats == ("H77", "H80")


def test_a_bar_of_another_alloy_than_its_tag_is_refused_also_where_the_batch_says_nothing() -> None:
    teller = Teller()
    story = [teller(BARS), *teller.release(), teller.sawn()[0]]
    with pytest.raises(Refused, match=r"another alloy than its tag says.*7075-T6.*6061-T6"):
        books_after([*story, teller(replace(SAWN, alloy="7075-T6"))])
