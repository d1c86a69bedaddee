"""Decide what becomes of every sharp outside edge: broken by a machine's pass, or by hand at the bench."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable

import msgspec

from proveout.model.bench import BenchPlan, EdgeRun
from proveout.model.fact import Fact
from proveout.model.features import Feature
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.shop import Bench
from proveout.model.solid import Edge, Solid
from proveout.model.work import Clamping, Pass, Survey

STAGE = "bench"
# common practice, no source: an outside edge that turns by less is no sharp one
SHARP_RAD = math.radians(30.0)
# where a chamfer or a round meets the faces that it runs along it turns by less than this; at its ends it does not
ALONG_RAD = math.radians(82.0)
SAME_MM = 1e-4


def decide(
    *, solid: Solid, survey: Survey, passes: tuple[Pass, ...], clampings: tuple[Clamping, ...], bench: Bench,
    break_mm: float | None, show_faces: tuple[str, ...] = (),
) -> Decision[BenchPlan]:  # fmt: skip
    """Every sharp outside edge and every drawn chamfer and outside round, as runs with letters, the longest first.

    Args:     break_mm: what edges are broken by, None when nobody said.
    Returns:  the runs; a proof that the least of the seconds planned for edges by hand is enough for them.
    """
    broken = {f for one in survey.features if one.kind == "chamfer" or _is_round(one) for f in one.face_ids}
    numbers = {clamping.id: clamping.number for clamping in clampings}
    made: dict[str, int] = defaultdict(int)
    cut_by: dict[str, list[str]] = defaultdict(list)
    for one in passes:
        for face_id in one.face_ids:
            made[face_id] = max(made[face_id], numbers.get(one.clamping_id, 0))
            cut_by[face_id].append(one.id)
    single = [*_by_machine(solid, survey, made, cut_by), *_by_hand(solid, survey, broken, made)]
    runs = [_joined(alike, bench) for alike in _alike(single)]
    runs.sort(key=lambda run: (run.manner != "hand", -run.length_mm, run.edge_ids))
    lettered = tuple(_lettered(run, letter_of(place)) for place, run in enumerate(runs))
    hand = [run for run in lettered if run.manner == "hand"]
    hand_mm = round(sum(run.length_mm for run in hand), 3)
    plan = BenchPlan(
        edges=lettered, break_mm=break_mm, hand_mm=hand_mm,
        machine_mm=round(sum(run.length_mm for run in lettered if run.manner == "machine"), 3),
        hand_s=_seconds(hand_mm, bench), show_faces=show_faces,
    )  # fmt: skip
    return Decision(value=plan, proofs=(_time_proof(plan, bench),))


def _is_round(feature: Feature) -> bool:
    return feature.kind == "fillet" and feature.form == "outside"


def letter_of(place: int) -> str:
    """A, B, ... Z, AA, AB ... by place from 0."""
    text = ""
    place += 1
    while place > 0:
        place, rest = divmod(place - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def _lettered(run: EdgeRun, letter: str) -> EdgeRun:
    return msgspec.structs.replace(run, letter=letter)


def _by_machine(solid: Solid, survey: Survey, made: dict[str, int], cut_by: dict[str, list[str]]) -> list[EdgeRun]:
    """One run for each chamfer or outside round that passes cut; one that nobody cuts is broken by hand."""
    runs = []
    for feature in survey.features:
        if feature.kind != "chamfer" and not _is_round(feature):
            continue
        own = set(feature.face_ids)
        indices = {face.index for face in solid.faces if face.id in own}
        sides = [e for e in solid.edges if len(indices & set(e.faces)) == 1 and e.turn_rad < ALONG_RAD]
        passes = sorted({p for face_id in own for p in cut_by[face_id]})
        runs.append(
            EdgeRun(
                letter="", manner="machine" if passes else "hand", edge_ids=tuple(sorted(e.id for e in sides)),
                face_ids=tuple(sorted(own)), hole_ids=(feature.hole_id,) if feature.hole_id else (),
                # a strip has two long sides
                length_mm=round(sum(e.length_mm for e in sides) / 2.0, 3),
                clamping=max((made[f] for f in own), default=0), pass_ids=tuple(passes),
            )
        )  # fmt: skip
    return runs


def _by_hand(solid: Solid, survey: Survey, broken: set[str], made: dict[str, int]) -> list[EdgeRun]:
    """Sharp edges that hang together, and mouths of like holes, of one clamping each."""
    ids = {face.index: face.id for face in solid.faces}
    hole_of = {f: hole.id for hole in survey.holes for step in hole.steps for f in step.face_ids}
    groups: dict[tuple[object, ...], list[Edge]] = defaultdict(list)
    loose: list[Edge] = []
    for edge in solid.edges:
        sides = [ids[index] for index in edge.faces]
        if not is_sharp(edge) or (any(side in broken for side in sides) and edge.turn_rad < ALONG_RAD):
            continue
        mouths = [hole_of[side] for side in sides if side in hole_of]
        if mouths and edge.kind == "circle":
            groups["mouth", round(edge.radius_mm / SAME_MM), _clamping_of(sides, made)].append(edge)
        else:
            loose.append(edge)
    for number, group in enumerate(_hanging_together(loose)):
        groups["run", number].extend(group)
    runs = []
    for kind, group in groups.items():
        faces = sorted({ids[index] for edge in group for index in edge.faces})
        runs.append(
            EdgeRun(
                letter="", manner="hand", edge_ids=tuple(sorted(e.id for e in group)), face_ids=tuple(faces),
                hole_ids=tuple(sorted({hole_of[f] for f in faces if f in hole_of})) if kind[0] == "mouth" else (),
                length_mm=round(sum(edge.length_mm for edge in group), 3),
                runs_count=len(group) if kind[0] == "mouth" else 1, clamping=_clamping_of(faces, made),
            )
        )  # fmt: skip
    return runs


def _alike(runs: list[EdgeRun]) -> list[list[EdgeRun]]:
    """Runs of one manner, length and clamping together, in order of their first edge."""
    groups: dict[tuple[object, ...], list[EdgeRun]] = defaultdict(list)
    for run in sorted(runs, key=lambda run: run.edge_ids):
        is_mouth = bool(run.hole_ids)
        groups[run.manner, is_mouth, round(run.length_mm, 1), len(run.edge_ids), run.clamping].append(run)
    return list(groups.values())


def _joined(runs: list[EdgeRun], bench: Bench) -> EdgeRun:
    length = round(sum(run.length_mm for run in runs), 3)
    return msgspec.structs.replace(
        runs[0], edge_ids=_all(run.edge_ids for run in runs), face_ids=_all(run.face_ids for run in runs),
        hole_ids=_all(run.hole_ids for run in runs), pass_ids=_all(run.pass_ids for run in runs), length_mm=length,
        runs_count=sum(run.runs_count for run in runs),
        seconds=_seconds(length, bench) if runs[0].manner == "hand" else None,
    )  # fmt: skip


def _all(ids: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(sorted({one for some in ids for one in some}))


def is_sharp(edge: Edge) -> bool:
    """Whether an edge is an outside corner that cuts a finger."""
    return edge.convexity == "convex" and edge.turn_rad >= SHARP_RAD


def _clamping_of(face_ids: Iterable[str], made: dict[str, int]) -> int:
    return max((made.get(face_id, 0) for face_id in face_ids), default=0)


def _hanging_together(edges: list[Edge]) -> list[list[Edge]]:
    """Groups of edges that meet end to end, in order of their first edge."""
    home = list(range(len(edges)))

    def root(k: int) -> int:
        while home[k] != k:
            home[k] = home[home[k]]
            k = home[k]
        return k

    at: dict[tuple[int, ...], int] = {}
    for k, edge in enumerate(edges):
        for end in (edge.points_mm[0], edge.points_mm[-1]):
            key = tuple(round(float(v) / SAME_MM) for v in end)
            a, b = sorted((root(at.setdefault(key, k)), root(k)))
            home[b] = a
    groups: dict[int, list[Edge]] = defaultdict(list)
    for k, edge in enumerate(edges):
        groups[root(k)].append(edge)
    return [groups[k] for k in sorted(groups)]


def _seconds(length_mm: float, bench: Bench) -> Fact | None:
    speed = bench.hand_edge_mm_per_s
    if speed is None or speed.low <= 0.0:
        return None
    return Fact(
        low=length_mm / speed.high, nominal=length_mm / speed.nominal, high=length_mm / speed.low, unit="s",
        source=speed.source, strength=speed.strength,
    )  # fmt: skip


def _time_proof(plan: BenchPlan, bench: Bench) -> Proof:
    found = plan.hand_s
    inputs = {"edges by hand, planned": bench.deburr_s}
    if bench.hand_edge_mm_per_s is not None:
        inputs["edge by hand in a second"] = bench.hand_edge_mm_per_s
    return prove(
        id=f"{STAGE}:edges:time-is-enough",
        stage=STAGE,
        subject="edges",
        claim=f"the seconds planned for edges by hand are enough for {plan.hand_mm:.0f} mm of them",
        sense="at most",
        found_low=None if found is None else round(found.low, 3),
        found_high=None if found is None else round(found.high, 3),
        limit=round(bench.deburr_s.low, 3),
        unit="s",
        blocks_release=False,
        basis=Basis(formula="length of the edges by hand / length in a second", source="own-algorithm", inputs=inputs),
        decides="" if found else "time how much edge is broken by hand in a minute and write hand_edge under [bench]",
        remedy="plan more seconds for it: deburr under [bench]; or draw a chamfer where a cutter comes by anyway",
    )
