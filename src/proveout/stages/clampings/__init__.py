"""Which way up, on which machine, held by what: fewest clampings that reach everything."""

from proveout.stages.clampings.decide import decide
from proveout.stages.clampings.place import place

__all__ = ["decide", "place"]
