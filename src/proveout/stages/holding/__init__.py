"""Does the grip keep the work, pass by pass, at the worst end of every interval."""

from proveout.stages.holding.clamp_force import clamp_forces
from proveout.stages.holding.decide import decide
from proveout.stages.holding.pinned import closed_with, torque_pin_proof
from proveout.stages.holding.squeeze import Work

__all__ = ["Work", "clamp_forces", "closed_with", "decide", "torque_pin_proof"]
