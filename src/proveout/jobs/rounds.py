"""The rounds of a plan: passes, replay, loads and holding with tighter limits, until all holds or nothing helps."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

from proveout.geometry.frames import triple
from proveout.jobs.closing import pinned_torque_n_mm
from proveout.jobs.face_normals import flat_normals
from proveout.jobs.metal import lacking, without_figures
from proveout.jobs.raw_faces import raw_varies_mm
from proveout.jobs.request import Request
from proveout.jobs.slices import cutters_as_bodies, shop_of_bodies
from proveout.jobs.store import Store
from proveout.model.choice import CutterChoice
from proveout.model.limits import Limits
from proveout.model.loads import Loads
from proveout.model.plan import ClampForce, Round, Window
from proveout.model.proof import Decision, Proof, Tighten, open_proofs
from proveout.model.run import Run
from proveout.model.size_text import read_size
from proveout.model.target import Target
from proveout.model.trial_cut import TrialCut
from proveout.model.work import Blank, Clamping, PassPlan, RemovalCheck, Survey

ROUNDS_MAX = 10
EFFORT_MAX = 60_000_000
"""Triangles that the rounds of one plan may go through together: no round is begun that would go beyond."""
MOVED_LEAST = 0.005
"""Growth of a margin, in shares of its limit, that one of the last tightenings must bring to be worth another."""
PATIENCE = 3
"""Tightenings that may move nothing: a wall pass pushes no less until it is shorter than the edge in it at once."""
COARSE_RATIO = 3.0
# no further round begins once so many moves have been replayed: a long part stops with what fails named, not never
REPLAYED_MAX = 300_000


@dataclass(frozen=True)
class Made:
    """The passes under one set of limits."""

    passes: PassPlan
    proofs: tuple[Proof, ...]


@dataclass(frozen=True)
class Cut:
    """One turn of the loop from passes to holding.

    reserves: by pass, how many times its force could grow before the grip gives way, where the grip is known.
    """

    passes: PassPlan
    removal: RemovalCheck
    loads: Loads
    clamp_forces: tuple[ClampForce, ...]
    proofs: tuple[Proof, ...]
    reserves: dict[str, float] = field(default_factory=dict)
    trial_cuts: tuple[TrialCut, ...] = ()


def iterate(
    request: Request, survey: Survey, target: Target, blank: Blank, placed: tuple[Clamping, ...], store: Store,
    run: Run, picked: Decision[CutterChoice], windows: tuple[Window, ...] = (),
) -> tuple[Cut, tuple[Round, ...]]:  # fmt: skip
    """Repeat passes, replay, loads and holding with tighter limits until all hold or nothing helps.

    Where the request brings the rounds of an earlier plan, its limits are taken as they are and nothing is tightened.
    Rounds that still tighten are replayed on a coarser grid; the plan that stands is always replayed on the fine one.
    windows: the sizes, before the coat.
    """
    kept_torque = pinned_torque_n_mm(request.job) is not None
    limits = kept_limits(request.rounds, keeps_torque=kept_torque)
    rounds: list[Round] = list(request.rounds[:-1])
    is_kept = bool(request.rounds)
    coarse = 1.0 if is_kept else COARSE_RATIO
    made = _make(request, survey, target, blank, placed, limits, store, run, picked, windows)
    replayed_count, effort_count = 0, 0
    history: dict[tuple[str, str, str], list[float]] = {}
    while True:
        cut = _judge(request, target, blank, placed, made, limits, coarse, store, run, windows)
        replayed_count += sum(p.moves_count for p in cut.passes.passes)
        effort_count += made.passes.effort_count if coarse > 1.0 else 0
        failing = open_proofs(cut.proofs)
        remedies = () if is_kept else _remedies(failing, history)
        if kept_torque:
            remedies = _but_softer(remedies)
        tighter = limits.tightened(remedies)
        may_repeat = (
            len(rounds) < ROUNDS_MAX
            and replayed_count < REPLAYED_MAX
            and effort_count + made.passes.effort_count < EFFORT_MAX
        )
        helps = bool(remedies) and tighter != limits and may_repeat
        if not helps and coarse > 1.0:
            coarse = 1.0
            continue
        rounds.append(
            Round(
                number=len(rounds) + 1,
                tightened=remedies if helps else (),
                failing=tuple(sorted(p.id for p in failing)),
                piece_s=round(_feed_s(cut.passes), 3),
                asked_by=tuple(_asked_by(failing, one) for one in remedies) if helps else (),
            )
        )
        if not helps:
            return cut, tuple(rounds)
        for proof in failing:
            if proof.tighten in remedies and proof.tighten is not None and proof.margin is not None:
                history.setdefault(_key(proof.claim, proof.tighten), []).append(proof.margin)
        limits = tighter
        run.check("passes", f"round {len(rounds) + 1}")
        made = _make(request, survey, target, blank, placed, limits, store, run, picked, windows)


def kept_limits(rounds: tuple[Round, ...], *, keeps_torque: bool) -> Limits:
    """The limits that those rounds ended with.

    keeps_torque: the owner pinned it, and no vise stays softer than that because an earlier plan closed it softer.
    """
    limits = Limits()
    for one in rounds:
        limits = limits.tightened(_but_softer(one.tightened) if keeps_torque else one.tightened)
    return limits


def _but_softer(remedies: tuple[Tighten, ...]) -> tuple[Tighten, ...]:
    """All but closing a vise softer."""
    return tuple(one for one in remedies if one.quantity != "preload_ratio")


def _remedies(failing: tuple[Proof, ...], history: dict[tuple[str, str, str], list[float]]) -> tuple[Tighten, ...]:
    """What to tighten. Where data are missing (no margin) a measurement decides, and slower work helps nobody.

    history: margins at which each limit was tightened for each claim before. One that PATIENCE times in a row moved its
    proof by next to nothing is not the cause, and is left alone.
    """
    wanted = {p.tighten for p in failing if p.tighten is not None and _moves(p, history)}
    return tuple(sorted(wanted, key=lambda t: (t.subject, t.quantity, t.bound)))


def _asked_by(failing: tuple[Proof, ...], remedy: Tighten) -> str:
    """The proof farthest outside its limit of those that ask for a remedy."""
    return min((p.margin if p.margin is not None else 0.0, p.id) for p in failing if p.tighten == remedy)[1]


def _key(claim: str, tighten: Tighten) -> tuple[str, str, str]:
    return claim, tighten.subject, tighten.quantity


def _moves(proof: Proof, history: dict[tuple[str, str, str], list[float]]) -> bool:
    if proof.tighten is None or proof.margin is None:
        return False
    seen = [*history.get(_key(proof.claim, proof.tighten), []), proof.margin]
    return len(seen) <= PATIENCE or any(b - a > MOVED_LEAST for a, b in pairwise(seen[-PATIENCE - 1 :]))


def _feed_s(plan: PassPlan) -> float:
    """Seconds at feed of all passes, to see what tightening costs."""
    total = 0.0
    for one in plan.passes:
        moves = plan.moves[one.moves_digest]
        feed = moves.feed_mm_per_s[1:]
        lengths = moves.lengths_mm
        total += float((lengths[feed > 0.0] / feed[feed > 0.0]).sum())
    return total


def _make(
    request: Request, survey: Survey, target: Target, blank: Blank, placed: tuple[Clamping, ...], limits: Limits,
    store: Store, run: Run, picked: Decision[CutterChoice], windows: tuple[Window, ...],
) -> Made:  # fmt: skip
    from proveout.stages.passes.decide import decide as decide_passes

    shop = shop_of_bodies(request.shop)
    made = store.get(
        "passes", decide_passes, target=target, survey=survey, blank=blank, clampings=placed, choice=picked.value,
        cutters=shop.cutters, machines={m.id: m for m in shop.machines}, limits=limits,
        pressure_mpa=shop.cutting_pressure_mpa, exponent_ratio=shop.cutting_exponent_ratio, alloys=shop.alloys,
        widths_mm=_widths_mm(windows), run=run,
    )  # fmt: skip
    return Made(passes=made.value, proofs=(*picked.proofs, *made.proofs))


def choose_cutters(
    request: Request, survey: Survey, target: Target, placed: tuple[Clamping, ...], windows: tuple[Window, ...],
    store: Store,
) -> Decision[CutterChoice]:  # fmt: skip
    """Cutters for the clampings as they lie, with the threads and narrow windows that the job writes."""
    from proveout.stages.cutters.decide import decide as decide_cutters

    threads: dict[int, str] = {}
    for size in request.job.sizes:
        written = read_size(size.text)
        if written.manner == "thread" and written.letter.isupper():
            threads[size.balloon] = "; ".join([*filter(None, [threads.get(size.balloon)]), size.text])
    threads_by_hole = {h.id: threads[h.balloon] for h in survey.holes if h.balloon in threads}
    return store.get(
        "cutters", decide_cutters, survey=survey, clampings=placed, target=target,
        cutters=cutters_as_bodies(request.shop.cutters), threads=threads_by_hole,
        widths_mm=sure_widths_mm(survey, windows),
    )  # fmt: skip


def sure_widths_mm(survey: Survey, windows: tuple[Window, ...]) -> dict[str, float]:
    """Hole id to the sure width of its narrowest window before the coat, of holes that have one.

    Nothing is sure of a window that hangs on what nobody said of the coat, nor of an empty one.
    """
    found: dict[str, float] = {}
    for hole in survey.holes:
        faces = {f for step in hole.steps for f in step.face_ids}
        widths = [
            max(w.width_mm, 0.0) if w.is_decided else 0.0
            for w in windows
            if w.kind == "hole" and faces & set(w.face_ids)
        ]
        if widths:
            found[hole.id] = min(widths)
    return found


def _widths_mm(windows: tuple[Window, ...]) -> dict[str, float]:
    """Face id to the width of the narrowest size on it, before the coat; empty windows are told elsewhere."""
    found: dict[str, float] = {}
    for window in windows:
        for face_id in window.face_ids if window.width_mm > 0.0 else ():
            found[face_id] = min(window.width_mm, found.get(face_id, window.width_mm))
    return found


def _judge(
    request: Request, target: Target, blank: Blank, placed: tuple[Clamping, ...], made: Made, limits: Limits,
    coarse: float, store: Store, run: Run, windows: tuple[Window, ...],
) -> Cut:  # fmt: skip
    from proveout.stages import holding, loads, removal_check, stability

    shop, bodies, widths = request.shop, shop_of_bodies(request.shop), _widths_mm(windows)
    replayed = store.get(
        "removal check", removal_check.decide, blank=blank, target=target, clampings=placed, plan=made.passes,
        cutters=bodies.cutters, vises=bodies.vises, machines=bodies.machines, coarse_ratio=coarse, run=run,
    )  # fmt: skip
    loaded = store.get(
        "loads", loads.decide, plan=made.passes, cuts=replayed.value.check.passes, clampings=placed,
        cutters=bodies.cutters, machines=bodies.machines, pressure_mpa=shop.cutting_pressure_mpa,
        exponent_ratio=shop.cutting_exponent_ratio, blank=blank, limits=limits, move_cuts=replayed.value.moves,
        alloys=shop.alloys, widths_mm=widths, normals=flat_normals(target, widths),
        raw_varies_mm=raw_varies_mm(blank, shop), run=run,
    )  # fmt: skip
    forces = holding.clamp_forces(clampings=placed, vises=shop.vises, limits=limits)
    steady = store.get(
        "stability", stability.decide, plan=made.passes, loads=loaded.value.passes, clampings=placed,
        cutters=bodies.cutters, machines=bodies.machines, responses=shop.responses,
        pressure_mpa=shop.cutting_pressure_mpa, exponent_ratio=shop.cutting_exponent_ratio, vises=shop.vises,
        jaws=shop.jaws, forces=forces, yield_mpa=shop.yield_mpa, moves=loaded.value.moves, blank=blank,
        limits=limits, alloys=shop.alloys, test_cuts=shop.test_cuts, run=run,
    )  # fmt: skip
    corners = target.vertices_mm
    work = holding.Work(
        blank_low_mm=blank.low_mm, blank_high_mm=blank.high_mm, part_low_mm=triple(corners.min(axis=0)),
        part_high_mm=triple(corners.max(axis=0)), elastic_mpa=shop.elastic_mpa, strips=replayed.value.strips,
        walls=replayed.value.walls, widths_mm=widths, wall_readings=request.job.wall_readings,
    )  # fmt: skip
    held = store.get(
        "holding", holding.decide, plan=made.passes, loads=loaded.value.passes, clampings=placed, vises=shop.vises,
        jaws=shop.jaws, machines=bodies.machines, cutters=bodies.cutters, yield_mpa=shop.yield_mpa,
        pressure_mpa=shop.cutting_pressure_mpa, limits=limits, work=work, moves=loaded.value.moves, run=run,
    )  # fmt: skip
    lack = lacking(request.job.part.alloy, shop)
    proofs = (*made.proofs, *replayed.proofs, *without_figures((*loaded.proofs, *steady.proofs, *held.proofs), lack))
    return Cut(
        passes=made.passes, removal=replayed.value.check, loads=loaded.value, clamp_forces=forces, proofs=proofs,
        reserves={one.pass_id: one.reserve_low for one in held.value},
        trial_cuts=() if lack else steady.value,
    )  # fmt: skip
