"""Passes: where each cutter goes, move by move, for every face and hole that a clamping promises."""

from proveout.stages.passes.decide import decide

__all__ = ["decide"]
