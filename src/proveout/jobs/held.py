"""What is kept in memory because it may be wanted again, within a bound: what was not asked for the longest goes."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


class Held(Generic[Key, Value]):
    """Values under their keys, no more than so many and no more than so many bytes of them.

    Args:     most_count, most_bytes: of all together; None for no such bound.   size: bytes of a value, 0 where it is
              not counted. A value that is larger than the bound is not held at all.
    """

    def __init__(
        self, *, most_count: int, most_bytes: int | None = None, size: Callable[[Value], int] = lambda _: 0
    ) -> None:
        self._most_count, self._most_bytes, self._size = most_count, most_bytes, size
        self._values: OrderedDict[Key, tuple[Value, int]] = OrderedDict()
        self._lock = threading.Lock()
        self._bytes_count = 0

    def get(self, key: Key) -> Value | None:
        """What is held under a key, which thereby is the last to go; None where nothing is."""
        with self._lock:
            found = self._values.get(key)
            if found is None:
                return None
            self._values.move_to_end(key)
            return found[0]

    def put(self, key: Key, value: Value) -> None:
        """Hold a value in the place of an earlier one, and let go what there is no room for."""
        size = self._size(value)
        with self._lock:
            self._drop(key)
            if self._most_bytes is not None and size > self._most_bytes:
                return
            self._values[key] = (value, size)
            self._bytes_count += size
            while len(self._values) > self._most_count or (
                self._most_bytes is not None and self._bytes_count > self._most_bytes
            ):
                self._drop(next(iter(self._values)))

    def __contains__(self, key: Key) -> bool:
        return key in self._values

    def __len__(self) -> int:
        return len(self._values)

    @property
    def bytes_count(self) -> int:
        """Of all that is held."""
        return self._bytes_count

    def _drop(self, key: Key) -> None:
        _, size = self._values.pop(key, (None, 0))
        self._bytes_count -= size
