"""The work as it stands before a clamping: the blank, less what all earlier passes took."""

from __future__ import annotations

import numpy as np

from proveout.model.run import Run
from proveout.model.shop import Cutter
from proveout.model.work import Blank, Clamping, PassPlan
from proveout.removal.fields import Fields
from proveout.stages.removal_check.pitch import pitch_for
from proveout.stages.removal_check.replay import replay_pass


def work_before(
    *, clamping: Clamping, clampings: tuple[Clamping, ...], plan: PassPlan, blank: Blank, cutters: tuple[Cutter, ...],
    coarse_ratio: float = 1.0, run: Run,
) -> Fields:  # fmt: skip
    """Fields of the work when a clamping begins; `plan` holds its passes and all before them, which set the pitch."""
    by_cutter = {c.id: c for c in cutters}
    frames = {(c.id, t.id): t.frame for c in clampings for t in c.tilts}
    numbers = {c.id: c.number for c in clampings}
    pitch = pitch_for(blank=blank, plan=plan, frames=frames, cutters=by_cutter, coarse_ratio=coarse_ratio)
    fields = Fields.from_box(low_mm=np.array(blank.low_mm), high_mm=np.array(blank.high_mm), pitch_mm=pitch)
    for one in plan.passes:
        if numbers[one.clamping_id] < clamping.number:
            run.check("program", f"the work before clamping {clamping.number}")
            replay_pass(
                fields, one=one, moves=plan.moves[one.moves_digest], frame=frames[(one.clamping_id, one.tilt_id)],
                cutter=by_cutter[one.cutter_id],
            )  # fmt: skip
    return fields
