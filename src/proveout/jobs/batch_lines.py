"""What the desk shows of batches: where their pieces stand, what is open, what happened."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from proveout.books.corrections import FIXED
from proveout.model.batch import Batch
from proveout.model.batch_events import Happening, ReadingTaken
from proveout.model.events import Corrected, Event, Stating
from proveout.model.floor_events import SpindleMeterRead
from proveout.model.plan import Plan
from proveout.model.proof import Proof, open_proofs, weakest_first
from proveout.model.written import NO_DAY
from proveout.records.records import Records
from proveout.sheets.pieces_line import Run


@dataclass(frozen=True)
class BatchLine:
    """One batch of the list. runs: its pieces along its steps, those that waste took last."""

    batch: Batch
    runs: tuple[Run, ...]

    @property
    def words(self) -> str:
        """The same line in words."""
        told = [f"{run.count} {run.words}" for run in self.runs if run.count]
        return ", ".join(told) or ("nothing is begun" if self.batch.is_released else "not released")


@dataclass(frozen=True)
class HistoryLine:
    """One event. said: what it says, in words.   instead: what stands in its place once corrected; None when nothing.

    by: number of its last correction, 0 for none.   may_correct: False of what stays as it is written.   stands: what
    happened by what is known now; None where nothing did, and of a correction.
    """

    seq: int
    event: Event
    said: str
    by: int
    instead: str | None
    may_correct: bool
    stands: Stating | None = None


def batch_lines(records: Records) -> list[BatchLine]:
    """All batches: open ones first by the day they are wanted, closed ones last."""
    found = [records.batch(row["batch"]) for row in records.rows("batches")]
    known = [batch for batch in found if batch is not None]
    known.sort(key=lambda batch: (batch.is_closed, batch.due or NO_DAY, batch.batch))
    return [BatchLine(batch=batch, runs=runs_of(batch)) for batch in known]


def runs_of(batch: Batch) -> tuple[Run, ...]:
    """The pieces of a batch from its first step to its last, every one of them once.

    Every piece begun is at a step, away, through the last step, bad, or taken out since its revision ended: together
    they are the blanks, less those that nobody made, and what came from another batch.
    """
    runs: list[Run] = []
    for step in batch.steps:
        runs.append(Run(words=f"wait at {step.id}", way="waits", count=step.waiting_count, name=step.id))
        if step.away_count:
            runs.append(Run(words=f"away at {step.station}", way="away", count=step.away_count, name=step.id))
    if batch.steps:
        runs.append(Run(words="through", way="good", count=batch.steps[-1].good_count, name="through"))
    runs.append(Run(words="bad", way="bad", count=sum(bad.count for bad in batch.bad), name="bad"))
    if taken := sum(step.taken_count for step in batch.steps):
        runs.append(Run(words="taken out, their revision ends", way="away", count=taken, name="taken out"))
    return tuple(runs)


def weakest_open(batch: Batch, plan: Plan | None) -> Proof | None:
    """The weakest open proof of a batch's plan, waived or not; None where all hold or the plan is not at hand."""
    if plan is None:
        return None
    unwaived = {one.id for one in batch.unwaived}
    opens = weakest_first(open_proofs(plan.proofs))
    return next((one for one in opens if one.id in unwaived), next(iter(opens), None))


def history_of(records: Records, batch: str) -> list[HistoryLine]:
    """All events of a batch, the last first, each with what became of it."""
    numbered = records.events(batch=batch)
    last = {event.of.event_id: (seq, event.of) for seq, event in numbered if isinstance(event.of, Corrected)}
    lines = []
    for seq, event in reversed(numbered):
        by, correction = last.get(event.id, (0, None))
        instead = None if correction is None or correction.instead is None else told(correction.instead)
        own = None if isinstance(event.of, Corrected) else event.of
        lines.append(
            HistoryLine(seq=seq, event=event, said=told(event.of), by=by, instead=instead,
                        may_correct=not isinstance(event.of, (*FIXED, Corrected)),
                        stands=own if correction is None else correction.instead)
        )  # fmt: skip
    return lines


def told(of: Happening) -> str:
    """What an event says, field by field, in words; long lists only by their number."""
    if isinstance(of, Corrected):
        what = "it did not happen" if of.instead is None else f"it was: {told(of.instead)}"
        return f"event {of.event_id[:8]} was wrong: {of.why}; {what}"
    words = []
    for field in of.__struct_fields__:
        value: Any = getattr(of, field)
        if field == "plan":
            value = value[:12]
        if isinstance(value, tuple):
            value = _listed(value)
        elif isinstance(value, dict):
            value = f"{len(value)} files"
        elif isinstance(value, bool):
            value = "yes" if value else ""
        if value not in ("", None, 0):
            words.append(f"{_name(field)} {value:g}" if isinstance(value, float) else f"{_name(field)} {value}")
    return ", ".join(words)


def _listed(values: tuple[Any, ...]) -> str:
    if not values:
        return ""
    if all(isinstance(one, str) for one in values):
        return " ".join(values)
    if hasattr(values[0], "reason"):
        return "; ".join(f"{one.count} {one.reason}" for one in values)
    return f"{len(values)}"


def _name(field: str) -> str:
    for ending, unit in (("_count", ""), ("_mm", " mm"), ("_s", " s"), ("_l", " l"), ("_ratio", "")):
        if field.endswith(ending) and field != ending:
            return f"{field.removesuffix(ending).replace('_', ' ')}{unit and ',' + unit}"
    return field.replace("_", " ")


def readings_of(records: Records, batch: str) -> list[dict[str, Any]]:
    """Readings taken of a batch, the last first."""
    return records.rows("readings", batch=batch)[::-1]


def meters_read(history: Iterable[HistoryLine]) -> list[tuple[HistoryLine, SpindleMeterRead]]:
    """Readings of spindles' meters as they stand corrected, the last first."""
    return [(line, line.stands) for line in history if isinstance(line.stands, SpindleMeterRead)]


def is_reading(event: Event) -> bool:
    """Whether an event is a reading, of which the history need not tell each."""
    return isinstance(event.of, ReadingTaken)
