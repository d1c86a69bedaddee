"""The one writer of a program: events of many stations, written one after the other, several to a transaction."""

from __future__ import annotations

import queue
import threading
from concurrent.futures import Future

import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from proveout.model.events import Event
from proveout.quantities.errors import NotKept, ProveoutError
from proveout.records.writing import Answer, Writing

GROUP_MOST = 64
"""So many events at most wait for one and the same write to disk."""
_Post = tuple[Event, "Future[Answer]"]


class Writer:
    """Takes events from any thread and answers each once it lies on disk.

    Args:     engine: whose transactions wait until they are the only one.
    """

    def __init__(self, engine: sa.Engine) -> None:
        self._engine = engine
        self._posts: queue.SimpleQueue[_Post | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._run, name="records", daemon=True)
        self._lock = threading.Lock()
        self._is_open = True
        self._thread.start()

    def post(self, event: Event) -> Answer:
        """Write an event and wait until it is on disk.

        Raises:   Refused when it cannot follow; NotKept when it is not known to be on disk: post it again.
        """
        answer: Future[Answer] = Future()
        with self._lock:
            if not self._is_open:
                raise NotKept("The records are closed", where=event.id, do="post it again")
            self._posts.put((event, answer))
        return answer.result()

    def close(self) -> None:
        """Write what was posted, then take nothing more."""
        with self._lock:
            if not self._is_open:
                return
            self._is_open = False
            self._posts.put(None)
        self._thread.join()

    def _run(self) -> None:
        is_open = True
        while is_open:
            first = self._posts.get()
            if first is None:
                return
            group = [first]
            while len(group) < GROUP_MOST:
                try:
                    post = self._posts.get_nowait()
                except queue.Empty:
                    break
                if post is None:
                    is_open = False
                    break
                group.append(post)
            self._write(group)

    def _write(self, group: list[_Post]) -> None:
        """One transaction for all; when it comes to nothing, one for each, so that nobody suffers from another."""
        answers: list[Answer | ProveoutError] = []
        try:
            with self._engine.begin() as connection:
                writing = Writing(connection, [event for event, _ in group])
                for event, _ in group:
                    try:
                        answers.append(writing.keep(event))
                    except ProveoutError as fault:  # nothing of it is remembered: the others stand
                        answers.append(fault)
                writing.flush()
        except Exception as fault:  # noqa: BLE001 - whatever it was, it is told to whoever waits
            if len(group) > 1:
                for post in group:
                    self._write([post])
                return
            answers = [_not_kept(group[0][0], fault)]
        for (_, waiting), answer in zip(group, answers, strict=True):
            if isinstance(answer, ProveoutError):
                waiting.set_exception(answer)
            else:
                waiting.set_result(answer)


def _not_kept(event: Event, fault: Exception) -> NotKept:
    said = str(fault.orig) if isinstance(fault, DBAPIError) else str(fault)
    words = {"full": "The disk is full", "locked": "Another program holds the records"}
    what = next((text for word, text in words.items() if word in said), "The database did not take the event")
    if not isinstance(fault, SQLAlchemyError | ProveoutError):
        said = f"{type(fault).__name__}: {said}"
    return NotKept(what, where=event.id, value=said.splitlines()[0][:200] if said else "",
                   do="post it again: it counts once")  # fmt: skip
