"""Two plans side by side: only what differs."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proveout.desk.lengths import reads_inches
from proveout.desk.page import desk_of, page
from proveout.desk.waiting import WAIT_S, waiting
from proveout.jobs.changed_files import own_files
from proveout.jobs.compared_folders import Compared, begin_comparison, read_comparison
from proveout.jobs.offers import offers_of
from proveout.jobs.trying import folder_of, tries_of
from proveout.model.changes import told_changes
from proveout.quantities.errors import BadInput
from proveout.sheets.cautions import cutting_cautions
from proveout.sheets.derived import mark_of
from proveout.sheets.difference_words import DifferenceWords
from proveout.sheets.html_parts import proof_bar

router = APIRouter()
PASSES_OPEN = 12
"""More passes than so many are folded away at first."""
TRY = "try "


@dataclass(frozen=True)
class ShownProof:
    """A proof before and after, as it is printed. bar: of how it stands now, ready HTML."""

    claim: str
    old: str
    new: str
    stops: bool
    remedy: str
    bar: str


@dataclass(frozen=True)
class Shown:
    """Differences as they are printed: rows of what, before and after.   as_before: what did not move at all.

    cautions: that belong beside the proofs.
    """

    is_empty: bool
    ready: tuple[str, str] | None
    proofs: list[ShownProof]
    tables: list[tuple[str, list[tuple[str, str, str]]]]
    passes: list[tuple[str, str]]
    are_passes_folded: bool
    stopping_count: int
    as_before: list[str]
    cautions: tuple[str, ...]


def shown_differences(compared: Compared, *, is_inch: bool) -> Shown:
    """Differences put into words, proofs first."""
    told = compared.differences
    words = DifferenceWords(plan=compared.plan, shop=compared.shop, is_inch=is_inch)
    passes = words.passes(told)
    proofs = [
        ShownProof(
            claim=words.claim(one), old=words.found(one.old), new=words.found(one.new), stops=one.stands_in_the_way,
            remedy="" if one.new is None else words.plain(one.new.remedy or one.new.decides),
            bar="" if one.new is None else proof_bar(one.new, mark_of(one.new)),
        )
        for one in told.proofs
    ]  # fmt: skip
    tables = [
        ("Minutes", list(map(words.shift, told.minutes))),
        ("Money", list(map(words.shift, told.money))),
        ("Dates", list(map(words.swap, told.dates))),
        ("Decisions", [*map(words.swap, told.choices), *map(words.shift, told.numbers)]),
        ("Sizes before the coat", list(map(words.size, told.sizes))),
    ]
    ready = None if told.ready is None else ("ready" if told.ready[0] else "not ready",
                                             "ready" if told.ready[1] else "not ready")  # fmt: skip
    return Shown(
        is_empty=told.is_empty, ready=ready, proofs=proofs, tables=[(name, rows) for name, rows in tables if rows],
        passes=passes, are_passes_folded=len(passes) > PASSES_OPEN, stopping_count=len(told.stopping),
        as_before=[*(name.lower() for name, rows in tables if not rows), *([] if passes else ["passes"])],
        cautions=cutting_cautions(shop=compared.shop, clampings=compared.plan.clampings),
    )  # fmt: skip


@router.get("/parts/{address}/compare")
def compare(request: Request, address: str, with_: str = "") -> HTMLResponse:
    """A part against another planned part, or against one of its own tries."""
    desk = desk_of(request)
    home = desk.home
    place = home.place(address)
    other = request.query_params.get("with", with_)
    # what the shelf knows at a glance: no plan is read for its number, and one that cannot be read hides no other
    planned = [part for line in desk.shelf.lines() for part in line.parts]
    choices = [(part.address, part.line.number) for part in planned if part.address != address]
    of_part = tries_of(home, address)
    offers = offers_of(place.plan, own_files(home, place), home.shop()) if of_part else ()
    tries = [
        (f"{TRY}{id}", "; ".join(words for words, _ in told_changes(told.changes, offers, is_present=False)))
        for id, told in of_part.items()
    ]
    shown, name = None, ""
    if other:
        names = dict([*choices, *tries])
        if other not in names:
            raise BadInput("There is no such plan to compare with", where=address, value=other, do="choose another")
        name = names[other]
        folder = folder_of(home, other.removeprefix(TRY)) if other.startswith(TRY) else home.place(other).folder
        here = f"/parts/{address}/compare"
        task = begin_comparison(
            desk.tasks, place.folder, folder, address=address, title=f"Compare {place.plan.part.number} with {name}",
            page=f"{here}?{urlencode({'with': other})}",
        )  # fmt: skip
        task = desk.tasks.wait(task.id, most_s=WAIT_S if task.is_open else 0.0)
        found = desk.tasks.found(task.id) if task.state == "done" else None
        if found is None:
            return waiting(request, task, place=place, back=here)
        shown = shown_differences(read_comparison(found, folder), is_inch=reads_inches(request))
    return page(
        request, "compare.html", title="Compare", place=place, choices=choices, tries=tries, other=other,
        shown=shown, name=name,
    )  # fmt: skip
