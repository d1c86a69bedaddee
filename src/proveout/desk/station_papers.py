"""The papers that a station works by: each opens at its page of the packet's papers."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from proveout.jobs.place import Place
from proveout.jobs.result_files import FLOOR_PAPERS, PAPERS, file_in
from proveout.jobs.set_up import clamping_of
from proveout.model.batch import StepCount
from proveout.quantities.errors import BadInput
from proveout.sheets.paper_pages import Paper, papers_in

OF_KIND = {
    "saw": ("Saw ticket",),
    "bench": ("Bench card",),
    "cabinet": ("Bench card",),
    "inspection": ("Inspection sheet",),
    "packing": ("Kit and pack sheet", "Lot labels"),
}
OF_LOT = ("Order to a finisher", "Mask and rack map")
BACK = "Receiving check"
KEPT = 32


@dataclass(frozen=True)
class StationPaper:
    """title, and the address at which it opens."""

    title: str
    address: str


def papers_at(place: Place, batch: str, step: StepCount, *, sees_money: bool) -> tuple[StationPaper, ...]:
    """The papers of a step in their order; none where the packet has no list of them."""
    name = PAPERS if sees_money else FLOOR_PAPERS
    try:
        path = file_in(place.folder, name)
        listed = _listed(path, path.stat().st_mtime_ns)
    except (BadInput, OSError):
        return ()
    base = f"/parts/@{batch}/files/{name}"
    return tuple(
        StationPaper(one.title, f"{base}#page={one.first}") for one in listed if _is_of(place, step, one.title)
    )


@lru_cache(maxsize=KEPT)
def _listed(path: Path, _changed_ns: int) -> tuple[Paper, ...]:
    """_changed_ns: when the file was written last, so that another of its name is read anew."""
    return papers_in(path.read_bytes())


def _is_of(place: Place, step: StepCount, title: str) -> bool:
    if step.kind == "mill":
        clamping = clamping_of(place.plan, step.id)
        return clamping is not None and re.search(rf"\bOp {clamping.number}\b", title) is not None
    if step.kind != "outside":
        return title.startswith(OF_KIND[step.kind])
    processes = {one.process for one in place.plan.finish_orders if one.finisher_id == step.station}
    return title == BACK or title in {f"{head} - {process}" for head in OF_LOT for process in processes}
