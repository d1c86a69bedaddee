"""Force, torque, power and speed of every pass against cutter and spindle."""

from proveout.stages.loads.decide import decide

__all__ = ["decide"]
