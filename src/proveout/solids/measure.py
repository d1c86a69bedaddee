"""From a kernel solid to the model's: exact measures, faces and edges under their addresses, and the mesh."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray
from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps

from proveout.model.solid import Edge, Face, Point, Solid, Surface
from proveout.quantities.errors import Unreadable
from proveout.solids import places
from proveout.solids.edges import FoundEdge, border_text, find_edges
from proveout.solids.faces import area_and_centroid, face_text, normal_near, point_of, surface_key, surface_of
from proveout.solids.mesh import Mesh, mesh_of
from proveout.solids.shapes import brep_from_shape, shape_from_brep, sub_shapes

MESH_TRIANGLE_LIMIT_COUNT = 3_000_000
_FACETED_FROM_COUNT, _FACETED_TURN_RAD = 24, math.radians(20.0)


def volume_of(shape: Any) -> float:
    """Exact volume in mm3; negative for a solid that is inside out."""
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties)
    return properties.Mass()


def area_of(shape: Any) -> float:
    """Exact area in mm2."""
    properties = GProp_GProps()
    BRepGProp.SurfaceProperties_s(shape, properties)
    return properties.Mass()


def exact_box(shape: Any) -> tuple[Point, Point]:
    """Lowest and highest corner in mm to 1e-6, from the exact geometry and without tolerances."""
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, box, False, False)  # noqa: FBT003  the kernel takes them by position
    low, high = point_of(box.CornerMin()), point_of(box.CornerMax())
    return _without_noise(low), _without_noise(high)


def _without_noise(point: Point) -> Point:
    return (round(point[0], 6) + 0.0, round(point[1], 6) + 0.0, round(point[2], 6) + 0.0)


def is_faceted(shape: Any) -> bool:
    """Only flat faces, many of them, and most are triangles or meet a neighbour at a small angle."""
    faces = sub_shapes(shape, "face")
    if len(faces) < _FACETED_FROM_COUNT:
        return False
    if any(surface_of(face)[0].kind != "plane" for face in faces):
        return False
    triangles = sum(len(sub_shapes(face, "edge")) == 3 for face in faces)
    if triangles > 0.6 * len(faces):
        return True
    edges = find_edges(shape, faces, deflection_mm=1.0)
    shallow = sum(0.0 < edge.turn_rad < _FACETED_TURN_RAD for edge in edges)
    return shallow > 0.2 * len(edges)


def solid_from_shape(shape: Any, *, name: str, unit_declared: str, deflection_mm: float) -> Solid:
    """The model's solid from a kernel solid in mm."""
    brep = brep_from_shape(shape)
    shape = shape_from_brep(brep)
    faces = sub_shapes(shape, "face")
    mesh = mesh_of(shape, faces, deflection_mm=deflection_mm)
    if len(mesh.triangles) > MESH_TRIANGLE_LIMIT_COUNT:
        raise Unreadable(
            "The solid is too detailed for its mesh",
            where=name,
            value=f"{len(mesh.triangles)} triangles",
            limit=f"{MESH_TRIANGLE_LIMIT_COUNT}",
            do="leave out engraved text or textures, or plan a smaller solid",
        )
    found_edges = find_edges(shape, faces, deflection_mm=deflection_mm)
    borders: list[list[str]] = [[] for _ in faces]
    for edge in found_edges:
        for place in set(edge.faces):
            borders[place].append(border_text(edge))
    drafts = [_draft(face, border) for face, border in zip(faces, borders, strict=True)]
    order, ids = _sorted_ids(
        [draft[0] for draft in drafts], [draft[1] for draft in drafts], [draft[6] for draft in drafts]
    )
    rank = {place: index for index, place in enumerate(order)}
    edges, edge_codes = _edges(found_edges, rank)
    groups = _groups([surface_key(draft[2], inward=draft[3]) for draft in drafts], found_edges, rank)
    mesh = _reordered(mesh, rank)
    model_faces = tuple(
        _face(
            faces[place],
            drafts[place],
            face_id=ids[index],
            index=index,
            place=place,
            group=groups[place],
            edges=edges,
            mesh=mesh,
        )
        for index, place in enumerate(order)
    )
    for array in (mesh.vertices_mm, mesh.triangles, mesh.triangle_face):
        array.setflags(write=False)
    low, high = exact_box(shape)
    volume = volume_of(shape)
    edge_tolerance = max((BRep_Tool.Tolerance_s(edge) for edge in sub_shapes(shape, "edge")), default=0.0)
    return Solid(
        name=name,
        faces=model_faces,
        edges=edges,
        vertices_mm=mesh.vertices_mm,
        triangles=mesh.triangles,
        triangle_face=mesh.triangle_face,
        volume_mm3=volume,
        area_mm2=area_of(shape),
        low_mm=low,
        high_mm=high,
        brep=brep,
        digest=_solid_digest(model_faces, drafts, edge_codes, volume_mm3=volume),
        unit_declared=unit_declared,
        edge_tolerance_max_mm=edge_tolerance,
        mesh_deflection_mm=mesh.deflection_mm,
        mesh_is_closed=mesh.is_closed,
        is_valid=BRepCheck_Analyzer(shape).IsValid(),
    )


_Draft = tuple[str, str, Surface, bool, float, float, Point]


def _draft(face: Any, border: list[str]) -> _Draft:
    """Text, digest, surface, inward, turn, area and centroid of one face."""
    surface, inward, turn = surface_of(face)
    area, centroid = area_and_centroid(face)
    key = (*surface_key(surface, inward=inward), *sorted(border))
    return (
        face_text(surface, inward=inward, centroid=centroid),
        places.digest(key),
        surface,
        inward,
        turn,
        area,
        centroid,
    )


def _solid_digest(faces: tuple[Face, ...], drafts: list[_Draft], edge_codes: list[str], *, volume_mm3: float) -> str:
    """Addresses, and beyond them nine digits of area, centroid and volume: a change inside a face shows as well."""
    measures = [f"{face.area_mm2:.9g} " + " ".join(f"{v:.6f}" for v in face.centroid_mm) for face in faces]
    codes = [drafts[face.brep_index][1] for face in faces]
    return places.digest([f"{volume_mm3:.9g}", *codes, *measures, *sorted(edge_codes)])


def _sorted_ids(texts: list[str], digests: list[str], centroids: list[Point]) -> tuple[list[int], list[str]]:
    """Order of the places by text, digest and (where these agree, as for two halves of a hole) centroid; their ids."""
    coarse = [tuple(places.rounded(value, step=1e-2) for value in centroid) for centroid in centroids]
    order = sorted(range(len(texts)), key=lambda place: (texts[place], digests[place], coarse[place], place))
    ids = places.addresses([texts[place] for place in order], [digests[place] for place in order])
    return order, ids


def _edges(found: list[FoundEdge], rank: dict[int, int]) -> tuple[tuple[Edge, ...], list[str]]:
    texts, codes = [], []
    for edge in found:
        size = f"r{places.fixed(edge.radius_mm, digits=3)} " if edge.kind == "circle" else ""
        texts.append(f"{edge.kind} {size}{edge.convexity} {places.fixed(edge.length_mm, digits=3)}")
        middle = [places.rounded(value, step=1e-2) for value in edge.middle_mm]
        codes.append(places.digest([border_text(edge), *middle]))
    order, ids = _sorted_ids(texts, codes, [edge.middle_mm for edge in found])
    edges = []
    for index, place in enumerate(order):
        edge = found[place]
        a, b = sorted((rank[edge.faces[0]], rank[edge.faces[1]]))
        points = edge.points_mm.copy()
        points.setflags(write=False)
        edges.append(
            Edge(
                id=ids[index],
                index=index,
                faces=(a, b),
                kind=edge.kind,
                length_mm=edge.length_mm,
                convexity=edge.convexity,
                turn_rad=edge.turn_rad,
                points_mm=points,
                radius_mm=edge.radius_mm,
                centre_mm=edge.centre_mm,
                axis=edge.axis,
            )
        )
    return tuple(edges), codes


def _groups(keys: list[tuple[object, ...]], edges: list[FoundEdge], rank: dict[int, int]) -> dict[int, int]:
    """For each kernel place the lowest index of the chain of touching faces on one surface."""
    parent = list(range(len(keys)))

    def find(i: int) -> int:
        while parent[i] != i:
            i = parent[i]
        return i

    for edge in edges:
        a, b = edge.faces
        if edge.convexity == "smooth" and keys[a] == keys[b] and keys[a][0] != "other":
            low, high = sorted((find(a), find(b)))
            parent[high] = low
    lowest: dict[int, int] = {}
    for place in range(len(keys)):
        root = find(place)
        lowest[root] = min(lowest.get(root, len(keys)), rank[place])
    return {place: lowest[find(place)] for place in range(len(keys))}


def _reordered(mesh: Mesh, rank: dict[int, int]) -> Mesh:
    """The mesh with triangles sorted by the model's face index."""
    ranks = np.array([rank[place] for place in range(len(rank))], np.int32)
    owner = ranks[mesh.triangle_face] if len(mesh.triangle_face) else mesh.triangle_face
    order = np.argsort(owner, kind="stable")
    return Mesh(mesh.vertices_mm, mesh.triangles[order], owner[order], mesh.deflection_mm, mesh.is_closed)


def _face(
    face: Any, draft: _Draft, *, face_id: str, index: int, place: int, group: int, edges: tuple[Edge, ...], mesh: Mesh
) -> Face:
    _, _, surface, inward, turn, area, centroid = draft
    first, last = np.searchsorted(mesh.triangle_face, [index, index + 1])
    points = mesh.vertices_mm[np.unique(mesh.triangles[first:last])]
    if len(points) == 0:
        points = np.array([centroid])
    axis = np.array(surface.axis)
    along = (points - np.array(surface.origin_mm)) @ axis
    return Face(
        id=face_id,
        index=index,
        surface=surface,
        area_mm2=area,
        centroid_mm=centroid,
        normal=normal_near(face, BRepAdaptor_Surface(face), centroid),
        inward=inward,
        low_mm=_point(points.min(axis=0)),
        high_mm=_point(points.max(axis=0)),
        along_low_mm=round(float(along.min()), 9) + 0.0,
        along_high_mm=round(float(along.max()), 9) + 0.0,
        turn_rad=_turn_from_points(points, surface) if math.isnan(turn) else turn,
        surface_group=group,
        edge_indices=tuple(edge.index for edge in edges if index in edge.faces),
        brep_index=place,
    )


def _turn_from_points(points: NDArray[np.float64], surface: Surface) -> float:
    """Angle about the axis that the points cover: the whole turn less the widest gap, whole when no gap stands out."""
    axis, centre = np.array(surface.axis), np.array(surface.origin_mm)
    helper = np.eye(3)[int(np.argmin(np.abs(axis)))]
    x = np.cross(helper, axis)
    x /= np.linalg.norm(x)
    angles = np.sort(np.arctan2((points - centre) @ np.cross(axis, x), (points - centre) @ x))
    gaps = np.append(np.diff(angles), angles[0] + 2.0 * math.pi - angles[-1])
    widest = float(gaps.max())
    return 2.0 * math.pi if widest < 0.4 else 2.0 * math.pi - widest


def _point(values: NDArray[np.float64]) -> Point:
    return (float(values[0]), float(values[1]), float(values[2]))
