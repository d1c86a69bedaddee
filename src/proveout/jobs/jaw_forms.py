"""The pockets of soft jaws beside a plan: planned on the half-made work, replayed, written, and read back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import msgspec

from proveout.jobs.check_program import control_of
from proveout.jobs.programs import STAGE, not_written, of_clamping, origins_of, read_back, sheet_of, table_of, title_of
from proveout.jobs.store import Store
from proveout.model.checking import Standing
from proveout.model.jaw_form import JawForm
from proveout.model.moves import Moves
from proveout.model.plan import ProgramSheet, pockets_of
from proveout.model.proof import Proof
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine, Shop, Vise
from proveout.model.table_load import Laid, Step, TableLoad, zero_at
from proveout.model.target import Target
from proveout.model.work import Clamping, PassPlan
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.control import SYSTEM_NUMBER
from proveout.programs.reading.running import follow
from proveout.programs.writing.places import write_load
from proveout.programs.writing.writing import Written, write_program, zero_in_machine


@dataclass(frozen=True, kw_only=True)
class Forms:
    """What was planned: forms and sheets for the plan, moves by digest, texts by file name, and proofs."""

    forms: tuple[JawForm, ...]
    sheets: tuple[ProgramSheet, ...]
    moves: dict[str, Moves]
    texts: dict[str, str]
    proofs: tuple[Proof, ...]


def forms_of(
    *, number: str, revision: str, clampings: tuple[Clamping, ...], target: Target, passes: PassPlan, shop: Shop,
    general_class: str, store: Store, run: Run, loads: Sequence[TableLoad] = (),
) -> Forms:  # fmt: skip
    """Plan, prove and write the pocket of every clamping whose jaws must be cut to the work.

    Jaws are cut where they will hold: in each place of a load a pair of its own, under that place's work offset.
    """
    from proveout.stages import passes as planning
    from proveout.stages import removal_check
    from proveout.stages.timing.cycle import run_once_s

    machines, vises = {m.id: m for m in shop.machines}, {v.id: v for v in shop.vises}
    jaws, cutters = {j.id: j for j in shop.jaws}, {c.id: c for c in shop.cutters}
    forms: list[JawForm] = []
    sheets: list[ProgramSheet] = []
    moves: dict[str, Moves] = {}
    texts: dict[str, str] = {}
    proofs: list[Proof] = []
    for clamping in sorted(clampings, key=lambda c: (c.number, c.id)):
        if not clamping.needs_form or jaws[clamping.jaws_id].kind != "soft":
            continue
        run.check("jaw forms", clamping.id)
        machine, vise = machines[clamping.machine_id], vises[clamping.vise_id]
        planned = store.get(
            "jaw forms", planning.decide_form, clamping=clamping, outline=passes.outlines.get(clamping.id, ()),
            target=target, jaws=jaws[clamping.jaws_id], vise=vise, machine=machine, cutters=shop.cutters, run=run,
            general_class=general_class,
        )  # fmt: skip
        proofs.extend(planned.proofs)
        moves.update(planned.value.moves)
        for bare in planned.value.forms:
            form = msgspec.structs.replace(bare, seconds=run_once_s(bare.passes, planned.value.moves, machine))
            forms.append(form)
            own = [(one, passes.moves[one.moves_digest]) for one in passes.passes if one.clamping_id == clamping.id]
            proofs.extend(
                store.get(
                    "jaw forms check", removal_check.prove_form, form=form, moves=planned.value.moves, held=clamping,
                    passes=own, cutters=cutters, run=run,
                )
            )  # fmt: skip
            style = machine.program
            if style is None or not form.passes:
                continue
            table = pockets_of(
                passes=[*passes.passes, *form.passes], clampings=[*clampings, form.clamping], machines=shop.machines
            )
            for laid in _laid(clamping, loads):
                where = f"clamping {clamping.number}, jaws" + ("" if laid is None else f" in place {laid.place.number}")
                written = _written(
                    laid, title=f"{title_of(number, revision)}, POCKET IN SOFT JAWS", form=form, machine=machine,
                    vise=vise, moves=planned.value.moves, cutters=cutters, numbers=table[clamping.machine_id],
                )  # fmt: skip
                if not written.text:
                    proofs.append(not_written(form.clamping.id, where, written.why))
                    continue
                mark = "" if laid is None else f"-place-{laid.place.number}"
                file = f"clamping-{clamping.number}-jaws{mark}{style.ending}"
                texts[file] = written.text
                sheet = sheet_of(written, clamping_id=form.clamping.id, file=file)
                sheets.append(
                    sheet if laid is None else msgspec.structs.replace(sheet, work_offset=laid.work_offset)
                )  # fmt: skip
                proofs.extend(
                    store.get(
                        "jaw program", prove_jaw_program, text=written.text, form=form, moves=planned.value.moves,
                        machine=machine, vise=vise, numbers=written.numbers, cutters=shop.cutters, laid=laid, run=run,
                    )
                )  # fmt: skip
    return Forms(forms=tuple(forms), sheets=tuple(sheets), moves=moves, texts=texts, proofs=tuple(proofs))


def _laid(clamping: Clamping, loads: Sequence[TableLoad]) -> list[Laid | None]:
    """The places in which a clamping's jaws stand; None for one that lies alone."""
    found = [laid for load in loads for laid in load.laid if laid.clamping_id == clamping.id]
    return [*found] or [None]


def _written(
    laid: Laid | None, *, title: str, form: JawForm, machine: Machine, vise: Vise, moves: dict[str, Moves],
    cutters: dict[str, Cutter], numbers: dict[str, int],
) -> Written:  # fmt: skip
    """The program of a pocket where its jaws stand."""
    if laid is None:
        return write_program(
            title=title, clamping=form.clamping, machine=machine, vise=vise, passes=form.passes, moves=moves,
            cutters=cutters, numbers=numbers,
        )  # fmt: skip
    alone = TableLoad(
        machine_id=machine.id, clamping_ids=(form.clamping.id,), pieces_count=1,
        laid=(msgspec.structs.replace(laid, clamping_id=form.clamping.id),),
        steps=tuple(Step(laid=0, pass_id=one.id) for one in form.passes), clear_mm=None, fillings=(),
    )  # fmt: skip
    return write_load(
        title=title, load=alone, filled=(0,), clampings={form.clamping.id: form.clamping}, machine=machine,
        passes=form.passes, moves=moves, cutters=cutters, numbers=numbers,
    )  # fmt: skip


def prove_jaw_program(
    *, text: str, form: JawForm, moves: dict[str, Moves], machine: Machine, vise: Vise, numbers: dict[str, int],
    cutters: tuple[Cutter, ...], run: Run, laid: Laid | None = None,
) -> tuple[Proof, ...]:  # fmt: skip
    """Read a pocket's program back: it must make the planned moves and nothing else, and the pocket, by its text.

    laid: the place in which the jaws stand, where a cycle works in several.
    """
    from proveout.stages.removal_check.jaw_forms import UPRIGHT, jaw_blanks, jaws_as_wanted, slug_box
    from proveout.stages.removal_check.program import decide

    zero = zero_in_machine(form.clamping, vise) if laid is None else zero_at(form.clamping, laid.place)
    system = 1 if laid is None else SYSTEM_NUMBER[laid.work_offset]
    rotary = machine.rotary
    standing = Standing(
        frame=UPRIGHT, zero_mm=zero if zero is not None else (None, None, None),
        centre_mm=rotary.pivot_in_machine_mm if rotary is not None else None, obstacles=(slug_box(form),),
        system=system,
    )  # fmt: skip
    table = table_of(numbers, {c.id: c for c in cutters}, machine)
    parsed = read_program(text)
    origins = origins_of(machine, standing) if laid is None else {system: standing.zero_mm}
    course = follow(parsed, control_of(machine, table, origins_mm=origins))
    plan = PassPlan(passes=form.passes, not_cut=(), moves=moves)
    decided = decide(
        course, fields=jaw_blanks(form), target=jaws_as_wanted(form), standing=standing, table=table,
        lines_count=len(parsed.blocks), run=run,
    )  # fmt: skip
    where, name = f"clamping {form.clamping.number}, jaws", form.clamping.id
    if laid is not None:
        where, name = f"{where} in place {laid.place.number}", f"{name} in place {laid.place.number}"
    back = read_back(course, form.clamping, form.passes, plan, numbers, subject=where)
    return (
        msgspec.structs.replace(back, id=f"{STAGE}:{name}:read back"),
        *of_clamping(decided.proofs, name, subject=where),
    )
