"""What a plan of one part depends on."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from proveout.jobs.wrong_loads import SisterFile
from proveout.model.cost_band import Rider
from proveout.model.job import Job
from proveout.model.plan import Round
from proveout.model.shop import Shop


@dataclass(frozen=True)
class Request:
    """All that a plan depends on. step: path of the STEP file; job, shop: as read; start: ISO date or empty.

    sisters: other parts of the same order, which might be put into this part's jaws.  same_load: numbers of
    those that ride in one coat load with it.  riders: those of them that its finisher coats too.
    fit_marks: its faces and sizes that fits of the order name.
    is_of_order: planned with others that are sawn with it.
    rounds: of an earlier plan, whose limits are taken as they are; empty where they are found anew.
    is_loaded_later: its wrong loads are looked at once all parts of its order are planned, and not before.
    is_drawn: drawings for its papers are made.
    """

    step: Path
    job: Job
    shop: Shop
    start: str
    inputs: dict[str, str]
    sisters: tuple[SisterFile, ...] = ()
    same_load: tuple[str, ...] = ()
    riders: tuple[Rider, ...] = ()
    fit_marks: tuple[str, ...] = ()
    is_of_order: bool = False
    rounds: tuple[Round, ...] = ()
    is_loaded_later: bool = False
    is_drawn: bool = True
