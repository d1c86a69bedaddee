"""What is on the solid: faces, holes with their coaxial steps, corner radii, directions to look from."""

from proveout.stages.survey.decide import decide
from proveout.stages.survey.numbering import numbered_as

__all__ = ["decide", "numbered_as"]
