"""Cutters: which cutter of the shop does what, with the reason, and what none of them can do."""

from proveout.stages.cutters.decide import decide

__all__ = ["decide"]
