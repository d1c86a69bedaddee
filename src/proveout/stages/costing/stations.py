"""Which times make which line of the cost: once for the sum of worst ends, and again for the band."""

from __future__ import annotations

from collections.abc import Iterable

from proveout.model.shop import Machine

BENCH = "bench"
SAW = "saw"

Group = tuple[str, dict[str, str]]


def piece_groups(machines: Iterable[Machine]) -> tuple[Group, ...]:
    """Lines of each piece: per, and the name of the line by station."""
    return (
        ("piece", {machine.id: f"machine {machine.id}" for machine in machines}),
        ("piece", {SAW: "saw"}),
        ("piece", {BENCH: "bench"}),
    )


def batch_groups(machines: Iterable[Machine]) -> tuple[Group, ...]:
    """Lines of the whole batch and of the design, likewise."""
    ids = [machine.id for machine in machines]
    return (
        ("batch", {SAW: "saw, whole batch"}),
        ("batch", {id: f"set-ups on {id}" for id in ids}),
        ("design", {BENCH: "programming"}),
        ("design", {id: f"prove-out and jaws on {id}" for id in ids}),
    )
