"""The errors that Proveout raises.

ProveoutError
├── BadInput            a file, a value in a file or an argument of a caller is wrong
│   ├── OutOfRange      a number lies outside the bounds its docstring states
│   ├── Refused         an event cannot follow what is recorded: it is not written
│   └── Unreadable      a file cannot be read as what it claims to be
├── Interrupted         the person asked to stop
├── OutOfTime           the time limit given by the caller has passed
├── Busy                too much is being worked out already: the same may be asked again soon
├── Unfinished          a change of several files was begun; the next start of the desk finishes it
├── NotKept             an event could not be written: it was not acknowledged and may be posted again
└── InternalError       Proveout itself is at fault

A part that cannot be made is a result with reasons, never one of these.
"""

from __future__ import annotations


class ProveoutError(Exception):
    """Base of all errors: says what, where, the value, the limit and what to do.

    Args:     what: one sentence naming the fault.   where: file and key, or id.   value: as found, with unit.
              limit: what would have been accepted.   do: what the person should do next.
    """

    def __init__(self, what: str, *, where: str = "", value: str = "", limit: str = "", do: str = "") -> None:
        self.what = what
        self.where = where
        self.value = value
        self.limit = limit
        self.do = do
        super().__init__(self.message)

    @property
    def message(self) -> str:
        """The whole message on one line."""
        parts = [self.what.rstrip(".")]
        if self.where:
            parts.append(f"where: {self.where}")
        if self.value:
            parts.append(f"found: {self.value}")
        if self.limit:
            parts.append(f"limit: {self.limit}")
        if self.do:
            parts.append(f"do: {self.do}")
        return "; ".join(parts)

    def __reduce__(self) -> tuple[object, ...]:
        return (_rebuild, (type(self), self.what, self.where, self.value, self.limit, self.do))


def _rebuild(kind: type[ProveoutError], what: str, where: str, value: str, limit: str, do: str) -> ProveoutError:
    return kind(what, where=where, value=value, limit=limit, do=do)


class BadInput(ProveoutError):
    """A file, a value in a file or a caller's argument is wrong."""


class OutOfRange(BadInput):
    """A number lies outside the bounds its docstring states."""


class Refused(BadInput):
    """An event cannot follow what is recorded: it is not written."""


class Unreadable(BadInput):
    """A file cannot be read as what it claims to be."""


class Interrupted(ProveoutError):
    """The person asked to stop."""


class OutOfTime(ProveoutError):
    """The time limit given by the caller has passed."""


class Busy(ProveoutError):
    """Too much is being worked out already; nothing was begun, and the same may be asked again soon."""


class Unfinished(ProveoutError):
    """A change of several files was begun and could not be finished; the next start of the desk finishes it."""


class NotKept(ProveoutError):
    """An event could not be written: disk full, database away. Posted again under its own id it counts once."""


class InternalError(ProveoutError):
    """Proveout itself is at fault."""
