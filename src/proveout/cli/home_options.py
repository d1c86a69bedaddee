"""Options and output that verbs of one home share: its folder, its shop, its records, JSON."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any


def add_home(parser: argparse.ArgumentParser) -> None:
    """Add the folder of designs and orders."""
    parser.add_argument("--home", type=Path, default=Path(), metavar="FOLDER", help="with designs and orders; default: "
                        "the folder you are in")  # fmt: skip


def add_shop(parser: argparse.ArgumentParser) -> None:
    """Add the shop file of that folder."""
    parser.add_argument("--shop", type=Path, metavar="FILE", help="the shop file; default: shop.toml in the folder")


def add_records_of_home(parser: argparse.ArgumentParser) -> None:
    """Add where the records of that folder are."""
    parser.add_argument("--records", default="", metavar="WHERE", help="a path, or postgresql://...; default: "
                        "PROVEOUT_RECORDS, else records.sqlite beside the plans")  # fmt: skip


def told_records(plans: Path, named: str) -> str:
    """Where the records are whose plans lie in a folder; what is to be known of it goes to stderr."""
    from proveout.jobs.records import records_at

    found = records_at(plans, named)
    if found.note:
        print(found.note, file=sys.stderr)
    return found.setting


def add_json(parser: argparse.ArgumentParser) -> None:
    """Add that what is told is told as JSON."""
    parser.add_argument("--json", action="store_true", help="print it as JSON")


def print_json(value: Any) -> None:
    """Print a noun as JSON."""
    import msgspec

    sys.stdout.write(msgspec.json.format(msgspec.json.encode(value, order="deterministic"), indent=2).decode() + "\n")
