"""Canned cycles as a program calls them: what of their numbers stays from block to block, and where they are done."""

from __future__ import annotations

from proveout.model.course import SpindleTurns
from proveout.programs.reading.block_words import Words
from proveout.programs.reading.cycles import Cycle, CycleFault, Step, return_height, steps_of
from proveout.programs.reading.keeping import Keeping
from proveout.programs.reading.moving import PLANES, Moving
from proveout.programs.reading.values import whole

REPEATS_MOST = 1000
"""Our own bound, so that no number makes a cycle endless."""


class Canned:
    """Does the canned cycles of one control's state."""

    def __init__(self, keeping: Keeping, moving: Moving) -> None:
        self.keeping, self.moving = keeping, moving
        self.kept: dict[str, float] = {}

    def forget(self) -> None:
        """Another motion came: the numbers of the cycle are no longer kept."""
        self.kept = {}

    def run(self, code: str, words: Words) -> None:
        """The cycle at the places that a block names."""
        keeping, state = self.keeping, self.keeping.state
        plane = PLANES[keeping.in_force("plane", words, "G17", f"{code} needs a plane")]
        third = 3 - sum(plane)
        letters = "XYZ"
        unit = keeping.unit_mm(words)
        is_incremental = keeping.in_force("distance", words, "G90", "an axis is named") == "G91"
        if words.has("ABC"):
            self.moving.turn(words, "rapid")
        if not words.has("XYZ"):
            words.note("fault", f"{code} names no axis of X, Y and Z", code)
            return
        for letter in (letters[third], *"RQPIJK"):
            if words.values.get(letter) is not None:
                self.kept[letter] = float(words.values[letter] or 0.0)
        if letters[third] not in self.kept or "R" not in self.kept:
            missing = letters[third] if letters[third] not in self.kept else "R"
            words.note("fault", f"{code} needs its {missing} the first time", code)
            return
        repeats = 1 if words.values.get("L") is None else whole(words.values["L"] or 0.0)
        if repeats is None or not 1 <= repeats <= REPEATS_MOST:
            words.note("fault", f"L says how often, from 1 to {REPEATS_MOST}", "L")
            return
        here = state.at[third]
        near, bottom = self.kept["R"] * unit, self.kept[letters[third]] * unit
        if is_incremental:
            if here is None:
                words.note("unknown", f"where {code} begins is not known", code)
                return
            near += here
            bottom += near
        places = self._places(words, plane, unit, repeats, is_incremental=is_incremental)
        if places is None:
            words.note("unknown", f"where {code} goes is not known", code)
            return
        if here is None:
            if not state.is_at_top:
                words.note("unknown", f"the height from which {code} begins is not known", code)
            here = near
        back = return_height(
            before_mm=here, near_mm=near,
            returns_to_start=keeping.in_force("return", words, "G98", f"{code} comes back up") == "G98",
        )  # fmt: skip
        at = [state.at[k] for k in range(3)]
        at[plane[0]] = places[0][0] if at[plane[0]] is None else at[plane[0]]
        at[plane[1]] = places[0][1] if at[plane[1]] is None else at[plane[1]]
        at[third] = here
        start = (float(at[0] or 0.0), float(at[1] or 0.0), float(at[2] or 0.0))
        if tuple(state.at) != start or state.is_at_top:
            self.moving.go(words, "rapid", list(start))
        cycle = Cycle(
            code=int(code[1:]), plane=plane, bottom_mm=bottom, near_mm=near, back_mm=back,
            peck_mm=self.kept["Q"] * unit if "Q" in self.kept else None,
            back_off_mm=keeping.control.back_off_mm, dwell_s=self.kept.get("P"),
            aside_mm=(self.kept.get("IJK"[plane[0]], 0.0) * unit, self.kept.get("IJK"[plane[1]], 0.0) * unit),
            top_mm=self._top(third, unit, bottom, is_incremental=is_incremental),
        )  # fmt: skip
        try:
            steps = steps_of(cycle, at=start, places_mm=places)
        except CycleFault as fault:
            words.note("fault", f"{code}: {fault}", code)
            return
        turns = state.spindle
        for step in steps:
            self._step(step, words, turns)

    def _top(self, third: int, unit: float, bottom_mm: float, *, is_incremental: bool) -> float | None:
        value = self.kept.get("IJK"[third])
        if value is None:
            return None
        return value * unit + (bottom_mm if is_incremental else 0.0)

    def _places(
        self, words: Words, plane: tuple[int, int], unit: float, repeats: int, *, is_incremental: bool
    ) -> list[tuple[float, float]] | None:
        state = self.keeping.state
        first: list[float] = []
        steps: list[float] = []
        for axis in plane:
            letter, here = "XYZ"[axis], state.at[axis]
            value = words.values.get(letter)
            if letter in words.values and value is None:
                return None
            if is_incremental:
                if here is None:
                    return None
                steps.append((value or 0.0) * unit)
                first.append(here)
            else:
                goal = here if value is None else value * unit
                if goal is None:
                    return None
                steps.append(0.0)
                first.append(goal)
        times = range(1, repeats + 1) if is_incremental else range(repeats)
        return [(first[0] + steps[0] * n, first[1] + steps[1] * n) for n in times]

    def _step(self, step: Step, words: Words, turns: SpindleTurns) -> None:
        keeping, state = self.keeping, self.keeping.state
        if step.to is not None:
            kind = "rapid" if step.kind == "rapid" else "feed"
            self.moving.go(words, kind, list(step.to), by_hand=step.kind == "hand")
        elif step.kind == "dwell":
            keeping.event(words, "dwell", step.dwell_s)
        elif step.kind == "orient spindle":
            state.spindle = "off"
            keeping.event(words, "orient")
        else:
            other: dict[SpindleTurns, SpindleTurns] = {"right": "left", "left": "right"}
            after: dict[str, SpindleTurns] = {
                "stop spindle": "off", "start spindle": turns, "reverse spindle": other.get(turns, turns)
            }  # fmt: skip
            state.spindle = after[step.kind]
            keeping.event(words, "spindle")
