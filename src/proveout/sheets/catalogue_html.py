"""A catalogue as one page that needs nothing else: every part and its verdict, what the changers hold, shared bars."""

from __future__ import annotations

from html import escape

from proveout.model.catalogue import Catalogue, Changer
from proveout.model.shop import Shop
from proveout.sheets import html_parts as h
from proveout.sheets.cautions import BANNER
from proveout.sheets.ink import NOT_SHOWN, Ink
from proveout.sheets.names import sentence

PARTS_ACROSS = 12
SAID = {
    "ready": "ready", "not ready": "not ready", "refused": "refused, see below", "failed": "not planned, see below",
}  # fmt: skip


def catalogue_html(catalogue: Catalogue, *, shop: Shop, name: str = "") -> str:
    """The page as text.  name: of the folder."""
    return _page(_Sheet(catalogue, shop, marked=False), name)


def marked_catalogue(catalogue: Catalogue, *, shop: Shop) -> tuple[str, Ink]:
    """The page with everything printed marked, and its ink: for tests."""
    sheet = _Sheet(catalogue, shop, marked=True)
    return _page(sheet, ""), sheet.ink


class _Sheet:
    """The catalogue with its ink and plain names."""

    def __init__(self, catalogue: Catalogue, shop: Shop, *, marked: bool) -> None:
        self.catalogue, self.shop = catalogue, shop
        self.ink = Ink(roots={"catalogue": catalogue, "shop": shop}, marked=marked)
        self.plain = {thing.id: thing.name or thing.id for thing in (*shop.machines, *shop.cutters)}

    def name(self, *address: str | int) -> str:
        """An id of a machine or a cutter as people call it."""
        id = self.ink.at(*address)
        return self.ink.words(*address, as_text=self.plain.get(id, id))


def _page(sheet: _Sheet, name: str) -> str:
    title = f"Catalogue {name}".strip()
    sections = [
        ("parts", "The parts", _parts(sheet)),
        ("left", "What was not planned", _left(sheet)),
        ("changers", "What the changers hold", _changers(sheet)),
        ("bars", "Bars", _bars(sheet)),
        ("notes", "Notes", _notes(sheet)),
    ]
    return h.page(title=title, heading=title, opening=_verdict(sheet), sections=sections, foot=BANNER)


def _verdict(sheet: _Sheet) -> str:
    ready = "Every part is ready." if sheet.catalogue.ready else "Not every part is ready: cut only what is."
    return h.tag("p", h.text("strong", ready), class_="verdict")


def _parts(sheet: _Sheet) -> str:
    ink, rows, links = sheet.ink, [], []
    for i, entry in enumerate(sheet.catalogue.entries):
        for k, part in enumerate(entry.parts):
            at = ("catalogue", "entries", i, "parts", k)
            number = ink.words(*at, "number")
            rows.append(
                [
                    f"{number} {ink.words(*at, 'name')}".strip() if part.name != part.number else number,
                    ink.number(*at, "quantity", digits=0),
                    "ready" if part.ready else "not ready",
                    ink.number(*at, "open_count", digits=0),
                    " + ".join(sheet.name(*at, "machine_ids", n) for n in range(len(part.machine_ids))),
                    NOT_SHOWN if part.piece_s is None else ink.span(*at, "piece_s", unit="min:s"),
                    NOT_SHOWN if part.cost_each is None else ink.span(*at, "cost_each", digits=2),
                    sentence(ink.words(*at, "weakest")) if part.weakest else "",
                ]
            )
            links.append((number, part.folder))
    if not rows:
        return ""
    head = ["part", "pieces", "verdict", "proofs open", "machines", "min:s a piece", f"{sheet.shop.currency} a piece",
            "the weakest that is open"]  # fmt: skip
    table = h.table("Every part and how it stands", head, rows, numeric={1, 3, 5, 6})
    return table + h.part_links(links)


def _left(sheet: _Sheet) -> str:
    ink = sheet.ink
    rows = [
        [ink.words("catalogue", "entries", i, "path"), SAID[entry.state].split(",")[0],
         ink.words("catalogue", "entries", i, "said")]
        for i, entry in enumerate(sheet.catalogue.entries) if not entry.parts
    ]  # fmt: skip
    return h.table("Files that gave no plan", ["file", "what became of it", "why"], rows, numeric=set()) if rows else ""


def _changers(sheet: _Sheet) -> str:
    return "".join(_changer(sheet, i, one) for i, one in enumerate(sheet.catalogue.sharing.changers))


def _changer(sheet: _Sheet, i: int, changer: Changer) -> str:
    at = ("catalogue", "sharing", "changers", i)
    # where each part's name first stands, to print it from there
    first: dict[str, tuple[str | int, ...]] = {}
    for k, cutter in enumerate(changer.cutters):
        for n, name in enumerate(cutter.parts):
            first.setdefault(name, (*at, "cutters", k, "parts", n))
    parts = sorted(first)[:PARTS_ACROSS]
    rows = [_cutter_row(sheet, (*at, "cutters", k), parts) for k in range(len(changer.cutters))]
    head = ["cutter", "place", *(sheet.ink.words(*first[name]) for name in parts)]
    caption = f"{sheet.name(*at, 'machine_id')}: min:s a piece that each cutter works"
    said = _changer_words(sheet, at, changer)
    paste = "<p>In the shop file, so that they keep these numbers in every program:</p>"
    if len(first) > len(parts):
        said.append("The table has no room for every part; cutters.csv has all.")
    return (
        h.points(said)
        + h.table(caption, head, rows, numeric=set(range(1, len(head))))
        + (f"{paste}<pre>{escape(sheet.ink.words(*at, 'key'))}</pre>" if changer.key else "")
    )


def _cutter_row(sheet: _Sheet, at: tuple[str | int, ...], parts: list[str]) -> list[str]:
    """A cutter, its place and what it works on each part."""
    cutter = sheet.ink.at(*at)
    cells = [
        sheet.name(*at, "cutter_id"),
        "comes and goes" if cutter.place is None else sheet.ink.number(*at, "place", digits=0),
    ]
    for name in parts:
        place = cutter.parts.index(name) if name in cutter.parts else None
        if place is None:
            cells.append("")
        elif cutter.piece_s[place] is None:
            cells.append("used")
        else:
            cells.append(sheet.ink.number(*at, "piece_s", place, unit="min:s"))
    return cells


def _changer_words(sheet: _Sheet, at: tuple[str | int, ...], changer: Changer) -> list[str]:
    """How many cutters there are, who finds no place, and what is loaded for whom."""
    ink = sheet.ink
    places, count = ink.number(*at, "places_count", digits=0), ink.number(*at, "cutters_count", digits=0)
    said = [f"{sheet.name(*at, 'machine_id')}: {places} places, {count} cutters over all parts."]
    if changer.too_many:
        named = ", ".join(ink.words(*at, "too_many", k) for k in range(len(changer.too_many)))
        said.append(f"More cutters than there are places: {named}.")
    if changer.loads_count:
        proved = "and no choice of what stays needs fewer" if changer.status == "proved" else "perhaps not the fewest"
        loads = ink.number(*at, "loads_count", digits=0)
        said.append(f"When each part is run once {loads} cutters are loaded and measured, {proved}.")
        for name, ids in sorted(changer.guests.items()):
            cutters = ", ".join(sheet.name(*at, "guests", name, k) for k in range(len(ids)))
            said.append(f"For {ink.words(*at, 'guests', name, as_text=name)} load {cutters}.")
    elif not changer.too_many:
        said.append("All of them stay: nothing is loaded between parts.")
    return said


def _bars(sheet: _Sheet) -> str:
    ink, rows = sheet.ink, []
    for i, section in enumerate(sheet.catalogue.sharing.sections):
        at = ("catalogue", "sharing", "sections", i)
        rows.append(
            [
                ink.words(*at, "bar_id"),
                ", ".join(ink.words(*at, "parts", k) for k in range(len(section.parts))),
                ink.number(*at, "pieces_count", digits=0),
                ink.number(*at, "bars_count", digits=0),
                ink.number(*at, "price", digits=0, as_is=True),
            ]
        )
    if not rows:
        return ""
    head = ["section", "parts", "pieces", "bars", sheet.shop.currency]
    return h.table("Bars, each part sawn by itself", head, rows, numeric={2, 3, 4})


def _notes(sheet: _Sheet) -> str:
    notes = [sentence(sheet.ink.words("catalogue", "notes", i)) for i in range(len(sheet.catalogue.notes))]
    return h.points(notes) if notes else ""
