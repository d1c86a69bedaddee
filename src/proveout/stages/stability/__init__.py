"""Whether a cutter chatters: by its measured response, or the test cut that tells."""

from proveout.stages.stability.decide import decide

__all__ = ["decide"]
