"""Words of a machine's own minutes in the shop file: multiples of what is reckoned."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from proveout.intake.sections import Section
from proveout.intake.toml_words import Place, Word, read_words
from proveout.model.minute_factors import MINUTE_KINDS, MinuteFactors


def _times(stem: str, text: str) -> Word:
    return Word(stem=stem, text=f"times what is reckoned: {text}", kind="fact", measure="ratio", low=0.2, high=5.0)


MINUTES = Section(
    name="machine.minutes",
    text="how long its work really takes, as multiples of what is reckoned; batches tell them: proveout learn",
    words=(
        _times("roughing", "facing and roughing"),
        _times("finishing", "walls, floors, surfaces, undercuts and edges"),
        _times("holes", "holes and threads"),
        _times("changes", "cutter changes and turns of the rotary axes"),
        _times("loading", "loading and blowing off by hand, of the bench's middle number"),
    ),
)


def minutes_said(minutes: MinuteFactors | None) -> str:
    """Behind what a shop file was understood to say of a machine; nothing where no factor is written."""
    told = [(kind, minutes.of(kind)) for kind in MINUTE_KINDS] if minutes is not None else []
    said = [f"{kind} {fact.nominal:g} ({fact.low:g} to {fact.high:g})" for kind, fact in told if fact is not None]
    return f", takes times what is reckoned: {', '.join(said)}" if said else ""


def minutes_of_words(raw: Mapping[str, Any] | None, place: Place) -> MinuteFactors | None:
    """The factors; None when none are written."""
    if raw is None:
        return None
    return MinuteFactors(**read_words(raw, MINUTES.words, Place(file=place.file, path=f"{place.path} minutes"), []))
