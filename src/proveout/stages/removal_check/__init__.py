"""Replay every move on the blank and say what was left, what was cut too deep and what was struck."""

from proveout.stages.removal_check.decide import Measured, decide
from proveout.stages.removal_check.jaw_forms import prove_form

__all__ = ["Measured", "decide", "prove_form"]
