"""Over-travel: whether the moves of a clamping fit into the machine, and what only a dry run tells of its tilts.

Positions are those of the tip in machine directions (a tilt's frame has the machine's axes), and of the spindle's nose
above it: the tip and what the cutter and its holder measure. Clearance moves count like all others.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.turning import turn_of
from proveout.model.moves import BOX_CHORD_MM
from proveout.model.proof import Basis, Decision, MoveAt, Proof, prove
from proveout.model.shop import Cutter, Machine, Vise
from proveout.model.work import Clamping, PassPlan
from proveout.quantities.canonical import digest_of
from proveout.quantities.units import deg_from_rad
from proveout.stages.clampings.ranges import tilt_proofs

MARK_LETTERS = 8
PLACE_UNKNOWN = "measure where the vise stands: write its from_c_axis_mm and above_a_axis_mm in the shop file"
PIVOT_UNKNOWN = "measure the rotation centre and write pivot_x_mm, pivot_y_mm, pivot_z_mm in the shop file"
NOSES = "spindle nose at the highest clearance with the longest cutter, less the nose at the lowest cut"

Vector3 = NDArray[np.float64]


@dataclass(frozen=True)
class _Box:
    """Lowest and highest tip of one tilt, and lowest and highest nose along z, in machine directions from work zero.

    low_at, high_at: the moves that go there, along x and y those of the tip, along z those of the nose.
    """

    low: Vector3
    high: Vector3
    nose_low: float
    nose_high: float
    turn: NDArray[np.float64]
    low_at: tuple[MoveAt, ...]
    high_at: tuple[MoveAt, ...]


def travels(
    *,
    plan: PassPlan,
    clampings: tuple[Clamping, ...],
    machines: tuple[Machine, ...],
    vises: tuple[Vise, ...],
    cutters: tuple[Cutter, ...],
    dry_run: str,
    dry_run_mark: str,
) -> Decision[str]:
    """Proofs of tilts and over-travel for each clamping with passes, and the mark of all tilted moves, "" for none.

    dry_run, dry_run_mark: who ran every tilt dry and when, and the mark of the moves that were run.
    """
    proofs: list[Proof] = []
    noses: dict[tuple[str, str, str], tuple[float, float]] = {}
    of_machine, of_vise = {m.id: m for m in machines}, {v.id: v for v in vises}
    of_cutter = {c.id: c for c in cutters}
    mark = _mark(plan, clampings, of_machine, of_vise, of_cutter)
    for clamping in sorted(clampings, key=lambda c: (c.number, c.id)):
        boxes = _boxes(plan, clamping, of_cutter)
        if not boxes:
            continue
        machine, vise = of_machine[clamping.machine_id], of_vise[clamping.vise_id]
        is_tilted = any(t.a_rad != 0.0 for t in clamping.tilts if t.id in boxes)
        standing = _standing(clamping, machine, vise, boxes)
        proofs.extend(tilt_proofs(clamping, machine))
        if is_tilted or standing is not None:
            proofs.extend(_about_the_axes(clamping, machine, standing, boxes))
        else:
            proofs.extend(_anywhere(clamping, machine, next(iter(boxes.values()))))
        if not is_tilted or standing is not None:
            low, high = _nose_heights(standing, boxes)
            key = machine.id, vise.id, "the jaw seat" if standing is None else "the A axis"
            was = noses.get(key, (low, high))
            noses[key] = min(was[0], low), max(was[1], high)
        if is_tilted:
            proofs.append(_dry_run(clamping, mark, dry_run, dry_run_mark, _described(machine, vise)))
    proofs.extend(_nose(*key, *ends) for key, ends in sorted(noses.items()))
    return Decision(value=mark, proofs=tuple(proofs))


def _boxes(plan: PassPlan, clamping: Clamping, cutters: dict[str, Cutter]) -> dict[str, _Box]:
    """By tilt id. The nose goes as high as the highest clearance with the longest cutter of the clamping in it."""
    own = [p for p in plan.passes if p.clamping_id == clamping.id]
    longest = max((cutters[p.cutter_id].gauge_mm for p in own), default=0.0)
    boxes: dict[str, _Box] = {}
    for tilt in clamping.tilts:
        # of each pass its lowest and highest tips along x, y and z, and its lowest nose
        lows: list[Vector3] = []
        highs: list[Vector3] = []
        low_at: list[tuple[MoveAt, ...]] = []
        high_at: list[tuple[MoveAt, ...]] = []
        for one in (p for p in own if p.tilt_id == tilt.id):
            straight, owner = plan.moves[one.moves_digest].divided(within_mm=BOX_CHORD_MM)
            # of moves that go as far the last: the first point of a pass has no line of its own
            last_row = len(straight.points) - 1
            low, high = (
                last_row - straight.points[::-1].argmin(axis=0),
                last_row - straight.points[::-1].argmax(axis=0),
            )
            gauge = cutters[one.cutter_id].gauge_mm
            lows.append(np.append(straight.points.min(axis=0), straight.points[:, 2].min() + gauge))
            highs.append(straight.points.max(axis=0))
            low_at.append(tuple(MoveAt(pass_id=one.id, row=int(owner[k])) for k in low))
            high_at.append(tuple(MoveAt(pass_id=one.id, row=int(owner[k])) for k in high))
        if lows:
            least, most = np.array(lows), np.array(highs)
            high = most.max(axis=0)
            first, last = least[:, (0, 1, 3)].argmin(axis=0), most.argmax(axis=0)
            boxes[tilt.id] = _Box(
                low=least[:, :3].min(axis=0), high=high, nose_low=float(least[:, 3].min()),
                nose_high=float(high[2]) + longest, turn=turn_of(a_rad=tilt.a_rad, c_rad=tilt.c_rad),
                low_at=tuple(low_at[first[k]][k] for k in range(3)),
                high_at=tuple(high_at[last[k]][k] for k in range(3)),
            )  # fmt: skip
    return boxes


def _ends(low_at: MoveAt, high_at: MoveAt) -> str:
    """The two moves between which everything lies, in words."""
    return f"lowest in {low_at.pass_id}, move {low_at.row}, highest in {high_at.pass_id}, move {high_at.row}"


def _at_most(
    clamping: Clamping, letter: str, found: tuple[float, float] | None, limit: float, formula: str, *,
    decides: str = "", move: MoveAt | None = None,
) -> Proof:  # fmt: skip
    """move: the one that goes furthest towards the end that is nearer."""
    shorter = ", another way up or shorter cutters" if letter == "z" else " or another way up"
    return prove(
        id=f"clampings:{clamping.id}:moves {letter}", stage="clampings", subject=f"clamping {clamping.number}",
        claim=f"the moves need no more than the machine's {letter} travel", sense="at most",
        found_low=None if found is None else _up(found[0]), found_high=None if found is None else _up(found[1]),
        limit=limit, unit="mm", blocks_release=True, basis=Basis(formula=formula, source="own-algorithm", move=move),
        decides=decides, remedy=f"use a larger machine{shorter}",
    )  # fmt: skip


def _anywhere(clamping: Clamping, machine: Machine, box: _Box) -> list[Proof]:
    """Nothing turns: the vise can stand anywhere, so the span of the moves is what the travel must hold."""
    spans = [float(box.high[0] - box.low[0]), float(box.high[1] - box.low[1]), box.nose_high - box.nose_low]
    level = (
        "highest less lowest tip of all moves, clearance moves included; the vise must stand where all of them lie "
        "within the travel"
    )
    upright = f"{NOSES}; needed wherever the vise stands, but the nose's height above the table is not in it"
    formulas = (level, level, upright)
    return [
        _at_most(
            clamping, "xyz"[k], (spans[k], spans[k]), machine.travel_mm[k],
            f"{formulas[k]}; {_ends(box.low_at[k], box.high_at[k])}", move=box.high_at[k],
        )
        for k in range(3)
    ]  # fmt: skip


@dataclass(frozen=True)
class _Standing:
    """(n, 3) what is to be added to each tilt's positions to count them from the pivot, at least and at most."""

    least: NDArray[np.float64]
    most: NDArray[np.float64]


def _standing(clamping: Clamping, machine: Machine, vise: Vise, boxes: dict[str, _Box]) -> _Standing | None:
    """Where the work stands from the rotary axes at each tilt; None when nobody measured where the vise stands."""
    aside, above = vise.from_c_axis_mm, vise.above_a_axis_mm
    if aside is None or above is None or machine.rotary is None:
        return None
    least, most = np.zeros((len(boxes), 3)), np.zeros((len(boxes), 3))
    for i, box in enumerate(boxes.values()):
        # the fixed jaw's middle lies so far from the C axis, whichever way; the seat so high above the A axis
        at = box.turn @ np.array([-clamping.jaw_middle_mm, 0.0, 0.0])
        off = np.hypot(box.turn[:, 0], box.turn[:, 1]) * aside.high
        ends = np.sort(np.outer([above.low, above.high], box.turn[:, 2]), axis=0)
        least[i], most[i] = at + ends[0] - off, at + ends[1] + off
    return _Standing(least, most)


def _nose_heights(standing: _Standing | None, boxes: dict[str, _Box]) -> tuple[float, float]:
    """The nose at its lowest and highest: above the A axis where the vise's place is known, else above the seat."""
    least, most = (np.zeros(len(boxes)),) * 2 if standing is None else (standing.least[:, 2], standing.most[:, 2])
    low = min(b.nose_low + float(v) for b, v in zip(boxes.values(), least, strict=True))
    return low, max(b.nose_high + float(v) for b, v in zip(boxes.values(), most, strict=True))


def _about_the_axes(
    clamping: Clamping, machine: Machine, standing: _Standing | None, boxes: dict[str, _Box]
) -> list[Proof]:
    """Every tilt turns the work about the rotary axes, so where the vise stands from them decides."""
    pivot = machine.rotary.pivot_in_machine_mm if machine.rotary is not None else None
    lows = np.array([(b.low[0], b.low[1], b.nose_low) for b in boxes.values()])
    highs = np.array([(b.high[0], b.high[1], b.nose_high) for b in boxes.values()])
    alone = (highs - lows).max(axis=0)
    stand = tuple(boxes.values())
    nothing = np.zeros((len(boxes), 3))
    from_axes = (nothing, nothing) if standing is None else (standing.least, standing.most)
    # the tilt that goes lowest and the one that goes highest; alone, the one that goes widest is both
    first_at = (lows + from_axes[0]).argmin(axis=0) if standing is not None else (highs - lows).argmax(axis=0)
    last_at = (highs + from_axes[1]).argmax(axis=0) if standing is not None else first_at
    ends_at = tuple((stand[first_at[k]].low_at[k], stand[last_at[k]].high_at[k]) for k in range(3))
    proofs: list[Proof] = []
    for k in range(2):
        letter, travel = "xy"[k], machine.travel_mm[k]
        if standing is None or pivot is None:
            known = _if_beyond(float(alone[k]), travel)
            formula = "highest less lowest tip over all tilts, each turned about the rotary axes with the vise"
            decides = PLACE_UNKNOWN if standing is None else PIVOT_UNKNOWN
            where = f"{formula}; {_ends(*ends_at[k])}"
            proofs.append(_at_most(clamping, letter, known, travel, where, decides=decides, move=ends_at[k][1]))
            continue
        # the pivot's machine coordinate tells the end of travel that is zero: 0 to the travel, or minus it to 0
        first = 0.0 if pivot[k] >= 0.0 else -travel
        last = first + travel

        def needed(low: float, high: float, *, first: float = first, last: float = last) -> float:
            return (last - first) + max(first - low, high - last)

        low = pivot[k] + float((lows + standing.least)[:, k].min())
        high = pivot[k] + float((highs + standing.most)[:, k].max())
        best_low = pivot[k] + float((lows + standing.most)[:, k].min())
        best_high = pivot[k] + float((highs + standing.least)[:, k].max())
        proofs.append(
            _at_most(
                clamping, letter, (needed(best_low, best_high), needed(low, high)), travel,
                f"tips of all tilts from {low:.1f} to {high:.1f} in machine {letter.upper()}, whose travel runs "
                f"from {first:g} to {last:g} (zero at one end); found is the travel less the room at the nearer end, "
                f"or more where there is none; {_ends(*ends_at[k])}",
                decides="where the vise stands from the C and the A axis, more closely",
                move=ends_at[k][0 if first - low > high - last else 1],
            )
        )  # fmt: skip
    over_all = f"{NOSES}, over all tilts; the nose's height above the A axis is not in it; {_ends(*ends_at[2])}"
    travel = machine.travel_mm[2]
    if standing is None:
        known = _if_beyond(float(alone[2]), travel)
        return [
            *proofs, _at_most(clamping, "z", known, travel, over_all, decides=PLACE_UNKNOWN, move=ends_at[2][1])
        ]  # fmt: skip
    low, high = _nose_heights(standing, boxes)
    best = float((highs + standing.least)[:, 2].max() - (lows + standing.most)[:, 2].min())
    proofs.append(
        _at_most(
            clamping, "z", (max(best, float(alone[2])), high - low), travel, over_all,
            decides="where the vise stands from the C and the A axis, more closely", move=ends_at[2][1],
        )
    )  # fmt: skip
    return proofs


def _nose(machine_id: str, vise_id: str, above: str, low: float, high: float) -> Proof:
    """The machine's own height is in no shop file: said in numbers that one measurement answers."""
    return prove(
        id=f"clampings:{machine_id}:{vise_id}:spindle nose above {above}", stage="clampings", subject=machine_id,
        claim="the spindle comes down to the lowest cut and up clear of the work where the vise stands",
        sense="at least", found_low=None, found_high=None, limit=1.0, unit="yes = 1", blocks_release=False,
        basis=Basis(formula="tip heights and the length of cutter and holder below the nose", source="own-algorithm"),
        decides=f"with {vise_id} in place: the spindle nose must come down to {math.floor(low)} mm above {above} and "
        f"go up to {math.ceil(high)} mm above it, cutter changes no lower",
    )  # fmt: skip


def _described(machine: Machine, vise: Vise) -> str:
    """What of the machine and the vise the replay looks at, and what only a dry run tells, in words."""
    parts = (("the head", machine.head), ("the table", machine.table), ("the vise's bed", vise.bed))
    known = [name for name, part in parts if part is not None]
    if not known:
        return "head, table and the bed of the vise are in no description"
    missing = [name for name, part in parts if part is None]
    more = ", ".join([*missing, "hoses, covers and all that is in no description"])
    return f"{', '.join(known)} held against the moves as the shop file has them, see removal check; not {more}"


def _dry_run(clamping: Clamping, mark: str, dry_run: str, dry_run_mark: str, described: str) -> Proof:
    """Not everything about the work is in a description: only a dry run of these very moves tells."""
    is_run = bool(dry_run.strip()) and dry_run_mark.strip() == mark
    tilted = [t for t in clamping.tilts if t.a_rad != 0.0]
    names = ", ".join(f"A{deg_from_rad(t.a_rad):.1f} C{deg_from_rad(t.c_rad):.1f}" for t in tilted)
    stale = f" (the one recorded, {dry_run.strip()}, was of other moves)" if dry_run.strip() and not is_run else ""
    return prove(
        id=f"clampings:{clamping.id}:clear at every tilt", stage="clampings", subject=f"clamping {clamping.number}",
        claim="head, holder, table and vise keep clear of one another at every tilt", sense="at least",
        found_low=1.0 if is_run else None, found_high=1.0 if is_run else None, limit=1.0, unit="yes = 1",
        blocks_release=True,
        basis=Basis(
            formula=f"dry run of the moves marked {mark}: {dry_run.strip()}" if is_run
            else described,
            source="job-file",
        ),
        decides=f"a dry run at every tilt ({names}) with the work zero lifted, move by move{stale}; then write under "
        f'[prove_out] in the job file tilts_dry_run = "date, name" and tilts_mark = "{mark}"',
    )  # fmt: skip


def _mark(
    plan: PassPlan, clampings: tuple[Clamping, ...], machines: dict[str, Machine], vises: dict[str, Vise],
    cutters: dict[str, Cutter],
) -> str:  # fmt: skip
    """A few letters that change with any move, and with what could strike, in the clampings that tilt."""
    content: list[object] = []
    for clamping in sorted(clampings, key=lambda c: (c.number, c.id)):
        own = [p for p in plan.passes if p.clamping_id == clamping.id]
        if any(t.a_rad != 0.0 and t.id in {p.tilt_id for p in own} for t in clamping.tilts):
            machine, vise = machines[clamping.machine_id], vises[clamping.vise_id]
            sizes = [(c.id, c.diameter_mm, c.stick_out_mm, c.holder_diameter_mm, c.holder_length_mm)
                     for c in (cutters[p.cutter_id] for p in own)]  # fmt: skip
            content.append(
                (
                    clamping.id, clamping.frame, clamping.tilts, clamping.jaw_top_mm, clamping.gap_mm,
                    clamping.jaw_middle_mm, machine.id, machine.travel_mm, machine.rotary, vise.id, vise.jaw_length_mm,
                    vise.jaw_height_mm, vise.from_c_axis_mm, vise.above_a_axis_mm,
                    [(p.id, p.moves_digest) for p in own], sizes, machine.table, machine.head, vise.bed,
                    vise.jaw_depth_mm,
                )
            )  # fmt: skip
    return digest_of(content)[:MARK_LETTERS] if content else ""


def _up(value: float) -> float:
    """Rounded up to the micrometre."""
    return math.ceil(value * 1000.0 - 1e-6) / 1000.0


def _if_beyond(found: float, limit: float) -> tuple[float, float] | None:
    """What fails whatever else is measured; None where that is not yet decided."""
    return (found, found) if found > limit else None
