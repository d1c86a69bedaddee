"""The spine: verdicts at and across the limit, margins, order, readiness; facts, limits, canonical bytes."""

from __future__ import annotations

import hashlib
import itertools
import math
import struct
from typing import Any, Literal

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.model.fact import Fact, exact_fact, spread_fact
from proveout.model.limits import QUANTITIES, Limits
from proveout.model.proof import Basis, Proof, Tighten, is_ready, margin_of, prove, weakest_first
from proveout.quantities.canonical import canonical_bytes, digest_of, digest_of_array
from proveout.quantities.errors import InternalError, OutOfRange

BASIS = Basis(formula="a <= b", source="own-algorithm")
Sense = Literal["at most", "at least"]
NUMBER = st.floats(-1e6, 1e6)
REMEDY = Tighten(subject="c1", quantity="axial_ratio", bound=0.2, unit="of the usual")


def judge(low: float | None, high: float | None, limit: float | None, sense: Sense = "at most", **more: Any) -> Proof:
    given_here: dict[str, Any] = {"id": "t:p", "blocks_release": True, "remedy": "less", "tighten": REMEDY, **more}
    return prove(
        stage="t", subject="s", claim="c", sense=sense, found_low=low, found_high=high, limit=limit, unit="mm",
        basis=BASIS, **given_here,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("low", "high", "at_most", "at_least"),
    [
        (4.0, 6.0, "holds", "fails"),
        (8.0, 10.0, "holds", "not shown"),
        (9.0, 11.0, "not shown", "not shown"),
        (10.0, 12.0, "not shown", "holds"),
        (10.0, 10.0, "holds", "holds"),
        (10.0 + 1e-9, 12.0, "fails", "holds"),
        (8.0, 10.0 - 1e-9, "holds", "fails"),
        (-5.0, -1.0, "holds", "fails"),
    ],
)
def test_the_verdict_is_that_of_the_worst_end(low: float, high: float, at_most: str, at_least: str) -> None:
    """Limit 10. Holds at the worst end, fails even at the best end, anything between is not shown."""
    assert judge(low, high, 10.0).verdict == at_most
    assert judge(low, high, 10.0, "at least").verdict == at_least


@pytest.mark.parametrize(
    ("low", "high", "limit"),
    [
        (None, 1.0, 2.0),
        (1.0, None, 2.0),
        (1.0, 1.0, None),
        (None, None, None),
        (1.0, math.inf, 2.0),
        (math.nan, 1.0, 2.0),
    ],
)
def test_missing_data_is_not_shown_names_what_would_decide_and_keeps_its_remedy(
    low: float | None, high: float | None, limit: float | None
) -> None:
    found = judge(low, high, limit, decides="a pull test")
    assert (found.verdict, found.margin, found.decides) == ("not shown", None, "a pull test")
    assert found.tighten == REMEDY
    assert judge(low, high, limit).decides
    assert msgspec.json.decode(msgspec.json.encode(found), type=Proof) == found


@pytest.mark.parametrize("limit", [math.nan, math.inf, -math.inf])
def test_a_limit_that_is_not_finite_is_not_shown(limit: float) -> None:
    """No limit at all is not a limit that is kept."""
    for sense in ("at most", "at least"):
        assert judge(1.0, 1.0, limit, sense).verdict == "not shown"
        assert judge(1.0, 1.0, limit, sense).limit is None


def test_ends_given_the_wrong_way_round_are_put_in_order() -> None:
    for sense in ("at most", "at least"):
        assert judge(11.0, 9.0, 10.0, sense) == judge(9.0, 11.0, 10.0, sense)
        assert judge(11.0, 9.0, 10.0, sense).verdict == "not shown"


def test_a_proof_not_shown_without_a_deciding_measurement_is_our_own_fault() -> None:
    with pytest.raises(InternalError, match="must name what would decide it"):
        Proof(
            id="x", stage="t", subject="s", claim="c", sense="at most", found_low=None, found_high=None, limit=None,
            unit="", margin=None, verdict="not shown", blocks_release=True, basis=BASIS,
        )  # fmt: skip


@pytest.mark.parametrize(
    ("found", "limit", "sense", "margin"),
    [
        (10.0, 10.0, "at most", 0.0),
        (0.0, 10.0, "at most", 1.0),
        (20.0, 10.0, "at most", -1.0),
        (10.0, 10.0, "at least", 0.0),
        (20.0, 10.0, "at least", 1.0),
        (0.0, 10.0, "at least", -1.0),
        (-20.0, -10.0, "at most", 1.0),
        (0.5, 0.0, "at most", -0.5),
        (0.0, 0.0, "at most", 0.0),
        (1e9, 1.0, "at most", -9.99),
        (1e9, 1.0, "at least", 9.99),
    ],
)
def test_a_margin_is_the_distance_inside_as_a_share_of_the_limit(
    found: float, limit: float, sense: Sense, margin: float
) -> None:
    assert margin_of(found=found, limit=limit, sense=sense) == pytest.approx(margin)


@given(NUMBER, NUMBER, NUMBER, st.sampled_from(["at most", "at least"]), st.floats(0.0, 1e3))
def test_widening_an_interval_never_improves_verdict_or_margin(
    a: float, b: float, limit: float, sense: Sense, wider: float
) -> None:
    low, high = min(a, b), max(a, b)
    rank = {"holds": 2, "not shown": 1, "fails": 0}
    narrow, wide = judge(low, high, limit, sense), judge(low - wider, high + wider, limit, sense)
    assert narrow.margin is not None
    assert wide.margin is not None
    assert wide.margin <= narrow.margin
    assert rank[wide.verdict] <= max(rank[narrow.verdict], 1)
    assert (narrow.margin >= 0.0) == (narrow.verdict == "holds")
    assert (narrow.tighten is None) == (narrow.verdict == "holds")


def test_what_is_weakest_comes_first() -> None:
    """Failing, then not shown, then holding; among equals what blocks first, then the smaller margin, then the id."""
    wanted = (
        judge(30.0, 30.0, 10.0, id="a fails by far"),
        judge(11.0, 11.0, 10.0, id="b fails by little"),
        judge(90.0, 90.0, 10.0, id="c fails, does not block", blocks_release=False),
        judge(None, None, 10.0, id="d nothing known"),
        judge(9.0, 11.0, 10.0, id="e across the limit"),
        judge(9.0, 9.0, 10.0, id="f holds narrowly"),
        judge(9.0, 9.0, 10.0, id="g holds as narrowly"),
        judge(1.0, 1.0, 10.0, id="h holds easily"),
        judge(9.9, 9.9, 10.0, id="i holds, does not block", blocks_release=False),
    )
    for order in itertools.islice(itertools.permutations(wanted), 0, 362880, 9973):
        assert weakest_first(tuple(order)) == wanted


def test_ready_needs_every_blocking_proof_and_at_least_one() -> None:
    good, bad, unknown = judge(1.0, 1.0, 2.0), judge(3.0, 3.0, 2.0), judge(1.0, 3.0, 2.0)
    note = judge(3.0, 3.0, 2.0, blocks_release=False)
    assert is_ready((good, good, note))
    assert not is_ready(())
    assert not is_ready((note,))
    assert not is_ready((judge(1.0, 1.0, 2.0, blocks_release=False),))
    assert not is_ready((good, bad))
    assert not is_ready((good, unknown))


@pytest.mark.parametrize("numbers", [(2.0, 1.0, 3.0), (1.0, 3.0, 2.0), (3.0, 2.0, 1.0)])
def test_a_fact_out_of_order_is_refused(numbers: tuple[float, float, float]) -> None:
    with pytest.raises(OutOfRange, match="low <= nominal <= high"):
        Fact(low=numbers[0], nominal=numbers[1], high=numbers[2], unit="N", source="test", strength="assumed")


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_a_fact_that_is_not_finite_is_refused(number: float) -> None:
    with pytest.raises(OutOfRange, match="finite"):
        exact_fact(number, "N", "test", "assumed")


@given(NUMBER, st.floats(0.0, 1.0))
def test_a_spread_fact_lies_about_its_nominal(value: float, share: float) -> None:
    fact = spread_fact(value, share, "N", "test", "assumed")
    assert fact.low <= value <= fact.high
    assert fact.high - value == pytest.approx(value - fact.low, abs=1e-6)
    assert fact.high - fact.low == pytest.approx(2.0 * share * abs(value), abs=1e-6)


STEPS = st.lists(
    st.builds(
        Tighten, subject=st.sampled_from(["c1", "c2"]), quantity=st.sampled_from(QUANTITIES),
        bound=st.floats(0.01, 5.0), unit=st.just("of the usual"),
    ), max_size=12,
)  # fmt: skip


@given(STEPS, STEPS)
def test_limits_only_ever_get_tighter_and_in_any_order_the_same(first: list[Tighten], second: list[Tighten]) -> None:
    before = Limits().tightened(tuple(first))
    after = before.tightened(tuple(second))
    for quantity, subject in itertools.product(QUANTITIES, ("c1", "c2")):
        assert after.of(quantity, subject, 9.0) <= before.of(quantity, subject, 9.0)
        bounds = [t.bound for t in (*first, *second) if (t.quantity, t.subject) == (quantity, subject)]
        assert after.of(quantity, subject, 9.0) == min(bounds, default=9.0)
    assert after.tightened(tuple(second)) == after
    assert Limits().tightened((*second, *first)) == after


def test_tightened_limits_leave_the_old_ones_alone() -> None:
    old = Limits(axial_ratio={"c1": 0.5})
    new = old.tightened((REMEDY,))
    assert old.axial_ratio == {"c1": 0.5}
    assert new.axial_ratio == {"c1": 0.2}
    assert new.tightened((msgspec.structs.replace(REMEDY, bound=0.4),)) == new


ARRAY = np.arange(12, dtype=np.float64).reshape(3, 4)


def test_equal_arrays_have_equal_digests_however_they_lie_in_memory() -> None:
    digest = digest_of_array(ARRAY)
    assert digest == digest_of_array(np.asfortranarray(ARRAY))
    assert digest == digest_of_array(np.repeat(ARRAY, 2, axis=1)[:, ::2])
    assert digest == digest_of_array(ARRAY.astype(">f8"))
    # worked: kind, shape and the eight bytes of each number, low byte first
    body = b"<f8(2,)" + struct.pack("<2d", 1.5, -2.0)
    assert digest_of_array(np.array([1.5, -2.0])) == hashlib.sha256(body).hexdigest()


@pytest.mark.parametrize(
    "other",
    [
        ARRAY.reshape(4, 3),
        ARRAY.T,
        ARRAY.astype(np.float32),
        ARRAY.astype(np.int64),
        ARRAY[:2],
        np.nextafter(ARRAY, np.inf),
        ARRAY[::-1],
        ARRAY.ravel(),
    ],
)
def test_different_arrays_have_different_digests(other: np.ndarray) -> None:
    assert digest_of_array(other) != digest_of_array(ARRAY)


def test_canonical_bytes_do_not_depend_on_the_order_of_keys_or_the_kind_of_number() -> None:
    one = {"b": np.float64(0.1), "a": [1, (2, 3)], "m": ARRAY}
    two = {"m": ARRAY.copy(order="F"), "a": (np.int64(1), [2, 3]), "b": 0.1}
    assert canonical_bytes(one) == canonical_bytes(two)
    assert digest_of(one) == digest_of(two)
    assert digest_of({**one, "b": math.nextafter(0.1, 1.0)}) != digest_of(one)
    assert digest_of({**one, "m": ARRAY + 1e-12}) != digest_of(one)
    assert canonical_bytes(judge(1.0, 1.0, 2.0)) == canonical_bytes(judge(1.0, 1.0, 2.0))


def test_what_has_no_canonical_form_is_refused() -> None:
    with pytest.raises(TypeError, match="no canonical form for object"):
        canonical_bytes({"a": object()})
