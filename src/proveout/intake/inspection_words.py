"""Words of [inspection], the same in a shop file and in a job file, and of how cutters wear."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from proveout.gauging.plans import LEVELS, QUALITY_LIMITS
from proveout.intake.sections import Section
from proveout.intake.toml_words import Place, Word, plain, read_words, table_at
from proveout.model.inspection import InspectionRule, InspectionWish, rule_of
from proveout.quantities.errors import OutOfRange

PLANS = ("as checked", "quality limit", "no bad piece", "every piece")
WORDS = (
    Word(
        stem="plan", text="how a finished lot is sampled: by the checks made on the way alone; by the tables of ISO "
        "2859-1 for a quality limit; so many pieces without a bad one that a share of bad pieces is caught; or every "
        "piece. Critical sizes are gauged on every piece whatever stands here", kind="choice", choices=PLANS,
    ),
    Word(stem="level", text="inspection level of the tables", kind="choice", choices=LEVELS),
    Word(
        stem="aql_percent", text="acceptance quality limit of the tables, percent of pieces that are not right",
        low=0.1, high=10.0,
    ),
    Word(stem="strictness", text="normal or tightened inspection", kind="choice", choices=("normal", "tightened")),
    Word(
        stem="bad_share", text="share of bad pieces in a lot for which the chance to pass is told, and that a sample "
        "without a bad piece must catch", measure="percent", low=0.05, high=50.0, field="bad_ratio",
    ),
    Word(
        stem="confidence", text="how surely it must be caught", measure="percent", low=50.0, high=99.9,
        field="confidence_ratio",
    ),
    Word(
        stem="guard_share", text="share of a gauge's uncertainty by which accepted readings are drawn in at each "
        "limit: 0 is simple acceptance, 100 draws in the whole of it", measure="percent", low=0.0, high=200.0,
        field="guard_ratio",
    ),
    Word(
        stem="first_piece_after_night", text="after a night the next piece of a clamping is read as a first piece, "
        "before another is counted good", kind="flag", field="is_measured_daily",
    ),
)  # fmt: skip
INSPECTION = Section(
    name="inspection", text="how readings decide, and how many pieces of a lot are gauged", words=WORDS
)
WEAR = Word(
    stem="wear", text="how far the surface that it leaves moves for each minute that it is used, measured; of a "
    "diameter half of what the reading moves", kind="fact", measure="wear", low=0.0, high=50.0, field="wear_mm_per_s",
)  # fmt: skip


def inspection_of_words(raw: Mapping[str, Any], top: Place) -> InspectionWish:
    """What a file says under [inspection]; nothing where it has none.

    Raises:   BadInput for an unknown key or word; OutOfRange for a quality limit that the tables do not have.
    """
    table = table_at(raw, INSPECTION.name, top, must=False) or {}
    place = Place(file=top.file, path=INSPECTION.name)
    wish = InspectionWish(**read_words(table, WORDS, place, []))
    if wish.aql_percent is not None and all(abs(wish.aql_percent - one) > 1e-9 for one in QUALITY_LIMITS):
        raise OutOfRange(
            "The tables have no such quality limit", where=place.at("aql_percent"), value=plain(wish.aql_percent),
            limit=", ".join(plain(one) for one in QUALITY_LIMITS), do="take one of these",
        )  # fmt: skip
    return wish


def inspection_sentence(wish: InspectionWish) -> str:
    """One sentence of what holds in the shop."""
    rule = rule_of(wish)
    return (
        f"Readings decide with each limit drawn in by {plain(100.0 * rule.guard_ratio)} % of the gauge's uncertainty. "
        f"{_sampled(rule)} Critical sizes are gauged on every piece."
        + (" After a night the next piece is read as a first one." if rule.is_measured_daily else "")
    )


def _sampled(rule: InspectionRule) -> str:
    if rule.plan == "as checked":
        return "A finished lot is not sampled again: the checks made on the way are all."
    if rule.plan == "every piece":
        return "Every piece of a lot is gauged."
    if rule.plan == "no bad piece":
        return (
            f"Of a finished lot so many are gauged, none of them bad, that {plain(100.0 * rule.bad_ratio)} % bad "
            f"pieces are caught {plain(100.0 * rule.confidence_ratio)} times in 100."
        )
    return (
        f"A finished lot is sampled by the tables of ISO 2859-1, level {rule.level}, quality limit "
        f"{plain(rule.aql_percent)} %, {rule.strictness} inspection: such plans let bad pieces pass."
    )
