"""Programs of cycles that work in several places: written for every way in which these are filled, and read back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec

from proveout.jobs.check_program import control_of, fingerprint_of_text
from proveout.jobs.program_lines import PassLines
from proveout.jobs.programs import COARSE_RATIO, Programs, not_written, of_clamping, read_back, table_of, title_of
from proveout.jobs.slices import without_counts
from proveout.jobs.store import Store
from proveout.model.checking import CutterTable, Standing
from proveout.model.course import Axes, Course, Motion
from proveout.model.plan import ProgramSheet, pockets_of
from proveout.model.proof import Basis, Proof, prove
from proveout.model.run import Run
from proveout.model.shop import Cutter, Jaws, Machine, Shop, Vise
from proveout.model.table_load import TableLoad, frame_at, moves_at, zero_at
from proveout.model.work import Blank, Clamping, PassPlan, Survey
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.control import SYSTEM_NUMBER
from proveout.programs.reading.running import follow
from proveout.programs.writing.headings import headings_of
from proveout.programs.writing.places import write_load

STAGE = "program"
OVER = "what stands in the other places is met by nothing"
DROPPED = (":gouge", ":bodies")
NOWHERE: Axes = (None, None, None)


def load_programs(
    *, number: str, revision: str, survey: Survey, blank: Blank, clampings: tuple[Clamping, ...], passes: PassPlan,
    loads: Sequence[TableLoad], shop: Shop, store: Store, run: Run,
) -> Programs:  # fmt: skip
    """Write and prove the programs of every load on a machine whose programs are described."""
    machines = {m.id: m for m in shop.machines}
    by_clamping, cutters = {c.id: c for c in clampings}, {c.id: c for c in shop.cutters}
    pockets = pockets_of(passes=passes.passes, clampings=clampings, machines=shop.machines)
    sheets: list[ProgramSheet] = []
    texts: dict[str, str] = {}
    proofs: list[Proof] = []
    lines: PassLines = {}
    for load in loads:
        machine = machines[load.machine_id]
        if machine.program is None:
            continue
        last = max(by_clamping[id].number for id in load.clamping_ids)
        own = _until(passes, clampings, last)
        for filling in load.fillings:
            run.check(STAGE, load.id)
            written = write_load(
                title=title_of(number, revision), load=load, filled=filling.filled, clampings=by_clamping,
                machine=machine, passes=passes.passes, moves=passes.moves, cutters=cutters,
                numbers=pockets[machine.id], headings=headings_of(passes.passes, survey),
            )  # fmt: skip
            if not written.text:
                proofs.append(not_written(load.id, load.id, written.why))
                continue
            is_full = len(filling.filled) == len(load.laid)
            file = _file(load, filling.filled, by_clamping, machine.program.ending)
            texts[file] = written.text
            if is_full:
                lines |= {pass_id: (file, rows) for pass_id, rows in written.lines.items()}
            names = dict.fromkeys(load.laid[n].clamping_id for n in filling.filled)
            sheets.extend(_sheet(written.text, written.numbers, id, load, filling.filled, file) for id in names)
            found = store.get(
                "load program", prove_load_program, text=written.text, load=without_counts(load), filled=filling.filled,
                clampings=clampings, machine=machine, vises=shop.vises, jaws=shop.jaws, numbers=written.numbers,
                blank=blank, passes=own, cutters=shop.cutters, run=run,
            )  # fmt: skip
            proofs.extend(found if is_full else _of_part(found, file))
    return Programs(sheets=tuple(sheets), texts=texts, proofs=tuple(proofs), lines=lines)


def _file(load: TableLoad, filled: tuple[int, ...], clampings: Mapping[str, Clamping], ending: str) -> str:
    numbers = "-".join(str(clampings[id].number) for id in load.clamping_ids)
    if len(filled) == len(load.laid):
        return f"clamping-{numbers}{ending}"
    places = "-".join(str(load.laid[n].place.number) for n in filled)
    return f"clamping-{numbers}-place-{places}-alone{ending}"


def _sheet(
    text: str, numbers: Mapping[str, int], clamping_id: str, load: TableLoad, filled: tuple[int, ...], file: str
) -> ProgramSheet:  # fmt: skip
    first = next(load.laid[n] for n in filled if load.laid[n].clamping_id == clamping_id)
    return ProgramSheet(
        clamping_id=clamping_id, file=file, fingerprint=fingerprint_of_text(text), blocks_count=len(text.splitlines()),
        work_offset=first.work_offset, filled=filled,
        cutters={str(n): cutter_id for cutter_id, n in sorted(numbers.items(), key=lambda row: row[1])},
    )  # fmt: skip


def _until(passes: PassPlan, clampings: Sequence[Clamping], last: int) -> PassPlan:
    numbers = {one.id: one.number for one in clampings}
    kept = tuple(one for one in passes.passes if numbers[one.clamping_id] <= last)
    return PassPlan(passes=kept, not_cut=(), moves={one.moves_digest: passes.moves[one.moves_digest] for one in kept})


def _of_part(proofs: Sequence[Proof], file: str) -> tuple[Proof, ...]:
    """Of a cycle with empty places: that it is read back, and whatever does not hold; all else holds."""
    return tuple(
        msgspec.structs.replace(proof, id=f"{proof.id}:{file}", subject=f"{file}, {proof.subject}")
        for proof in proofs
        if proof.id.endswith(":read back") or proof.verdict != "holds"
    )


def load_standing(
    load: TableLoad, at: int, *, clampings: Mapping[str, Clamping], vises: Mapping[str, Vise], machine: Machine,
    blank: Blank, jaws: tuple[Jaws, ...] = (),
) -> Standing:  # fmt: skip
    """How the work of one place stands in its machine, with what stands in all other places.   jaws: of the shop."""
    from proveout.stages.removal_check.bodies import unlooked
    from proveout.stages.removal_check.neighbours import others_about, own_bodies

    laid = load.laid[at]
    clamping = clampings[laid.clamping_id]
    own = own_bodies(load, at, clamping, vises[laid.place.vise_id], machine)
    others = others_about(load, at, clampings=clampings, vises=vises, machine=machine, blank=blank, jaws=jaws)
    return Standing(
        frame=frame_at(clamping, laid.place), zero_mm=zero_at(clamping, laid.place) or NOWHERE, centre_mm=None,
        obstacles=(*own, *others.bodies), system=SYSTEM_NUMBER[laid.work_offset],
        unlooked=tuple(dict.fromkeys((*unlooked(own, machine), *others.unlooked))),
    )  # fmt: skip


def load_origins(load: TableLoad, clampings: Mapping[str, Clamping]) -> dict[int, Axes]:
    """Where each place's work offset is set at the machine."""
    return {
        SYSTEM_NUMBER[laid.work_offset]: zero_at(clampings[laid.clamping_id], laid.place) or NOWHERE
        for laid in load.laid
    }


def passes_at(load: TableLoad, at: int, passes: PassPlan) -> PassPlan:
    """The passes of one place with their moves as they are made there."""
    laid = load.laid[at]
    own = [one for one in passes.passes if one.clamping_id == laid.clamping_id]
    moved: dict[str, str] = {}
    moves = {}
    for one in own:
        its = moves_at(passes.moves[one.moves_digest], laid.place)
        moved[one.id] = its.digest
        moves[its.digest] = its
    turned = tuple(msgspec.structs.replace(one, moves_digest=moved[one.id]) for one in own)
    return PassPlan(passes=turned, not_cut=(), moves=moves)


def prove_load_program(
    *, text: str, load: TableLoad, filled: tuple[int, ...], clampings: tuple[Clamping, ...], machine: Machine,
    vises: tuple[Vise, ...], numbers: dict[str, int], blank: Blank, passes: PassPlan, cutters: tuple[Cutter, ...],
    run: Run, jaws: tuple[Jaws, ...] = (),
) -> tuple[Proof, ...]:  # fmt: skip
    """Read the program back, place by place: in each it makes the planned moves and nothing else, and meets nothing.

    passes: those of the load's clampings and of all before them.
    """
    from proveout.stages.removal_check.program import decide
    from proveout.stages.removal_check.standing import work_before

    by_clamping, by_vise = {c.id: c for c in clampings}, {v.id: v for v in vises}
    table = table_of(numbers, {c.id: c for c in cutters}, machine)
    parsed = read_program(text)
    course = follow(parsed, control_of(machine, table, origins_mm=load_origins(load, by_clamping)))
    fields = {}
    proofs: list[Proof] = []
    for at in filled:
        laid = load.laid[at]
        clamping = by_clamping[laid.clamping_id]
        standing = load_standing(
            load, at, clampings=by_clamping, vises=by_vise, machine=machine, blank=blank, jaws=jaws
        )  # fmt: skip
        here, own = course.in_system(standing.system), passes_at(load, at, passes)
        name, where = (
            f"{clamping.id} in place {laid.place.number}",
            f"clamping {clamping.number}, place {laid.place.number}",
        )
        back = read_back(here, clamping, own.passes, own, numbers, subject=where)
        proofs.append(msgspec.structs.replace(back, id=f"{STAGE}:{name}:read back"))
        if clamping.id not in fields:
            fields[clamping.id] = work_before(
                clamping=clamping, clampings=clampings, plan=passes, blank=blank, cutters=cutters,
                coarse_ratio=COARSE_RATIO, run=run,
            )  # fmt: skip
        decided = decide(
            here, fields=fields[clamping.id].copy(), target=None, standing=standing, table=table,
            lines_count=len(parsed.blocks), leftover_counts=False, run=run,
        )  # fmt: skip
        kept = [proof for proof in decided.proofs if not proof.id.endswith(DROPPED)]
        proofs.extend(of_clamping(kept, name, subject=where))
        proofs.append(_others(name, where, standing))
    proofs.append(_strays(course, load, filled, table))
    return tuple(proofs)


def _others(name: str, where: str, standing: Standing) -> Proof:
    """Whether what stands in the other places was among what the moves and the ways were held against."""
    from proveout.stages.removal_check.neighbours import OTHERS

    is_known = OTHERS not in standing.unlooked
    counted = float(sum(" of place " in body.name for body in standing.obstacles))
    return prove(
        id=f"{STAGE}:{name}:other places", stage=STAGE, subject=where,
        claim="vises and pieces of all other places are held against the moves", sense="at least",
        found_low=counted if is_known else None, found_high=counted if is_known else None, limit=1.0, unit="pieces",
        blocks_release=True,
        basis=Basis(formula=f"{OVER}: see the strikes of this place", source="own-algorithm"),
        decides="measure where every vise stands: write stands_x_mm, stands_y_mm and stands_z_mm in the shop file",
    )  # fmt: skip


def _strays(course: Course, load: TableLoad, filled: Sequence[int], table: CutterTable) -> Proof:
    """That nothing is fed, and nothing goes anywhere below the top, in a work offset that no filled place has."""
    own = {SYSTEM_NUMBER[load.laid[n].work_offset] for n in filled}
    strays = [
        item
        for item in course.items
        if isinstance(item, Motion) and item.modes.system not in own and not (item.from_top and item.to_top)
    ]
    at = f" in line {strays[0].line}" if strays else ""
    places = ", ".join(str(load.laid[n].place.number) for n in filled)
    return prove(
        id=f"{STAGE}:{load.id}:no stray place", stage=STAGE, subject=f"{load.id}, places {places}",
        claim="nothing moves below the top of Z in a work offset of no filled place", sense="at most",
        found_low=float(len(strays)), found_high=float(len(strays)), limit=0.0, unit="ways", blocks_release=True,
        basis=Basis(
            formula=f"work offsets of {len(table.cutters)} cutters' motions, as read back", source="own-algorithm"
        ),
        remedy=f"a motion{at} is made where no piece lies",
    )  # fmt: skip
