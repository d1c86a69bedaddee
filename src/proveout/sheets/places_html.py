"""The places of the tables on the page of a plan: picture, places, cycles, and what other ways would cost or save."""

from __future__ import annotations

from proveout.sheets import html_parts as h
from proveout.sheets.blocks import Cell
from proveout.sheets.pages_places import cycle_table, order_points, place_table
from proveout.sheets.places_picture import places_svg
from proveout.sheets.writer import Writer


def _plain(cell: Cell) -> str:
    return cell if isinstance(cell, str) else str(cell.get("text", ""))


def places_html(writer: Writer) -> str:
    """Each load with several places, then the ways named; empty where no machine has a choice."""
    parts = [load_html(writer, load) for load in range(len(writer.plan.table_loads))]
    return "".join(parts) + options_html(writer)


def load_html(writer: Writer, load: int) -> str:
    """One load: picture from above, what lies in each place, its cycles and their order."""
    one, parts = writer.plan.table_loads[load], []
    parts.append(h.text("h3", writer.shop_name("machines", one.machine_id)))
    svg = places_svg(writer, load, width_mm=180.0, height_mm=92.0, ids=f"pl{load}")
    parts.append(f"<figure>{svg}<figcaption>From above. Black wedge: stop.</figcaption></figure>")
    columns, rows = place_table(writer, load)
    parts.append(
        h.table(
            "What lies in each place",
            [c[0] for c in columns[:7]],
            [[_plain(c) for c in r[:7]] for r in rows],
            numeric={0, 4, 5, 6},
        )
    )
    columns, rows = cycle_table(writer, load)
    parts.append(h.table("Cycles", [c[0] for c in columns], [[_plain(c) for c in r] for r in rows], numeric={4}))
    parts.append(h.points(order_points(writer, load)))
    return "".join(parts)


def options_html(writer: Writer) -> str:
    """The ways of filling the tables that were named, with why each lost; empty where no machine has a choice."""
    plan, ink, rows = writer.plan, writer.ink, []
    if plan.metal_unknown:  # minutes and money of another metal decide nothing
        return ""
    for i, option in enumerate(plan.table_options):
        at = ("plan", "table_options", i)
        rows.append(
            [
                writer.title(*at, "text"),
                ink.number(*at, "seconds", unit="min:s"),
                writer.money(*at, "each"),
                "-" if writer.derived.options_more[i] is None else writer.money("derived", "options_more", i),
                writer.words(*at, "why_not") if option.why_not else "taken" if i == 0 else "",
            ]
        )
    caption = "Ways of filling the tables: machine running, and money of machine, set-ups and jaws, a piece"
    return (
        h.table(caption, ["way", "min:s", "a piece", "more than taken", "why not"], rows, numeric={1, 2, 3})
        if rows
        else ""
    )
