"""What the designer should be asked before release; none of it blocks release."""

from proveout.stages.concerns.decide import decide

__all__ = ["decide"]
