"""Signed distance from points to a closed mesh through a tree of boxes; the nearest face may carry an offset.

The sign comes from the normal of the nearest feature: of the triangle, of the edge (sum of its two triangles) or of
the corner (sum weighted by the angle at the corner), which is right for every point off a closed mesh.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

LEAF_COUNT = 4
SAME_RATIO, SAME_MM2 = 1e-9, 1e-18  # squared distances as near as that are one: of triangles that meet at an edge


@njit(cache=True, nogil=True)
def build_tree(corners: np.ndarray, order: np.ndarray, boxes: np.ndarray, links: np.ndarray) -> int:
    """Fills a tree over triangles corners (t, 9): order (t,), boxes (nodes, 6), links (nodes, 2); returns nodes.

    links: a leaf has (first, -count) into order, another node has (left, right). Splits at the median.
    """
    triangles_count = corners.shape[0]
    for tri in range(triangles_count):
        order[tri] = tri
    stack = np.empty((128, 3), dtype=np.int64)
    stack[0, 0], stack[0, 1], stack[0, 2] = 0, 0, triangles_count
    depth = 1
    nodes = 1
    while depth > 0:
        depth -= 1
        node, first, end = stack[depth, 0], stack[depth, 1], stack[depth, 2]
        low_middle = np.full(3, np.inf)
        high_middle = np.full(3, -np.inf)
        for k in range(3):
            boxes[node, k] = np.inf
            boxes[node, 3 + k] = -np.inf
        for at in range(first, end):
            tri = order[at]
            for k in range(3):
                one, two, three = corners[tri, k], corners[tri, 3 + k], corners[tri, 6 + k]
                boxes[node, k] = min(boxes[node, k], one, two, three)
                boxes[node, 3 + k] = max(boxes[node, 3 + k], one, two, three)
                middle = min(one, two, three) + max(one, two, three)
                low_middle[k] = min(low_middle[k], middle)
                high_middle[k] = max(high_middle[k], middle)
        if end - first <= LEAF_COUNT:
            links[node, 0] = first
            links[node, 1] = -(end - first)
            continue
        widest = 0
        for k in range(1, 3):
            if high_middle[k] - low_middle[k] > high_middle[widest] - low_middle[widest]:
                widest = k
        keys = np.empty(end - first)
        for at in range(first, end):
            tri = order[at]
            one, two, three = corners[tri, widest], corners[tri, 3 + widest], corners[tri, 6 + widest]
            keys[at - first] = min(one, two, three) + max(one, two, three)
        order[first:end] = order[first:end][np.argsort(keys, kind="mergesort")]
        half = (first + end) // 2
        links[node, 0] = nodes
        links[node, 1] = nodes + 1
        stack[depth, 0], stack[depth, 1], stack[depth, 2] = nodes, first, half
        stack[depth + 1, 0], stack[depth + 1, 1], stack[depth + 1, 2] = nodes + 1, half, end
        depth += 2
        nodes += 2
    return nodes


@njit(cache=True, nogil=True)
def _box_gap2(boxes: np.ndarray, node: int, p_x: float, p_y: float, p_z: float) -> float:
    gap_x = max(boxes[node, 0] - p_x, 0.0, p_x - boxes[node, 3])
    gap_y = max(boxes[node, 1] - p_y, 0.0, p_y - boxes[node, 4])
    gap_z = max(boxes[node, 2] - p_z, 0.0, p_z - boxes[node, 5])
    return gap_x * gap_x + gap_y * gap_y + gap_z * gap_z


@njit(cache=True, nogil=True)
def nearest_on_triangle(
    corners: np.ndarray, tri: int, p_x: float, p_y: float, p_z: float
) -> tuple[float, float, float, float, int]:
    """Squared distance, the vector from the nearest point to p, and the feature.

    Features: 0 the triangle, 1..3 its corners a, b, c, 4..6 its edges ab, bc, ca.
    """
    a_x, a_y, a_z = corners[tri, 0], corners[tri, 1], corners[tri, 2]
    ab_x, ab_y, ab_z = corners[tri, 3] - a_x, corners[tri, 4] - a_y, corners[tri, 5] - a_z
    ac_x, ac_y, ac_z = corners[tri, 6] - a_x, corners[tri, 7] - a_y, corners[tri, 8] - a_z
    ap_x, ap_y, ap_z = p_x - a_x, p_y - a_y, p_z - a_z
    b_b = ab_x * ab_x + ab_y * ab_y + ab_z * ab_z
    b_c = ab_x * ac_x + ab_y * ac_y + ab_z * ac_z
    c_c = ac_x * ac_x + ac_y * ac_y + ac_z * ac_z
    p_b = ab_x * ap_x + ab_y * ap_y + ab_z * ap_z
    p_c = ac_x * ap_x + ac_y * ap_y + ac_z * ap_z
    share_b = 0.0
    share_c = 0.0
    feature = 1
    # numerators of the shares of corners c, b and a in the foot of p on the plane
    of_c = b_b * p_c - b_c * p_b
    of_b = c_c * p_b - b_c * p_c
    of_a = b_b * c_c - b_c * b_c - of_b - of_c
    bc_length2 = b_b - 2.0 * b_c + c_c
    along_bc = (p_c - b_c) - (p_b - b_b)  # from b, along bc
    if p_b <= 0.0 and p_c <= 0.0:
        feature = 1
    elif p_b >= b_b and p_c - b_c <= p_b - b_b:
        share_b = 1.0
        feature = 2
    elif p_c >= c_c and p_b - b_c <= p_c - c_c:
        share_c = 1.0
        feature = 3
    elif of_c <= 0.0 and p_b >= 0.0 and p_b <= b_b:
        share_b = p_b / b_b if b_b > 0.0 else 0.0
        feature = 4
    elif of_b <= 0.0 and p_c >= 0.0 and p_c <= c_c:
        share_c = p_c / c_c if c_c > 0.0 else 0.0
        feature = 6
    elif of_a <= 0.0:
        share_c = min(max(along_bc / bc_length2, 0.0), 1.0) if bc_length2 > 0.0 else 0.0
        share_b = 1.0 - share_c
        feature = 5
    elif of_a + of_b + of_c <= 0.0:
        # no area left after rounding: the longest edge holds the third corner
        if b_b >= c_c and b_b >= bc_length2:
            share_b = min(max(p_b / b_b, 0.0), 1.0) if b_b > 0.0 else 0.0
            feature = 4
        elif c_c >= bc_length2:
            share_c = min(max(p_c / c_c, 0.0), 1.0)
            feature = 6
        else:
            share_c = min(max(along_bc / bc_length2, 0.0), 1.0)
            share_b = 1.0 - share_c
            feature = 5
    else:
        whole = of_a + of_b + of_c
        share_b = of_b / whole
        share_c = of_c / whole
        feature = 0
    d_x = ap_x - share_b * ab_x - share_c * ac_x
    d_y = ap_y - share_b * ab_y - share_c * ac_y
    d_z = ap_z - share_b * ab_z - share_c * ac_z
    return d_x * d_x + d_y * d_y + d_z * d_z, d_x, d_y, d_z, feature


@njit(cache=True, nogil=True)
def _stands_higher(
    normals: np.ndarray, tri: int, e_x: float, e_y: float, e_z: float, best: int, d_x: float, d_y: float, d_z: float
) -> bool:
    """Whether a point stands farther off the plane of one triangle than off another's; of equals, the lower number.

    e and d: the vectors from the nearest points of tri and of best, of one length.
    """
    here = abs(e_x * normals[tri, 0] + e_y * normals[tri, 1] + e_z * normals[tri, 2])
    there = abs(d_x * normals[best, 0] + d_y * normals[best, 1] + d_z * normals[best, 2])
    slack = SAME_RATIO * (abs(d_x) + abs(d_y) + abs(d_z))
    return here > there + slack or (here >= there - slack and tri < best)


@njit(cache=True, nogil=True)
def signed_distances(  # noqa: C901 (two walks over one tree, on one stack)
    points: np.ndarray,
    corners: np.ndarray,
    normals: np.ndarray,
    offsets: np.ndarray,
    order: np.ndarray,
    boxes: np.ndarray,
    links: np.ndarray,
    nearest: np.ndarray,
    deviations: np.ndarray,
) -> None:
    """Fills nearest (n,) triangle and deviations (n,): signed distance plus the offset of that triangle, in mm.

    normals (t, 21): normals of triangle, corners a b c, edges ab bc ca, outward. offsets (t,) mm, >= 0, inward.
    Outside the solid the nearest triangle decides. Inside, the triangle decides whose surface moved inward lies
    nearest, which is the one with the least distance minus offset.

    Of triangles that are equally near, because they meet at the edge that is nearest, the one decides over which the
    point stands highest: metal in a hole that nobody drilled stands over the hole's wall, not over the face around it.
    Of those that are equal in this too, the lowest number.
    """
    stack = np.empty(128, dtype=np.int64)
    gaps = np.empty(128)
    offset_most = offsets.max()
    hint = 0
    for n in range(points.shape[0]):
        p_x, p_y, p_z = points[n, 0], points[n, 1], points[n, 2]
        best2, d_x, d_y, d_z, feature = nearest_on_triangle(corners, hint, p_x, p_y, p_z)
        best = hint
        stack[0] = 0
        gaps[0] = _box_gap2(boxes, 0, p_x, p_y, p_z)
        depth = 1
        while depth > 0:
            depth -= 1
            if gaps[depth] > best2 + SAME_RATIO * best2 + SAME_MM2:
                continue
            node = stack[depth]
            if links[node, 1] < 0:
                for at in range(links[node, 0], links[node, 0] - links[node, 1]):
                    tri = order[at]
                    d2, e_x, e_y, e_z, kind = nearest_on_triangle(corners, tri, p_x, p_y, p_z)
                    same = SAME_RATIO * best2 + SAME_MM2
                    if d2 < best2 - same or (
                        d2 <= best2 + same and _stands_higher(normals, tri, e_x, e_y, e_z, best, d_x, d_y, d_z)
                    ):
                        best2, d_x, d_y, d_z, feature, best = d2, e_x, e_y, e_z, kind, tri
            else:
                one, two = links[node, 0], links[node, 1]
                gap_one = _box_gap2(boxes, one, p_x, p_y, p_z)
                gap_two = _box_gap2(boxes, two, p_x, p_y, p_z)
                if gap_one < gap_two:
                    one, two = two, one
                    gap_one, gap_two = gap_two, gap_one
                most2 = best2 + SAME_RATIO * best2 + SAME_MM2
                if gap_one <= most2:
                    stack[depth], gaps[depth] = one, gap_one
                    depth += 1
                if gap_two <= most2:
                    stack[depth], gaps[depth] = two, gap_two
                    depth += 1
        hint = best
        at = 3 * feature
        side = d_x * normals[best, at] + d_y * normals[best, at + 1] + d_z * normals[best, at + 2]
        distance = math.sqrt(best2)
        if side >= 0.0:
            nearest[n] = best
            deviations[n] = distance + offsets[best]
            continue
        least = distance - offsets[best]
        if offsets[best] < offset_most:
            stack[0] = 0
            depth = 1
            while depth > 0:
                depth -= 1
                node = stack[depth]
                if math.sqrt(_box_gap2(boxes, node, p_x, p_y, p_z)) - offset_most > least:
                    continue
                if links[node, 1] < 0:
                    for place in range(links[node, 0], links[node, 0] - links[node, 1]):
                        tri = order[place]
                        d2, e_x, e_y, e_z, kind = nearest_on_triangle(corners, tri, p_x, p_y, p_z)
                        other = math.sqrt(d2) - offsets[tri]
                        if other < least or (other == least and tri < best):
                            least = other
                            best = tri
                else:
                    stack[depth] = links[node, 0]
                    stack[depth + 1] = links[node, 1]
                    depth += 2
        nearest[n] = best
        deviations[n] = -least
