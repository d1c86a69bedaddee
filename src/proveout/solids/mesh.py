"""A mesh of the solid whose faces share their border points, so that it is closed wherever the solid is."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from OCP.BRep import BRep_Tool
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools
from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
from OCP.TopExp import TopExp, TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS

from proveout.solids.shapes import shape_map

ANGLE_RAD = 0.35


class Mesh(NamedTuple):
    """vertices_mm (v, 3) float64, triangles (t, 3) int32, triangle_face (t,) int32 kernel place of the face."""

    vertices_mm: NDArray[np.float64]
    triangles: NDArray[np.int32]
    triangle_face: NDArray[np.int32]
    deflection_mm: float
    is_closed: bool


def mesh_of(shape: Any, faces: list[Any], *, deflection_mm: float) -> Mesh:
    """Mesh at the deflection; where it does not close, finer and coarser ones are tried and the best is kept."""
    best: Mesh | None = None
    for factor, angle in ((1.0, ANGLE_RAD), (0.5, 0.2), (2.0, ANGLE_RAD), (0.3, 0.1)):
        mesh = _mesh_once(shape, faces, deflection_mm=deflection_mm * factor, angle_rad=angle)
        if mesh is not None and (best is None or mesh.is_closed):
            best = mesh
        if mesh is not None and mesh.is_closed:
            break
    if best is None:
        return Mesh(np.zeros((0, 3)), np.zeros((0, 3), np.int32), np.zeros(0, np.int32), deflection_mm, is_closed=False)
    return best


def _mesh_once(shape: Any, faces: list[Any], *, deflection_mm: float, angle_rad: float) -> Mesh | None:
    BRepTools.Clean_s(shape)
    BRepMesh_IncrementalMesh(shape, deflection_mm, False, angle_rad, False)  # noqa: FBT003  by position
    points, triangles, owners, starts, tables = [], [], [], [], []
    count, complete = 0, True
    for place, face in enumerate(faces):
        location = TopLoc_Location()
        table = BRep_Tool.Triangulation_s(face, location)
        tables.append((table, location))
        starts.append(count)
        if table is None:
            complete = False
            continue
        nodes, corners = _arrays(table)
        if not location.IsIdentity():
            nodes = _moved(nodes, location)
        if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
            corners = corners[:, [0, 2, 1]]
        points.append(nodes)
        triangles.append(corners + count)
        owners.append(np.full(len(corners), place, np.int32))
        count += len(nodes)
    if count == 0:
        return None
    vertices = np.concatenate(points)
    corners = np.concatenate(triangles)
    owner = np.concatenate(owners)
    root = _welded(shape, faces, tables, starts, count)
    mesh = _compact(vertices, root[corners], owner, deflection_mm)
    if complete and not mesh.is_closed:
        by_distance = _compact(*_welded_by_distance(mesh), deflection_mm)
        mesh = by_distance if by_distance.is_closed else mesh
    return mesh


def _arrays(table: Any) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    nodes = np.array([table.Node(i).Coord() for i in range(1, table.NbNodes() + 1)], np.float64)
    corners = np.array([table.Triangle(i).Get() for i in range(1, table.NbTriangles() + 1)], np.int64) - 1
    return nodes.reshape(-1, 3), corners.reshape(-1, 3)


def _moved(nodes: NDArray[np.float64], location: Any) -> NDArray[np.float64]:
    move = location.Transformation()
    matrix = np.array([[move.Value(r, c) for c in range(1, 5)] for r in range(1, 4)])
    return nodes @ matrix[:, :3].T + matrix[:, 3]


def _welded(
    shape: Any, faces: list[Any], tables: list[tuple[Any, Any]], starts: list[int], count: int
) -> NDArray[np.int64]:
    """For each raw node the number of the node it is one with: along shared edges, at vertices, and over seams."""
    parent = np.arange(count)

    def find(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = int(parent[i])
        return i

    def join(i: int, j: int) -> None:
        a, b = find(i), find(j)
        if a != b:
            parent[max(a, b)] = min(a, b)

    edge_map, vertex_map = shape_map(shape, "edge"), shape_map(shape, "vertex")
    first_on_edge: dict[int, list[int]] = {}
    at_vertex: dict[int, int] = {}
    for place, face in enumerate(faces):
        table, location = tables[place]
        if table is None:
            continue
        explorer = TopExp_Explorer(face, TopAbs_ShapeEnum.TopAbs_EDGE)
        while explorer.More():
            edge = TopoDS.Edge(explorer.Current())
            explorer.Next()
            polygon = BRep_Tool.PolygonOnTriangulation_s(edge, table, location)
            if polygon is None:
                continue
            nodes = [starts[place] + polygon.Node(i) - 1 for i in range(1, polygon.NbNodes() + 1)]
            if BRep_Tool.Degenerated_s(edge):
                for node in nodes[1:]:
                    join(nodes[0], node)
            else:
                known = first_on_edge.setdefault(edge_map.FindIndex(edge), nodes)
                if len(known) == len(nodes):
                    for node, other in zip(nodes, known, strict=True):
                        join(node, other)
            forward = TopoDS.Edge(edge.Oriented(TopAbs_Orientation.TopAbs_FORWARD))
            for vertex, node in ((TopExp.FirstVertex_s(forward), nodes[0]), (TopExp.LastVertex_s(forward), nodes[-1])):
                if not vertex.IsNull():
                    join(at_vertex.setdefault(vertex_map.FindIndex(vertex), node), node)
    return np.array([find(i) for i in range(count)], np.int64)


def _welded_by_distance(mesh: Mesh) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.int32]]:
    """The mesh with border points that lie within a fifth of the deflection of one another made one."""
    from scipy.spatial import cKDTree

    border = np.unique(_open_edges(mesh.triangles.astype(np.int64)))
    root = np.arange(len(mesh.vertices_mm))
    if len(border):
        for i, j in sorted(cKDTree(mesh.vertices_mm[border]).query_pairs(0.2 * mesh.deflection_mm)):
            low, high = sorted((int(root[border[i]]), int(root[border[j]])))
            root[root == high] = low
    return mesh.vertices_mm, root[mesh.triangles], mesh.triangle_face


def _open_edges(triangles: NDArray[np.int64]) -> NDArray[np.int64]:
    """(k, 2) directed edges that are not met exactly once by their opposite."""
    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    width = int(triangles.max()) + 1 if len(triangles) else 1
    codes, back = edges[:, 0] * width + edges[:, 1], edges[:, 1] * width + edges[:, 0]
    values, counts = np.unique(codes, return_counts=True)
    place = np.minimum(np.searchsorted(values, back), len(values) - 1)
    met = (values[place] == back) & (counts[place] == 1) & (counts[np.searchsorted(values, codes)] == 1)
    return edges[~met]


def _compact(
    vertices: NDArray[np.float64], triangles: NDArray[np.int64], owner: NDArray[np.int32], deflection_mm: float
) -> Mesh:
    """Without triangles that lost a corner and without unused points; says whether the result is closed."""
    a, b, c = triangles.T
    keep = (a != b) & (b != c) & (c != a)
    triangles, owner = triangles[keep], owner[keep]
    used, renumbered = np.unique(triangles, return_inverse=True)
    triangles = renumbered.reshape(-1, 3)
    is_closed = len(triangles) > 0 and len(_open_edges(triangles)) == 0
    return Mesh(vertices[used], triangles.astype(np.int32), owner.astype(np.int32), deflection_mm, is_closed)
