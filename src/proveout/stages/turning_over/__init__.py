"""From one clamping to the next: steps where cuts meet, sizes between them, bow after facing, and the slab faced."""

from proveout.stages.turning_over.decide import decide

__all__ = ["decide"]
