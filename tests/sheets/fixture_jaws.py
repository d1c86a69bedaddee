"""The pocket of the third clamping of the example plan, its figures invented."""

from __future__ import annotations

from typing import Any

import msgspec

from proveout.model.jaw_form import JawForm, Relief
from proveout.model.plan import ProgramSheet
from proveout.model.work import Clamping, Pass


def jaw_form(*, held: Clamping, passes: tuple[Pass, ...]) -> JawForm:
    """The pocket that holds the work of a clamping."""
    own = msgspec.structs.replace(held, id=f"{held.id}-jaws", needs_form=False)
    relief = Relief(from_mm=(2.5, -2.5), to_mm=(1.7, -1.7), beyond_mm=0.8)
    return JawForm(
        clamping_id=held.id, clamping=own, thickness_mm=25.0, slug_width_mm=12.0, slug_below_mm=1.0, bite_mm=3.0,
        depth_mm=10.0, below_mm=30.0, low_mm=-17.5, high_mm=107.5, stop="the left end wall of the pocket",
        outline_mm=(((0.0, 0.0), (90.0, 0.0), (90.0, 18.0)),), contact_mm=88.0, length_mm=90.0, cutter_id="mill-6",
        cutter_radius_mm=3.0, reliefs=(relief, relief), passes=passes, seconds=95.0,
    )  # fmt: skip


def jaw_program(held: Clamping) -> ProgramSheet:
    """Its program."""
    return ProgramSheet(
        clamping_id=f"{held.id}-jaws", file="clamping-3-jaws.nc", fingerprint="0a1b2c3d4e5f", blocks_count=412,
        work_offset="G54", cutters={"3": "mill-6"},
    )  # fmt: skip


def jaws_of(held: Clamping, passes: tuple[Pass, ...]) -> dict[str, Any]:
    """Both, as a plan holds them."""
    return {"jaw_forms": (jaw_form(held=held, passes=passes),), "jaw_programs": (jaw_program(held),)}
