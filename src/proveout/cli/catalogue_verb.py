"""The verb that plans a whole folder: plan-all."""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from proveout.jobs.catalogue import CatalogueOutcome, Told

READY, INTERNAL, BAD, NOT_READY = 0, 1, 2, 3


def add_catalogue(verbs: Any, *, caution: str, count: Any, seconds: Any) -> None:
    """Add the verb to the parser.  count, seconds: readers of such arguments."""
    every = verbs.add_parser(
        "plan-all", help="plan a folder of parts side by side, and say what they share",
        description="Plans every order, job file and bare STEP file of a folder and below it, on all cores, each into "
        "a folder of its own, and writes one page over them. A stopped run is taken up where it was: what was finished "
        "from the same files is not planned again. Exit status: 0 everything ready; 3 something is not; 2 bad input, "
        "also of one file; 1 internal error; 124 out of time; 130 interrupted.",
        epilog=caution,
    )  # fmt: skip
    every.add_argument("folder", type=Path, metavar="FOLDER", help="a folder with jobs, orders or STEP files")
    every.add_argument("--shop", type=Path, metavar="FILE", help="the shop file; without it a starting shop is assumed")
    every.add_argument("--out", type=Path, metavar="DIR", help="result folder; default: FOLDER-plans beside you")
    every.add_argument("--workers", type=count, metavar="N", help="plans at a time; default: as many as cores")
    every.add_argument("--cluster", default="", metavar="ADDRESS", help="plan on the workers of this Dask scheduler, "
                       "as tcp://10.0.0.5:8786; they must see the same folders under the same names")  # fmt: skip
    every.add_argument("--start", default="", metavar="DATE", help="first working day, as 2027-03-01")
    every.add_argument("--time-limit", type=seconds, metavar="S", help="give up after so many seconds")
    every.add_argument("--fresh", action="store_true", help="decide everything anew, reuse no stored result")
    every.add_argument("--quiet", action="store_true", help="no progress lines")
    every.set_defaults(verb=_plan_all)


def _plan_all(given: argparse.Namespace) -> int:
    from proveout.cli.words import Progress
    from proveout.jobs.catalogue import cores_count, plan_all
    from proveout.model.run import Run

    progress = Progress(sys.stderr, quiet=given.quiet)
    begin = time.perf_counter()

    def tell(told: Told) -> None:
        progress.close()
        if not given.quiet:
            print(told_line(told), file=sys.stderr, flush=True)

    out = given.out if given.out is not None else Path(f"{given.folder.resolve().name or 'all'}-plans")
    try:
        outcome = plan_all(
            given.folder, shop_path=given.shop, out=out, workers_count=given.workers or cores_count(),
            cluster=given.cluster, is_fresh=given.fresh, start=given.start,
            run=Run(tell=progress.tell if sys.stderr.isatty() else None, time_limit_s=given.time_limit), tell=tell,
        )  # fmt: skip
    finally:
        progress.close()
    for line in outcome_lines(outcome, clock_s=time.perf_counter() - begin):
        print(line)
    states = {entry.state for entry in outcome.catalogue.entries}
    if "failed" in states:
        return INTERNAL
    return BAD if "refused" in states else READY if outcome.catalogue.ready else NOT_READY


def told_line(told: Told) -> str:
    """One entry as it ends."""
    how = "as before" if told.seconds is None else f"{told.seconds:.0f} s"
    again = f", begun {told.tries_count} times" if told.tries_count > 1 else ""
    said = f": {told.said}" if told.said and told.state in ("refused", "failed") else ""
    return f"{told.done_count} of {told.all_count}  {told.path}: {told.state} ({how}{again}){said}"


def outcome_lines(outcome: CatalogueOutcome, *, clock_s: float) -> list[str]:
    """What came of the folder: each part in a line, the changers, how long it took."""
    from proveout.cli.words import wrapped

    lines: list[str] = []
    for entry in outcome.catalogue.entries:
        if not entry.parts:
            lines.append(wrapped(f"{entry.path}: {entry.state}: {entry.said}", "    "))
        for part in entry.parts:
            open_words = "" if part.ready else f"{part.open_count} proofs open, first {part.weakest}"
            money = "price not shown" if part.cost_each is None else f"{part.cost_each.nominal:.2f} each"
            lines.append(wrapped(f"{part.number}: {'READY' if part.ready else 'not ready'}, {part.quantity} pieces, "
                                 f"{money}{'; ' if open_words else ''}{open_words}", "    "))  # fmt: skip
    lines.append("")
    for changer in outcome.catalogue.sharing.changers:
        if changer.too_many:
            what = f"too few places for {', '.join(changer.too_many)}"
        elif changer.loads_count:
            what = f"{changer.loads_count} cutters to load when each part is run once"
        else:
            what = "all of them stay"
        count = len(changer.cutters)
        lines.append(f"{changer.machine_id}: {count} cutters over all parts, {changer.places_count} places: {what}")
    taken = f"; {outcome.taken_count} taken as they were" if outcome.taken_count else ""
    lines.append(f"{outcome.worked_s:.0f} s of planning in {clock_s:.0f} s by the clock{taken}")
    lines += ["", f"Written: {outcome.folder}"]
    return lines
