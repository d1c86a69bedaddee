"""Force, torque, power and speed of every pass and move against cutter and spindle."""

from proveout.stages.loads.decide import decide

__all__ = ["decide"]
