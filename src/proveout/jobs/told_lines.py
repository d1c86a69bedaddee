"""What a plan in the background tells of itself: lines of JSON in a file that its name in the environment gives.

A line is one stage, one first look, or the end. They are appended one by one, so that whoever reads the file while it
is written sees whole lines and at most one broken one at its end.
"""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import msgspec

TELL = "PROVEOUT_TELL"
TELL_EVERY_S = 0.5


class StageLine(msgspec.Struct, frozen=True, kw_only=True, tag="stage"):
    """A stage is at work. share: of it that is done, 0 to 1.   at_s: since the plan was begun."""

    stage: str
    text: str
    share: float
    at_s: float


class LookLine(msgspec.Struct, frozen=True, kw_only=True, tag="look"):
    """The first look at one part, as pairs of head and words; a pair without a head is a sentence."""

    rows: tuple[tuple[str, str], ...]


class EndLine(msgspec.Struct, frozen=True, kw_only=True, tag="end"):
    """How it ended: the exit status of the command line, and the sentence that it said with it.

    at_s: since the plan was begun; 0 where an earlier version did not tell it.
    """

    status: int
    said: str
    at_s: float = 0.0


_ENCODER = msgspec.json.Encoder()
_DECODER = msgspec.json.Decoder(StageLine | LookLine | EndLine)


class LinesTeller:
    """Appends lines to a file; without a path it tells nothing. A file that cannot be written stops no plan."""

    def __init__(self, path: Path | None) -> None:
        self._path = path
        self._begin, self._last, self._stage = time.monotonic(), -TELL_EVERY_S, ""

    @classmethod
    def of_environment(cls) -> LinesTeller:
        """The one that whoever began this process wishes for."""
        named = os.environ.get(TELL, "")
        return cls(Path(named) if named else None)

    @property
    def is_on(self) -> bool:
        """Somebody reads what is told."""
        return self._path is not None

    def tell(self, stage: str, text: str, share: float) -> None:
        """A stage is at work; called often, written when the stage changes or a while has passed."""
        now = time.monotonic()
        if stage == self._stage and now - self._last < TELL_EVERY_S:
            return
        self._stage, self._last = stage, now
        self._append(StageLine(stage=stage, text=text, share=share, at_s=round(now - self._begin, 2)))

    def look(self, rows: Sequence[tuple[str, str]]) -> None:
        """The first look at a part."""
        self._append(LookLine(rows=tuple(rows)))

    def end(self, status: int, said: str) -> None:
        """The work has ended."""
        self._append(EndLine(status=status, said=said, at_s=round(time.monotonic() - self._begin, 2)))

    def _append(self, line: StageLine | LookLine | EndLine) -> None:
        if self._path is None:
            return
        with contextlib.suppress(OSError), self._path.open("ab") as file:
            file.write(_ENCODER.encode(line) + b"\n")


@dataclass
class StageTold:
    """One stage as it was last heard of. begun_s, last_s: since the plan began.   times_count: how often it came up.

    spent_s: in it so far, all times together, up to the last line.
    """

    stage: str
    text: str
    share: float
    begun_s: float
    last_s: float
    times_count: int = 1
    spent_s: float = 0.0


@dataclass
class Heard:
    """All that was told so far. stages: in the order in which they first came up; `now` is the one at work.

    told_at: when the last line was written, as files tell it; 0 where there is none.
    """

    stages: list[StageTold] = field(default_factory=list)
    now: str = ""
    looks: list[LookLine] = field(default_factory=list)
    end: EndLine | None = None
    told_at: float = 0.0


def heard(path: Path) -> Heard:
    """What a file of lines says; a line that cannot be read is passed over."""
    found = Heard()
    by_name: dict[str, StageTold] = {}
    try:
        content, found.told_at = path.read_bytes(), path.stat().st_mtime
    except OSError:
        return found
    for line in content.split(b"\n"):
        if not line.strip():
            continue
        try:
            told = _DECODER.decode(line)
        except msgspec.DecodeError:
            continue
        if isinstance(told, LookLine):
            found.looks.append(told)
        elif isinstance(told, EndLine):
            found.end = told
            _spend(by_name.get(found.now), told.at_s)
        else:
            _take(found, by_name, told)
    return found


def _take(found: Heard, by_name: dict[str, StageTold], told: StageLine) -> None:
    _spend(by_name.get(found.now), told.at_s)
    before = by_name.get(told.stage)
    if before is None:
        before = StageTold(told.stage, told.text, told.share, told.at_s, told.at_s)
        by_name[told.stage] = before
        found.stages.append(before)
    elif found.now != told.stage:
        before.times_count += 1
    before.text, before.share, before.last_s = told.text, told.share, told.at_s
    found.now = told.stage


def _spend(stage: StageTold | None, at_s: float) -> None:
    """The time from the last line to this one was spent in the stage that was at work."""
    if stage is not None:
        stage.spent_s += max(0.0, at_s - stage.last_s)
        stage.last_s = max(stage.last_s, at_s)
