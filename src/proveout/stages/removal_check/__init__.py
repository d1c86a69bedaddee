"""Replay every move on the blank and say what was left, what was cut too deep and what was struck."""

from proveout.stages.removal_check.decide import decide

__all__ = ["decide"]
