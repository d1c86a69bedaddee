"""What the passes of a clamping push with over a turn of the cutter, on pages of a plan: peaks, means, both laws."""

from __future__ import annotations

from proveout.sheets import html_parts as h
from proveout.sheets.writer import Writer

TITLE = "What the passes push with, at most"
HOW = (
    "Each number at the hardest move of its pass, with a dull edge, run-out and the worst end of every interval. Peak: "
    "at the hardest moment of a turn; mean: of the whole turn. Round: along the edge's own speed; off the wall: square "
    "to that; along: up or down the cutter's axis, as helix and edges lift or drive in; across: round and off the wall "
    "together, in whatever direction is worst. Power is that at the edge. Bends: the cutter's tip, up to three times "
    "that of the cutter alone, as holder and spindle give way too; a dash where nobody knows. A drill that breaks "
    "through and a tap that turns back count as hard as going in."
)
LAWS = (
    "Two published laws stand side by side for the push round: by specific pressure, and by cutting and edge "
    "coefficients; where both are known the harder counts. Where they lie far apart, the shop's own spindle readings "
    "would tell."
)
HEADS = [
    "pass", "where", "round, N: peak", "mean", "off the wall, N: peak", "mean", "along, N: peak", "mean",
    "across, N: peak", "torque, N\u202fm: peak", "mean", "power, kW: peak", "mean", "bends, mm",
    "round by pressure, N", "round by coefficients, N",
]  # fmt: skip
FIELDS: tuple[tuple[str, str, int], ...] = (
    ("tangential_n", "", 0), ("mean_tangential_n", "", 0), ("radial_n", "", 0), ("mean_radial_n", "", 0),
    ("axial_n", "", 0), ("mean_axial_n", "", 0), ("across_n", "", 0), ("torque_n_mm", "N m", 2),
    ("mean_torque_n_mm", "N m", 2), ("power_mw", "kW", 2), ("mean_power_mw", "kW", 2), ("bent_mm", "mm", 3),
    ("by_pressure_n", "", 0), ("by_edges_n", "", 0),
)  # fmt: skip
"""Field of PassPush, unit as printed, decimals."""


def pushes_html(writer: Writer, index: int) -> str:
    """One row for like passes, folded away; nothing where the plan keeps no pushes.   index: of the clamping."""
    plan = writer.plan
    at = {one.pass_id: k for k, one in enumerate(plan.pass_pushes)}
    rows = []
    for like in writer.derived.clampings[plan.clampings[index].id].rows:
        own = [at[plan.passes[place].id] for place in like.places if plan.passes[place].id in at]
        if own:
            first = plan.passes[like.places[0]]
            rows.append([first.kind, writer.feature(*like.places), *(_most(writer, own, *field) for field in FIELDS)])
    if not rows:
        return ""
    numeric = set(range(2, len(HEADS)))
    inner = h.table(TITLE, HEADS, rows, numeric=numeric) + h.text("p", HOW) + h.text("p", LAWS)
    return h.tag("details", h.text("summary", f"Show {TITLE[0].lower()}{TITLE[1:]}") + inner)


def _most(writer: Writer, own: list[int], field: str, unit: str, digits: int) -> str:
    """The largest of like passes, at its own address; a dash where one of them is not known."""
    values = [getattr(writer.plan.pass_pushes[k], field) for k in own]
    if any(value is None for value in values):
        return "-"
    most = own[values.index(max(values))]
    return writer.ink.number("plan", "pass_pushes", most, field, unit=unit, digits=digits, bare=True)
