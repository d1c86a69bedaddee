"""Decisions kept on disk under the digest of exactly what made them.

A key is the digest of the stage's name, of this program's own code, and of the canonical bytes of all that the stage
received. So a changed input or a changed program misses, and an unchanged result further up stops the work there. Two
processes may share a folder: an entry is written beside and renamed into place. Entries are this program's own and are
read by no other; one that is not what was written is worked out anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import pickle
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from proveout.quantities.canonical import canonical_bytes

Value = TypeVar("Value")
NOT_IN_KEY = ("run", "recall")
MARK_BYTES = 32
TRIMMED_SHARE = 0.9  # of its bound that a folder is brought down to, so that not every entry has it looked through
HALF_WRITTEN_S = 3600.0  # after which nobody writes a file any more that is still named as half written


class Store:
    """A folder of decisions, or none at all.

    Args:     folder: where entries lie; None keeps nothing.   is_fresh: write, but never read.
              most_bytes: of all entries, None for no bound; those that were not read for the longest go. Such a folder
              is of one store alone: whatever lies in it counts and may go.
    """

    def __init__(self, folder: Path | None, *, is_fresh: bool = False, most_bytes: int | None = None) -> None:
        self._folder = folder
        self._is_fresh = is_fresh
        self._most_bytes = most_bytes
        self._bytes_count: int | None = None  # None until the folder was looked through
        self._trimming = threading.Lock()
        self.hits: list[str] = []
        self.misses: list[str] = []

    def get(self, stage: str, function: Callable[..., Value], /, **received: Any) -> Value:
        """The stage's result: from the folder when the same was decided before, else worked out and kept."""
        if self._folder is None:
            return function(**received)
        found = self.kept(stage, **received)
        if found is not None:
            return found[0]
        value = function(**received)
        self.misses.append(stage)
        written = _write(self._path(stage, received), value)
        if self._most_bytes is not None:
            self._bound(written)
        return value

    def kept(self, stage: str, /, **received: Any) -> tuple[Any] | None:
        """The stage's result alone in a tuple where the folder has it, else None; nothing is worked out."""
        if self._folder is None or self._is_fresh:
            return None
        path = self._path(stage, received)
        found = _read(path)
        if found is not None:
            self.hits.append(stage)
            if self._most_bytes is not None:
                _touch(path)
        return found

    def holds(self, stage: str, /, **received: Any) -> bool:
        """Whether a result of the same may be taken from the folder, so that nobody need begin on it ahead of time."""
        return self._folder is not None and not self._is_fresh and self._path(stage, received).is_file()

    def _bound(self, written: int) -> None:
        """Let the oldest entries go where the folder has grown beyond its bound."""
        assert self._folder is not None
        assert self._most_bytes is not None
        with self._trimming:
            known = self._bytes_count
            self._bytes_count = None if known is None else known + written
            if self._bytes_count is None or self._bytes_count > self._most_bytes:
                self._bytes_count = _trimmed(self._folder, self._most_bytes)

    def _path(self, stage: str, received: dict[str, Any]) -> Path:
        return (self._folder or Path()) / f"{self.key(stage, received)}.bin"

    def key(self, stage: str, received: dict[str, Any]) -> str:
        """sha256 of stage, code and canonical inputs."""
        whole = hashlib.sha256(f"{stage}\n{code_digest()}\n".encode())
        for name in sorted(received):
            if name not in NOT_IN_KEY:
                whole.update(f"{name}\n".encode())
                whole.update(canonical_bytes(received[name]))
        return whole.hexdigest()


def default_folder() -> Path | None:
    """Where decisions are kept between runs: PROVEOUT_STORE, else this user's cache folder; "off" keeps none."""
    named = os.environ.get("PROVEOUT_STORE", "")
    if named.strip().lower() == "off":
        return None
    if named:
        return Path(named)
    import platformdirs

    return Path(platformdirs.user_cache_dir("proveout", appauthor=False)) / "store"


_CODE: list[str] = []


def code_digest() -> str:
    """sha256 of every source file of this package, in order of name; worked out once a process."""
    if not _CODE:
        root = Path(__file__).resolve().parent.parent
        whole = hashlib.sha256()
        for path in sorted(root.rglob("*.py"), key=lambda p: p.relative_to(root).as_posix()):
            whole.update(path.relative_to(root).as_posix().encode())
            whole.update(path.read_bytes())
        _CODE.append(whole.hexdigest())
    return _CODE[0]


def _read(path: Path) -> tuple[Any] | None:
    """The value of an entry; None when it is absent or not what was written."""
    try:
        content = path.read_bytes()
    except OSError:
        return None
    mark, whole = content[:MARK_BYTES], content[MARK_BYTES:]
    if hashlib.sha256(whole).digest() != mark:
        return None
    try:
        return (pickle.loads(whole),)  # noqa: S301 - written by this program into the user's own folder
    except Exception:  # noqa: BLE001 - whatever an entry of another make raises, the decision is worked out anew
        return None


def _touch(path: Path) -> None:
    """Say that an entry was read just now."""
    with contextlib.suppress(OSError):
        os.utime(path)


def _trimmed(folder: Path, most_bytes: int) -> int:
    """Bytes of the entries of a folder, once the oldest of too many are gone."""
    entries: list[tuple[int, int, Path]] = []
    for path in folder.glob("*"):
        with contextlib.suppress(OSError):
            told = path.stat()
            if path.suffix == ".bin":
                entries.append((told.st_mtime_ns, told.st_size, path))
            elif path.suffix == ".part" and time.time() - told.st_mtime > HALF_WRITTEN_S:
                path.unlink()
    total = sum(size for _, size, _ in entries)
    wanted = most_bytes if total <= most_bytes else TRIMMED_SHARE * most_bytes
    for _, size, path in sorted(entries):
        if total <= wanted:
            break
        with contextlib.suppress(OSError):
            path.unlink()
            total -= size
    return total


def _write(path: Path, value: Any) -> int:
    """Keep an entry, its own digest first; a folder that cannot be written keeps none. Returns the bytes kept."""
    whole = pickle.dumps(value, protocol=5)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
    except OSError:
        return 0
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(hashlib.sha256(whole).digest() + whole)
        Path(name).replace(path)
    except OSError:
        Path(name).unlink(missing_ok=True)
        return 0
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    return MARK_BYTES + len(whole)
