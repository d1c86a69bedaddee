"""Reckoned times as a machine really takes them, where batches or the owner told its own factors."""

from __future__ import annotations

from proveout.model.fact import Fact, exact_fact
from proveout.model.minute_factors import MinuteKind, factor_of, factored
from proveout.model.shop import Machine


def timed(machine: Machine, reckoned: Fact, kind: MinuteKind) -> Fact:
    """The time times the machine's own factor for its kind, with the factor's ends; as it is where nobody told one."""
    factor = factor_of(machine.minutes, kind)
    return reckoned if factor is None else factored(reckoned.nominal, factor)


def stated(seconds: float) -> Fact:
    """A time as the shop file has it."""
    return exact_fact(round(seconds, 6), "s", "shop-file", "owner's guess")
