"""Progress, cancel and deadline of one piece of work; it never affects values."""

from __future__ import annotations

import time
from collections.abc import Callable

from proveout.quantities.errors import Interrupted, OutOfTime


class Run:
    """Carries progress outward and the wish to stop inward.

    Args:     tell: receives (stage, text, share done 0..1).   time_limit_s: from now, None for none.
    """

    def __init__(
        self, *, tell: Callable[[str, str, float], None] | None = None, time_limit_s: float | None = None
    ) -> None:
        self._tell = tell
        self._time_limit_s = time_limit_s
        self._deadline = None if time_limit_s is None else time.monotonic() + time_limit_s
        self._cancelled = False

    def cancel(self) -> None:
        """Ask the work to stop at its next check."""
        self._cancelled = True

    def check(self, stage: str, text: str = "", share: float = 0.0) -> None:
        """Report progress and stop here when asked to or out of time.

        Raises:   Interrupted when cancelled.   OutOfTime past the deadline.
        """
        if self._cancelled:
            raise Interrupted("The work was interrupted", where=stage, do="start it again; stored results are reused")
        if self._deadline is not None and time.monotonic() > self._deadline:
            raise OutOfTime(
                "The time limit has passed", where=stage, limit=f"{self._time_limit_s} s",
                do="give a longer --time-limit; stored results are reused",
            )  # fmt: skip
        if self._tell is not None:
            self._tell(stage, text, share)

    def left_s(self, most_s: float) -> float:
        """Seconds until the deadline, at least a tenth and at most `most_s`."""
        if self._deadline is None:
            return most_s
        return max(0.1, min(most_s, self._deadline - time.monotonic()))
