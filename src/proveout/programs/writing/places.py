"""The program of a cycle that works in several places: cutter by cutter through all of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from proveout.model.moves import Moves
from proveout.model.program_style import ProgramStyle
from proveout.model.shop import Cutter, Machine
from proveout.model.table_load import Laid, TableLoad, moves_at, passes_in_order, zero_at, zero_words
from proveout.model.work import Clamping, Pass
from proveout.programs.writing.headings import NUMBERED
from proveout.programs.writing.holes import pecks_said
from proveout.programs.writing.text import ProgramText, fixed
from proveout.programs.writing.writing import CAUTION, PassWriter, Written, triple_of, upright_places


def write_load(
    *,
    title: str,
    load: TableLoad,
    filled: Iterable[int],
    clampings: Mapping[str, Clamping],
    machine: Machine,
    passes: Sequence[Pass],
    moves: Mapping[str, Moves],
    cutters: Mapping[str, Cutter],
    numbers: Mapping[str, int],
    headings: Mapping[str, str] | None = None,
) -> Written:
    """Write the program of a cycle in which some or all places of a load are filled.

    Args:     title: part and revision.   filled: of the load's pieces, from 0 on.   passes: of the plan.   moves: by
              digest.   numbers: cutter id to its number in the changer.   headings: as of `write_program`.
    Returns:  the text; empty, with the reason, where the machine's programs are not described.
    """
    style = machine.program
    kept = sorted(set(filled))
    steps = passes_in_order(load, passes, kept)
    own = {one.cutter_id: numbers[one.cutter_id] for _, one in steps}
    if style is None:
        return Written(text="", numbers=own, why=f"{machine.id} has no [machine.program] in the shop file")
    program = ProgramText(style)
    program.comment(title)
    program.comment(f"{len(kept)} OF {len(load.laid)} PLACES FILLED ON {machine.id}")
    program.comment(CAUTION)
    program.comment("MM. EACH H HOLDS THE LENGTH OF THE CUTTER OF ITS NUMBER")
    if headings:
        program.comment(NUMBERED)
    for line in pecks_said(style, (one for _, one in steps), moves):
        program.comment(line)
    for n in kept:
        laid = load.laid[n]
        clamping = clampings[laid.clamping_id]
        program.comment(
            f"{laid.work_offset}: PLACE {laid.place.number}, {laid.place.vise_id}, CLAMPING {clamping.number}"
        )
        if laid.place.is_turned:
            program.comment("WORK TURNED HALF ROUND, ITS STOP AT THE RIGHT")
        program.comment(zero_words(clamping, laid.place))
    for cutter_id in dict.fromkeys(one.cutter_id for _, one in steps):
        cutter = cutters[cutter_id]
        program.comment(f"T{own[cutter_id]} {cutter.name}, {fixed(cutter.gauge_mm, 1)} FROM NOSE TO TIP")
    program.blocks(style.opening)
    program.blocks(style.before_change)
    writer = _PlaceWriter(program, style, machine, cutters, own, headings)
    for laid, one in steps:
        writer.step(laid, one, clampings[laid.clamping_id], moves[one.moves_digest], clear_mm=load.clear_mm)
    writer.end()
    program.blocks(style.closing)
    return Written(text=program.text(), numbers=own, lines=writer.lines)


class _PlaceWriter(PassWriter):
    """Writes passes in several places, with the ways between them."""

    def __init__(
        self, program: ProgramText, style: ProgramStyle, machine: Machine, cutters: Mapping[str, Cutter],
        numbers: Mapping[str, int], headings: Mapping[str, str] | None,
    ) -> None:  # fmt: skip
        super().__init__(program, style, upright_places(style, machine), cutters, numbers, headings)
        self.laid: Laid | None = None

    def step(self, laid: Laid, one: Pass, clamping: Clamping, moves: Moves, *, clear_mm: float | None) -> None:
        """One pass in one place. clear_mm: as the load's."""
        tilt = next(tilt for tilt in clamping.tilts if tilt.id == one.tilt_id)
        its = moves_at(moves, laid.place)
        if self.laid is not None and self.laid != laid and one.cutter_id == self.cutter:
            self._over(self.laid, laid, clamping, its, clear_mm)
        self.tilt = one.tilt_id  # upright in every place: no way up for the sake of the tilt's name
        self.before(f"PLACE {laid.place.number}: {self.named(one)}", one, tilt)
        self.system = laid.work_offset
        self.make(one, its, its.points)
        self.laid, self._clamping = laid, clamping

    def _over(self, here: Laid, there: Laid, clamping: Clamping, moves: Moves, clear_mm: float | None) -> None:
        """From one place to the next above everything; by the top of Z where nobody measured where they stand."""
        one, two = zero_at(self._clamping, here.place), zero_at(clamping, there.place)
        if clear_mm is None or one is None or two is None or self.at is None:
            self.up()
            return
        program, first = self.program, triple_of(moves.points[0])
        program.comment(f"OVER TO PLACE {there.place.number}")
        high = max(clear_mm - one[2], self.at[2])
        program.rapid((None, None, high))
        program.forget()
        program.rapid((first[0], first[1], None), extra=there.work_offset)
        self.at = first[0], first[1], high + one[2] - two[2]
