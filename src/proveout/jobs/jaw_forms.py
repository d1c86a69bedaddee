"""The pockets of soft jaws beside a plan: planned on the half-made work, replayed, written, and read back."""

from __future__ import annotations

from dataclasses import dataclass

import msgspec

from proveout.jobs.check_program import control_of
from proveout.jobs.programs import not_written, of_clamping, origins_of, read_back, sheet_of, table_of, title_of
from proveout.jobs.store import Store
from proveout.model.checking import Standing
from proveout.model.jaw_form import JawForm
from proveout.model.moves import Moves
from proveout.model.plan import ProgramSheet, pockets_of
from proveout.model.proof import Proof
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine, Shop, Vise
from proveout.model.target import Target
from proveout.model.work import Clamping, PassPlan
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.running import follow
from proveout.programs.writing.writing import write_program, zero_in_machine


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
    general_class: str, store: Store, run: Run,
) -> Forms:  # fmt: skip
    """Plan, prove and write the pocket of every clamping whose jaws must be cut to the work."""
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
            table = pockets_of(passes=[*passes.passes, *form.passes], clampings=[*clampings, form.clamping])
            written = write_program(
                title=f"{title_of(number, revision)}, POCKET IN SOFT JAWS", clamping=form.clamping, machine=machine,
                vise=vise, passes=form.passes, moves=planned.value.moves, cutters=cutters,
                numbers=table[clamping.machine_id],
            )  # fmt: skip
            if not written.text:
                proofs.append(not_written(form.clamping.id, f"clamping {clamping.number}, jaws", written.why))
                continue
            file = f"clamping-{clamping.number}-jaws{style.ending}"
            texts[file] = written.text
            sheets.append(sheet_of(written, clamping_id=form.clamping.id, file=file))
            proofs.extend(
                store.get(
                    "jaw program", prove_jaw_program, text=written.text, form=form, moves=planned.value.moves,
                    machine=machine, vise=vise, numbers=written.numbers, cutters=shop.cutters, run=run,
                )
            )  # fmt: skip
    return Forms(forms=tuple(forms), sheets=tuple(sheets), moves=moves, texts=texts, proofs=tuple(proofs))


def prove_jaw_program(
    *, text: str, form: JawForm, moves: dict[str, Moves], machine: Machine, vise: Vise, numbers: dict[str, int],
    cutters: tuple[Cutter, ...], run: Run,
) -> tuple[Proof, ...]:  # fmt: skip
    """Read a pocket's program back: it must make the planned moves and nothing else, and the pocket, by its text."""
    from proveout.stages.removal_check.jaw_forms import UPRIGHT, jaw_blanks, jaws_as_wanted, slug_box
    from proveout.stages.removal_check.program import decide

    zero = zero_in_machine(form.clamping, vise)
    rotary = machine.rotary
    standing = Standing(
        frame=UPRIGHT, zero_mm=zero if zero is not None else (None, None, None),
        centre_mm=rotary.pivot_in_machine_mm if rotary is not None else None, obstacles=(slug_box(form),),
    )  # fmt: skip
    table = table_of(numbers, {c.id: c for c in cutters}, machine)
    parsed = read_program(text)
    course = follow(parsed, control_of(machine, table, origins_mm=origins_of(machine, standing)))
    plan = PassPlan(passes=form.passes, not_cut=(), moves=moves)
    decided = decide(
        course, fields=jaw_blanks(form), target=jaws_as_wanted(form), standing=standing, table=table,
        lines_count=len(parsed.blocks), run=run,
    )  # fmt: skip
    where = f"clamping {form.clamping.number}, jaws"
    return (
        read_back(course, form.clamping, form.passes, plan, numbers, subject=where),
        *of_clamping(decided.proofs, form.clamping.id, subject=where),
    )
