"""Signed distance from points to a mesh against a general mesh library, trimesh, and against the truth of a ball.

The mesh is a ball of 39 200 triangles; points lie within 0.3 mm of it on both sides. trimesh gets fewer points, as it
cannot do all in time. It looks for near triangles in a tree of boxes that it takes from another library, which is not
among ours; a tree of scipy over the middles of the boxes stands in for it and answers the same questions. Signs are
held against the triangles' own planes: the mesh is convex, so a point is inside when it lies below every plane.
"""

from __future__ import annotations

import manifold3d
import numpy as np
import trimesh
from scipy.spatial import KDTree
from yardstick import is_full, line, paired, seconds_of, yardstick_s

from proveout.removal.comparing import point_deviation

RADIUS_MM, NEAR_MM = 8.0, 0.3
POINTS, PAIRED_POINTS, SIGN_POINTS = 400_000, 2000, 20_000


class BoxTree:
    """Boxes (n, 6) that meet a box; what trimesh asks of its tree."""

    def __init__(self, corners: np.ndarray) -> None:
        self._low, self._high = corners.min(axis=1), corners.max(axis=1)
        self.bounds = np.concatenate([self._low.min(axis=0), self._high.max(axis=0)])
        self._tree = KDTree(0.5 * (self._low + self._high))
        self._reach = 0.5 * float(np.linalg.norm(self._high - self._low, axis=1).max())

    def intersection(self, bounds: np.ndarray) -> np.ndarray:
        """Numbers of the boxes that meet bounds (6,), low corner then high corner."""
        low, high = np.asarray(bounds[:3]), np.asarray(bounds[3:])
        reach = 0.5 * float(np.linalg.norm(high - low)) + self._reach
        near = np.array(self._tree.query_ball_point(0.5 * (low + high), reach), dtype=np.int64)
        meets = np.all((self._low[near] <= high) & (self._high[near] >= low), axis=1)
        return near[meets]


def ball() -> tuple[np.ndarray, np.ndarray]:
    """Vertices and triangles of the mesh."""
    mesh = manifold3d.Manifold.sphere(RADIUS_MM, 280).translate([45.0, 11.0, 9.0]).to_mesh()
    return np.asarray(mesh.vert_properties, dtype=float)[:, :3], np.asarray(mesh.tri_verts).astype(np.int64)


def points_near(count: int, seed: int) -> np.ndarray:
    """Points (n, 3) on both sides of the ball, in the order of a field: ray by ray."""
    draw = np.random.default_rng(seed)
    points = draw.normal(size=(count, 3))
    points *= (RADIUS_MM + draw.uniform(-NEAR_MM, NEAR_MM, (count, 1))) / np.linalg.norm(points, axis=1, keepdims=True)
    return points[np.lexsort(np.round(points, 1).T)] + [45.0, 11.0, 9.0]


def main() -> None:
    """Measure and print the line."""
    vertices, triangles = ball()
    mesh = trimesh.Trimesh(vertices=vertices, faces=triangles, process=False)
    mesh._cache.verify()  # noqa: SLF001 (there is no other door for a tree of one's own)
    mesh._cache.cache["triangles_tree"] = BoxTree(vertices[triangles])  # noqa: SLF001 (nor for putting it in)

    def ours(points: np.ndarray) -> np.ndarray:
        return point_deviation(
            points, vertices=vertices, triangles=triangles, triangle_face=np.zeros(len(triangles), dtype=int),
            face_offset_mm=np.zeros(1),
        ).deviation_mm  # fmt: skip

    def theirs(points: np.ndarray) -> np.ndarray:
        return -trimesh.proximity.signed_distance(mesh, points)

    many, some = points_near(POINTS, 1), points_near(PAIRED_POINTS, 2)
    ours(many[:10])
    yard = yardstick_s()
    gap = float(np.abs(ours(some) - theirs(some)).max())
    # per point: ours on all points, where the tree is built once, theirs on few, where theirs is too
    found = paired(lambda: ours(many), lambda: theirs(some), pairs=5 if is_full() else 3)
    ratio = POINTS / PAIRED_POINTS
    corners = vertices[triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    levels = (normals * corners[:, 0]).sum(axis=1)
    checked = points_near(SIGN_POINTS, 3)
    outside = np.concatenate(
        [(part @ normals.T - levels).max(axis=1) > 0.0 for part in np.array_split(checked, SIGN_POINTS // 500)]
    )
    wrong = int(np.count_nonzero((ours(checked) > 0.0) != outside))
    taken = min(seconds_of(lambda: ours(many)) for _ in range(3))
    print(
        line(
            name="deviation",
            figures={
                "yardstick_s": yard,
                "points_per_s": round(POINTS / taken),
                "points_400000_yardsticks": round(taken / yard, 3),
                "trimesh_points_per_s": round(PAIRED_POINTS / found["baseline_s"]),
                "largest_gap_to_trimesh_mm": gap,
                "wrong_signs_count": wrong,
                "signs_checked_count": SIGN_POINTS,
                "triangles_count": len(triangles),
            },
            ratios={"trimesh_over_ours_per_point": round(found["ratio"] * ratio, 1)},
            targets={
                "trimesh_over_ours_per_point": ("at least", 50.0),
                "wrong_signs_count": ("at most", 0.0),
                "largest_gap_to_trimesh_mm": ("at most", 1e-6),
                "points_per_s": ("at least", 500_000.0),
            },
            repeats=found["repeats"],
            spread={"trimesh_over_ours_per_point": [round(end * ratio, 1) for end in found["spread"]]},
            excluded=["compilation of the kernels: they are called once before anything is timed"],
        )
    )


if __name__ == "__main__":
    main()
