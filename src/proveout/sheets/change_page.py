"""One page for whoever collects the half-made pieces of a revision that ends: where they are, how many, what then."""

from __future__ import annotations

from typing import Any

from proveout.model.change_events import KEPT
from proveout.model.half_made import ChangeTold, HalfMade, Stage
from proveout.sheets import blocks as b
from proveout.sheets.change_words import ChangeWords
from proveout.sheets.typesetting import typeset

SHEET = "Collect half-made pieces"
COLUMNS = [("batch", "26", "l"), ("where they are", "1fr", "l"), ("done on them", "38", "l"), ("pieces", "16", "r"),
           ("found", "18", "c"), ("what becomes of them", "46", "l")]  # fmt: skip
GONE = [("batch", "26", "l"), ("from step", "22", "l"), ("pieces", "16", "r"), ("what becomes of them", "46", "l"),
        ("why", "1fr", "l"), ("done", "18", "c")]  # fmt: skip
UNDECIDED = "leave them: the office says"
TO_DO = (
    "Take the old papers and programs from the machines; none stays beside a vise",
    "Count what is there, and write it under found; a number that differs is told at once",
    "Mark every tray with the old revision and this page",
    "What is half cut in a vise stays there until somebody has said what becomes of it",
)


def collect_pdf(told: ChangeTold, *, shop: str) -> bytes:
    """The page as PDF bytes, the same for the same change and records."""
    return typeset(collect_document(told, shop=shop))


def collect_document(told: ChangeTold, *, shop: str) -> dict[str, Any]:
    """The page as plain data."""
    ending = told.ending
    return {
        "title": f"Change of {told.part}: revision {ending.ends} ends", "part": told.part, "revision": ending.ends,
        "shop": shop, "fingerprint": ending.id[:8], "start": "", "ready": True, "band": "", "source": "Change",
        "pages": [_page(told)],
    }  # fmt: skip


def _page(told: ChangeTold) -> dict[str, Any]:
    ending = told.ending
    head = (
        f"From {ending.from_day} revision {ending.begins} holds. Nothing of revision {ending.ends} is begun any more."
    )
    if not ending.stands:
        head = f"This change was taken back: {ending.stays}. Revision {ending.ends} goes on; collect nothing."
    rows = [row for one in told.batches for stage in one.stages for row in [_row(one, stage)]]
    blocks: list[b.Block] = [b.lead(head), b.para(f"{ending.why}. Told by {ending.person}."), b.ticks(list(TO_DO))]
    blocks.append(b.heading("Half-made pieces"))
    blocks.append(b.table(COLUMNS, rows) if rows else b.framed("No piece of it waits and none is away."))
    gone: list[list[b.Cell]] = [
        [b.strong(one.batch), said.step, str(said.count), f"{said.fate} {said.to_batch}".strip(), said.why, b.BOX]
        for one in told.batches for said in one.settled if said.fate != KEPT
    ]  # fmt: skip
    if gone:
        blocks += [b.heading("Taken out of their batch: put them where it says"), b.table(GONE, gone)]
    if told.stock:
        stock: list[list[b.Cell]] = [
            [b.strong(one.item), one.place, f"{one.sort} {one.name}".strip(), str(one.count), b.BOX, UNDECIDED]
            for one in told.stock
        ]
        columns = [("tag", "26", "l"), *COLUMNS[1:2], ("what", "38", "l"), *COLUMNS[3:]]
        blocks += [b.heading("In stock"), b.table(columns, stock)]
    papers = sorted({paper for one in told.batches for paper in one.papers})
    if papers:
        blocks += [b.heading("Papers and programs on which something changes"), b.para(", ".join(papers) + ".")]
    blocks.append(b.keys([], across=2, boxes=("collected by", "date")))
    title = f"{SHEET}: {told.part}, revision {ending.ends}"
    return b.page(sheet=SHEET, title=title, blocks=blocks, one_page=True)


def _row(one: HalfMade, stage: Stage) -> list[b.Cell]:
    where = f"{stage.step}: {stage.at}" if stage.at else stage.step
    kept = [f"{stage.kept_count} used as they are"] if stage.kept_count else []
    left = [UNDECIDED if not kept else f"{stage.open_count}: {UNDECIDED}"] if stage.open_count else []
    return [b.strong(one.batch), where, ChangeWords.passed(stage), b.big(str(stage.count)), b.BOX,
            "; ".join([*kept, *left])]  # fmt: skip
