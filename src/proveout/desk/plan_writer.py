"""What the pages of one plan are printed from, with its drawings as far as they are there."""

from __future__ import annotations

from fastapi import Request
from markupsafe import Markup

from proveout.desk.lengths import reads_inches
from proveout.desk.page import desk_of
from proveout.jobs.home import Place
from proveout.jobs.plan_drawings import Drawable, Need, PlanDrawings
from proveout.jobs.writing import PAPER_MARK
from proveout.sheets.writer import Writer

COMING = "The line drawings are being made; boxes stand in for them until then."


def drawable(place: Place) -> Drawable:
    """A place as something to draw."""
    job = place.job
    return Drawable(plan=place.plan, step=place.step, solid_name="" if job is None else job.part.solid)


def writer_of(
    request: Request, place: Place, *needs: Need, is_waiting: bool = False, is_paper: bool = False
) -> tuple[Writer, PlanDrawings]:  # fmt: skip
    """The writer of a plan, and what was drawn.

    Args:     needs: drawings that the page shows.   is_paper: lengths in mm whoever reads, as on papers and controls.
    """
    drawn = PlanDrawings()
    if needs:
        drawn = desk_of(request).drawer.drawn(drawable(place), needs, is_waiting=is_waiting)
    made = Writer(
        plan=place.plan, shop=place.shop, drawings=drawn.by_name, fingerprint=place.fingerprint[:PAPER_MARK],
        views=drawn.views, is_inch=not is_paper and reads_inches(request),
    )  # fmt: skip
    return made, drawn


def ready(html: str) -> Markup:
    """HTML of our own sheets, in which everything that anybody wrote is escaped already."""
    return Markup(html)  # noqa: S704 - see above; tests put markup into every word of a plan


def drawing_note(drawn: PlanDrawings) -> str:
    """What a reader must know of the pictures; empty where they are whole."""
    return COMING if drawn.is_coming else drawn.why_not
