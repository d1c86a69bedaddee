"""The verbs that read readings: capability, gauge-study and chart."""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from typing import Any

DONE = 0
TABLE = (
    "The first line of FILE names its columns, parted by commas or semicolons; one reading a row. Figures are in the "
    "unit of the readings."
)


def add_gauging(verbs: Any) -> None:
    """Add the three verbs to the parser."""
    capability = verbs.add_parser(
        "capability", help="say what readings prove of a spread within limits",
        description="Reads readings and tells Cp, Cpk, Pp and Ppk with their confidence limits, and what so many "
        "readings prove. Exit status: 0 done; 2 bad input; 1 internal error.",
        epilog=f"{TABLE} Columns: reading; group, for Cp and Cpk: readings made one after the other. A bare column of "
        "numbers will do.",
    )  # fmt: skip
    capability.add_argument("file", type=Path, metavar="FILE.csv", help="the readings")
    _limits(capability)
    _confidence(capability)
    capability.set_defaults(verb=_capability)

    study = verbs.add_parser(
        "gauge-study", help="tell a gauge's own spread from that of the parts",
        description="Reads what several persons read of several parts, each part twice or more, and tells what of the "
        "spread is the gauge, the person and the part. Exit status: 0 done; 2 bad input; 1 internal error.",
        epilog=f"{TABLE} Columns: part, reading; person, where several read. Every person reads every part as often.",
    )  # fmt: skip
    study.add_argument("file", type=Path, metavar="FILE.csv", help="the readings")
    _limits(study)
    _confidence(study)
    study.set_defaults(verb=_study)

    chart = verbs.add_parser(
        "chart", help="find what is out of order in a run of readings, and how a cutter drifts",
        description="Reads readings in the order they were made and tells the middle and the limits of a control "
        "chart, what is out of order by the usual run rules and, with a column minutes, how the size drifts as "
        "the cutter wears. Exit status: 0 done; 2 bad input; 1 internal error.",
        epilog=f"{TABLE} Columns: reading; group, of one size; minutes the cutter had been used by then.",
    )  # fmt: skip
    chart.add_argument("file", type=Path, metavar="FILE.csv", help="the readings")
    chart.add_argument("--spread", choices=("range", "deviation"), default="", help="of groups; without it the "
                       "range up to ten readings a group, else the standard deviation")  # fmt: skip
    chart.add_argument("--of", choices=("diameter", "length"), default="", help="tell the drift as the cutter's key "
                       "wear; of a diameter the surface moves half as far")  # fmt: skip
    chart.add_argument("--inch", action="store_true", help="the readings are in inches")
    chart.set_defaults(verb=_chart)


def _limits(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--low", type=_number, metavar="L", help="the low limit, in the unit of the readings")
    parser.add_argument("--high", type=_number, metavar="H", help="the high limit")


def _confidence(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--confidence", type=_percent, default=0.95, metavar="P", help="percent, 50 to 99.9; without it 95"
    )


def _number(text: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise argparse.ArgumentTypeError(f"a number is needed, not {text!r}")
    return value


def _percent(text: str) -> float:
    value = _number(text.removesuffix("%"))
    if not 50.0 <= value <= 99.9:
        raise argparse.ArgumentTypeError(f"a confidence from 50 to 99.9 percent is needed, not {text!r}")
    return value / 100.0


def _say(lines: list[str]) -> int:
    for line in lines:
        print(line)
    return DONE


def _capability(given: argparse.Namespace) -> int:
    from proveout.cli.gauging_words import capability_words
    from proveout.jobs.gauged import capability

    found = capability(given.file, low=given.low, high=given.high, confidence_ratio=given.confidence)
    return _say(capability_words(found))


def _study(given: argparse.Namespace) -> int:
    from proveout.cli.gauging_words import study_words
    from proveout.jobs.gauged import gauge_study

    found = gauge_study(given.file, low=given.low, high=given.high, confidence_ratio=given.confidence)
    return _say(study_words(found))


def _chart(given: argparse.Namespace) -> int:
    from proveout.cli.gauging_words import chart_words
    from proveout.jobs.gauged import chart

    return _say(chart_words(chart(given.file, spread=given.spread, of=given.of, is_inch=given.inch)))
