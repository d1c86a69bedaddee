"""The numbers that an owner's job file gives to holes and faces, put on a solid by their ids."""

from __future__ import annotations

import msgspec

from proveout.model.job import Balloon
from proveout.model.work import Survey


def numbered_as(survey: Survey, balloons: tuple[Balloon, ...]) -> Survey:
    """The survey with the numbers of the job file, so that a changed solid cannot shift what stands at a number.

    A hole or face that the job file does not name takes a number that is written nowhere in it; a number whose hole or
    face is gone stands for nothing.
    """
    written = {balloon.id: balloon.number for balloon in balloons}
    if not written:
        return survey
    own = {hole.id: hole.balloon for hole in survey.holes}
    own |= {note.face_id: note.balloon for note in survey.faces if not note.hole_id}
    taken = set(written.values())
    free = max([*taken, *own.values()])
    given: dict[str, int] = {}
    for name, number in sorted(own.items(), key=lambda pair: (pair[1], pair[0])):
        if name in written:
            given[name] = written[name]
        elif number not in taken:
            given[name] = number
        else:
            free += 1
            given[name] = free
    return msgspec.structs.replace(
        survey,
        holes=tuple(msgspec.structs.replace(hole, balloon=given[hole.id]) for hole in survey.holes),
        faces=tuple(msgspec.structs.replace(n, balloon=given[n.hole_id or n.face_id]) for n in survey.faces),
    )
