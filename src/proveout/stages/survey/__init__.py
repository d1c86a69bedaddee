"""What is on the solid: faces, holes with their coaxial steps, corner radii, directions to look from."""

from proveout.stages.survey.decide import decide

__all__ = ["decide"]
