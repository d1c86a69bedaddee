"""What the process of an errand is told, and the two words by which a standing one is known."""

from __future__ import annotations

import msgspec

STANDING, READY = "--standing", "ready"


class Sheet(msgspec.Struct, frozen=True, kw_only=True):
    """What an errand is told. asked: file of what was asked.   found: file for its result.   lines: file in which it
    tells of itself.   log: file for its error stream.   limit_s: after which it is ended, None for as long as it takes.
    """

    asked: str
    found: str
    lines: str
    log: str
    limit_s: float | None
