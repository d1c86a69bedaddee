"""What one block of a program makes the machine do, in the report's order of execution (NIST report 6556, table 8)."""

from __future__ import annotations

from proveout.model.course import Note, SpindleTurns
from proveout.programs.reading.block_words import Words
from proveout.programs.reading.blocks import Block
from proveout.programs.reading.canned import Canned
from proveout.programs.reading.control import GROUPS, SYSTEM_NUMBER, Control
from proveout.programs.reading.keeping import Keeping
from proveout.programs.reading.moving import Moving
from proveout.programs.reading.tilting import Tilting
from proveout.programs.reading.values import whole

SPINDLE_AFTER: dict[str, SpindleTurns] = {"M3": "right", "M4": "left", "M5": "off", "M19": "off"}


class Acting:
    """Does to the state of a control what each block says."""

    def __init__(self, control: Control) -> None:
        self.keeping = Keeping(control)
        self.state = self.keeping.state
        self.control = control
        self.moving = Moving(self.keeping)
        self.canned = Canned(self.keeping, self.moving)
        self.tilting = Tilting(self.keeping, self.moving)

    def block(self, words: Words, block: Block) -> None:
        """Do what a block says."""
        if block.comments and block.comments[-1]:
            self.keeping.heading = block.comments[-1]
        for group in GROUPS:
            if group in words.codes and group not in ("motion", "units", "radius", "length", "system"):
                self.state.words[group] = words.codes[group]
        if "units" in words.codes:
            if self.keeping.beside is not None and words.codes["units"] != self.state.words["units"]:
                words.note("fault", "the units change while the cutter's radius is allowed for", words.codes["units"])
            self.state.words["units"] = words.codes["units"]
        self._spindle_and_cutter(words)
        own_moves = self._own_words(words)
        if "G4" in words.codes:
            self._dwell(words)
        self._radius(words)
        self._length(words)
        self._system(words)
        own_moves = self.tilting.run(words) or own_moves
        once = next(
            (code for code in ("G10", "G28", "G30", "G92", "G92.1", "G92.2", "G92.3") if code in words.codes), ""
        )
        if once:
            self._once(once, words)
        elif not own_moves and "G4" not in words.codes:
            self._motion(words)
        self._stop(words)
        for number in words.lost:
            self.state.parameters.forget(number)
        for number, value in words.settings.items():
            self.state.parameters.put(number, value)
        self.keeping.notes.extend(words.notes)

    # --- words of the control's own ------------------------------------------------------------------------------
    def _own_words(self, words: Words) -> bool:
        """Do what declared words mean; whether one of them takes the block's axis words."""
        takes = False
        for word, column in words.own:
            if self.tilting.is_own(word):
                continue
            meaning = self.control.meanings.get(word, "")
            if not meaning:
                takes = takes or (word.startswith("G") and words.has("XYZABC") and "motion" not in words.codes)
                what = f"{word} is not declared in the machine's description: what it does is not known"
                words.notes.append(Note(line=words.line, column=column, kind="unknown", what=what))
            elif meaning in ("clamp A", "unclamp A"):
                self.state.a_held = meaning == "clamp A"
                self.keeping.event(words, "brake")
            elif meaning in ("clamp C", "unclamp C"):
                self.state.c_held = meaning == "clamp C"
                self.keeping.event(words, "brake")
            elif meaning == "probe":
                takes = True
                self.moving.probe(words)
            elif meaning == "retract":
                takes = True
                self.moving.to_top(words)
        return takes

    # --- spindle, cutter, coolant, dwell -------------------------------------------------------------------------
    def _spindle_and_cutter(self, words: Words) -> None:
        state = self.state
        if "F" in words.values:
            state.feed = words.values["F"]
        if words.values.get("S") is not None:
            speed = words.values["S"] or 0.0
            if speed < 0.0:
                words.note("fault", f"S of {speed:g} is below 0", "S")
            state.speed_per_min = max(speed, 0.0)
        if "T" in words.values:
            number = whole_of(words, "T")
            if number is None or number < 0:
                words.note("fault", "T is no whole number from 0", "T")
            state.selected = number
        if "change" in words.codes:
            if state.selected is None:
                words.note("fault", "M6 changes the cutter and no T names one", "M6")
            if self.keeping.beside is not None:
                words.note("fault", "the cutter changes while its radius is allowed for", "M6")
            self._not_tilted(words, "M6")
            state.cutter, state.spindle = state.selected, "off"
            self.keeping.event(words, "cutter change", float(state.cutter if state.cutter is not None else -1))
        if "spindle" in words.codes:
            code = words.codes["spindle"]
            state.spindle = SPINDLE_AFTER[code]
            self.keeping.event(words, "orient" if code == "M19" else "spindle")
        if "coolant" in words.codes:
            state.coolant = words.codes["coolant"] != "M9"
            self.keeping.event(words, "coolant")

    def _dwell(self, words: Words) -> None:
        seconds = words.values.get("P", words.values.get("X"))
        if seconds is None or seconds < 0.0:
            words.note("fault", "G4 needs a P that is not below 0", "G4")
            return
        self.keeping.event(words, "dwell", seconds)

    def _stop(self, words: Words) -> None:
        code = words.codes.get("stopping", "")
        if code in ("M0", "M1", "M60"):
            self.keeping.event(words, "stop")
        elif code:
            self.state.spindle = "off"
            self.keeping.event(words, "end")

    # --- offsets -------------------------------------------------------------------------------------------------
    def _radius(self, words: Words) -> None:
        code = words.codes.get("radius", "")
        if not code:
            if "D" in words.values:
                words.note("fault", "D has no G41 or G42 beside it", "D")
            return
        self.state.words["radius"] = code
        if code == "G40":
            self.keeping.beside = None
            return
        if self.keeping.beside is not None:
            words.note("fault", f"{code} comes while the cutter's radius is allowed for already", code)
        if self.keeping.in_force("plane", words, "G17", f"{code} needs a plane") != "G17":
            words.note("fault", f"{code} works in the XY plane (G17) alone", code)
            return
        number = self.state.cutter if "D" not in words.values else whole(words.values["D"] or 0.0)
        radius = (
            0.0 if number == 0 and "D" in words.values else self.control.radii_mm.get(-1 if number is None else number)
        )
        if radius is None:
            words.note("unknown", f"the radius of D{number} is not known: the path of {code} is not", code)
            return
        self.keeping.beside = (1 if code == "G41" else -1), radius

    def _length(self, words: Words) -> None:
        code = words.codes.get("length", "")
        if not code:
            return
        state = self.state
        before = state.frame()
        state.words["length"] = code
        if code == "G49":
            state.length_number, state.length_mm = None, 0.0
        else:
            number = whole_of(words, "H")
            if number is None or number < 0:
                words.note("fault", "G43 needs an H that is a whole number from 0", code)
                return
            state.length_number = number
            state.length_mm = 0.0 if number == 0 else self.control.lengths_mm.get(number)
            if state.length_mm is None:
                words.note("unknown", f"no length is known for H{number}", "H")
        state.stays(before)

    def _system(self, words: Words) -> None:
        code = words.codes.get("system", "")
        if not code:
            return
        if self.keeping.beside is not None:
            words.note("fault", f"{code} comes while the cutter's radius is allowed for", code)
        self._not_tilted(words, code)
        before = self.state.frame()
        self.state.words["system"] = code
        self.state.system = SYSTEM_NUMBER[code]
        self.state.stays(before)

    def _not_tilted(self, words: Words, code: str) -> None:
        """Tell of what no control does while a tilted plane is in force."""
        plane = self.state.plane
        if plane is not None:
            words.note("fault", f"{code} comes while the tilted plane of line {plane.line} is in force", code)

    def _once(self, code: str, words: Words) -> None:
        if self.keeping.beside is not None and code != "G10":
            words.note("fault", f"{code} comes while the cutter's radius is allowed for", code)
        if code not in ("G28", "G30"):
            self._not_tilted(words, code)
        if code == "G10":
            self._set_origin(words)
        elif code in ("G28", "G30"):
            self.moving.home(code, words)
        else:
            self._shift(code, words)

    def _set_origin(self, words: Words) -> None:
        if words.values.get("L") != 2.0:
            words.note("unknown", "G10 is known with L2 alone", "G10")
            return
        number = whole_of(words, "P")
        if number is None or not 1 <= number <= 9:
            words.note("fault", "G10 L2 needs a P from 1 to 9", "G10")
            return
        state = self.state
        before = state.frame()
        own = list(state.own_origins.get(number, (None, None, None)))
        for k, letter in enumerate("XYZ"):
            if letter in words.values:
                value = words.values[letter]
                own[k] = None if value is None else value * self.keeping.unit_mm(words)
        for letter in "ABC":
            if words.values.get(letter, 0.0) != 0.0:
                words.note("unknown", f"an origin of {letter} is not followed", letter)
        state.own_origins[number] = own[0], own[1], own[2]
        state.stays(before)

    def _shift(self, code: str, words: Words) -> None:
        state = self.state
        before, frame = state.origin(), state.frame()
        if code == "G92":
            if not words.has("XYZABC"):
                words.note("fault", "G92 names no axis", "G92")
            for k, letter in enumerate("XYZ"):
                if letter not in words.values:
                    continue
                value, here = words.values[letter], state.at[k]
                if value is None or here is None:
                    words.note("unknown", f"where {letter} stands at G92 is not known, so its zero is not", letter)
                    state.at[k] = None if value is None else value * self.keeping.unit_mm(words)
                    own = list(state.own_origins.get(state.system, (None, None, None)))
                    own[k] = None
                    state.own_origins[state.system] = own[0], own[1], own[2]
                    continue
                wanted = value * self.keeping.unit_mm(words)
                state.shift_mm[k] += here - wanted
                state.at[k] = wanted
            state.kept_shift_mm = list(state.shift_mm)
            if words.has("ABC"):
                words.note("unknown", "a shift of rotary axes is not followed", "G92")
            return
        if code == "G92.3":
            state.shift_mm = list(state.kept_shift_mm)
        else:
            state.shift_mm = [0.0, 0.0, 0.0]
            if code == "G92.1":
                state.kept_shift_mm = [0.0, 0.0, 0.0]
        after = state.origin()
        if None not in before and None not in after:
            state.stays(frame)
        else:
            for k in range(3):
                state.at[k] = None

    # --- motion --------------------------------------------------------------------------------------------------
    def _motion(self, words: Words) -> None:
        asked = words.codes.get("motion", "")
        if asked:
            if asked != self.state.words["motion"]:
                self.canned.forget()
            self.state.words["motion"] = asked
        code = self.state.words["motion"]
        has_axes = words.has("XYZABC")
        cycle = code.startswith("G8") and code != "G80"
        if not has_axes and not (asked in ("G2", "G3") and words.has("IJK")):
            # a whole turn may leave both of its ends out
            if asked and asked not in ("G0", "G1", "G80"):
                words.note("fault", f"{asked} names no axis", asked)
            return
        if not code:
            self.keeping.in_force("motion", words, "G1", "an axis is named")
            code = "G1"
        if code == "G80":
            words.note("fault", "an axis is named while G80 allows no motion", "XYZABC"[0])
            return
        if cycle:
            if self.keeping.beside is not None:
                words.note("fault", f"{code} comes while the cutter's radius is allowed for")
            self.canned.run(code, words)
        else:
            self.moving.move(code, words)


def whole_of(words: Words, letter: str) -> int | None:
    """The whole number behind a letter, None where there is none."""
    value = words.values.get(letter)
    return None if value is None else whole(value)
