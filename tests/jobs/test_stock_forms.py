"""What a form of the stock page says happened, and the sums of the coolant log."""

from __future__ import annotations

import pytest

from proveout.jobs.coolant import mix_to_add, share_by_refractometer
from proveout.jobs.stock_forms import FORMS, StockForm, event_of_form, form_of
from proveout.model.stock_events import BarReceived, CoolantRead, EdgeChanged, StockPut, StockTaken
from proveout.quantities.errors import BadInput, OutOfRange

BARS = {
    "item": "T-1", "alloy": "6061-T6", "section": "2x1in", "heat": "H77", "lot": "", "length": "144", "count": "6",
    "place": "rack",
}  # fmt: skip


def made(id: str, typed: dict[str, str], *, is_inch: bool = False) -> object:
    return event_of_form(form_of(id), typed, is_inch=is_inch, find=lambda _tag: None)


def test_lengths_are_typed_in_the_shops_own_unit() -> None:
    for is_inch, length_mm in ((True, 3657.6), (False, 144.0)):
        of = made("receive", BARS, is_inch=is_inch)
        assert isinstance(of, BarReceived)
        assert of.length_mm == pytest.approx(length_mm)


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.id)
def test_every_form_names_the_first_field_that_is_missing(form: StockForm) -> None:
    with pytest.raises(BadInput, match="This must be said"):
        made(form.id, {})


@pytest.mark.parametrize(
    ("id", "typed", "says"),
    [
        ("receive", BARS | {"count": "6.5"}, "whole number"),
        ("receive", BARS | {"count": "6²"}, "whole number"),
        ("receive", BARS | {"count": "99999999"}, "whole number"),
        ("receive", BARS | {"length": "12,5"}, "A number is needed"),
        ("coolant", {"machine": "m", "ph": "nan"}, "A number is needed"),
        ("remnant", {"item": "R-1", "of": "T-9", "length": "4", "place": "rack"}, "no bar of this tag"),
        ("put", {"item": "K", "sort": "bar", "name": "n", "count": "1", "place": "p"}, "none of the choices"),
        ("take", {"item": "K", "way": "kit", "why": "B-1", "count": "1", "place": "p"}, "none of the choices"),
        ("coolant", {"machine": "m", "reading": "4.2"}, "reading and the factor"),
    ],
)
def test_what_cannot_be_read_is_refused(id: str, typed: dict[str, str], says: str) -> None:
    with pytest.raises(BadInput, match=says):
        made(id, typed)


def test_what_came_and_what_was_taken_is_what_was_chosen() -> None:
    came = made("put", {"item": "K", "sort": "kit", "name": "n", "count": "2", "place": "p"})
    assert isinstance(came, StockPut)
    assert came.sort == "kit"
    taken = made("take", {"item": "K", "way": "used", "why": "B-1", "count": "1", "place": "p"})
    assert isinstance(taken, StockTaken)
    assert taken.why == "used: B-1"


def test_the_factor_of_the_concentrate_makes_a_reading_a_share() -> None:
    of = made("coolant", {"machine": "mill-3", "reading": "4.2", "factor": "1.7", "ph": "9.1"})
    assert isinstance(of, CoolantRead)
    assert of.share_ratio == pytest.approx(0.0714)
    assert of.note == "4.2 read, factor 1.7"
    with pytest.raises(OutOfRange, match="above the whole"):
        share_by_refractometer(reading_percent=60.0, factor=2.0)


def test_minutes_of_an_edge_may_be_unknown() -> None:
    for typed, life_s in (("60", 3600.0), ("", None)):
        of = made("edge", {"machine": "mill-3", "cutter": "EM6", "life": typed})
        assert isinstance(of, EdgeChanged)
        assert of.life_s == life_s


@pytest.mark.parametrize(("share", "wanted", "added"), [(0.06, 0.07, 50.0), (0.09, 0.07, 80.0), (0.07, 0.07, 10.0)])
def test_the_mix_keeps_the_concentrate(share: float, wanted: float, added: float) -> None:
    mix = mix_to_add(sump_l=200.0, share_ratio=share, wanted_ratio=wanted, added_l=added)
    assert share * 200.0 + mix * added == pytest.approx(wanted * (200.0 + added))


@pytest.mark.parametrize(("share", "added", "says"), [(0.2, 10.0, "plain water"), (0.0, 1.0, "pure concentrate")])
def test_what_so_many_litres_cannot_bring_about_is_said(share: float, added: float, says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        mix_to_add(sump_l=200.0, share_ratio=share, wanted_ratio=0.07, added_l=added)
