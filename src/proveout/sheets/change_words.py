"""An engineering change in words: its state, and what half-made pieces tie up."""

from __future__ import annotations

from proveout.model.fact import Fact
from proveout.model.half_made import HalfMade, Stage
from proveout.model.revision_book import Ending
from proveout.sheets.close_out_words import between


class ChangeWords:
    """Puts changes into words."""

    @staticmethod
    def state(ending: Ending, day: str) -> str:
        """Whether it holds. day: ISO date of the reader."""
        if not ending.stands:
            return "taken back"
        return "holds" if ending.holds_on(day) else f"holds from {ending.from_day}"

    @staticmethod
    def minutes(stage: Stage, count: int = 1) -> str:
        """Minutes of so many pieces of a stage."""
        return _least(stage.each_s, between(_times(stage.each_s, count), unit="min:s", digits=0), stage)

    @staticmethod
    def money(stage: Stage, count: int = 1) -> str:
        """Money of so many pieces of a stage."""
        return _least(stage.each_money, _priced(_times(stage.each_money, count)), stage)

    @staticmethod
    def where(stage: Stage) -> str:
        """How many pieces of a stage are where."""
        parts = [f"{stage.waiting_count} wait" if stage.waiting_count else "",
                 f"{stage.away_count} away" if stage.away_count else ""]  # fmt: skip
        return ", ".join(part for part in parts if part)

    @staticmethod
    def passed(stage: Stage) -> str:
        """What was done to the pieces of a stage."""
        return ", ".join(stage.behind) or "nothing: blanks to saw"

    @staticmethod
    def all_money(one: HalfMade) -> str:
        """Money in all half-made pieces of a batch; how many pieces it says nothing of stands beside it."""
        begun = [stage for stage in one.stages if stage.behind]
        known = [(stage.each_money, stage.count) for stage in begun if stage.each_money is not None]
        blind = sum(stage.count for stage in begun if stage.each_money is None)
        ends = [sum(getattr(fact, end) * count for fact, count in known) for end in ("low", "nominal", "high")]
        if not known:
            return "not shown" if blind else "nothing"
        low, nominal, high = ends
        fact = Fact(low=low, nominal=nominal, high=high, unit=one.currency, source="own-algorithm", strength="assumed")
        told = _priced(fact)
        if any(stage.lacks for stage in one.stages):
            told = f"at least {told}"
        return f"{told}, of {blind} pieces not shown" if blind else told


def _priced(fact: Fact | None) -> str:
    told = between(fact, unit="" if fact is None else fact.unit, digits=2)
    return told if fact is None else f"{told} {fact.unit}"


def _least(fact: Fact | None, words: str, stage: Stage) -> str:
    """Where something is not in it, it is at least that."""
    return f"at least {words}" if fact is not None and stage.lacks else words


def _times(fact: Fact | None, count: int) -> Fact | None:
    """A fact of one piece for so many, every worst end together."""
    if fact is None:
        return None
    return Fact(low=fact.low * count, nominal=fact.nominal * count, high=fact.high * count, unit=fact.unit,
                source=fact.source, strength=fact.strength)  # fmt: skip
