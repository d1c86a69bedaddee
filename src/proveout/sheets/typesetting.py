"""Documents of pages made PDF by the typesetter, which is made to forget what it set."""

from __future__ import annotations

import json
import threading
from importlib import resources
from typing import Any

from proveout.quantities.errors import InternalError

REMEMBERED_LETTERS = 400_000
"""So long may documents be together that the typesetter remembers: the papers of two parts, some 500 MB."""
FORGETS_AFTER = 12
"""It drops what none of its last ten documents used (measured with 0.15.2), so that as many small ones clear it."""


def typeset(document: dict[str, Any]) -> bytes:
    """A document of pages as PDF bytes; time stamp fixed, fonts only those the typesetter carries."""
    data = json.dumps(document, sort_keys=True)
    source = resources.files("proveout.sheets").joinpath("papers.typ").read_bytes()
    made = _compiled(source, data)
    _memory.count(len(data))
    return made


class _Memory:
    """What the typesetter remembers, in letters of the documents that it set since it was last cleared."""

    def __init__(self) -> None:
        self._letters, self._one_at_a_time = 0, threading.Lock()

    def count(self, letters: int) -> None:
        """Take in a document that was set, and clear what has become too much."""
        with self._one_at_a_time:
            self._letters += letters
            if self._letters <= REMEMBERED_LETTERS:
                return
            self._letters = 0
        for _ in range(FORGETS_AFTER):
            _compiled(b"#set document(title: [-])\n-", "")


_memory = _Memory()


def _compiled(source: bytes, data: str) -> bytes:
    import typst

    made = typst.compile(
        source,
        format="pdf",
        sys_inputs={"data": data},
        ignore_system_fonts=True,
        pdf_standards=["ua-1"],
        timestamp=0,
    )
    if not isinstance(made, bytes):
        raise InternalError("The typesetter gave no document")
    return made
