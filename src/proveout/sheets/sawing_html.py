"""How the parts of an order are sawn together, as a part of the order's page."""

from __future__ import annotations

from proveout.model.sawing import OrderSawing
from proveout.model.shop import Shop
from proveout.sheets import html_parts as h
from proveout.sheets.ink import Ink

HEAD = ("bars", "length", "each gives", "left of each", "kg a bar")


def sawing_html(sawing: OrderSawing | None, ink: Ink, shop: Shop) -> str:
    """Each section with its bundles, remnants of the rack first; then the blanks chosen together."""
    if sawing is None or not sawing.sections:
        return ""
    out = []
    for i, section in enumerate(sawing.sections):
        at = ("order", "sawing", "sections", i)
        rows = []
        for k, row in enumerate(section.rows):
            place = (*at, "rows", k)
            whole = f"{ink.number(*place, 'times', digits=0)} x {ink.number(*place, 'bundle_count', digits=0)}"
            if row.tag:
                whole += f" from the rack: {ink.words(*place, 'tag')}, heat {ink.words(*place, 'heat')}"
            pieces = ", ".join(
                f"{ink.number(*place, 'pieces', n, 1, digits=0)} of "
                f"{ink.number(*place, 'pieces', n, 0, digits=2, unit='mm')}"
                for n in range(len(row.pieces))
            )
            if row.is_last_in_doubt:
                pieces += "; the last only if the saw cuts none long"
            left = ink.number(*place, "remnant_mm", digits=0, unit="mm")
            weighs = ink.number(*place, "bar_mass_kg", digits=1)
            rows.append([
                whole, ink.number(*place, "bar_length_mm", digits=0, unit="mm"), pieces,
                f"{left}, back to the rack with a tag" if row.is_kept else left,
                f"{weighs}, two persons or a hoist" if row.needs_two else weighs,
            ])  # fmt: skip
        parts = ", ".join(ink.words(*at, "lots", n, "part") for n in range(len(section.lots)))
        money = (
            f"{ink.number(*at, 'bars_count', digits=0)} new bar{'' if section.bars_count == 1 else 's'} at "
            f"{ink.number(*at, 'price', digits=2)} {shop.currency}"
        )
        alone = ink.number(*at, "alone_price", digits=2)
        proved = "nothing is cheaper" if section.status == "proved" else (
            f"not proved cheapest: at least {ink.number(*at, 'lower_bound', digits=2)}"
        )  # fmt: skip
        if section.heats_left_out:
            heats = ", ".join(ink.words(*at, "heats_left_out", n) for n in range(len(section.heats_left_out)))
            proved += f", and heats {heats} of the rack were not looked at"
        out.append(h.table(
            f"{ink.words(*at, 'bar_id')} for {parts}: {money} (each by itself {alone}); {proved}; "
            f"{ink.number(*at, 'strokes_count', digits=0)} strokes",
            list(HEAD), rows, numeric=set(),
        ))  # fmt: skip
    out.append(_blanks(sawing, ink, shop))
    out.append(_taken(sawing, ink, shop))
    return "".join(out)


def _taken(sawing: OrderSawing, ink: Ink, shop: Shop) -> str:
    """What became of the blanks chosen together, where the order asks for it."""
    found = sawing.taken
    if found is None:
        return ""
    at = ("order", "sawing", "taken")
    before = f"{ink.number(*at, 'planned_total', digits=2)} {shop.currency}"
    if not found.parts:
        return h.text(
            "p", f"Blanks were to be chosen together: {ink.words(*at, 'why')}. The order costs {before} in all."
        )
    bars = ", ".join(f"{ink.words(*at, 'parts', n)} on {ink.words(*at, 'bar_ids', n)}" for n in range(len(found.parts)))
    money = f"{before} before"
    if found.total is not None:
        money = f"{ink.number(*at, 'total', digits=2)} {shop.currency} in all, {before} before"
    verb = "Taken" if found.is_taken else "Not taken"
    bound = ""
    if sawing.blanks is not None:
        blanks = ("order", "sawing", "blanks")
        bound = (
            f" In bars, sawing and chips alone no choice looked at costs less than "
            f"{ink.number(*blanks, 'lower_bound', digits=2)} {shop.currency}; the plans as they stand cost "
            f"{ink.number(*blanks, 'planned_price', digits=2)}."
        )
    return h.text("p", f"{verb}, blanks chosen together: {bars}; {money}: {ink.words(*at, 'why')}.{bound}")


def _blanks(sawing: OrderSawing, ink: Ink, shop: Shop) -> str:
    """Whether other blanks would cost the whole order less."""
    found = sawing.blanks
    if found is None:
        return ""
    at = ("order", "sawing", "blanks")
    looked = ink.number(*at, "choices_count", digits=0)
    few = "" if found.is_whole else " Each changes one part alone: changes of several together were not looked at."
    if all(one.is_planned for one in found.blanks):
        return h.text("p", f"Of {looked} choices of blanks that the plans name none costs the order less.{few}")
    lines = [
        f"{ink.words(*at, 'blanks', n, 'part')} as {ink.words(*at, 'blanks', n, 'bar_id')}, its "
        f"{ink.words(*at, 'blanks', n, 'way')} along the bar, cut to "
        f"{ink.number(*at, 'blanks', n, 'cut_length_mm', digits=1, unit='mm')}"
        for n, one in enumerate(found.blanks)
        if not one.is_planned
    ]
    money = (
        f"{ink.number(*at, 'price', digits=2)} instead of {ink.number(*at, 'planned_price', digits=2)} {shop.currency}"
    )
    words = f"Of {looked} choices of blanks that the plans name another costs the order less in bars, sawing and chips"
    return h.text("p", f"{words}, {money}: pin these bars and plan again.{few}") + h.points(lines)
