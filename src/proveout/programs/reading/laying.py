"""Moves that a program counts in a tilted plane, laid along the machine's axes."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping

import msgspec
import numpy as np

from proveout.geometry.arcs import XY, YZ, ZX, Arc, chords_mm
from proveout.model.course import Axes, Event, Motion, Turning
from proveout.programs.reading.turned import NOTHING, Floats, Plane, along, turned_axes

CHORD_MM = 0.0005
"""How far a chord may lie off an arc about no axis of the machine (our own)."""
PLANES_ABOUT = (YZ, ZX, XY)
Item = Motion | Turning | Event


def laid_along_machine(items: Iterable[Item], planes: Mapping[int, Plane]) -> list[Item]:
    """The items with every place in machine directions; an arc about no axis of the machine becomes chords.

    Args:     planes: by the number that an item's modes name.
    Returns:  the same objects where no tilted plane is in force or its axes are the machine's.
    """
    if not planes:
        return list(items)
    done: list[Item] = []
    known: dict[tuple[int, Axes], Floats] = {}
    for item in items:
        modes = item.before if isinstance(item, Turning) else item.modes
        if modes.plane == 0 or isinstance(item, Event):
            done.append(item)
            continue
        key = modes.plane, modes.turned_rad
        if key not in known:
            known[key] = turned_axes(planes[modes.plane], modes.turned_rad)
        axes = known[key]
        if np.array_equal(axes, np.eye(3)):
            done.append(item)
        elif isinstance(item, Turning):
            done.append(msgspec.structs.replace(item, start=along(axes, item.start)))
        else:
            done.extend(_laid(item, axes))
    return done


def _laid(motion: Motion, axes: Floats) -> list[Motion]:
    start, end = along(axes, motion.start), along(axes, motion.end)
    if motion.arc is None:
        return [msgspec.structs.replace(motion, start=start, end=end)]
    arc = _laid_arc(motion.arc, axes)
    if arc is not None:
        return [msgspec.structs.replace(motion, start=start, end=end, arc=arc)]
    if None in motion.start or None in motion.end or np.isnan(axes).any():
        return [msgspec.structs.replace(motion, start=start, end=(None, None, None), arc=None)]
    first, last = ((float(p[0] or 0.0), float(p[1] or 0.0), float(p[2] or 0.0)) for p in (motion.start, motion.end))
    points = [along(axes, (p[0], p[1], p[2])) for p in chords_mm(motion.arc, first, last, within_mm=CHORD_MM).tolist()]
    return [
        msgspec.structs.replace(motion, start=one, end=two, arc=None)
        for one, two in itertools.pairwise(points)
    ]  # fmt: skip


def _laid_arc(arc: Arc, axes: Floats) -> Arc | None:
    """The arc in machine directions, None where it turns about none of the machine's axes."""
    about = axes[:, 3 - sum(arc.plane)]
    axis = int(np.argmax(np.abs(about)))
    if np.isnan(about).any() or float(np.abs(np.delete(about, axis)).max()) > NOTHING:
        return None
    centre = np.zeros(3)
    centre[list(arc.plane)] = arc.centre_mm
    one, two = PLANES_ABOUT[axis]
    moved = axes @ centre
    turn = arc.turn_rad if about[axis] > 0.0 else -arc.turn_rad
    return Arc((one, two), (float(moved[one]), float(moved[two])), arc.radius_mm, turn)
