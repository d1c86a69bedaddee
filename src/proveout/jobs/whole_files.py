"""Files that are written whole or not at all, their digests, and folders that one at a time works in."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def digest_of_file(path: Path) -> str:
    """sha256 of a file, which is read in pieces."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def write_whole(path: Path, content: bytes, *, mode: int = 0o644, is_lasting: bool = False) -> None:
    """A file, whole or not at all; an earlier one stays until the new one is in its place.

    is_lasting: brought to the disk first, so that it is whole also when the power fails.
    """
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            if is_lasting:
                file.flush()
                os.fsync(file.fileno())
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
