"""The verb that holds two results side by side: compare."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from proveout.jobs.compared_folders import Compared

DONE = 0
PASSES_SHOWN = 20


def add_compare(verbs: Any) -> None:
    """Add the verb to the parser."""
    verb = verbs.add_parser(
        "compare", help="tell what differs between two results, and nothing else",
        description="Reads two result folders and tells what differs from the old to the new: proofs, choices, "
        "sizes before the coat, minutes, money, dates and passes. Of two orders the parts of one number are compared. "
        "Exit status: 0 done; 2 bad input; 1 internal error.",
    )  # fmt: skip
    verb.add_argument("old", type=Path, metavar="OLD", help="folder that `plan` wrote")
    verb.add_argument("new", type=Path, metavar="NEW", help="another one")
    verb.set_defaults(verb=_compare)


def _compare(given: argparse.Namespace) -> int:
    from proveout.jobs.compared_folders import compare_folders

    found = compare_folders(given.old, given.new)
    for number in found.gone:
        print(f"{number}: only in the old one")
    for number in found.more:
        print(f"{number}: only in the new one")
    for part in found.parts:
        if len(found.parts) > 1 or found.gone or found.more:
            print(f"{part.plan.part.number}:")
        for line in compared_words(part):
            print(line)
    return DONE


def compared_words(part: Compared) -> list[str]:
    """What differs of one part, proofs first."""
    from proveout.cli.words import wrapped
    from proveout.sheets.difference_words import DifferenceWords

    told, words = part.differences, DifferenceWords(plan=part.plan, shop=part.shop)
    if told.is_empty:
        return ["Nothing differs."]
    lines: list[str] = []
    if told.ready is not None:
        said = ["ready" if one else "not ready" for one in told.ready]
        lines.append(f"Before {said[0].upper()}, now {said[1].upper()}.")
    rows = [(words.claim(one), words.found(one.old), words.found(one.new)) for one in told.proofs]
    lines += _listed("Proofs, the weakest first:", rows)
    for head, changed in (
        ("Choices:", [*map(words.swap, told.choices), *map(words.shift, told.numbers)]),
        ("Sizes before the coat:", list(map(words.size, told.sizes))),
        ("Minutes:", list(map(words.shift, told.minutes))),
        ("Money:", list(map(words.shift, told.money))),
        ("Dates:", list(map(words.swap, told.dates))),
    ):
        lines += _listed(head, changed)
    passes = words.passes(told)
    if passes:
        lines.append("Passes:")
        lines += [f"  {wrapped(f'{what}: {how}', '      ')}" for what, how in passes[:PASSES_SHOWN]]
        lines += [f"  and {len(passes) - PASSES_SHOWN} more"] * (len(passes) > PASSES_SHOWN)
    return lines


def _listed(head: str, rows: list[tuple[str, str, str]]) -> list[str]:
    from proveout.cli.words import wrapped

    if not rows:
        return []
    return [head, *(f"  {wrapped(f'{what}: {old}; now {new}', '      ')}" for what, old, new in rows)]
