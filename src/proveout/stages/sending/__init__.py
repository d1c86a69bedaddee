"""What goes out to finishers: whether the pieces are ready for it, and the order that goes with them."""

from proveout.stages.sending.decide import decide

__all__ = ["decide"]
