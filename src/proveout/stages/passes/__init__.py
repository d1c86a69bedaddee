"""Passes: where each cutter goes, move by move, for every face and hole that a clamping promises."""

from proveout.stages.passes.decide import decide
from proveout.stages.passes.jaw_forms import FormedJaws, decide_form

__all__ = ["FormedJaws", "decide", "decide_form"]
