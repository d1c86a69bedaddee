"""The programs of a plan: written, read back, compared move by move with the plan, and checked by their text."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import msgspec

from proveout.geometry.arcs import XY, Arc
from proveout.jobs.check_program import control_of, fingerprint_of_text
from proveout.jobs.program_lines import PassLines
from proveout.jobs.store import Store
from proveout.model.checking import CutterTable, Standing
from proveout.model.course import Axes, Course, Motion
from proveout.model.moves import LEFT, STRAIGHT
from proveout.model.plan import ProgramSheet, pockets_of
from proveout.model.proof import Basis, Proof, prove
from proveout.model.run import Run
from proveout.model.shop import Cutter, Jaws, Machine, Shop, Vise
from proveout.model.table_load import TableLoad
from proveout.model.work import Blank, Clamping, Pass, PassPlan, Survey, Tilt
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.running import follow
from proveout.programs.writing.headings import headings_of
from proveout.programs.writing.writing import Written, write_program, zero_in_machine

STAGE = "program"
FEED_RATIO = 1e-3
"""A written feed is rounded to a hundredth of a millimetre a minute, a tap's to the speed that is written."""
FEED_LEAST_MM_PER_S = 0.01 / 60.0
SPEED_LEAST_RAD_PER_S = 0.5 * math.pi / 30.0
COARSE_RATIO = 3.0
READ_BACK = "read by the reader that checks anybody's programs; every move's end against the plan's, bit by bit"


@dataclass(frozen=True, kw_only=True)
class Programs:
    """What was written: sheets for the plan, texts by file name, proofs, and the lines of every pass's moves."""

    sheets: tuple[ProgramSheet, ...]
    texts: dict[str, str]
    proofs: tuple[Proof, ...]
    lines: PassLines


def programs_of(
    *, number: str, revision: str, survey: Survey, blank: Blank, clampings: tuple[Clamping, ...], passes: PassPlan,
    shop: Shop, store: Store, run: Run, loads: Sequence[TableLoad] = (),
) -> Programs:  # fmt: skip
    """Write and prove a program for every clamping on a machine whose programs are described.

    Those of loads, whose cycles work in several places, are not among them.
    """
    shared = {id for load in loads for id in load.clamping_ids}
    machines, vises = {m.id: m for m in shop.machines}, {v.id: v for v in shop.vises}
    cutters = {c.id: c for c in shop.cutters}
    pockets = pockets_of(passes=passes.passes, clampings=clampings, machines=shop.machines)
    sheets: list[ProgramSheet] = []
    texts: dict[str, str] = {}
    proofs: list[Proof] = []
    lines: PassLines = {}
    for clamping in sorted(clampings, key=lambda c: (c.number, c.id)):
        machine, vise = machines[clamping.machine_id], vises[clamping.vise_id]
        style = machine.program
        own = [one for one in passes.passes if one.clamping_id == clamping.id]
        if style is None or not own or clamping.id in shared:
            continue
        run.check(STAGE, clamping.id)
        written = write_program(
            title=title_of(number, revision), clamping=clamping, machine=machine, vise=vise, passes=own,
            moves=passes.moves, cutters=cutters, numbers=pockets[clamping.machine_id],
            headings=headings_of(own, survey),
        )  # fmt: skip
        if not written.text:
            proofs.append(not_written(clamping.id, f"clamping {clamping.number}", written.why))
            continue
        file = f"clamping-{clamping.number}{style.ending}"
        texts[file] = written.text
        lines |= {pass_id: (file, rows) for pass_id, rows in written.lines.items()}
        sheets.append(sheet_of(written, clamping_id=clamping.id, file=file))
        proofs.extend(
            store.get(
                "program", prove_program, text=written.text, clamping=clamping, machine=machine, vise=vise,
                numbers=written.numbers, blank=blank, passes=_until(passes, clampings, clamping), clampings=clampings,
                cutters=shop.cutters, vises=shop.vises, jaws=shop.jaws, run=run,
            )
        )  # fmt: skip
    return Programs(sheets=tuple(sheets), texts=texts, proofs=tuple(proofs), lines=lines)


def title_of(number: str, revision: str) -> str:
    """What the head of a program calls a part."""
    return f"{number} REVISION {revision}" if revision not in ("", "-") else number


def sheet_of(written: Written, *, clamping_id: str, file: str) -> ProgramSheet:
    """What the plan keeps of a written program beside its text."""
    return ProgramSheet(
        clamping_id=clamping_id, file=file, fingerprint=fingerprint_of_text(written.text),
        blocks_count=len(written.text.splitlines()), work_offset="G54",
        cutters={str(n): cutter_id for cutter_id, n in sorted(written.numbers.items(), key=lambda row: row[1])},
    )  # fmt: skip


def table_of(numbers: Mapping[str, int], cutters: Mapping[str, Cutter], machine: Machine) -> CutterTable:
    """The cutters by the numbers that a program calls, each as long as its holder and what sticks out of it."""
    known = {number: cutters[cutter_id] for cutter_id, number in numbers.items()}
    gauge = {number: cutter.gauge_mm for number, cutter in known.items()}
    return CutterTable(cutters=known, gauge_mm=gauge, machine=machine)


def standing_of(
    clamping: Clamping, machine: Machine, vise: Vise, *, vises: tuple[Vise, ...] = (), jaws: tuple[Jaws, ...] = ()
) -> Standing:
    """How the work of a clamping stands in its machine that has it alone; vises, jaws: all of the shop."""
    from proveout.stages.removal_check.bodies import bodies_about, unlooked
    from proveout.stages.removal_check.idle import idle_beside

    zero = zero_in_machine(clamping, vise) or (None, None, None)
    rotary, obstacles = machine.rotary, bodies_about(clamping, vise, machine, zero)
    idle = idle_beside(clamping, machine, vises=vises, jaws=jaws)
    return Standing(
        frame=clamping.frame, zero_mm=zero, centre_mm=rotary.pivot_in_machine_mm if rotary is not None else None,
        obstacles=(*obstacles, *idle.bodies),
        unlooked=tuple(dict.fromkeys((*unlooked(obstacles, machine), *idle.unlooked))),
    )  # fmt: skip


def origins_of(machine: Machine, standing: Standing) -> dict[int, Axes]:
    """Where the first work offset is set at the machine: at work zero, or at the rotary centre."""
    style = machine.program
    if style is not None and style.zero_after_turning == "at the rotation centre" and standing.centre_mm is not None:
        return {1: standing.centre_mm}
    return {1: standing.zero_mm}


def prove_program(
    *, text: str, clamping: Clamping, machine: Machine, vise: Vise, numbers: dict[str, int], blank: Blank,
    passes: PassPlan, clampings: tuple[Clamping, ...], cutters: tuple[Cutter, ...], run: Run,
    vises: tuple[Vise, ...] = (), jaws: tuple[Jaws, ...] = (),
) -> tuple[Proof, ...]:  # fmt: skip
    """Read a program back: it must make the planned moves and nothing else, and strike nothing on its ways between.

    passes: those of this clamping and of all before it.   vises, jaws: all that may stand about.
    """
    from proveout.stages.removal_check.program import decide
    from proveout.stages.removal_check.standing import work_before

    standing = standing_of(clamping, machine, vise, vises=vises, jaws=jaws)
    table = table_of(numbers, {c.id: c for c in cutters}, machine)
    parsed = read_program(text)
    course = follow(parsed, control_of(machine, table, origins_mm=origins_of(machine, standing)))
    own = [one for one in passes.passes if one.clamping_id == clamping.id]
    where = f"clamping {clamping.number}"
    proofs = [read_back(course, clamping, own, passes, numbers, subject=where)]
    fields = work_before(
        clamping=clamping, clampings=clampings, plan=passes, blank=blank, cutters=cutters, coarse_ratio=COARSE_RATIO,
        run=run,
    )  # fmt: skip
    decided = decide(
        course, fields=fields, target=None, standing=standing, table=table, lines_count=len(parsed.blocks),
        leftover_counts=False, run=run,
    )  # fmt: skip
    kept = [proof for proof in decided.proofs if not proof.id.endswith((":gouge", ":bodies"))]
    return (*proofs, *of_clamping(kept, clamping.id, subject=where))


def _until(passes: PassPlan, clampings: Sequence[Clamping], clamping: Clamping) -> PassPlan:
    numbers = {one.id: one.number for one in clampings}
    kept = tuple(one for one in passes.passes if numbers[one.clamping_id] <= clamping.number)
    return PassPlan(passes=kept, not_cut=(), moves={one.moves_digest: passes.moves[one.moves_digest] for one in kept})


def of_clamping(proofs: Sequence[Proof], clamping_id: str, *, subject: str) -> tuple[Proof, ...]:
    """The proofs of a checked program as those of one clamping of a plan."""
    return tuple(
        msgspec.structs.replace(
            proof, id=f"{STAGE}:{clamping_id}:{proof.id.rpartition(':')[2]}", stage=STAGE,
            subject=f"{subject}, {proof.subject}",
        )
        for proof in proofs
    )  # fmt: skip


def not_written(clamping_id: str, subject: str, why: str) -> Proof:
    """That there is no program to read back, and why."""
    return prove(
        id=f"{STAGE}:{clamping_id}:read back", stage=STAGE, subject=subject,
        claim="the program makes the planned moves", sense="at most", found_low=None, found_high=None, limit=0.0,
        unit="ways", blocks_release=True, basis=Basis(formula="no program was written", source="own-algorithm"),
        decides=why,
    )  # fmt: skip


def read_back(
    course: Course, clamping: Clamping, own: Sequence[Pass], passes: PassPlan, numbers: Mapping[str, int], *,
    subject: str,
) -> Proof:  # fmt: skip
    """That a program makes the planned moves and feeds nothing beyond them."""
    wrong = differing_moves(course, clamping, own, passes, numbers)
    return prove(
        id=f"{STAGE}:{clamping.id}:read back", stage=STAGE, subject=subject,
        claim="the program makes the planned moves", sense="at most", found_low=float(wrong), found_high=float(wrong),
        limit=0.0, unit="ways", blocks_release=True, basis=Basis(formula=READ_BACK, source="nist-program-report"),
        remedy="the machine's description does not fit what its programs mean",
    )  # fmt: skip


def differing_moves(
    course: Course, clamping: Clamping, own: Sequence[Pass], passes: PassPlan, numbers: Mapping[str, int]
) -> int:
    """How many planned moves the program does not make, and how many it feeds beyond them.

    The same move: its end to the last bit, the cutter, the tilt, and feed and speed but for their rounding.
    numbers: cutter id to the number that calls it.

    The ways between two passes are the program's own: rapid moves that end where the next pass begins.
    """
    return where_moves_differ(course, clamping, own, passes, numbers)[0]


def where_moves_differ(
    course: Course, clamping: Clamping, own: Sequence[Pass], passes: PassPlan, numbers: Mapping[str, int]
) -> tuple[int, int | None]:
    """As differing_moves, with the line of the first motion that is not as planned, None where none is."""
    tilts: dict[str, Tilt] = {tilt.id: tilt for tilt in clamping.tilts}
    motions = [item for item in course.items if isinstance(item, Motion)]
    at, wrong = 0, 0
    line: int | None = None
    for one in own:
        moves = passes.moves[one.moves_digest]
        tilt = tilts[one.tilt_id]
        turned = (tilt.a_rad, tilt.c_rad)
        first = moves.points[0].tolist()
        while at < len(motions) and motions[at].kind == "rapid" and not _is_at(motions[at].end, first):
            at += 1
        if at < len(motions) and _is_at(motions[at].end, first):
            at += 1
        centres, senses = moves.centres_mm[1:].tolist(), moves.senses[1:].tolist()
        for row, feed in enumerate(moves.feed_mm_per_s[1:].tolist()):
            motion = motions[at] if at < len(motions) else None
            at += 1
            is_same = (
                motion is not None and _is_at(motion.end, moves.points[row + 1].tolist())
                and _is_bent(motion.arc, senses[row], centres[row])
                and _is_turned(motion, turned) and _feeds_alike(motion, feed)
                and motion.modes.cutter == numbers.get(one.cutter_id)
                and (feed <= 0.0 or _turns_alike(motion, one.speed_rad_per_s))
            )  # fmt: skip
            wrong += not is_same
            if not is_same and line is None and motions:
                line = (motion or motions[-1]).line
    beyond = [motion.line for motion in motions[at:] if motion.kind != "rapid"]
    return wrong + len(beyond), line if line is not None or not beyond else beyond[0]


def _is_at(end: Axes, point: Sequence[float]) -> bool:
    return all(end[k] == point[k] for k in range(3))


def _is_bent(arc: Arc | None, sense: int, centre: Sequence[float]) -> bool:
    """Whether a motion turns as planned: about the planned centre to the last bit, in its sense; or not at all."""
    if arc is None or sense == STRAIGHT:
        return arc is None and sense == STRAIGHT
    return arc.plane == XY and arc.centre_mm == (centre[0], centre[1]) and (arc.turn_rad > 0.0) == (sense == LEFT)


def _is_turned(motion: Motion, turned: tuple[float, float]) -> bool:
    a, b, c = motion.modes.turned_rad
    if a is None or c is None:
        return False
    return not b and abs(a - turned[0]) < 1e-6 and abs(math.remainder(c - turned[1], 2.0 * math.pi)) < 1e-6


def _turns_alike(motion: Motion, speed_rad_per_s: float) -> bool:
    """Whether the spindle turns as planned, to the whole turn a minute that is written."""
    off = abs(motion.modes.speed_rad_per_s - speed_rad_per_s)
    return motion.modes.spindle in ("right", "left") and off <= SPEED_LEAST_RAD_PER_S + 1e-9


def _feeds_alike(motion: Motion, feed_mm_per_s: float) -> bool:
    if feed_mm_per_s <= 0.0:
        return motion.kind == "rapid"
    found = motion.feed_mm_per_s
    return (
        motion.kind == "feed" and found is not None
        and abs(found - feed_mm_per_s) <= FEED_RATIO * feed_mm_per_s + FEED_LEAST_MM_PER_S
    )  # fmt: skip
