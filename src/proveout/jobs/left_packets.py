"""Packets that a release left when it was cut short: no event tells of them, so nothing was released by them.

A release writes its packet first and its event then. Whoever is killed between the two leaves a folder under the
batch's name. The next release of that batch, which is the only one at its time, sets it aside and makes its own.
"""

from __future__ import annotations

import shutil
from pathlib import Path

from proveout.jobs.packets import READ_FOLDER, WRITE_FOLDER, HasPlans, manifest_of, packet_folder, writable
from proveout.jobs.results import PACKETS
from proveout.model.batch import Batch
from proveout.quantities.errors import ProveoutError

LEFT = ".left"
"""Beside the packets: what was set aside, by the batch's name and a number."""
NUMBERED = "@"  # in no batch's name


def left_lying(home: HasPlans, batch: Batch) -> Path | None:
    """The packet that lies under the name of a batch which no event released; None where there is none.

    One whose manifest names another batch, as where a disk takes large and small letters for the same, is that one's.
    """
    folder = packet_folder(home, batch.batch)
    if batch.is_released or not folder.exists():
        return None
    try:
        is_its_own = manifest_of(folder).batch == batch.batch
    except ProveoutError:  # no manifest, or none that can be read
        is_its_own = True
    return folder if is_its_own else None


def set_aside_of(home: HasPlans, batch: str) -> tuple[Path, ...]:
    """The packets of a batch that were set aside, in order."""
    start = f"{packet_folder(home, batch).name}{NUMBERED}"
    place = home.plans / PACKETS / LEFT
    found = [path for path in place.iterdir() if path.name.startswith(start)] if place.is_dir() else []
    return tuple(sorted(found, key=lambda path: (len(path.name), path.name)))


def set_aside(home: HasPlans, batch: Batch) -> Path | None:
    """Move a packet that was left out of the way, and take half-made ones away; where it lies now.

    Only whoever has the lock of the packets may do it, after looking at the records: nobody else is releasing then.
    """
    for half in (home.plans / PACKETS).glob(".*-*"):
        if half.is_dir():
            writable(half)
            shutil.rmtree(half, ignore_errors=True)
    folder = left_lying(home, batch)
    if folder is None:
        return None
    place = home.plans / PACKETS / LEFT
    place.mkdir(exist_ok=True)
    number = 1
    while (aside := place / f"{batch.batch}{NUMBERED}{number}").exists():
        number += 1
    _move(folder, aside)
    return aside


def put_back(home: HasPlans, batch: str, aside: Path) -> None:
    """Undo a setting aside: a release meanwhile was found in the records, and this is its packet."""
    _move(aside, packet_folder(home, batch))


def _move(folder: Path, to: Path) -> None:
    if folder.is_dir():
        folder.chmod(WRITE_FOLDER)  # a read-only folder is not renamed
    folder.rename(to)
    if to.is_dir():
        to.chmod(READ_FOLDER)
