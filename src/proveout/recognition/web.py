"""The faces of a solid joined where they lie on one surface, and what lies beside what across which kind of edge."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.mesh import triangle_areas_mm2, triangle_normals
from proveout.model.solid import Edge, Face, Solid, Surface

Vec = NDArray[np.float64]
PARALLEL = 1e-4
"""Sine of the angle below which two directions count as one: 0.006 degrees."""
SQUARE_ARC = 0.995


@dataclass(frozen=True, eq=False)
class Region:
    """Faces of one surface that touch. axis: of the surface, for a plane its outward normal.

    normals, areas_mm2, middles_mm: of the triangles of its mesh.
    """

    number: int
    faces: tuple[Face, ...]
    surface: Surface
    inward: bool
    area_mm2: float
    turn_rad: float
    axis: Vec
    normals: Vec
    areas_mm2: Vec
    middles_mm: Vec

    @property
    def kind(self) -> str:
        """Of its surface."""
        return self.surface.kind

    @property
    def face_ids(self) -> tuple[str, ...]:
        """Sorted."""
        return tuple(sorted(face.id for face in self.faces))


@dataclass(frozen=True, eq=False)
class Link:
    """An edge from one region to another."""

    edge: Edge
    other: int


class Web:
    """Regions by number and their links; what lies within one region is no link."""

    def __init__(self, solid: Solid) -> None:
        self.solid = solid
        normals = triangle_normals(solid.vertices_mm, solid.triangles)
        areas = triangle_areas_mm2(solid.vertices_mm, solid.triangles)
        middles = solid.vertices_mm[solid.triangles].mean(axis=1)
        starts = np.searchsorted(solid.triangle_face, np.arange(len(solid.faces) + 1))
        members: dict[int, list[Face]] = {}
        for face in solid.faces:
            members.setdefault(face.surface_group, []).append(face)
        self.of_face = {face.index: face.surface_group for face in solid.faces}
        self.regions: dict[int, Region] = {}
        for number, faces in members.items():
            rows = np.concatenate([np.arange(starts[f.index], starts[f.index + 1]) for f in faces])
            self.regions[number] = Region(
                number=number,
                faces=tuple(faces),
                surface=faces[0].surface,
                inward=faces[0].inward,
                area_mm2=sum(f.area_mm2 for f in faces),
                turn_rad=sum(f.turn_rad for f in faces),
                axis=np.array(faces[0].surface.axis),
                normals=normals[rows],
                areas_mm2=areas[rows],
                middles_mm=middles[rows],
            )
        self.links: dict[int, list[Link]] = {number: [] for number in self.regions}
        for edge in solid.edges:
            a, b = (self.of_face[i] for i in edge.faces)
            if a != b:
                self.links[a].append(Link(edge, b))
                self.links[b].append(Link(edge, a))

    def edges_of(self, numbers: Iterable[int]) -> list[Edge]:
        """Edges on the rim of any of these regions, each once."""
        found = {link.edge.index: link.edge for number in numbers for link in self.links[number]}
        return [found[index] for index in sorted(found)]

    def runs(self, among: Collection[int], joins: Callable[[int, Link], bool]) -> list[tuple[int, ...]]:
        """Regions of `among` that hang together by links that join, as sorted groups in order of their least number."""
        left, out = set(among), []
        for start in sorted(left):
            if start not in left:
                continue
            left.discard(start)
            run, front = {start}, [start]
            while front:
                here = front.pop()
                for link in self.links[here]:
                    if link.other in left and joins(here, link):
                        left.discard(link.other)
                        run.add(link.other)
                        front.append(link.other)
            out.append(tuple(sorted(run)))
        return out

    def beside(self, number: int, *convexities: str) -> set[int]:
        """Regions across edges of these convexities."""
        return {link.other for link in self.links[number] if link.edge.convexity in convexities}

    def span_mm(self, numbers: Iterable[int], direction: Vec) -> tuple[float, float]:
        """Extent of the rims of these regions along a unit direction; exact on lines and arcs."""
        ends = [edge_span_mm(edge, direction) for edge in self.edges_of(numbers)]
        return min(low for low, _ in ends), max(high for _, high in ends)

    def face_ids(self, numbers: Iterable[int]) -> tuple[str, ...]:
        """Ids of all faces of these regions, sorted."""
        return tuple(sorted(face.id for number in numbers for face in self.regions[number].faces))


def edge_span_mm(edge: Edge, direction: Vec) -> tuple[float, float]:
    """Extent of one edge along a unit direction, an arc's own bulge taken exactly."""
    along = edge.points_mm @ direction
    low, high = float(along.min()), float(along.max())
    if edge.kind != "circle":
        return low, high
    axis, centre = np.array(edge.axis), np.array(edge.centre_mm)
    level = direction - axis * float(axis @ direction)
    size = float(np.linalg.norm(level))
    if size < 1e-9:
        return low, high
    if is_closed(edge):
        middle, reach = float(centre @ direction), edge.radius_mm * size
        return middle - reach, middle + reach
    first, last = sorted(arc_ends_rad(edge, level / size))
    for turn, sense in ((0.0, 1.0), (np.pi, -1.0)):
        nearest = first + (turn - first) % (2.0 * np.pi)
        if nearest <= last:
            reach = float(centre @ direction) + sense * edge.radius_mm * size
            low, high = min(low, reach), max(high, reach)
    return low, high


def arc_ends_rad(edge: Edge, x: Vec) -> tuple[float, float]:
    """Angles of the first and last point of an arc about its axis, from a direction square to that, without a jump."""
    out = edge.points_mm - np.array(edge.centre_mm)
    angles = np.unwrap(np.arctan2(out @ np.cross(np.array(edge.axis), x), out @ x))
    return float(angles[0]), float(angles[-1])


def is_closed(edge: Edge) -> bool:
    """The edge ends where it begins."""
    return float(np.abs(edge.points_mm[0] - edge.points_mm[-1]).max()) < 1e-6


def is_parallel(a: Vec, b: Vec) -> bool:
    """Two unit directions lie on one line, either way round."""
    return float(np.linalg.norm(np.cross(a, b))) < PARALLEL


def is_square(a: Vec, b: Vec) -> bool:
    """Two unit directions stand at a right angle."""
    return abs(float(a @ b)) < PARALLEL


def loops_of(edges: list[Edge]) -> list[list[Edge]]:
    """Edges chained into closed rims by their ends, in no particular order within a rim."""
    parent = list(range(len(edges)))

    def find(i: int) -> int:
        while parent[i] != i:
            i = parent[i]
        return i

    ends: dict[tuple[int, ...], int] = {}
    for i, edge in enumerate(edges):
        for point in (edge.points_mm[0], edge.points_mm[-1]):
            key = tuple(int(v) for v in np.floor(point / 2e-3))
            near = {
                ends[k]
                for dx in (-1, 0, 1)
                for dy in (-1, 0, 1)
                for dz in (-1, 0, 1)
                if (k := (key[0] + dx, key[1] + dy, key[2] + dz)) in ends
            }
            for j in near:
                a, b = sorted((find(i), find(j)))
                parent[b] = a
            ends.setdefault(key, i)
    groups: dict[int, list[Edge]] = {}
    for i, edge in enumerate(edges):
        groups.setdefault(find(i), []).append(edge)
    return list(groups.values())
