"""A change is told by its key's own words with what stood there before, so that nobody has to know the key."""

from __future__ import annotations

from proveout.model.changes import Change, Offer, told_changes

GRIP = ("jaws", "toothed", "grip_mm")


def offer(*path: str, present: str, unit: str = "") -> Offer:
    return Offer(
        group="jaws toothed", text="height of the strip they hold; from the jaws' floor", unit=unit, file="shop",
        path=path, present=present, wanted="a number",
    )  # fmt: skip


def test_a_change_says_what_stood_there_and_its_key() -> None:
    grip = Change(file="shop", path=GRIP, value="3")
    offers = [offer("jaws", "soft", "grip_mm", present="9.0", unit="mm"), offer(*GRIP, present="4.0", unit="mm")]
    told = "jaws toothed, height of the strip they hold: 3 mm"
    key = "shop file, jaws / toothed / grip_mm"
    assert told_changes([grip], offers, is_present=True) == [(f"{told}, was 4.0 mm", key)]
    assert told_changes([grip], offers, is_present=False) == [(told, key)]


def test_what_is_not_written_or_taken_out_is_said_so() -> None:
    out = Change(file="shop", path=GRIP, value="")
    written = [offer(*GRIP, present="4.0", unit="mm")]
    row = [offer(*GRIP, present="there")]
    new = [offer(*GRIP, present="")]
    assert told_changes([out], written, is_present=True)[0][0].endswith(": taken out, was 4.0 mm")
    assert told_changes([out], row, is_present=True)[0][0].endswith(": taken out")
    given = Change(file="shop", path=GRIP, value="3")
    assert told_changes([given], new, is_present=True)[0][0].endswith(": 3, was not written")


def test_a_key_that_is_not_offered_is_told_in_its_own_words() -> None:
    kerf = Change(file="shop", path=("saw", "kerf_mm"), value="2.9")
    assert told_changes([kerf], [], is_present=True) == [("shop file, saw / kerf_mm: 2.9", "")]
