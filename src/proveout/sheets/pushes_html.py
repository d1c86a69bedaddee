"""What the passes of a clamping push with over a turn of the cutter, on pages of a plan: peaks, means, both laws."""

from __future__ import annotations

from proveout.sheets import html_parts as h
from proveout.sheets.cautions import LOADS, SLENDER
from proveout.sheets.writer import Writer

TITLE = "What the passes push with, at most"
HOW = (
    "Each number at the hardest move of its pass, a dull edge, run-out and worst end of every interval in it: first "
    "the peak, at the hardest moment of a turn, then the mean of the whole turn. Round: along the edge's own speed; "
    "off the wall: square to that; along: up or down the cutter's axis, as helix and edges lift or drive in; across: "
    "round and off the wall together, in whatever direction is worst. Power is that at the edge. Bends: the cutter's "
    "tip, up to three times that of the cutter alone, as holder and spindle give way too; a dash where nobody knows. "
    "A drill that breaks through and a tap that turns back count as hard as going in."
)
LAWS = (
    "In the last column two published laws stand side by side for the peak round: by specific pressure, then by "
    "cutting and edge coefficients; where both are known the harder counts. Where they lie far apart, the shop's own "
    "spindle readings would tell."
)
HEADS = [
    "pass", "where", "round, N", "off wall, N", "along, N", "across, N", "torque, N\u202fm", "power, kW",
    "bends, mm", "both laws, N",
]  # fmt: skip
FIELDS: tuple[tuple[tuple[str, ...], str, int], ...] = (
    (("tangential_n", "mean_tangential_n"), "", 0), (("radial_n", "mean_radial_n"), "", 0),
    (("axial_n", "mean_axial_n"), "", 0), (("across_n",), "", 0), (("torque_n_mm", "mean_torque_n_mm"), "N m", 2),
    (("power_mw", "mean_power_mw"), "kW", 2), (("bent_mm",), "mm", 3), (("by_pressure_n", "by_edges_n"), "", 0),
)  # fmt: skip
"""Fields of PassPush that share a cell, unit as printed, decimals."""


def pushes_html(writer: Writer, index: int) -> str:
    """One row for like passes, folded away; nothing where the plan keeps no pushes.   index: of the clamping."""
    plan = writer.plan
    at = {one.pass_id: k for k, one in enumerate(plan.pass_pushes)}
    rows = []
    for like in writer.derived.clampings[plan.clampings[index].id].rows:
        own = [at[plan.passes[place].id] for place in like.places if plan.passes[place].id in at]
        if own:
            first = plan.passes[like.places[0]]
            rows.append([first.kind, writer.feature(*like.places), *(_cell(writer, own, *cell) for cell in FIELDS)])
    if not rows:
        return ""
    numeric = set(range(2, len(HEADS)))
    inner = (
        h.table(TITLE, HEADS, rows, numeric=numeric)
        + h.text("p", HOW)
        + h.text("p", LAWS)
        + h.text("p", f"{LOADS} {SLENDER}")
    )
    return h.tag("details", h.text("summary", f"Show {TITLE[0].lower()}{TITLE[1:]}") + inner)


def _cell(writer: Writer, own: list[int], fields: tuple[str, ...], unit: str, digits: int) -> str:
    return " / ".join(_most(writer, own, field, unit, digits) for field in fields)


def _most(writer: Writer, own: list[int], field: str, unit: str, digits: int) -> str:
    """The largest of like passes, at its own address; a dash where one of them is not known."""
    values = [getattr(writer.plan.pass_pushes[k], field) for k in own]
    if any(value is None for value in values):
        return "-"
    most = own[values.index(max(values))]
    return writer.ink.number("plan", "pass_pushes", most, field, unit=unit, digits=digits, bare=True)
