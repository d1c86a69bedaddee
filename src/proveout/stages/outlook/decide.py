"""The outlook: rough seconds of every pass that the chosen cutters will make, in closed form.

Areas over width times feed, depths over feed, volumes level by level over width times feed. What the passes really
take goes beyond that: loops run past the metal, narrow strips use no full width, cutters slow down at corners. FITTED
is that excess, fitted to our own plans and to nothing else.
"""

from __future__ import annotations

from proveout.geometry.facets import closed_mesh, facets_of
from proveout.model.choice import CutterChoice
from proveout.model.fact import Fact, exact_fact
from proveout.model.outlook import ForeseenCut, Outlook, rough_s
from proveout.model.proof import Basis, Decision
from proveout.model.shop import Cutter, Machine
from proveout.model.target import Target
from proveout.model.work import Blank, Clamping, Pass, PassKind, Survey, Tilt
from proveout.stages.outlook.bores import of_hole
from proveout.stages.outlook.mills import facing, levels, of_edges, of_floors, of_surface, of_walls, stairs
from proveout.stages.outlook.rates import Metal
from proveout.stages.outlook.site import Reckoned, Site
from proveout.stages.outlook.stock import Look, Stock

FITTED: dict[PassKind, float] = {
    "face": 1.7, "rough": 3.0, "rough corners": 3.0, "finish floor": 3.0, "finish wall": 1.5, "finish surface": 2.0,
    "undercut": 2.0, "break edge": 4.0,
}  # fmt: skip
"""Planned seconds over those reckoned in closed form, by kind; kinds that are not named took what was reckoned.

Fitted to our own plans of 18 outside parts with the starting shop, and no source's: the whole machine time of 16 of
them then lay within a half and twice the outlook's, and of 8 of 9 others that were not fitted to. Of the three
outside it, two left faces uncut that the outlook counts, one stepped down curved walls many times over.
"""
ORDER: tuple[PassKind, ...] = (
    "face", "rough", "rough corners", "spot", "drill", "peck", "counterbore", "bore", "tap", "finish floor",
    "finish wall", "finish surface", "undercut", "break edge",
)  # fmt: skip
FORMULA = (
    "area / (width x feed) of floors, walls and sloping faces; area of each level / (width x feed) of roughing, its "
    "feed within the spindle's power; depth / feed of holes; length / feed of edges; moves between them; times how "
    "much longer our own plans took"
)


def decide(
    *,
    survey: Survey,
    clampings: tuple[Clamping, ...],
    target: Target,
    blank: Blank,
    choice: CutterChoice,
    cutters: tuple[Cutter, ...],
    machines: tuple[Machine, ...],
    pressure_mpa: Fact,
    exponent_ratio: float,
) -> Decision[Outlook]:
    """Every pass that the chosen cutters would make, with rough seconds; nothing is proved by it.

    There is none when nothing holds the part, or when the target's mesh is not closed, as then no pass is laid either.
    """
    basis = Basis(
        formula=FORMULA, source="own-algorithm",
        inputs={"cutting pressure": pressure_mpa} | {
            f"{kind}: planned over reckoned": exact_fact(ratio, "ratio", "own-algorithm: fitted to our own plans",
            "assumed") for kind, ratio in sorted(FITTED.items())
        },
    )  # fmt: skip
    if closed_mesh(points_mm=target.vertices_mm, triangles=target.triangles) is None:
        return Decision(value=Outlook(cuts=(), basis=basis))
    metal = Metal(pressure_mpa=pressure_mpa.high, exponent_ratio=exponent_ratio)
    by_id = {c.id: c for c in cutters}
    machine_of = {m.id: m for m in machines}
    stock = Stock(blank, target)
    rough_ids = {u.cutter_id for u in choice.uses if u.role == "rough"}
    widest = max((c.diameter_mm for c in cutters if c.id in rough_ids), default=0.0)
    cuts: list[ForeseenCut] = []
    for clamping in sorted(clampings, key=lambda c: (c.number, c.id)):
        machine = machine_of[clamping.machine_id]
        for tilt in clamping.tilts:
            look = stock.look(clamping, tilt, widest_mm=widest)
            site = _site(clamping, tilt, machine, metal, look, target)
            found = _of_tilt(site, survey, choice, by_id)
            cuts += [_foreseen(one, site) for one in found]
            stock.take(site.taken)
    return Decision(value=Outlook(cuts=tuple(cuts), basis=basis))


def _site(clamping: Clamping, tilt: Tilt, machine: Machine, metal: Metal, look: Look, target: Target) -> Site:
    points = tilt.frame.into(target.vertices_mm)
    facets = facets_of(
        points_mm=points, triangles=target.triangles, triangle_face=target.triangle_face, count=len(target.face_ids)
    )
    return Site(
        clamping=clamping, tilt=tilt, machine=machine, metal=metal, look=look, facets=facets,
        index_of={f: k for k, f in enumerate(target.face_ids)}, high_mm=float(points[:, 2].max()),
        across_mm=float((points.max(axis=0) - points.min(axis=0))[:2].max()) / 2.0,
        cusp_mm=target.cusp_mm,
    )  # fmt: skip


def _of_tilt(site: Site, survey: Survey, choice: CutterChoice, cutters: dict[str, Cutter]) -> list[Reckoned]:
    """All that is cut at one tilt, in working order."""
    holes = {h.id: h for h in survey.holes}
    uses = [
        u for u in choice.uses
        if u.clamping_id == site.clamping.id and u.tilt_id == site.tilt.id and u.cutter_id in cutters
    ]  # fmt: skip
    milled = [u for u in uses if u.role in ("finish", "surface", "undercut", "edge")]
    faces = [site.facets[site.index_of[f]] for u in milled for f in u.subjects if f in site.index_of]
    bored = [u for u in uses if u.subjects and u.subjects[0] in holes]
    if not faces and not bored:
        return []
    found: list[Reckoned] = []
    for use in [u for u in uses if u.role == "face"][:1]:
        found += facing(site, cutters[use.cutter_id], use.subjects)
    topped = {f for one in found for f in one.face_ids}
    if faces:
        roughers = list(dict.fromkeys(u.cutter_id for u in uses if u.role == "rough"))
        ordered = sorted((cutters[i] for i in roughers), key=lambda c: (-c.diameter_mm, c.id))
        found += levels(site, ordered, faces)
        if ordered:
            found += stairs(site, ordered[0], faces)
    drilled = {u.subjects[0]: cutters[u.cutter_id] for u in bored if u.role == "drill"}
    for use in bored:
        found += of_hole(site, holes[use.subjects[0]], use.role, cutters[use.cutter_id], drilled.get(use.subjects[0]))
    for use in milled:
        subjects = tuple(f for f in use.subjects if f in site.index_of and f not in topped)
        found += _of_faces(site, use.role, cutters[use.cutter_id], subjects)
    return sorted((one for one in found if one.seconds > 0.0), key=lambda r: _rank(r, cutters))


def _of_faces(site: Site, role: str, cutter: Cutter, subjects: tuple[str, ...]) -> list[Reckoned]:
    if role == "finish":
        return [*of_floors(site, cutter, subjects), *of_walls(site, cutter, subjects)]
    if role == "edge":
        return of_edges(site, cutter, subjects)
    return [one for f in subjects for one in of_surface(site, cutter, f, is_under=role == "undercut")]


def _rank(one: Reckoned, cutters: dict[str, Cutter]) -> tuple[int, float, str, str]:
    """Working order: floors and walls of one cutter together, the larger cutter first."""
    kind = "finish floor" if one.kind == "finish wall" else one.kind
    return ORDER.index(kind), -cutters[one.cutter_id].diameter_mm, one.cutter_id, one.kind + one.feature


def _foreseen(one: Reckoned, site: Site) -> ForeseenCut:
    work = Pass(
        id=f"{site.clamping.id}/{site.tilt.id}/{one.cutter_id}/{one.kind}/{one.feature}", kind=one.kind,
        clamping_id=site.clamping.id, tilt_id=site.tilt.id, cutter_id=one.cutter_id, feature=one.feature,
        face_ids=one.face_ids, speed_rad_per_s=one.rate.speed_rad_per_s, tooth_feed_mm=one.rate.tooth_feed_mm,
        radial_mm=round(one.radial_mm, 6), axial_mm=round(one.axial_mm, 6), moves_digest="", moves_count=0,
        cut_length_mm=round(one.length_mm, 3),
    )  # fmt: skip
    return ForeseenCut(work=work, seconds=rough_s(one.seconds * FITTED.get(one.kind, 1.0)))
