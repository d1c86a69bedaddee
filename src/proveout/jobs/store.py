"""Decisions kept on disk under the digest of exactly what made them.

A key is the digest of the stage's name, of this program's own code, and of the canonical bytes of all that the stage
received. So a changed input or a changed program misses, and an unchanged result further up stops the work there. Two
processes may share a folder: an entry is written beside and renamed into place. Entries are this program's own and are
read by no other; one that is not what was written is worked out anew.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from proveout.quantities.canonical import canonical_bytes

Value = TypeVar("Value")
NOT_IN_KEY = ("run",)
MARK_BYTES = 32


class Store:
    """A folder of decisions, or none at all.

    Args:     folder: where entries lie; None keeps nothing.   is_fresh: write, but never read.
    """

    def __init__(self, folder: Path | None, *, is_fresh: bool = False) -> None:
        self._folder = folder
        self._is_fresh = is_fresh
        self.hits: list[str] = []
        self.misses: list[str] = []

    def get(self, stage: str, function: Callable[..., Value], /, **received: Any) -> Value:
        """The stage's result: from the folder when the same was decided before, else worked out and kept."""
        if self._folder is None:
            return function(**received)
        path = self._path(stage, received)
        if not self._is_fresh:
            found = _read(path)
            if found is not None:
                self.hits.append(stage)
                return found[0]
        value = function(**received)
        self.misses.append(stage)
        _write(path, value)
        return value

    def holds(self, stage: str, /, **received: Any) -> bool:
        """Whether a result of the same may be taken from the folder, so that nobody need begin on it ahead of time."""
        return self._folder is not None and not self._is_fresh and self._path(stage, received).is_file()

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


def _write(path: Path, value: Any) -> None:
    """Keep an entry, its own digest first; a folder that cannot be written keeps none."""
    whole = pickle.dumps(value, protocol=5)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
    except OSError:
        return
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(hashlib.sha256(whole).digest() + whole)
        Path(name).replace(path)
    except OSError:
        Path(name).unlink(missing_ok=True)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
