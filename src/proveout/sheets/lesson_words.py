"""What a lesson says, the same on a page and in a terminal."""

from __future__ import annotations

from collections.abc import Mapping

from proveout.model.fact import Fact
from proveout.model.learned import Coverage, Lesson, Proposal

PULL_TESTS = "Friction, clamp forces and grips are told by pull tests alone; no batch changes them."


def value_words(fact: Fact) -> str:
    """A number with its interval."""
    return f"{fact.nominal:g} ({fact.low:g} to {fact.high:g})"


def was_words(one: Proposal) -> str:
    """The number before, and whether anybody wrote it."""
    return value_words(one.taken) + ", assumed" if one.was is None else value_words(one.was)


def now_words(one: Proposal) -> str:
    """The number after."""
    return f"{value_words(one.now)} {one.now.unit}"


def before_after(one: Proposal) -> str:
    """Key, before and after in one line."""
    return f"{one.key.words}: {was_words(one)} -> {now_words(one)}"


def worth_words(one: Proposal) -> str:
    """How much what is written weighs against the batches."""
    if one.key.kind in ("growth", "thickness"):
        return "nothing: readings alone tell it"
    if one.key.kind == "pressure":
        return "nothing, but for its high end until three cutters were read"
    of = "pieces" if one.key.kind == "scrap" else "batches"
    return "less than a tenth of a batch" if one.worth_count < 0.1 else f"{one.worth_count:.1f} {of}"


def rests_words(one: Proposal) -> str:
    """What a proposal rests on."""
    if one.key.kind == "pressure":
        return one.how
    rests = f"{one.now.source}; {one.pieces_count} pieces, {one.events_count} counts, cycles, slips or readings"
    return f"{rests}; {one.how}" if one.how else rests


def row_words(one: Mapping[str, float | str]) -> str:
    """One spindle reading that would be written into the shop file."""
    unit, sign = ("kw", "kW") if "load_kw" in one else ("percent", "%")
    return (
        f"{one['date']}, {one['source']}: {one['cutter']} on {one['machine']}, {one['radial_mm']:g} mm wide, "
        f"{one['axial_mm']:g} mm deep, {one['tooth_feed_mm']:g} mm an edge at {one['speed_rpm']:g} 1/min, edge "
        f"{one['edge']}: {one[f'load_{unit}']:g} {sign} over {one[f'idle_{unit}']:g}"
    )


def coverage_words(one: Coverage) -> str:
    """How one sort of planned interval held."""
    return f"{one.text}: {one.held_count} of {one.count} held"


def read_words(told: Lesson) -> str:
    """How many batches it was learned from."""
    count = len(told.batches)
    return f"{told.shop}: {count} {'batch is' if count == 1 else 'batches are'} over and can be read"
