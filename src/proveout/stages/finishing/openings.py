"""Find where a bath gets into a plugged hole beside its plug: through holes and faces that open into it."""

from __future__ import annotations

import numpy as np

from proveout.model.solid import Solid
from proveout.model.work import Hole, Survey

MOUTH_MM = 1e-3  # an edge that comes this near to an end of a hole runs round its mouth


def side_openings(hole: Hole, *, solid: Solid, survey: Survey, masked: frozenset[str]) -> tuple[str, ...]:
    """What opens into a hole elsewhere than at its mouths and takes the coat, holes first: "hole 2 (Ø6)", "face 7".

    Args:     hole: of the survey.   solid: the one surveyed.   masked: ids of the faces that take no coat.
    Returns:  names by balloon, each once; empty for a hole that a plug at each mouth shuts.
    Valid:    a mouth on a slanted or round face counts as a mouth: its edge reaches the depth of the entry.
    """
    own = survey.faces_within(hole)
    inward, entry = -np.array(hole.outward), np.array(hole.entry_mm)
    first = min(step.depth_low_mm for step in hole.steps)
    within = {face_id: other for other in survey.holes if other.id != hole.id
              for face_id in survey.faces_within(other)}  # fmt: skip
    balloons = {note.face_id: note.balloon for note in survey.faces}
    found: set[tuple[int, int, str]] = set()
    for edge in solid.edges:
        ids = [solid.faces[place].id for place in edge.faces]
        beyond = [face_id for face_id in ids if face_id not in own]
        if len(beyond) != 1 or beyond[0] in masked:
            continue
        depths = (edge.points_mm - entry) @ inward
        if depths.min() <= first + MOUTH_MM or (hole.is_through and depths.max() >= hole.depth_mm - MOUTH_MM):
            continue
        other = within.get(beyond[0])
        if other is None:
            found.add((1, balloons[beyond[0]], f"face {balloons[beyond[0]]}"))
        else:
            found.add((0, other.balloon, f"hole {other.balloon} (Ø{other.diameter_mm:g})"))
    return tuple(name for _, _, name in sorted(found))


def plug_words(openings: tuple[str, ...]) -> str:
    """What a plug must do in a hole that opens elsewhere too; empty where nothing does."""
    if not openings:
        return ""
    named = openings[0] if len(openings) == 1 else f"{', '.join(openings[:-1])} and {openings[-1]}"
    it = "it" if len(openings) == 1 else "them"
    opens = "opens" if len(openings) == 1 else "open"
    return f"; {named} {opens} into it: a plug in the mouth alone lets the bath in, so fill past {it} or plug {it} too"
