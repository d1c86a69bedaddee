"""A home that one desk has open: a second one on the same folder would change its files and begin its tasks twice."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from proveout.jobs.changed_together import finish_changes
from proveout.jobs.home import Home
from proveout.jobs.tasks import tasks_folder
from proveout.quantities.errors import BadInput

LOCK = "desk.lock"
TAKEN = (errno.EACCES, errno.EAGAIN)
SAID_MOST = 200


@contextmanager
def opened(home: Home, *, address: str) -> Iterator[tuple[Path, ...]]:
    """Alone with a home until the block ends or this process does, however that is.

    Gives the files that a change which was cut short has left alone, since somebody changed them meanwhile. Where the
    system or the disk knows no locks, or the folder of plans cannot be written, a second desk is not noticed.
    Args:     address: of this desk, for whoever comes second.
    Raises:   BadInput where another process has it open.
    """
    try:
        folder = tasks_folder(home.plans)
        folder.mkdir(parents=True, exist_ok=True)
        file = (folder / LOCK).open("a+b")
    except OSError:
        yield finish_changes(home.root, beside=home.shop_path.resolve().parent)
        return
    with file:
        _take(file, home)
        file.truncate(0)
        file.write(address.encode())
        file.flush()
        yield finish_changes(home.root, beside=home.shop_path.resolve().parent)
        file.truncate(0)


def _take(file: BinaryIO, home: Home) -> None:
    """Have the lock: of the process, so that none that it began holds it on, and gone with it."""
    try:
        import fcntl
    except ImportError:
        return
    try:
        fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as fault:
        if fault.errno not in TAKEN:
            return
        file.seek(0)
        said = "".join(sign for sign in file.read(SAID_MOST).decode("utf-8", "replace") if sign.isprintable())
        raise BadInput(
            "Another desk serves this folder already", where=str(home.root), value=said,
            do=f"open {said or 'that one'} in a browser, or end that desk first",
        ) from fault  # fmt: skip
