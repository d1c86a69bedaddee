"""Loading: every pose of everything that might be put in, what is cut wrongly of it, and the least that tells it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import triple
from proveout.grip.seating import Vise as Jawed
from proveout.model.jaw_form import JawForm
from proveout.model.loading import Catch, Loading, Sister, SisterWork, WrongLoad
from proveout.model.proof import Decision, Proof
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine, Vise
from proveout.model.work import Blank, Clamping, PassPlan
from proveout.stages.loading.bodies import Cuts, Stuff, box_mesh, cuts_of
from proveout.stages.loading.judging import Judged, Laid, Looked, judge
from proveout.stages.loading.looks import NOTHING_MM, SEEN_MM, Sight, different_mm, from_page, page_of, seen
from proveout.stages.loading.naming import place_words
from proveout.stages.loading.others import Others, others_of
from proveout.stages.loading.pins import find_pin
from proveout.stages.loading.proofs import prove_loading, prove_marks, remedy_words, unsure_words
from proveout.stages.loading.sites import Doubt
from proveout.stages.loading.telling import looks_of
from proveout.stages.loading.touches import plan_touches

Floats = NDArray[np.float64]
AFTER = "the work after operation"
CUT_VARIES_MM = 0.05
"""Common practice, no source: what was cut lies within this of where it was meant to, from piece to piece."""
PAGE_AROUND_MM = 10.0
WORK, RAW, BACK, AHEAD, DONE, LEFT, LEFT_DONE = (
    "the work", "the raw blank", "the work one clamping back", "the work that has been through here",
    "a finished piece", "a left-hand piece", "a finished left-hand piece",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class _Told:
    """A wrong load with what tells it."""

    laid: Laid
    off_mm: float | None
    seen_mm: float
    place_mm: Floats | None
    caught_by: Catch


def decide(
    *, blank: Blank, clampings: tuple[Clamping, ...], plan: PassPlan, cutters: tuple[Cutter, ...],
    vises: tuple[Vise, ...], machines: tuple[Machine, ...], forms: tuple[JawForm, ...] = (),
    sisters: tuple[Sister, ...] = (), works: tuple[SisterWork, ...] = (), untried: tuple[str, ...] = (),
    marks: tuple[tuple[int, str], ...] = (), tolerance_mm: float, raw_varies_mm: float,
    is_of_order: bool = False, run: Run,
) -> Decision[tuple[Loading, ...]]:  # fmt: skip
    """Wrong loads of every clamping, in order, with one proof each.

    forms: pockets of soft jaws.   sisters: other parts of the same order, finished.   works: how they are made, of
    those that have a plan; untried: numbers of those that have none.   marks: by the number of a clamping, how the
    owner marks the work before, and where the mark lies on rightly loaded work.   tolerance_mm: metal that differs by
    more than this after the cut makes a wrong piece.   raw_varies_mm: how far a face of bar or saw may lie off.
    is_of_order: the part is one of an order, whose others are looked at as far as they are given.
    """
    by_cutter, by_vise, by_machine = {c.id: c for c in cutters}, {v.id: v for v in vises}, {m.id: m for m in machines}
    frames = {(c.id, t.id): t.frame for c in clampings for t in c.tilts}
    ordered = sorted(clampings, key=lambda c: (c.number, c.id))
    found: list[Loading] = []
    proofs: list[Proof] = []
    beside, looked = others_of(sisters, works, untried, own=blank), Looked()
    for at, clamping in enumerate(ordered):
        cuts = [cuts_of(plan, one.id, frames=frames, cutters=by_cutter, into=clamping.frame) for one in ordered]
        right, others = _what(blank, clamping, cuts, at, beside)
        form = next((f for f in forms if f.clamping_id == clamping.id), None)
        judged = judge(
            right=right, others=others, cuts=cuts[at], vise=_jawed(clamping, by_vise[clamping.vise_id], form),
            form=form, tolerance_mm=tolerance_mm, run=run, subject=clamping.id, looked=looked,
        )  # fmt: skip
        machine = by_machine[clamping.machine_id]
        before = ordered[at - 1].number if at > 0 else 0
        mark = dict(marks).get(clamping.number, "")
        told = [bool(mark) and not may_carry(one.stuff, before, marks) for one in judged.others]
        is_unformed = clamping.needs_form and form is None
        loading = _loading(
            clamping, judged, machine, raw_varies_mm, cuts[at], mark, told, beside, is_unformed=is_unformed
        )  # fmt: skip
        found.append(loading)
        proofs.extend(
            prove_loading(
                loading, clamping, machine=machine, tolerance_mm=tolerance_mm, cut_varies_mm=CUT_VARIES_MM,
                raw_varies_mm=raw_varies_mm, seats=judged.seats, is_unformed=is_unformed,
                is_of_order=is_of_order,
            )
        )  # fmt: skip
    return Decision(value=tuple(found), proofs=(*proofs, *prove_marks(marks, len(ordered))))


def may_carry(stuff: Stuff, before: int, marks: Sequence[tuple[int, str]]) -> bool:
    """Whether a mark may stand on a body: of another part one of its own, of this one as is_unmarked says."""
    return stuff.may_be_marked if stuff.part else is_unmarked(stuff.what, before, marks)


def is_unmarked(what: str, before: int, marks: Sequence[tuple[int, str]]) -> bool:
    """Whether the mark of a clamping does not tell a body: it carries a mark of its own, or may carry this one already.

    before: number of the clamping before, 0 for none.
    """
    if what == AHEAD or what.startswith(AFTER):
        return True
    own = {RAW: 1, BACK: before}.get(what)
    return own is not None and bool(dict(marks).get(own))


def _what(
    blank: Blank, clamping: Clamping, cuts: Sequence[tuple[Cuts, ...]], at: int, beside: Others
) -> tuple[Stuff, list[Stuff]]:
    """The work as it stands before a clamping, and what else might be put in, in the clamping's frame."""
    corners, triangles = box_mesh(blank.low_mm, blank.high_mm)
    corners = clamping.frame.into(corners)
    raw = np.array([corners.min(axis=0), corners.max(axis=0)])

    def after(count: int, what: str) -> Stuff:
        gone = tuple(one for group in cuts[:count] for one in group)
        return Stuff(what=what, part="", points_mm=corners, triangles=triangles, cuts=gone, raw_mm=raw)

    right, done = after(at, WORK), after(len(cuts), DONE)
    others = [after(0, RAW)] if at > 0 else []
    others.extend(after(n, BACK if n == at - 1 else f"{AFTER} {n}") for n in range(1, at))
    others.extend(after(n, AHEAD if n == at + 1 else f"{AFTER} {n}") for n in range(at + 1, len(cuts)))
    others.append(done)
    if at > 0:
        others.append(right.mirrored(LEFT))
    others.append(done.mirrored(LEFT_DONE))
    others.extend(beside.laid(clamping.frame))
    return right, others


def _jawed(clamping: Clamping, vise: Vise, form: JawForm | None) -> Jawed:
    half = vise.jaw_length_mm / 2.0
    stop = 0.0 if form is None or form.stop else None
    return Jawed(
        top_mm=clamping.jaw_top_mm, opening_mm=vise.opening_max_mm, low_mm=clamping.jaw_middle_mm - half,
        high_mm=clamping.jaw_middle_mm + half, stop_mm=stop,
    )  # fmt: skip


def _loading(
    clamping: Clamping, judged: Judged, machine: Machine, raw_varies: float, cuts: Sequence[Cuts], mark: str,
    marked: Sequence[bool], beside: Others, *, is_unformed: bool,
) -> Loading:  # fmt: skip
    probe = machine.probe
    wrong = [one for one in judged.others if one.apart_mm > 0.0]
    by_mark = [is_told for one, is_told in zip(judged.others, marked, strict=True) if one.apart_mm > 0.0]
    harmless = [one for one in judged.others if one.apart_mm <= 0.0]
    touches, spare = (), np.full(len(wrong), -np.inf)
    sights = _sights(wrong, judged, clamping)
    if probe is not None and wrong:
        doubt = Doubt(probe_mm=probe.error_mm.high, cut_mm=CUT_VARIES_MM, raw_mm=raw_varies)
        touches, spare = plan_touches(
            judged.right, [one.posed for one in wrong], is_seen=np.array([wide >= SEEN_MM for wide, _ in sights]),
            probe=probe, doubt=doubt, jaw_top_mm=clamping.jaw_top_mm,
        )  # fmt: skip
    told = [
        _told(one, float(spare[i]), *sights[i], is_marked=by_mark[i])
        for i, one in enumerate(wrong)
    ]  # fmt: skip
    told.sort(key=lambda one: (one.seen_mm, one.laid.stuff.what, one.laid.stuff.part, one.laid.way))
    loads = tuple(
        WrongLoad(
            what=one.laid.stuff.what, part=one.laid.stuff.part, way=one.laid.way, pose=one.laid.pose,
            is_mirrored=one.laid.stuff.is_mirrored, wrong_mm=round(one.laid.apart_mm, 3),
            off_mm=None if one.off_mm is None else round(one.off_mm, 3), seen_mm=round(one.seen_mm, 2),
            place="" if one.place_mm is None else place_words(one.place_mm, judged.low_mm, judged.high_mm),
            caught_by=one.caught_by, look_mm=None if one.place_mm is None else triple(np.round(one.place_mm, 2)),
        )
        for one in told
    )  # fmt: skip
    escaping = [one.laid for one in told if one.caught_by == "none" and not one.laid.stuff.is_mirrored]
    pin = find_pin(judged, escaping, cuts, jaw_top_mm=clamping.jaw_top_mm) if escaping else None
    decided = (
        "nothing" if escaping or is_unformed or not judged.seats else "the jaws" if not told else "the mark"
        if any(one.caught_by == "mark" for one in told) else "the probe"
        if any(one.caught_by == "touch" for one in told) else "the card"
    )  # fmt: skip
    return Loading(
        clamping_id=clamping.id, seats_count=len(judged.others) + 1, wrong=loads, looks=looks_of(loads),
        touches=touches, harmless=tuple(dict.fromkeys(f"{_named(one)} {one.way}" for one in harmless)),
        refused=judged.refused, decided_by=decided, pin=pin,
        remedy=remedy_words(loads, clamping, machine=machine, pin=pin)
        or unsure_words(clamping, is_unformed=is_unformed, seats=judged.seats), mark=mark,
        others_tried=beside.tried, others_untried=beside.untried,
    )  # fmt: skip


def _named(one: Laid) -> str:
    return one.stuff.named


def _told(one: Laid, spare: float, wide: float, place: Floats | None, *, is_marked: bool) -> _Told:
    """What tells it. A left-hand piece is marked like the others: a mark does not tell it."""
    is_marked = is_marked and not one.stuff.is_mirrored
    caught: Catch = "touch" if spare > 0.0 else "look" if wide >= SEEN_MM else "mark" if is_marked else "none"
    return _Told(laid=one, off_mm=spare if np.isfinite(spare) else None, seen_mm=wide, place_mm=place, caught_by=caught)


def _sights(wrong: Sequence[Laid], judged: Judged, clamping: Clamping) -> list[tuple[float, Floats | None]]:
    """Of each wrong load the width of the patch that looks most different, and where.

    What lies farther beside the right one than PAGE_AROUND_MM is left out: then more looks different, not less.
    """
    low, high, top = judged.low_mm, judged.high_mm, clamping.jaw_top_mm
    page = page_of(low - PAGE_AROUND_MM, high + PAGE_AROUND_MM)
    rightly = seen(judged.right_points_mm, turn=np.eye(3), shift_mm=np.zeros(3), above_mm=top, page=page)
    found: list[tuple[float, Floats | None]] = []
    for one in wrong:
        wrongly = seen(one.points_mm, turn=one.turn, shift_mm=one.shift_mm, above_mm=top, page=page)
        wide, at = different_mm(rightly, wrongly)
        found.append((wide, _on_page(rightly, wrongly, at) if wide > 0.0 else None))
    return found


def _on_page(one: Sight, other: Sight, at: Floats) -> Floats:
    i, j = np.clip(np.floor((at - one.low_mm) / one.cell_mm).astype(int), 0, np.array(one.near_mm.shape) - 1)
    near = max(float(one.near_mm[i, j]), float(other.near_mm[i, j]))
    return from_page(at, near if near > NOTHING_MM else 0.0)
