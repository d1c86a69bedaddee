"""Which way up, on which machine, held by what: fewest clampings that reach everything."""

from proveout.stages.clampings.decide import decide
from proveout.stages.clampings.place import place, without_idle_tilts
from proveout.stages.clampings.place_travels import place_travels
from proveout.stages.clampings.sequences import ways_of
from proveout.stages.clampings.travels import travels

__all__ = ["decide", "place", "place_travels", "travels", "ways_of", "without_idle_tilts"]
