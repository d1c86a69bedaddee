"""What is on the solid: faces, holes, features, corner radii, threads as written, directions to look from."""

from proveout.stages.survey.decide import decide
from proveout.stages.survey.numbering import numbered_as
from proveout.stages.survey.retie import retied
from proveout.stages.survey.threads import with_threads

__all__ = ["decide", "numbered_as", "retied", "with_threads"]
