"""What the setup sheet says of soft jaws that are cut to the work: slug, pocket, program, stop and reliefs."""

from __future__ import annotations

from proveout.model.plan import taken_out
from proveout.sheets.names import digest_words
from proveout.sheets.writer import Writer

RELIEFS_SHOWN = 8


def pocket_words(writer: Writer, index: int, *, force: str) -> str:
    """The line of one clamping; empty where its jaws are not cut to the work.

    force: that of the jaws on the work, in print: the slug is held by the same.
    """
    plan, ink = writer.plan, writer.ink
    clamping = plan.clampings[index]
    at = writer.place("jaws", clamping.jaws_id)
    if not clamping.needs_form or at is None or writer.shop.jaws[at].kind != "soft":
        return ""
    place = next((i for i, one in enumerate(plan.jaw_forms) if one.clamping_id == clamping.id), None)
    if place is None:
        return "The pocket in these soft jaws is NOT PLANNED: the proofs of the soft jaws say what is missing."
    form, path = plan.jaw_forms[place], ("plan", "jaw_forms", place)

    def mm(field: str, digits: int = 2) -> str:
        return ink.number(*path, field, unit="mm", digits=digits)

    slug = (
        f"Soft jaws, before the first piece: close them on a slug {mm('slug_width_mm')} wide, jaw force {force} as on "
        f"the work, its top {mm('slug_below_mm', 1)} or more below the step; then cut the pocket, {mm('depth_mm')} "
        f"deep and {mm('bite_mm')} into each jaw."
    )
    uncut = (
        f"From work zero the left ends of the jaws lie at X {mm('low_mm')}, their tops at Z {mm('depth_mm')}, and the "
        f"face of the fixed jaw {mm('bite_mm')} before Y zero."
    )
    stop = f"Stop: {form.stop}." if form.stop else "Stop: none in the pocket."
    words = [slug, uncut, _program_words(writer, place), stop, _relief_words(writer, place)]
    return " ".join(part for part in words if part)


def _program_words(writer: Writer, place: int) -> str:
    plan, ink = writer.plan, writer.ink
    form = plan.jaw_forms[place]
    if not form.passes:
        return "NO CUTTER of the shop reaches and fits this pocket."
    found = [i for i, one in enumerate(plan.jaw_programs) if one.clamping_id == form.clamping.id]
    if not found:
        return "No program: how this machine is programmed is not in the shop file."
    is_shared = plan.load_of(form.clamping_id) is not None
    named = []
    for own in found:
        file = ink.words("plan", "jaw_programs", own, "file")
        mark = ink.words(
            "plan", "jaw_programs", own, "fingerprint", as_text=digest_words(plan.jaw_programs[own].fingerprint)
        )
        offset = f" at {ink.words('plan', 'jaw_programs', own, 'work_offset')}" if is_shared else ""
        named.append(f"{file}{offset}, fingerprint {mark}")
    used = ", ".join(writer.shop_name("cutters", name) for name in plan.jaw_programs[found[0]].cutters.values())
    took = ink.number("plan", "jaw_forms", place, "seconds", unit="min:s")
    number = ink.number("plan", "jaw_forms", place, "clamping", "number", digits=0)
    return (
        f"Drawing jaws-{number}.svg, solid jaws-{number}.step. Program {'; '.join(named)}; with {used}, "
        f"numbered in its first lines; cutting and changes {took}. {_out_words(writer, place, found[0])}"
        "The forces of this cut are NOT SHOWN: cut at reduced feed, door closed."
    )


def _out_words(writer: Writer, place: int, program: int) -> str:
    """What the cutters of the pocket's program take the numbers of; empty where none stands there."""
    at = writer.place("machines", writer.plan.jaw_forms[place].clamping.machine_id)
    numbers = {id: int(number) for number, id in writer.plan.jaw_programs[program].cutters.items()}
    out = taken_out(() if at is None else writer.shop.machines[at].changer, numbers)
    names = ", ".join(writer.shop_name("cutters", id) for id in out.values())
    return f"For them out of the changer, then back and measured anew: {names}. " if names else ""


def _relief_words(writer: Writer, place: int) -> str:
    """Where the cutter dips past corners of the work."""
    form, ink = writer.plan.jaw_forms[place], writer.ink
    if not form.passes:
        return ""
    if not form.reliefs:
        return "No corner needs a relief."
    said = []
    for k in range(min(RELIEFS_SHOWN, len(form.reliefs))):
        path = ("plan", "jaw_forms", place, "reliefs", k)
        x, y = (ink.number(*path, "to_mm", axis, digits=1) for axis in (0, 1))
        said.append(f"X\u00a0{x} Y\u00a0{y} by\u00a0{ink.number(*path, 'beyond_mm', unit='mm', digits=1)}")
    more = ", and more that plan.json lists" if len(form.reliefs) > RELIEFS_SHOWN else ""
    return f"Reliefs past corners of the work, cutter's middle: {'; '.join(said)}{more}."
