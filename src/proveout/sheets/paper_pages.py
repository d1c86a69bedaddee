"""Which paper begins on which page of papers.pdf, read from its table of contents as the typesetter writes it.

Reads only what our own typesetter writes: a plain table of objects, titles as texts or as hexadecimal UTF-16. A file of
any other make has no list.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

ROW_BYTES = 20
ENTRIES_MOST = 5000
_REFERENCE = rb"(\d+) \d+ R"
_TITLE = re.compile(rb"/Title\s*(?:(\()|<([0-9A-Fa-f\s]*)>)")
_SIGN = re.compile(rb"\\.|[()]", re.DOTALL)
_ESCAPED = re.compile(rb"\\([0-7]{1,3}|.)", re.DOTALL)
_PLAIN = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}


@dataclass(frozen=True, kw_only=True)
class Paper:
    """One paper, and the first and last of its pages, from 1 on."""

    title: str
    first: int
    last: int


def papers_in(pdf: bytes) -> tuple[Paper, ...]:
    """The papers in their order; none where the file is not as our typesetter writes it."""
    try:
        objects = _Objects(pdf)
        pages = objects.pages()
        starts = [(title, pages.index(page) + 1) for title, page in objects.entries()]
    except (ValueError, KeyError, IndexError):
        return ()
    if not starts or starts != sorted(starts, key=lambda one: one[1]):
        return ()
    ends = [first for _, first in starts[1:]] + [len(pages) + 1]
    return tuple(
        Paper(title=title, first=first, last=max(first, end - 1))
        for (title, first), end in zip(starts, ends, strict=True)
    )


class _Objects:
    """The objects of a file by number, found through its table at the end."""

    def __init__(self, pdf: bytes) -> None:
        self._pdf = pdf
        at = int(pdf[pdf.rindex(b"startxref") + len(b"startxref") :].split()[0])
        head = re.compile(rb"xref\s+0 (\d+)\s").match(pdf, at)
        if head is None:
            raise ValueError("no plain table of objects")
        self._rows_at, self._count = head.end(), int(head[1])
        trailer = pdf.index(b"trailer", self._rows_at)
        self._root = self._number(rb"/Root ", pdf[trailer:])

    def pages(self) -> list[int]:
        """Numbers of the page objects, in order; they hang from one node."""
        tree = self._read(self._number(rb"/Pages ", self._read(self._root)))
        kids = re.search(rb"/Kids\s*\[([^\]]*)\]", tree)
        if kids is None:
            raise ValueError("no list of pages")
        return [int(number) for number in re.findall(_REFERENCE, kids[1])]

    def entries(self) -> list[tuple[str, int]]:
        """Title and page object of each entry of the contents' first level."""
        outlines = self._read(self._number(rb"/Outlines ", self._read(self._root)))
        number: int | None = self._number(rb"/First ", outlines)
        found: list[tuple[str, int]] = []
        while number is not None and len(found) < ENTRIES_MOST:
            entry = self._read(number)
            page = re.search(rb"\[\s*" + _REFERENCE, self._read(self._number(rb"/Dest ", entry)))
            if page is None:
                raise ValueError("an entry leads to no page")
            found.append((_title(entry), int(page[1])))
            after = re.search(rb"/Next " + _REFERENCE, entry)
            number = int(after[1]) if after is not None else None
        return found

    def _number(self, key: bytes, content: bytes) -> int:
        found = re.search(re.escape(key) + _REFERENCE, content)
        if found is None:
            raise ValueError("a reference is missing")
        return int(found[1])

    def _read(self, number: int) -> bytes:
        if not 0 < number < self._count:
            raise KeyError(number)
        at = self._rows_at + number * ROW_BYTES
        offset = int(self._pdf[at : at + 10])
        return self._pdf[offset : self._pdf.index(b"endobj", offset)]


def _title(entry: bytes) -> str:
    found = _TITLE.search(entry)
    if found is None:
        raise ValueError("an entry has no title")
    raw = _bracketed(entry, found.end()) if found[1] else bytes.fromhex(found[2].decode("ascii"))
    if raw.startswith(b"\xfe\xff"):
        return raw[2:].decode("utf-16-be")
    return raw.decode("latin-1")


def _bracketed(entry: bytes, begin: int) -> bytes:
    """The text of a title up to its closing bracket; brackets in pairs stand in it as they are."""
    depth = 1
    for sign in _SIGN.finditer(entry, begin):
        depth += {b"(": 1, b")": -1}.get(sign[0], 0)
        if not depth:
            return _ESCAPED.sub(_unescaped, entry[begin : sign.start()])
    raise ValueError("a title has no end")


def _unescaped(found: re.Match[bytes]) -> bytes:
    sign = found[1]
    return bytes([int(sign, 8) & 0xFF]) if sign[:1].isdigit() else _PLAIN.get(sign, sign)
