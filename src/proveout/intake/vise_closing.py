"""How hard a vise presses, from what its owner wrote: a measured force, its maker's chart, or closing it by hand."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from proveout.grip.clamp_force import clamp_force_from_chart_n
from proveout.intake.toml_words import Place, Word
from proveout.model.fact import OWNER_FILES, Fact, weaker_of
from proveout.quantities.errors import BadInput

CLOSED_BY = ("torque wrench", "hand")
CLOSING = (
    Word(
        stem="chart_torques", text="torques of the points of the maker's chart, from the lowest on", kind="numbers",
        measure="torque", low=0.0, high=500.0, field="chart_torques",
    ),
    Word(
        stem="chart_forces", text="force between the jaws at each of them; used at the torque above where no preload "
        "is written, and at any other torque", kind="numbers", measure="force", low=0.0, high=150.0,
        field="chart_forces",
    ),
    Word(
        stem="chart_spread", text="share by which the force may lie off the chart, either way; without it nobody leans "
        "on the chart", measure="ratio", low=0.01, high=0.5, field="chart_spread",
    ),
    Word(
        stem="closed_by", text="a torque wrench, or by hand: then the force may lie 0.4 of itself off, either way",
        kind="choice", choices=CLOSED_BY, default=CLOSED_BY[0], quiet=True,
    ),
    Word(
        stem="grip_reserve", text="how many times the cutting force its grip must bear, at the worst end of force, "
        "friction, jaw force and patch; without it once", measure="ratio", low=1.0, high=10.0,
        field="grip_reserve_ratio", default=1.0, quiet=True,
    ),
)  # fmt: skip
HAND_SPREAD_RATIO = 0.4
"""Common practice, no source: so much more or less a hand presses that has no torque wrench."""
CHART = "shop-file: the torque chart of the vise's maker"


def closing_of_words(values: dict[str, Any], place: Place) -> dict[str, Any]:
    """The vise's own fields for how it is closed; the words for it are taken out of `values`.

    A force that somebody measured or wrote counts before the chart. By hand it may be less or more by 0.4 of itself.
    """
    torques, forces, spread = (values.pop(name) for name in ("chart_torques", "chart_forces", "chart_spread"))
    is_by_hand = values.pop("closed_by") == CLOSED_BY[1]
    force = values["preload_n"]
    if torques or forces:
        _refuse_half_a_chart(torques, forces, place)
        if force is None:
            force = _by_chart(values["torque_n_mm"], torques, forces, spread, place)
    if is_by_hand and force is not None:
        force = by_hand(force)
    return {
        "preload_n": force, "is_hand_tight": is_by_hand, "chart_torques_n_mm": tuple(torques or ()),
        "chart_forces_n": tuple(forces or ()),
    }  # fmt: skip


def by_hand(force: Fact) -> Fact:
    """The interval of a force that a hand without a torque wrench makes: at least 0.4 of it either way."""
    words_of = (
        force.source if force.source in ("", *OWNER_FILES) else f"{force.source}; closed by hand, 40 % either way"
    )
    return Fact(
        low=min(force.low, (1.0 - HAND_SPREAD_RATIO) * force.nominal), nominal=force.nominal,
        high=max(force.high, (1.0 + HAND_SPREAD_RATIO) * force.nominal), unit=force.unit, source=words_of,
        strength=weaker_of(force.strength, "common practice"),
    )  # fmt: skip


def _refuse_half_a_chart(torques: Any, forces: Any, place: Place) -> None:
    if not torques or not forces or len(torques) != len(forces) or len(torques) < 2:
        raise BadInput(
            "A torque chart needs as many torques as forces, two or more", where=place.at("chart_torques_n_m"),
            value=f"{len(torques or ())} torques, {len(forces or ())} forces",
            do="write chart_torques_n_m and chart_forces_kn in pairs, read off the chart",
        )  # fmt: skip
    for name, row in (("chart_torques_n_m", torques), ("chart_forces_kn", forces)):
        if any(b <= a for a, b in pairwise(row)):
            raise BadInput(
                "A torque chart runs upward", where=place.at(name), value=", ".join(f"{v / 1000.0:g}" for v in row),
                do="write its points from the lowest torque to the highest",
            )  # fmt: skip


def _by_chart(torque: float | None, torques: Any, forces: Any, spread: float | None, place: Place) -> Fact:
    if torque is None:
        raise BadInput(
            "A torque chart tells the force only at a torque", where=place.at("torque_n_m"), value="nothing",
            do="write the torque that the vise is closed with",
        )  # fmt: skip
    if not torques[0] <= torque <= torques[-1]:
        raise BadInput(
            "The torque lies beyond the chart", where=place.at("torque_n_m"), value=f"{torque / 1000.0:g} N m",
            limit=f"{torques[0] / 1000.0:g} to {torques[-1] / 1000.0:g} N m",
            do="close the vise with a torque of the chart",
        )  # fmt: skip
    force = clamp_force_from_chart_n(
        torque_n_mm=torque, chart_torques_n_mm=tuple(torques), chart_forces_n=tuple(forces)
    )
    half = 0.0 if spread is None else spread * force  # without a spread nobody leans on it: a Fact says so by itself
    return Fact(
        low=force - half, nominal=force, high=force + half, unit="N", source=CHART, strength="published as quoted"
    )  # fmt: skip
