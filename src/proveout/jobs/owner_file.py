"""One of the owner's files, changed from a page: only as it was shown, whole or not at all, and put back at will."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from proveout.intake.toml_words import read_text
from proveout.jobs.changed_together import Replacing, replace_together
from proveout.jobs.whole_files import digest_of_file
from proveout.quantities.errors import BadInput

BEFORE = ".before"  # ending of the text that was there before the last change
MARK = "\ufeff"
_ONE_AT_A_TIME = threading.Lock()


class ChangedMeanwhile(BadInput):
    """The file is no longer the one that the page was made from."""


@dataclass(frozen=True)
class Shown:
    """A file as a page shows it.   digest: sha256 of its bytes; "" where it is not there, and text is empty."""

    path: Path
    text: str
    digest: str

    @property
    def has_before(self) -> bool:
        """Whether the text before the last change is kept."""
        return _before(self.path).is_file()


def show(path: Path) -> Shown:
    """The file as it is now.

    Raises:   BadInput, Unreadable when it is no text file that a person types.
    """
    if not path.is_file():
        return Shown(path=path, text="", digest="")
    while True:
        digest = digest_of_file(path)
        text = read_text(path)
        if digest_of_file(path) == digest:  # else it was written while it was read
            return Shown(path=path, text=text, digest=digest)


@dataclass(frozen=True)
class NewText:
    """A text for one of the owner's files.   shown_digest: of the file as it was shown, "" where it was not there.

    check: raises BadInput for a text that may not be written.
    """

    path: Path
    text: str
    shown_digest: str
    check: Callable[[str], object]


def replace_text(path: Path, text: str, *, shown_digest: str, check: Callable[[str], object]) -> None:
    """Put a new text in the place of the one that was shown, and keep that one beside it.

    Args:     check: raises BadInput for a text that may not be written; nothing is changed then.
    Raises:   BadInput also when the file is no longer the one that was shown, or cannot be written.   Unfinished as
              `replace_together` does.
    """
    replace_texts([NewText(path, text, shown_digest, check)])


def replace_texts(new: Sequence[NewText]) -> None:
    """The same for several files, of which all are changed or none."""
    for one in new:
        one.check(one.text)
    with _ONE_AT_A_TIME:
        files: list[Replacing] = []
        for one in new:
            _refuse_changed(one.path, one.shown_digest)
            if one.shown_digest:
                old = one.path.read_bytes()
                mark = MARK if old.startswith(MARK.encode()) else ""
                files.append(Replacing(_before(one.path), old, one.path))
                files.append(Replacing(one.path, (mark + one.text).encode(), one.path))
            else:
                files.append(Replacing(one.path, one.text.encode()))
        if files:
            replace_together(files)


def put_back(path: Path, *, shown_digest: str, check: Callable[[str], object]) -> None:
    """Put back the text before the last change; the one of now is kept in its stead, so that this too can be undone.

    Raises:   BadInput when there is none, it may not be written, or the file is no longer the one that was shown.
    """
    before = _before(path)
    if not before.is_file():
        raise BadInput("There is no earlier text of this file to put back", where=path.name)
    check(read_text(before))
    with _ONE_AT_A_TIME:
        _refuse_changed(path, shown_digest)
        now, old = path.read_bytes(), before.read_bytes()
        replace_together([Replacing(path, old, path), Replacing(before, now, path)])


def _before(path: Path) -> Path:
    return path.with_name(path.name + BEFORE)


def _refuse_changed(path: Path, shown_digest: str) -> None:
    if show(path).digest != shown_digest:
        raise ChangedMeanwhile(
            "This file has changed since the page was shown, so nothing was written", where=path.name,
            do="look at what it says now, and type the change again",
        )  # fmt: skip
