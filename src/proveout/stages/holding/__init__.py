"""Does the grip keep the work, pass by pass, at the worst end of every interval."""

from proveout.stages.holding.clamp_force import clamp_forces
from proveout.stages.holding.decide import decide
from proveout.stages.holding.squeeze import Work

__all__ = ["Work", "clamp_forces", "decide"]
