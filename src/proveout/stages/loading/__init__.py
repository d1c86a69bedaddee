"""Loading: no wrong load that the jaws take may go unnoticed."""

from proveout.stages.loading.decide import decide

__all__ = ["decide"]
