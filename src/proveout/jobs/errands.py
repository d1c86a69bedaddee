"""Errands: work that somebody waits for at a page, each of one kind, and what does it.

What is asked lies in a file, and what is found goes into one, so that whoever looks later sees the same.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from proveout.jobs.asked_part import Reading, read_for_questions
from proveout.jobs.check_plan import check_against_plan
from proveout.jobs.check_told import check_told
from proveout.jobs.checks import CheckAsked
from proveout.jobs.compared_folders import PLAN, Comparison, compare_results
from proveout.jobs.found_files import read_bytes, told_bytes
from proveout.jobs.results import folder_name
from proveout.jobs.revising import RevisionAsked, revise
from proveout.jobs.store import Store, default_folder
from proveout.jobs.trying import TryAsked, make_try, wanted_try
from proveout.jobs.whole_files import digest_of_file, write_whole
from proveout.model.run import Run
from proveout.quantities.errors import BadInput

Errand = TryAsked | CheckAsked | RevisionAsked | Reading | Comparison


def done(asked: Path, found: Path, run: Run) -> str:
    """Do what is asked and write what is found; one sentence of it, or none.

    Raises:   BadInput where what it is made from was changed meanwhile.
    """
    run.check("beginning")
    errand: Errand = read_bytes(asked.read_bytes(), Errand)
    if isinstance(errand, TryAsked):
        return _try(errand, found, run)
    if isinstance(errand, CheckAsked):
        return _check(errand, found, run)
    if isinstance(errand, RevisionAsked):
        return _revision(errand, asked, found, run)
    if isinstance(errand, Reading):
        return _reading(errand, found, run)
    return _comparison(errand, found, run)


def _try(errand: TryAsked, found: Path, run: Run) -> str:
    """A try lies in a folder of its own; the file only says so."""
    home = errand.home.opened()
    wanted = wanted_try(home, home.place(errand.address), errand.changes, is_as_cut=errand.is_as_cut)
    if wanted.id != errand.id:
        raise _changed(errand.address)
    make_try(home, wanted, run=run)
    write_whole(found, told_bytes(errand.id))
    return ""


def _check(errand: CheckAsked, found: Path, run: Run) -> str:
    with tempfile.TemporaryDirectory(prefix="proveout-check-") as folder:
        program = Path(folder) / folder_name(errand.name)
        program.write_bytes(errand.text)
        with _unchanged({Path(errand.folder) / PLAN: errand.plan_digest}, errand.address):
            checked = check_against_plan(
                program, plan_folder=Path(errand.folder), clamping_number=errand.clamping_number,
                place_number=errand.place_number, is_last=errand.is_last, skips=errand.skips, run=run,
            )  # fmt: skip
    told = check_told(checked)
    write_whole(found, told_bytes(told))
    return told.verdict


def _revision(errand: RevisionAsked, asked: Path, found: Path, run: Run) -> str:
    place = errand.home.opened().place(errand.address)
    step = Path(errand.step) if errand.step else asked.with_suffix(".step")
    with _unchanged({step: errand.digest, place.folder / PLAN: errand.plan_digest}, errand.name):
        revision = revise(place, step, name=errand.name, run=run)
    write_whole(found, told_bytes(revision))
    return ""


def _reading(errand: Reading, found: Path, run: Run) -> str:
    """What is read is told before it is drawn, for drawing takes longer."""
    step = Path(errand.step)
    with _unchanged({step: errand.digest}, step.name):
        for known in read_for_questions(errand, store=Store(default_folder()), run=run):
            write_whole(found, told_bytes(known))
    return ""


def _comparison(errand: Comparison, found: Path, run: Run) -> str:
    run.check("schedule")
    old, new = Path(errand.old), Path(errand.new)
    with _unchanged({old / PLAN: errand.old_digest, new / PLAN: errand.new_digest}, new.name):
        compared = compare_results(old, new, store=Store(default_folder()))
    write_whole(found, told_bytes(compared.differences))
    return ""


@contextmanager
def _unchanged(files: Mapping[Path, str], where: str) -> Iterator[None]:
    """Refuse what is worked out of files that are others than those asked about, before it and behind it.

    files: with their digests.
    """
    for is_before in (True, False):
        if any(not path.is_file() or digest_of_file(path) != digest for path, digest in files.items()):
            raise _changed(where)
        if is_before:
            yield


def _changed(where: str) -> BadInput:
    return BadInput("This was changed since it was asked", where=where, do="ask again on what is there now")
