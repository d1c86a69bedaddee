"""The door from a command line: one subcommand per verb in jobs."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from proveout import __version__
from proveout.cli.batch_verb import add_batch
from proveout.cli.catalogue_verb import add_catalogue
from proveout.cli.change_verb import add_change
from proveout.cli.compare_verb import add_compare
from proveout.cli.gauging_verbs import add_gauging
from proveout.cli.order_verbs import add_order_verbs
from proveout.cli.records_verb import add_records
from proveout.cli.serve_verb import add_serve
from proveout.jobs.ending import BAD, INTERNAL, NOT_READY, READY, ended
from proveout.jobs.interrupts import Watch
from proveout.quantities.errors import BadInput

if TYPE_CHECKING:
    from proveout.intake.drafts import ShopQuestion
    from proveout.jobs.check_program import Checked, Held

TELL = "PROVEOUT_TELL"  # as in jobs/told_lines, whose import would make --help slow; a test compares them
CAUTION = (
    "Planning aid. Estimates from published constants and values you entered; it does not replace a competent "
    "machinist, the instructions of machine and tool makers, or local law."
)
# said by --help, which reads no shop; a test compares them with the questions and the columns themselves
QUESTION_IDS = ("name", "units", "currency", "machine", "travels", "speed", "rate", "preload", "bars", "people")
CUTTER_COLUMNS = (
    "id", "kind", "diameter_mm", "flutes", "flute_length_mm", "stick_out_mm", "cutting_speed_m_per_min",
    "tooth_feed_mm",
)  # fmt: skip


def main(arguments: Sequence[str] | None = None) -> int:
    """Parse, call, print; returns the exit status."""
    watch = Watch()
    try:
        status, said = _ended(arguments, watch)
    finally:
        watch.stop()
    if said:
        _say(said)
    if os.environ.get(TELL):
        from proveout.jobs.told_lines import LinesTeller

        LinesTeller.of_environment().end(status, said)
    return status


def _ended(arguments: Sequence[str] | None, watch: Watch) -> tuple[int, str]:
    """Do what is asked; the exit status, and the sentence for what went wrong."""
    try:
        return ended(lambda: _parse_and_call(arguments, watch), watch)
    except BrokenPipeError:
        return _pipe_closed(), ""


def _parse_and_call(arguments: Sequence[str] | None, watch: Watch) -> int:
    parser = _parser()
    try:
        given = parser.parse_args(arguments)
    except SystemExit as stop:
        return int(stop.code or 0)
    if not hasattr(given, "verb"):
        parser.print_help()
        return READY
    watch.start(getattr(given, "time_limit", None))
    return int(given.verb(given))


def _pipe_closed() -> int:
    """Nobody reads on: say no more, not even at exit, and fail as a broken pipe does elsewhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return INTERNAL


def _say(text: str) -> None:
    print(text, file=sys.stderr)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="proveout",
        description="Plans the making of machined parts from bar to boxed batch, and proves every decision before the "
        "first chip.",
        epilog=CAUTION,
    )
    parser.add_argument("--version", action="version", version=f"proveout {__version__}")
    verbs = parser.add_subparsers(title="commands", metavar="COMMAND")

    plan = verbs.add_parser(
        "plan", help="plan a part or an order and write its papers",
        description="Plans a STEP file, a job file or an order file (TOML) and writes a result folder. Exit status: 0 "
        "ready; 3 planned but not ready, or cannot be made here, with reasons; 2 bad input; 1 internal error; 124 out "
        "of time; 130 interrupted.",
        epilog=CAUTION,
    )  # fmt: skip
    plan.add_argument("path", type=Path, metavar="PATH", help="a STEP file, a job file or an order file")
    plan.add_argument("--shop", type=Path, metavar="FILE", help="the shop file; without it a starting shop is assumed")
    plan.add_argument("--quantity", type=_count, metavar="N", help="pieces to make; overrides the job file")
    plan.add_argument("--out", type=Path, metavar="DIR", help="result folder; default: NAME-plan beside you")
    plan.add_argument("--solid", default="", metavar="NAME", help="which solid of the file; default: the largest")
    plan.add_argument("--start", default="", metavar="DATE", help="first working day, as 2027-03-01")
    plan.add_argument("--time-limit", type=_seconds, metavar="S", help="give up after so many seconds")
    plan.add_argument("--also", type=_count, default=0, metavar="N", help="plan N more sequences of clampings in full, "
                      "and keep the best")  # fmt: skip
    plan.add_argument("--fresh", action="store_true", help="decide everything anew, reuse no stored result")
    plan.add_argument("--quiet", action="store_true", help="no progress lines and no first look")
    plan.set_defaults(verb=_plan)

    add_catalogue(verbs, caution=CAUTION, count=_count, seconds=_seconds)

    figure = verbs.add_parser(
        "figure", help="work out one of the formulas used, with source and validity",
        description="Works out a formula from inputs with their units: proveout figure tool-deflection force=200N "
        "stick-out=40mm ... An interval is written low..high. Alone it lists all formulas.",
        epilog=CAUTION,
    )  # fmt: skip
    figure.add_argument("name", nargs="?", default="", metavar="NAME", help="which formula; without it all are listed")
    figure.add_argument("inputs", nargs="*", metavar="key=value", help="inputs, each with its unit")
    figure.add_argument("--page", action="store_true", help="print the page of the documentation")
    figure.set_defaults(verb=_figure)

    job = verbs.add_parser(
        "new-job", help="draft a job file with every hole and face numbered",
        description="Writes a job file with a line for every hole and face, and a drawing with the same numbers. Type "
        'what the part\'s drawing says, as 7 = "H8", leave the rest empty, then plan the job file.',
    )  # fmt: skip
    job.add_argument("step", type=Path, metavar="PART.step", help="a STEP file")
    job.add_argument("--out", type=Path, metavar="FILE", help="default: PART.toml beside the STEP file")
    job.add_argument("--solid", default="", metavar="NAME", help="which solid of the file; default: the largest")
    job.set_defaults(verb=_new_job)

    shop = verbs.add_parser(
        "new-shop", help="write a shop file from ten questions",
        description="Asks ten questions and writes a shop file. Return takes what stands in brackets; whatever is "
        "filled in for you is marked # assumed. A file that is there already is never changed.",
        epilog=f"The first line of CSV names its columns; needed are {', '.join(CUTTER_COLUMNS)}.",
    )  # fmt: skip
    shop.add_argument(
        "out", type=Path, nargs="?", default=Path("shop.toml"), metavar="FILE", help="default: shop.toml beside you"
    )
    shop.add_argument("--cutters", type=Path, metavar="CSV", help="read the cutters from a table, one row a cutter")
    shop.add_argument(
        "--answer", action="append", default=[], metavar="ID=VALUE",
        help=f"answer without being asked, as --answer units=inch; ID is one of {', '.join(QUESTION_IDS)}",
    )  # fmt: skip
    shop.add_argument("--yes", action="store_true", help="take the default for every question not answered")
    shop.set_defaults(verb=_new_shop)

    _add_check(verbs)
    _add_calibrate(verbs)
    add_gauging(verbs)
    add_order_verbs(verbs)
    add_compare(verbs)
    add_records(verbs)
    add_batch(verbs, count=_count)
    add_change(verbs, count=_count)
    add_serve(verbs, port=_port)

    check = verbs.add_parser("check-shop", help="say in words what a shop file means")
    check.add_argument("file", type=Path, metavar="FILE", help="a shop file")
    check.set_defaults(verb=_check_shop)

    schema = verbs.add_parser("schema", help="print the JSON schema of a file")
    schema.add_argument("kind", choices=("plan", "job", "shop"), help="which file")
    schema.set_defaults(verb=_schema)
    return parser


def _add_check(verbs: Any) -> None:
    check = verbs.add_parser(
        "check", help="check a program that anybody wrote, by its text alone",
        description="Follows a program per ISO 6983 block by block, replays it on the blank and says what it would "
        "strike, gouge or leave, with the line. Exit status: 0 every proof that blocks holds; 3 something fails or is "
        "not shown; 2 bad input; 1 internal error; 124 out of time; 130 interrupted.",
        epilog=CAUTION,
    )  # fmt: skip
    check.add_argument("program", type=Path, metavar="PROGRAM", help="the file that the machine is to run")
    point = {"nargs": 3, "type": float, "metavar": ("X", "Y", "Z")}
    check.add_argument(
        "--plan", type=Path, metavar="DIR", help="the folder of a plan: blank, zero and cutters are its own"
    )
    check.add_argument("--clamping", type=_count, metavar="N", help="for which clamping of the plan the program is")
    check.add_argument("--place", type=_count, metavar="N", help="in which place, where a cycle works in several")
    check.add_argument("--solid", type=Path, metavar="PART.step", help="the finished solid; without it nothing is said "
                       "of gouges and of what is left over")  # fmt: skip
    check.add_argument("--blank-low", **point, help="low corner of the blank, mm, in the solid's coordinates")
    check.add_argument("--blank-high", **point, help="high corner of the blank")
    check.add_argument("--zero", **point, help="where program zero lies, mm, in the solid's coordinates")
    check.add_argument("--up", default="+z", metavar="+z", help="the solid's direction that looks at the spindle")
    check.add_argument("--along", default="+x", metavar="+x", help="the solid's direction that lies along machine X")
    check.add_argument(
        "--cutters", type=Path, metavar="CSV", help="the cutters with a column number, as the program's T"
    )
    check.add_argument("--shop", type=Path, metavar="FILE", help="the shop file with the machine's description")
    check.add_argument("--machine", default="", metavar="ID", help="which machine of the shop runs the program")
    check.add_argument("--vise", default="", metavar="ID", help="which vise of the shop holds the work, its jaws along "
                       "machine X and the fixed one behind")  # fmt: skip
    check.add_argument("--jaw-at", **point, help="the middle of the fixed jaw's face at the seat, mm, in the solid's "
                       "coordinates")  # fmt: skip
    check.add_argument("--gap", type=float, metavar="MM", help="between the jaws")
    check.add_argument("--jaw-top", type=float, metavar="MM", help="height of the jaws above the seat")
    check.add_argument("--finished", action="store_true", help="the part must be finished: metal left over fails")
    check.add_argument("--inch", action="store_true", help='tell lengths in inches, as for a shop with units = "inch"')
    check.add_argument("--skip", action="store_true", help="leave out blocks that begin with /")
    check.add_argument("--out", type=Path, metavar="DIR", help="write the whole check into a folder")
    check.add_argument("--time-limit", type=_seconds, metavar="S", help="give up after so many seconds")
    check.add_argument("--quiet", action="store_true", help="no progress lines")
    check.set_defaults(verb=_check)


def _add_calibrate(verbs: Any) -> None:
    calibrate = verbs.add_parser(
        "calibrate", help="find a machine's own numbers by the stop watch",
        description="With --out writes a short program for the empty machine, a page that says what to see to "
        "first, and a file for the times. With --times reads that file and prints the machine's rapid speed, "
        "acceleration, jerk and the like with their intervals, as keys for the shop file. Exit status: 0 done; 2 bad "
        "input or times that do not fit; 1 internal error.",
        epilog=CAUTION,
    )  # fmt: skip
    calibrate.add_argument("machine", metavar="MACHINE", help="id of a machine of the shop")
    calibrate.add_argument("--shop", type=Path, required=True, metavar="FILE", help="the shop file that describes it")
    what = calibrate.add_mutually_exclusive_group(required=True)
    what.add_argument("--out", type=Path, metavar="DIR", help="write program, page and the file for the times here")
    what.add_argument("--times", type=Path, metavar="FILE", help="the file with the times that were watched")
    calibrate.set_defaults(verb=_calibrate)


def _count(text: str) -> int:
    if not text.isdigit() or not 1 <= int(text) <= 1_000_000:
        raise argparse.ArgumentTypeError(f"a whole number from 1 to 1000000 is needed, not {text!r}")
    return int(text)


def _port(text: str) -> int:
    if not text.isdigit() or not 1 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"a port from 1 to 65535 is needed, not {text!r}")
    return int(text)


def _seconds(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0.0 < value < 1e7:
        raise argparse.ArgumentTypeError(f"a number of seconds above 0 is needed, not {text!r}")
    return value


def _plan(given: argparse.Namespace) -> int:
    from proveout.cli.first_look_words import first_look_rows, first_look_words
    from proveout.cli.words import Progress, date_words, order_words, plan_words
    from proveout.jobs.plan_path import plan_path
    from proveout.jobs.told_lines import LinesTeller
    from proveout.model.plan import FirstLook
    from proveout.model.run import Run

    progress = Progress(sys.stderr, quiet=given.quiet)
    lines_told = LinesTeller.of_environment()

    def tell(stage: str, text: str, share: float) -> None:
        progress.tell(stage, text, share)
        lines_told.tell(stage, text, share)

    run = Run(tell=tell, time_limit_s=given.time_limit)

    looked: list[FirstLook] = []

    def show(look: FirstLook) -> None:
        looked.append(look)
        progress.close()
        _say("\n".join(first_look_words(look, shop_is_assumed=given.shop is None)))

    try:
        outcome = plan_path(
            given.path, shop_path=given.shop, quantity=given.quantity, out=given.out, solid_name=given.solid,
            start=given.start, is_fresh=given.fresh, also_count=given.also, run=run, show=None if given.quiet else show,
            tell_look=None if not lines_told.is_on else lambda look: lines_told.look(first_look_rows(look)),
        )  # fmt: skip
    finally:
        progress.close()
    if outcome.is_order:
        lines = order_words(outcome)
    else:
        lines = [*plan_words(outcome.parts[0], outcome.folder, assumed_told=bool(looked)), *date_words(outcome)]
    for line in lines:
        print(line)
    return READY if outcome.ready else NOT_READY


def _figure(given: argparse.Namespace) -> int:
    from proveout.cli.words import wrapped
    from proveout.jobs.figures import answer_words, figure, list_words, page

    if given.page:
        print(page(), end="")
        return READY
    lines = answer_words(figure(given.name, given.inputs)) if given.name else list_words()
    for line in lines:
        print(wrapped(line, "    ") if given.name else line)
    return READY


def _check(given: argparse.Namespace) -> int:
    from proveout.cli.words import Progress
    from proveout.jobs.check_program import Set, check_set
    from proveout.model.run import Run

    progress = Progress(sys.stderr, quiet=given.quiet)
    run = Run(tell=progress.tell, time_limit_s=given.time_limit)
    if given.plan is not None:
        from proveout.jobs.check_plan import check_against_plan

        try:
            checked = check_against_plan(
                given.program, plan_folder=given.plan, clamping_number=given.clamping, shop_path=given.shop,
                place_number=given.place, is_last=given.finished, skips=given.skip, out=given.out, run=run,
            )  # fmt: skip
        finally:
            progress.close()
        return _say_checked(checked, given.out, is_inch=given.inch)
    missing = [
        option for option, value in (("--blank-low", given.blank_low), ("--blank-high", given.blank_high),
                                     ("--zero", given.zero), ("--cutters", given.cutters)) if value is None
    ]  # fmt: skip
    if missing:
        raise BadInput(
            "A program can only be checked against what it is to run on", where=", ".join(missing), value="not given",
            do="give --plan and --clamping, or the blank's corners, program zero and the cutters",
        )  # fmt: skip
    how = Set(
        solid=given.solid, low_mm=tuple(given.blank_low), high_mm=tuple(given.blank_high), zero_mm=tuple(given.zero),
        cutters=given.cutters, up=given.up, along=given.along, held=_held(given), is_last=given.finished,
    )  # fmt: skip
    try:
        checked = check_set(
            given.program, how, shop_path=given.shop, machine_id=given.machine, skips=given.skip, out=given.out, run=run
        )
    finally:
        progress.close()
    return _say_checked(checked, given.out, is_inch=given.inch)


def _held(given: argparse.Namespace) -> Held | None:
    """How a vise holds the work by --vise, --jaw-at, --gap and --jaw-top: all of them, or none."""
    from proveout.jobs.check_program import Held

    said = {"--vise": given.vise or None, "--jaw-at": given.jaw_at, "--gap": given.gap, "--jaw-top": given.jaw_top}
    missing = [option for option, value in said.items() if value is None]
    if len(missing) == len(said):
        return None
    if missing:
        raise BadInput(
            "Where the jaws stand takes four options", where=", ".join(missing), value="not given",
            do="give --vise, --jaw-at, --gap and --jaw-top, or none of them",
        )  # fmt: skip
    return Held(vise_id=given.vise, at_mm=tuple(given.jaw_at), gap_mm=given.gap, jaw_top_mm=given.jaw_top)


def _say_checked(checked: Checked, out: Path | None, *, is_inch: bool) -> int:
    from proveout.cli.check_words import check_words

    for line in check_words(checked, out, is_inch=is_inch):
        print(line)
    return READY if checked.ready else NOT_READY


def _calibrate(given: argparse.Namespace) -> int:
    from proveout.jobs.calibration_run import fitted, write_calibration

    if given.out is not None:
        lines = write_calibration(given.machine, shop_path=given.shop, out=given.out)
    else:
        lines = fitted(given.machine, shop_path=given.shop, times_path=given.times)
    for line in lines:
        print(line)
    return READY


def _new_job(given: argparse.Namespace) -> int:
    from proveout.jobs.drafting import new_job

    for line in new_job(given.step, out=given.out, solid_name=given.solid):
        print(line)
    return READY


def _new_shop(given: argparse.Namespace) -> int:
    from proveout.jobs.drafting import faults_before_asking, new_shop, shop_questions

    answers: dict[str, str] = {}
    for pair in given.answer:
        key, sign, value = pair.partition("=")
        if not sign:
            raise BadInput(
                "An answer needs the form ID=VALUE", where="--answer", value=pair, limit=", ".join(QUESTION_IDS),
                do="write it as --answer units=inch",
            )  # fmt: skip
        answers[key.strip()] = value.strip()
    faults = faults_before_asking(given.out, answers=answers, cutters_csv=given.cutters)
    for fault in faults:
        _say(fault.message)
    if faults:
        return BAD
    if not given.yes and not sys.stdin.isatty():
        _say("Nobody can be asked here: what --answer does not give takes its default.")
    elif not given.yes:
        for question in shop_questions():
            if question.id not in answers:
                answers[question.id] = _asked(question, answers)
    for line in new_shop(given.out, answers=answers, cutters_csv=given.cutters):
        print(line)
    return READY


def _asked(question: ShopQuestion, answers: dict[str, str]) -> str:
    """What somebody types, asked again until it is right; empty for the default."""
    from proveout.jobs.drafting import answer_fault

    _say(f"{question.text} ({question.why})")
    while True:
        try:
            typed = input(f"  [{_hint(question.default, question.unit, units=answers.get('units', ''))}] ").strip()
        except EOFError:  # closed by the person who types: as good as an interrupt
            raise KeyboardInterrupt from None
        fault = answer_fault(question.id, typed, answers=answers) if typed else None
        if fault is None:
            return typed
        _say(f"  {fault.message}")


def _hint(default: str, unit: str, *, units: str = "") -> str:
    """What stands in brackets behind a question: what return takes, and the unit of an answer.

    units: what was answered to the question for units, empty before it.
    """
    if units:
        unit = unit.replace("your unit", units)
    if default:
        return f"{default} {unit}".rstrip()
    return f"empty, or in {unit}" if unit else "empty"


def _check_shop(given: argparse.Namespace) -> int:
    from proveout.cli.words import wrapped
    from proveout.jobs.drafting import shop_in_words

    for line in shop_in_words(given.file):
        print(wrapped(line, "  "))
    return READY


def _schema(given: argparse.Namespace) -> int:
    from proveout.jobs.drafting import schema_text

    print(schema_text(given.kind))
    return READY
