"""The text of a checked program as it is shown: its lines by number, those that something was found in marked."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from markupsafe import Markup, escape

from proveout.jobs.check_told import ToldCheck

WHOLE_MOST = 4000
"""Lines of a program that is shown whole; of a longer one those around what was found."""
AROUND = 6
LETTERS_MOST = 400
_LINE = re.compile(r"\b[Ll]ine (\d+)\b")


@dataclass(frozen=True, kw_only=True)
class Line:
    """One line.   findings: numbers of what was found in it, from 1 on.   is_cut: longer than it is shown."""

    number: int
    text: str
    findings: tuple[int, ...]
    is_cut: bool


@dataclass(frozen=True, kw_only=True)
class Gap:
    """Lines that are left out, first to last."""

    first: int
    last: int


def shown_text(lines: tuple[str, ...], told: ToldCheck | None) -> list[Line | Gap]:
    """All lines of a program, or of a long one those around what is told of."""
    findings = {} if told is None else _findings(told)
    wanted = range(1, len(lines) + 1)
    if len(lines) > WHOLE_MOST:
        wanted = _around([*sorted(findings), *sorted(mentioned(told) if told is not None else ())], len(lines))
    return list(_shown(lines, wanted, findings))


def mentioned(told: ToldCheck) -> set[int]:
    """Numbers of all lines that a check tells of."""
    texts = [*told.differs, *(text for p in (*told.held_back, *told.beside) for text in (p.claim, p.why))]
    numbers = {int(number) for text in texts for number in _LINE.findall(text)}
    ends = {line for one in told.findings for line in (one.lines[0], one.lines[-1])}
    return numbers | ends | {line for use in told.uses for line in (use.line, use.chip_line) if line}


def with_links(text: str, lines_count: int) -> Markup:
    """A sentence whose "line 12" leads to that line, where there is one."""

    def link(found: re.Match[str]) -> str:
        return f'<a href="#line-{found[1]}">{found[0]}</a>' if 0 < int(found[1]) <= lines_count else found[0]

    return Markup(_LINE.sub(link, str(escape(text))))  # noqa: S704 - escaped before


def _findings(told: ToldCheck) -> dict[int, tuple[int, ...]]:
    found: dict[int, tuple[int, ...]] = {}
    for number, one in enumerate(told.findings, start=1):
        for line in dict.fromkeys(one.lines):
            found[line] = (*found.get(line, ()), number)
    return found


def _around(numbers: Iterable[int], count: int) -> list[int]:
    """The lines around these, in order; no more than are shown of a program that is shown whole."""
    kept: set[int] = set()
    for number in numbers:
        near = set(range(max(1, number - AROUND), min(count, number + AROUND) + 1))
        if len(kept | near) > WHOLE_MOST:
            break
        kept |= near
    return sorted(kept)


def _shown(
    lines: tuple[str, ...], wanted: Iterable[int], findings: Mapping[int, tuple[int, ...]]
) -> Iterator[Line | Gap]:  # fmt: skip
    last = 0
    for number in wanted:
        if number > last + 1:
            yield Gap(first=last + 1, last=number - 1)
        text = lines[number - 1]
        yield Line(
            number=number, text=text[:LETTERS_MOST], findings=findings.get(number, ()), is_cut=len(text) > LETTERS_MOST
        )
        last = number
    if last < len(lines):
        yield Gap(first=last + 1, last=len(lines))
