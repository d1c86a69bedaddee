"""Force, torque, power and speed of every pass and move against cutter and spindle."""

from proveout.stages.loads.decide import decide
from proveout.stages.loads.proofs import EFFICIENCY

__all__ = ["EFFICIENCY", "decide"]
