"""What a plan says of one face: what reaches it, what it costs, and which limits and proofs bear on it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proveout.model.plan import Plan
from proveout.model.proof import weakest_first
from proveout.model.reach import FaceReach
from proveout.model.shop import Shop
from proveout.model.work import Pass
from proveout.quantities.errors import BadInput
from proveout.sheets.ink import NOT_SHOWN, printed
from proveout.sheets.names import Names, features_of_faces, shape_words
from proveout.stages.removal_check.decide import GOUGE_LIMIT_MM, LEFTOVER_LIMIT_MM

MOST_PROOFS = 8
MM_DIGITS = 3


@dataclass(frozen=True)
class Told:
    """One thing said of a face: what about, and the words."""

    word: str
    said: str


@dataclass(frozen=True)
class FaceRow:
    """One face of the picture of the work.   name: as papers number it.   leftover_mm, gouge_mm: None where the plan
    does not say.   state: 1 left over, 2 gouged, else 0.   mark: how much, empty for state 0.
    """

    id: str
    name: str
    leftover_mm: float | None
    gouge_mm: float | None
    state: int
    mark: str


def face_rows(plan: Plan, face_ids: Sequence[str]) -> tuple[FaceRow, ...]:
    """What is left over on each of these faces, and where one is gouged: a gouge counts before what is left over."""
    balloons = {note.face_id: note.balloon for note in plan.survey.faces}
    known = {one.face_id: one for one in plan.removal.faces}
    rows = []
    for id in face_ids:
        one = known.get(id)
        over, gouge = (one.leftover_mm, one.gouge_mm) if one is not None else (None, None)
        state = 2 if gouge is not None and gouge > GOUGE_LIMIT_MM else 0
        state = 1 if not state and over is not None and over > LEFTOVER_LIMIT_MM else state
        name = f"face {balloons[id]}: {shape_words(id)}" if id in balloons else shape_words(id)
        mark = ("", f"+{over or 0.0:.3f} mm", f"\u2212{gouge or 0.0:.3f} mm")[state]
        rows.append(FaceRow(id, name, over, gouge, state, mark))
    return tuple(rows)


def told_of_face(plan: Plan, shop: Shop, face_id: str) -> tuple[Told, ...]:
    """All that the plan says of a face, in the order in which one asks.

    Raises:   BadInput when the plan has no such face.
    """
    note = next((one for one in plan.survey.faces if one.face_id == face_id), None)
    if note is None:
        raise BadInput("The plan has no such face", where="id", value=face_id, do="choose one of the list")
    names = Names(plan=plan, shop=shop)
    lines = [Told("face", f"{note.balloon}: {shape_words(face_id)}")]
    feature = features_of_faces(plan.survey.features).get(face_id)
    if feature is not None:
        lines.append(Told("part of", plan.survey.features[feature].name))
    lines += _reached(plan, shop, face_id)
    lines += _passes(plan, shop, names, face_id)
    lines += _sizes(plan, face_id)
    left = next((one for one in plan.removal.faces if one.face_id == face_id), None)
    if left is None:
        lines.append(Told("left over, gouged", NOT_SHOWN))
    else:
        over, deep = (printed(v, unit="mm", digits=MM_DIGITS) for v in (left.leftover_mm, left.gouge_mm))
        lines.append(Told("left over", f"{over} mm at the most, by {left.points_count} points"))
        lines.append(Told("gouged", f"{deep} mm at the most"))
    lines += _proofs(plan, names, face_id)
    return tuple(lines)


def _reached(plan: Plan, shop: Shop, face_id: str) -> list[Told]:
    reach = next((one for one in plan.survey.reach if one.face_id == face_id), None)
    if reach is None:
        return [Told("reached by", NOT_SHOWN)]
    if not reach.is_reached:
        return [Told("reached by", _why_not(reach))]
    cutters = {c.id: c.name for c in shop.cutters}
    ways = [
        f"op {by.clamping_number}, {cutters.get(by.cutter_id, by.cutter_id)} ({by.manner}, "
        f"{printed(by.reached_ratio, unit='%', digits=0)} % of it)"
        for by in reach.by
    ]  # fmt: skip
    return [Told("reached by", "; ".join(ways))]


def _why_not(reach: FaceReach) -> str:
    would = f"; {reach.would_reach}" if reach.would_reach else ""
    return f"nothing: {reach.why_not}{would}"


def _passes(plan: Plan, shop: Shop, names: Names, face_id: str) -> list[Told]:
    own = [one for one in plan.passes if face_id in one.face_ids]
    if not own:
        reason = next((n.reason for n in plan.not_cut if face_id in n.face_ids), "")
        return [Told("cut by", f"no pass that names it{': ' + names.short(reason) if reason else ''}")]
    tilts = {(c.id, t.id): t for c in plan.clampings for t in c.tilts}
    cutters = {c.id: c.name for c in shop.cutters}
    said: list[str] = []
    for one in own:
        tilt = tilts.get((one.clamping_id, one.tilt_id))
        turned = "" if tilt is None or not (tilt.a_rad or tilt.c_rad) else (
            f", A {math.degrees(tilt.a_rad):.3f}° C {math.degrees(tilt.c_rad):.3f}°"
        )  # fmt: skip
        said.append(f"{names.short(one.id)}, {cutters.get(one.cutter_id, one.cutter_id)}{turned}")
    return [Told("cut by", "; ".join(said)), _cost(plan, shop, own)]


def _cost(plan: Plan, shop: Shop, own: list[Pass]) -> Told:
    """Seconds of its passes by an even share of the faces that each names, and what the machine asks for them.

    Formula:  sum over passes of seconds / faces of the pass; money = seconds times the machine's rate an hour / 3600
    """
    if plan.metal_unknown:
        return Told("costs", NOT_SHOWN)
    seconds_of = {
        line.pass_id: line.seconds.nominal for line in plan.time.lines if line.per == "piece" and line.pass_id
    }
    if any(one.id not in seconds_of for one in own):
        return Told("costs", NOT_SHOWN)
    machine_of = {c.id: c.machine_id for c in plan.clampings}
    rates = {m.id: m.rate_per_h for m in shop.machines}
    total, money, known = 0.0, 0.0, True
    for one in own:
        share = seconds_of[one.id] / len(one.face_ids)
        rate = rates.get(machine_of.get(one.clamping_id, ""))
        total += share
        known &= rate is not None
        money += share * (rate or 0.0) / 3600.0
    asked = f", {money:.2f} {plan.cost.currency} of the machine" if known else ""
    return Told("costs", f"{total:.1f} s a piece{asked}; a pass over several faces is shared evenly among them")


def _sizes(plan: Plan, face_id: str) -> list[Told]:
    found: list[Told] = []
    checked = {(line.balloon, line.text): line for line in plan.inspection}
    for window in plan.finishing.windows:
        if face_id not in window.face_ids:
            continue
        low, high = (printed(v, unit="mm", digits=MM_DIGITS) for v in (window.finished_low_mm, window.finished_high_mm))
        said = f"{window.text}: {low} to {high} mm finished"
        if window.is_decided and window.before_low_mm <= window.before_high_mm:
            ends = (window.before_low_mm, window.before_high_mm)
            before = " to ".join(printed(v, unit="mm", digits=MM_DIGITS) for v in ends)
            said += f", {before} mm before the coat"
        line = checked.get((window.balloon, window.text))
        said += "" if line is None else f"; {line.gauge}, {line.how_often}"
        found.append(Told(f"size {window.mark}", said))
    found += [Told(f"note {n.mark}", n.text) for n in plan.finishing.notes if face_id in n.face_ids]
    return found or [Told("sizes", "none is written at it")]


def _proofs(plan: Plan, names: Names, face_id: str) -> list[Told]:
    """Proofs that name the face, or a pass that cuts it, the weakest first."""
    own = [one.id for one in plan.passes if face_id in one.face_ids]
    named = [
        p for p in plan.proofs
        if p.subject == face_id or f" {face_id}" in f" {p.subject}"
        or any(p.subject == id or p.subject.startswith((f"{id}, ", f"{id} (", f"{id}: ")) for id in own)
    ]  # fmt: skip
    shown = weakest_first(tuple(named))[:MOST_PROOFS]
    lines = [Told(p.verdict, f"{names.short(p.claim)} ({names.short(p.subject)})") for p in shown]
    if len(named) > len(shown):
        lines.append(Told("and", f"{len(named) - len(shown)} proofs more"))
    return lines or [Told("proofs", "none names this face or a pass over it")]
