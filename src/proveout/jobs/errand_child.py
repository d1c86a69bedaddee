"""What does an errand: `python -m proveout.jobs.errand_child SHEET`, or `--standing`, which forks one for each line.

The standing process has loaded what errands need, so that none of them waits for that. It ends with whoever began it,
as its standard input is closed then; the errands that it forked are sessions of their own and go on.
"""

from __future__ import annotations

import gc
import os
import pkgutil
import signal
import sys
from importlib import import_module  # noqa: TID251 - of every stage, all of them below this layer
from pathlib import Path

import msgspec

from proveout.jobs.ending import ended
from proveout.jobs.errand_sheet import READY, STANDING, Sheet, take
from proveout.jobs.interrupts import Watch
from proveout.jobs.told_lines import LinesTeller
from proveout.model.run import Run

NEEDED = ("proveout.jobs.errands", "proveout.jobs.plan_job", "proveout.reach.reaching", "proveout.removal.running")


def do(sheet: Sheet) -> int:
    """Do an errand and tell of it; its exit status."""
    from proveout.jobs.errands import done

    teller, watch = LinesTeller(Path(sheet.lines)), Watch()
    said: list[str] = []

    def work() -> int:
        watch.start(sheet.limit_s)
        run = Run(tell=teller.tell, time_limit_s=sheet.limit_s)
        said.append(done(Path(sheet.asked), Path(sheet.found), run))
        return 0

    try:
        status, words = ended(work, watch)
    finally:
        watch.stop()
    teller.end(status, words or "".join(said))
    return status


def stand() -> int:
    """Fork for each sheet that comes in on a line, and answer with the number of the process, until nothing comes."""
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # what has ended is not kept for anybody to ask about
    load()
    gc.freeze()  # what is loaded is shared by all forks as long as nobody touches it
    _answer(READY)
    for line in sys.stdin.buffer:
        sheet = msgspec.json.decode(line, type=Sheet)
        number = os.fork()
        if number == 0:
            os._exit(_forked(sheet))
        _answer(str(number))
    return 0


def load() -> None:
    """Load what errands need: what does them, every stage that a plan goes through, solvers and compiled code."""
    from proveout import stages

    of_stages = (f"{stages.__name__}.{one.name}.decide" for one in pkgutil.iter_modules(stages.__path__))
    for name in (*NEEDED, *of_stages):
        import_module(name)
    from proveout.motion.chain_time import chain_times_s
    from proveout.solving.ready import load as load_solvers

    load_solvers()
    # the first kernel that runs in a process brings all that compiled code needs
    chain_times_s(
        [(0.0, 0.0, 0.0), (1.0, 0.0, 0.0)], [1.0, 1.0], rapid_mm_per_s=1.0, accel_mm_per_s2=1.0, stop_angle_rad=1.0,
        jump_mm_per_s=0.0,
    )  # fmt: skip


def _answer(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def _forked(sheet: Sheet) -> int:
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    os.setsid()
    try:
        if not take(sheet):
            return 0  # whoever asked did not hear of this fork in time, and has another process do it
        for number, name, how in ((0, os.devnull, os.O_RDONLY), (1, os.devnull, os.O_WRONLY),
                                  (2, sheet.log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)):  # fmt: skip
            opened = os.open(name, how, 0o644)
            os.dup2(opened, number)
            os.close(opened)
        return do(sheet)
    except BaseException:  # noqa: BLE001 - a fork must never go on with the lines of the process it came from
        import traceback

        traceback.print_exc()
        return 1


def main(arguments: list[str]) -> int:
    """Stand, or do the one errand of a sheet."""
    if arguments == [STANDING]:
        return stand()
    return do(msgspec.json.decode(arguments[0], type=Sheet))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
