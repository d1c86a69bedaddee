"""All features of a solid, from the adjacency of its faces and the convexity of its edges."""

from __future__ import annotations

import math

import msgspec
import numpy as np

from proveout.geometry.frames import triple
from proveout.model.features import Feature, FeatureForm, FeatureKind
from proveout.model.solid import Point, Solid
from proveout.model.work import Hole, HoleStep
from proveout.recognition.edges import Edging, find_chamfers, find_fillets
from proveout.recognition.holes import direction_name, find_holes
from proveout.recognition.recesses import Recess, find_recesses
from proveout.recognition.sizing import edging_sizes, lean_rad, plane_sizes, recess_sizes, tidy
from proveout.recognition.web import Vec, Web
from proveout.recognition.words import name_of

CHAMFERED_RATIO = 0.15
"""A cone at a hole's mouth is a countersink when it widens the hole by more than this share of its diameter."""
FLANK_LOW_RAD, FLANK_HIGH_RAD = math.radians(3.0), math.radians(87.0)
ALIKE_RATIO = 1e-6


def recognise(solid: Solid, holes: tuple[Hole, ...] | None = None) -> tuple[Feature, ...]:
    """Features in order of their ids; a face that belongs to none stays unnamed.

    Args:     solid: as read.   holes: what find_holes found, to spare finding them again.
    Returns:  each with kind and sizes that do not change when the solid is turned, moved or exported anew.
    """
    web = Web(solid)
    holes = find_holes(solid) if holes is None else holes
    out: list[Feature] = []
    taken: set[int] = set()
    index_of = {face.id: face.index for face in solid.faces}
    for hole in holes:
        own = {web.of_face[index_of[id]] for step in hole.steps for id in step.face_ids}
        own |= _seats(web, own)
        taken |= own
        out.append(_hole_feature(web, hole, own))
    chamfers = find_chamfers(web, taken)
    taken |= {n for c in chamfers for n in c.regions}
    recesses = find_recesses(web, taken)
    in_recess = {n for r in recesses for n in r.regions}
    fillets = find_fillets(web, taken)
    homes: list[tuple[set[int], Feature]] = []
    for recess in recesses:
        feature = _recess_feature(web, recess)
        out.append(feature)
        homes.append((set(recess.regions), feature))
    out.extend(_edge_feature(web, edging, homes) for edging in (*chamfers, *fillets))
    named = taken | in_recess | {n for f in fillets for n in f.regions}
    up, is_sure = _main_way(out)
    out.extend(_flanks(web, recesses, homes, named, up, is_sure=is_sure))
    return _distinct(out)


def _seats(web: Web, own: set[int]) -> set[int]:
    """Planes with no edge but to walls of the hole: the seats of its steps."""
    beside = {n for number in own for n in web.beside(number, "convex", "concave", "smooth")} - own
    return {
        n for n in beside if web.regions[n].kind == "plane" and {link.other for link in web.links[n]} <= own
    }  # fmt: skip


def _hole_feature(web: Web, hole: Hole, own: set[int]) -> Feature:
    cylinders = [s for s in hole.steps if s.kind == "cylinder"]
    least = min(s.diameter_mm for s in cylinders)
    sizes: dict[str, float] = {
        "diameter_mm": least,
        "depth_mm": hole.depth_mm if hole.is_through else max(s.depth_high_mm for s in cylinders),
    }
    wider = [s for s in cylinders if s.diameter_mm > least + 1e-6]
    if hole.is_through:  # its two mouths may be alike, and then neither is first
        wider.sort(key=lambda s: (-s.diameter_mm, _from_mouth_mm(hole, s)))
    if len(wider) == 1:
        sizes |= {
            "counterbore_diameter_mm": wider[0].diameter_mm,
            "counterbore_depth_mm": _from_mouth_mm(hole, wider[0]),
        }
    else:
        for i, step in enumerate(wider, start=1):
            sizes |= {
                f"step_{i}_diameter_mm": step.diameter_mm,
                f"step_{i}_depth_mm": _from_mouth_mm(hole, step),
            }
    angle = 0.0
    index_of = {f.id: f for number in own for f in web.regions[number].faces}
    for step in hole.steps:
        is_mouth = step.depth_low_mm < 1e-6 or (hole.is_through and step.depth_high_mm > hole.depth_mm - 1e-6)
        if step.kind != "cone" or not is_mouth:
            continue
        face = index_of[step.face_ids[0]]
        half = face.surface.half_angle_rad
        rise = step.depth_high_mm - step.depth_low_mm
        if rise * math.tan(half) > CHAMFERED_RATIO * (step.diameter_mm - 2.0 * rise * math.tan(half)):
            sizes["countersink_diameter_mm"] = max(step.diameter_mm, sizes.get("countersink_diameter_mm", 0.0))
            angle = 2.0 * half
        else:
            sizes["mouth_chamfer_mm"] = rise * math.tan(half)
    form = "through" if hole.is_through else "blind"
    return _feature(
        kind="hole", form=form, face_ids=web.face_ids(sorted(own)), sizes=sizes, place=hole.entry_mm,
        opens=hole.outward, angle=angle, hole_id=hole.id,
    )  # fmt: skip


def _from_mouth_mm(hole: Hole, step: HoleStep) -> float:
    """Depth of a step's end below the mouth that it is made from."""
    far = hole.depth_mm - step.depth_low_mm
    return min(step.depth_high_mm, far) if hole.is_through else step.depth_high_mm


def _recess_feature(web: Web, recess: Recess) -> Feature:
    sizes, place = recess_sizes(web, recess)
    return _feature(
        kind=recess.kind, form=recess.form, face_ids=web.face_ids(recess.regions), sizes=sizes, place=place,
        opens=triple(recess.opens), angle=0.0,
    )  # fmt: skip


def _edge_feature(web: Web, edging: Edging, homes: list[tuple[set[int], Feature]]) -> Feature:
    sizes, place, way = edging_sizes(web, edging)
    form = "edge" if edging.kind == "chamfer" else ("inside" if edging.inward else "outside")
    home = next((f.id for own, f in homes if set(edging.regions) <= own), "")
    return _feature(
        kind=edging.kind, form=form, face_ids=web.face_ids(edging.regions), sizes=sizes, place=place,
        opens=triple(way), angle=edging.angle_rad, within=home,
    )  # fmt: skip


def _main_way(features: list[Feature]) -> tuple[Vec | None, bool]:
    """The direction that the widest mouths open to, and whether it is wider than any other."""
    found: list[tuple[Vec, float]] = []
    for f in features:
        if f.kind not in ("hole", "pocket", "window", "slot"):
            continue
        s = f.sizes_mm
        across = s.get("counterbore_diameter_mm", s.get("diameter_mm", 0.0))
        area = s["width_mm"] * s["length_mm"] if "length_mm" in s else math.pi / 4.0 * across**2
        opens = np.array(f.opens)
        is_both = f.form == "through" and f.kind in ("hole", "window")
        for way in (opens, -opens) if is_both else (opens,):
            at = next((i for i, (d, _) in enumerate(found) if float(d @ way) > 1.0 - 1e-9), None)
            narrow = (
                math.pi / 4.0 * s["diameter_mm"] ** 2 if is_both and f.kind == "hole" and way is not opens else area
            )
            if at is None:
                found.append((way, narrow))
            else:
                found[at] = (found[at][0], found[at][1] + narrow)
    if not found:
        return None, False
    found.sort(key=lambda pair: -pair[1])
    is_sure = len(found) == 1 or found[0][1] > found[1][1] * (1.0 + ALIKE_RATIO)
    return found[0][0], is_sure


def _flanks(
    web: Web, recesses: list[Recess], homes: list[tuple[set[int], Feature]], named: set[int], up: Vec | None, *,
    is_sure: bool,
) -> list[Feature]:  # fmt: skip
    """Planes that lean: under the opening of their own recess, or from the part's main direction."""
    out: list[Feature] = []
    for recess, (_, home) in zip(recesses, homes, strict=True):
        for n in recess.under:
            if web.regions[n].kind == "plane":
                lean = lean_rad(web.regions[n].axis, recess.opens)
                out.append(_flank(web, n, form="undercut", angle=abs(lean), within=home.id))
    if up is None:
        return out
    for n, region in sorted(web.regions.items()):
        if n in named or region.kind != "plane":
            continue
        lean = lean_rad(region.axis, up)
        if FLANK_LOW_RAD < abs(lean) < FLANK_HIGH_RAD:
            form = "undercut" if lean < 0.0 and is_sure else "leaning"
            out.append(_flank(web, n, form=form, angle=abs(lean)))
    return out


def _flank(web: Web, number: int, *, form: FeatureForm, angle: float, within: str = "") -> Feature:
    sizes, place = plane_sizes(web, number)
    return _feature(
        kind="flank", form=form, face_ids=web.face_ids([number]), sizes=sizes, place=place,
        opens=triple(web.regions[number].axis), angle=angle, within=within,
    )  # fmt: skip


def _feature(
    *, kind: FeatureKind, form: FeatureForm, face_ids: tuple[str, ...], sizes: dict[str, float], place: Point,
    opens: Point, angle: float, hole_id: str = "", within: str = "",
) -> Feature:  # fmt: skip
    sizes, angle = tidy(sizes), round(angle, 9)
    where = ",".join(f"{v:.3f}" for v in triple(np.round(place, 6)))
    size = "x".join(f"{v:.3f}" for v in sizes.values())
    opens = triple(np.round(opens, 9))
    return Feature(
        id=f"{kind} {form} {direction_name(opens)} {size} at {where}", kind=kind, form=form,
        face_ids=face_ids, sizes_mm=sizes, place_mm=triple(np.round(place, 6)), opens=opens,
        name=name_of(kind=kind, form=form, sizes_mm=sizes, opens=opens, angle_rad=angle), angle_rad=angle,
        hole_id=hole_id, within=within,
    )  # fmt: skip


def _distinct(features: list[Feature]) -> tuple[Feature, ...]:
    """In order of their ids, two of one id told apart by a number."""
    seen: dict[str, int] = {}
    out: list[Feature] = []
    for feature in sorted(features, key=lambda f: (f.id, f.face_ids)):
        seen[feature.id] = seen.get(feature.id, 0) + 1
        again = seen[feature.id]
        out.append(feature if again == 1 else msgspec.structs.replace(feature, id=f"{feature.id} ({again})"))
    return tuple(out)
