"""Take a picture of every page of the desk, over a folder with planned designs, into docs/desk.

Run it after the demo order is planned and `desk_story.py` told: `python scripts/desk_pictures.py HOME`, HOME a folder
of job, order and STEP files whose plans lie in HOME-plans beside it. Each page is seen at the size of a desk and of a
tablet.
"""

from __future__ import annotations

import argparse
import io
import sys
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from desk_browser import chromium, served
from PIL import Image
from playwright.sync_api import Browser
from playwright.sync_api import Error as BrowserError

from proveout.desk.door import Door
from proveout.jobs.changes import every_change
from proveout.jobs.checks import checks_of
from proveout.jobs.home import OF_ORDER, Home
from proveout.jobs.password import Password, kept_password
from proveout.jobs.records import records_of_home
from proveout.jobs.tasks import Tasks, tasks_folder
from proveout.jobs.trying import tries_of
from proveout.quantities.errors import ProveoutError
from proveout.records.records import Records

ROOT = Path(__file__).resolve().parent.parent
OUT = ROOT / "docs" / "desk"
SIZES = {"desk": (1600, 1000), "tablet": (820, 1180)}
BYTES_MOST = 150_000
COLOURS = (20, 16, 12)
"""A page is ink and one accent: few colours show all of it. Fewer are taken until the file is small enough."""
ACCENT = (0x9E, 0x2B, 0x1A)
"""Always one of them, however little of a page is drawn in it."""
SETTLE_MS, LOAD_LIMIT_MS = 1500, 180_000
CALLED = "~/parts"
RENAMED = """([before, after]) => {
    const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) texts.currentNode.data = texts.currentNode.data.replaceAll(before, after);
}"""
"""The folder of whoever takes the pictures is nobody's business: it is called so on them."""
PAGES_OF_PART = ("work", "proofs", "charts", "try", "compare", "revision", "questions", "papers", "check")

NOTHING_BEING_DRAWN = "!document.querySelector('img[data-mark], p[data-drawn], main [data-gone], figure[data-renew]')"


@dataclass(frozen=True)
class Shot:
    """A page to take: the name of its picture, and its address."""

    name: str
    path: str


def shots(home: Home) -> tuple[Shot, ...]:
    """The pages of a home: the shelf, its first order, a batch, and all pages of the first planned part."""
    entries = [entry for entry in home.entries() if entry.is_planned]
    if not entries:
        message = f"no plan lies beside {home.root}"
        raise SystemExit(message)
    address = entries[0].parts[0]
    part = f"/parts/{address}"
    station = home.place(address).plan.clampings[0].id
    found = [
        Shot("shelf", "/"),
        Shot("entry", f"/entries/{quote(entries[0].name)}"),
        Shot("under-way", "/work"),
        Shot("shop", "/shop"),
        Shot("shop-row", "/shop/machine/1"),
        Shot("batches", "/batches"),
        Shot("stock", "/stock"),
        Shot("changes", "/changes"),
        Shot("lessons", "/lessons"),
        Shot("people", "/people"),
        Shot("entry-questions", f"/entries/{quote(entries[0].name)}/questions"),
        Shot("route", part),
        Shot("station", f"{part}/stations/{quote(station, safe='')}"),
        Shot("proof", f"{part}/proofs/{quote(home.place(address).plan.proofs[0].id)}"),
        Shot("batch-ask", f"{part}/batch"),
    ]
    found += [Shot(name, f"{part}/{name}") for name in PAGES_OF_PART]
    found += _long_work(home, [entry_part for entry in entries for entry_part in entry.parts])
    found += _batch(home)
    order = next((entry.name for entry in entries if OF_ORDER in entry.parts[0]), None)
    if order:
        found += [Shot("order", f"/orders/{quote(order)}"), Shot("replan", f"/orders/{quote(order)}/replan")]
    return tuple(found)


def _long_work(home: Home, addresses: list[str]) -> list[Shot]:
    """What was worked out when somebody asked for it: tries, checks of programs, new revisions of the solid."""
    tasks, found = Tasks(tasks_folder(home.plans)), list[Shot]()
    for address in addresses:
        part, tries = f"/parts/{address}", tries_of(home, address)
        of_grip = [id for id, told in tries.items() if told.is_as_cut]
        anew = [id for id, told in tries.items() if not told.is_as_cut]
        found += [Shot("tried", f"{part}/tries/{id}") for id in of_grip[:1]]
        found += [Shot("compared", f"{part}/compare?with={quote(f'try {id}')}") for id in anew[:1]]
        found += [Shot("check-found", task.page) for task in checks_of(tasks, address)[:1]]
        revisions = (task for task in tasks.all(kind="revision") if task.subject == f"revision of {address}")
        found += [Shot("revision-found", task.page) for task in list(revisions)[:1]]
    return found


def _batch(home: Home) -> list[Shot]:
    """The first batch that is released, else the first; none where nobody asked for any. Then the floor."""
    with Records(records_of_home(home)) as records:
        rows = sorted(records.rows("batches"), key=lambda row: not row["blanks_count"])
        found = [Shot("batch", f"/batches/{row['batch']}") for row in rows[:1]]
        found += [Shot("batch-charts", f"/batches/{row['batch']}/charts") for row in rows[:1] if row["blanks_count"]]
        found += [Shot("close-out", f"/batches/{row['batch']}/close-out") for row in rows[:1] if row["blanks_count"]]
        found += [Shot("change", f"/changes/{ending.id}") for _, ending in every_change(records)[:1]]
        # the step of the floor that is shown: a mill's where blanks wait at one, else the first that anything waits at
        open_steps = sorted(
            (row for row in records.rows("counts") if row["waiting_count"]), key=lambda row: row["kind"] != "mill"
        )  # fmt: skip
    found += [Shot("floor", "/floor")]
    for row in open_steps[:1]:
        station = f"/floor/{row['station']}"
        found += [Shot("floor-station", station), Shot("floor-step", f"{station}/{row['step']}/{row['batch']}")]
    return found


def take(browser: Browser, base: str, shot: Shot, size: tuple[int, int], *, root: Path) -> bytes:
    """A page as it first shows, as PNG; a page that is not there is told.   root: of the home, as its pages say it."""
    context = browser.new_context(base_url=base, viewport={"width": size[0], "height": size[1]}, bypass_csp=True)
    try:
        page = context.new_page()
        answer = page.goto(shot.path, wait_until="networkidle", timeout=LOAD_LIMIT_MS)
        if answer is None or not answer.ok:
            message = f"{shot.path}: {answer.status if answer else 'no answer'}"
            raise LookupError(message)
        page.wait_for_function(NOTHING_BEING_DRAWN, timeout=LOAD_LIMIT_MS)
        page.wait_for_timeout(SETTLE_MS)
        page.evaluate(RENAMED, [str(root), CALLED])
        return page.screenshot(timeout=LOAD_LIMIT_MS)
    finally:
        context.close()


def small(png: bytes) -> bytes:
    """The picture with few colours, below the limit."""
    picture, made = Image.open(io.BytesIO(png)).convert("RGB"), io.BytesIO()
    for colours in COLOURS:
        made = io.BytesIO()
        own = picture.quantize(colours - 1, dither=Image.Dither.NONE).getpalette() or []
        few = Image.new("P", (1, 1))
        few.putpalette([*own[: 3 * (colours - 1)], *ACCENT])
        picture.quantize(palette=few, dither=Image.Dither.NONE).save(made, "PNG", optimize=True)
        if made.tell() < BYTES_MOST:
            return made.getvalue()
    message = f"a picture of {made.tell()} bytes with {COLOURS[-1]} colours is too large for the documents"
    raise ValueError(message)


def main() -> int:
    """Take them all; what could not be taken is told and counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("home", type=Path, help="a folder of designs and orders with their plans beside it")
    parser.add_argument("--out", type=Path, default=OUT, help="default: docs/desk")
    parser.add_argument("--only", default="", help="names of pages, with commas between")
    given = parser.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    home, missing = Home(given.home), 0
    closed = Door(Password(kept_password("only for a picture")))
    with served(home) as base, served(home, door=closed) as behind, chromium() as browser:
        for shot in (*shots(home), Shot("sign-in", "/sign-in")):
            if given.only and shot.name not in given.only.split(","):
                continue
            for size, pixels in SIZES.items():
                try:
                    at = behind if shot.path == "/sign-in" else base
                    made = small(take(browser, at, shot, pixels, root=home.root))
                except (LookupError, ValueError, ProveoutError, BrowserError) as fault:
                    print(f"not taken: {shot.path}: {fault}", file=sys.stderr)
                    missing += 1
                    continue
                (given.out / f"{shot.name}-{size}.png").write_bytes(made)
                print(f"{shot.name}-{size}.png {len(made)} bytes")
    return 1 if missing else 0


if __name__ == "__main__":
    raise SystemExit(main())
