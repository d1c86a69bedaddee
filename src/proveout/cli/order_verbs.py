"""The verb that speaks of a planned order: replan."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from proveout.quantities.errors import BadInput

DONE = 0
DAYS_MOST = 366


def add_order_verbs(verbs: Any) -> None:
    """Add the verb to the parser."""
    verb = verbs.add_parser(
        "replan", help="move a planned order's work as little as a bad morning asks",
        description="Reads the result folder of an order, takes what is begun by the morning of a day as it is, and "
        "moves the rest as little as it must; tells what moved and why. Exit status: 0 done; 2 bad input; 1 internal "
        "error.",
        epilog="Days are working days. Nothing is asked of machines and finishers that are not named.",
    )  # fmt: skip
    verb.add_argument("result", type=Path, metavar="RESULT", help="folder that `plan ORDER.toml` wrote")
    verb.add_argument("--at", required=True, metavar="DATE", help="the morning on which it is known, as 2027-03-01")
    verb.add_argument("--down", action="append", default=[], metavar="MACHINE=DAYS", help="a machine stands so long")
    verb.add_argument("--late", action="append", default=[], metavar="FINISHER=DAYS", help="a finisher keeps what is "
                      "there, or goes there next, so much longer")  # fmt: skip
    verb.add_argument("--away", default="", metavar="PEOPLE=DAYS", help="so many people are away so long")
    verb.add_argument("--out", type=Path, metavar="DIR", help="folder to write; default: RESULT-replan beside you")
    verb.set_defaults(verb=_replan)


def _replan(given: argparse.Namespace) -> int:
    from proveout.cli.words import wrapped
    from proveout.jobs.replanning import replan_order
    from proveout.model.schedule import Trouble

    away = _pairs("--away", [given.away] if given.away else [])
    count, days = next(iter(away.items()), ("0", 0))
    if not count.isdigit():
        raise BadInput("So many people are no count", where="--away", value=count, do="write it as 1=2")
    trouble = Trouble(
        at=given.at, down_days=_pairs("--down", given.down), late_days=_pairs("--late", given.late),
        away_count=int(count), away_days=days,
    )  # fmt: skip
    outcome = replan_order(given.result, trouble=trouble, out=given.out)
    for line in outcome.replanned.notes:
        print(wrapped(line, "   "))
    print(f"Written: {outcome.folder}")
    return DONE


def _pairs(option: str, texts: list[str]) -> dict[str, int]:
    """Names with days from NAME=DAYS."""
    found: dict[str, int] = {}
    for text in texts:
        name, _, days = text.partition("=")
        if not name or not days.isdigit() or not 0 < int(days) <= DAYS_MOST:
            raise BadInput(
                "A name with working days is wanted", where=option, value=text, limit="1 to 366 days",
                do=f"write it as {'1' if option == '--away' else 'NAME'}=2",
            )  # fmt: skip
        found[name] = int(days)
    return found
