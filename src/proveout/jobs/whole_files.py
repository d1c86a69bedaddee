"""Files that are written whole or not at all, and folders that one at a time works in."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def write_whole(path: Path, content: bytes, *, mode: int = 0o644) -> None:
    """A file, whole or not at all; an earlier one stays until the new one is in its place."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        Path(name).chmod(mode)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Alone among the processes that ask for the same file; where the system has no such locks, not alone."""
    with path.open("ab") as file:
        try:
            import fcntl
        except ImportError:
            yield
            return
        fcntl.flock(file, fcntl.LOCK_EX)
        try:
            yield
        finally:
            fcntl.flock(file, fcntl.LOCK_UN)
