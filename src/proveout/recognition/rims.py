"""The middle of rims, by their curves in space and not by the mesh, nor by where a file has them on a surface."""

from __future__ import annotations

import math

import numpy as np

from proveout.model.solid import Edge
from proveout.recognition.web import Vec, Web, arc_ends_rad, is_closed


def rim_middle_mm(web: Web, numbers: tuple[int, ...]) -> Vec:
    """Middle of the rims round a run of regions, each edge by its length; what lies between two of them is no rim.

    An area's middle will not do: where a face ends in a free curve a file has that curve on the face's surface too,
    only about where it is in space, and another export has it elsewhere.
    """
    run = set(numbers)
    edges = {k.edge.index: k.edge for n in numbers for k in web.links[n] if k.other not in run}
    rims = [edges[i] for i in sorted(edges)] or web.edges_of(numbers)
    length = sum(edge.length_mm for edge in rims)
    return sum((edge_middle_mm(edge) * edge.length_mm for edge in rims), np.zeros(3)) / length


def edge_middle_mm(edge: Edge) -> Vec:
    """Middle of mass of one edge: exact of lines and arcs, of free curves by the points along it."""
    points = edge.points_mm
    if edge.kind == "circle":
        centre = np.array(edge.centre_mm)
        if is_closed(edge):
            return centre
        x = (points[0] - centre) / edge.radius_mm
        turn = arc_ends_rad(edge, x)[1]
        half = 0.5 * turn
        middle = x * math.cos(half) + np.cross(np.array(edge.axis), x) * math.sin(half)
        return centre + middle * (edge.radius_mm * math.sin(half) / half)
    sizes = np.linalg.norm(np.diff(points, axis=0), axis=1)
    return sizes @ (0.5 * (points[1:] + points[:-1])) / sizes.sum()
