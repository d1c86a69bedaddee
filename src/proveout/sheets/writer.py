"""What every sheet is written from: the plan, the shop, the counted numbers, plain names, and the ink."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.model.plan import Plan
from proveout.model.proof import Proof, weakest_first
from proveout.model.schedule import ScheduledStep
from proveout.model.shop import Rotary, Shop
from proveout.model.work import Clamping
from proveout.sheets.derived import Derived, Mark, derive, mark_of
from proveout.sheets.ink import NAMED_AS, NOT_SHOWN, READ_AS, Ink, digits_apart
from proveout.sheets.names import Names, capital, joined, label, sentence
from proveout.sheets.numbered import PartViews
from proveout.sheets.of_batch import OfBatch
from proveout.sheets.picture import ClampingDrawings, Picture, end_picture, operator_picture

MANY_FACES = 6  # more are not listed on a line
MANY_LABELS = 2  # a pass over features of more names is told by its faces alone
SQUARE = 1e-6  # an up direction this near to an axis of the part is that axis
MANY_N = 10000.0  # forces from here on are told in kN
GRIP = "times the cutting force"  # the unit of the proofs that the grip keeps the work
SIDES = {"right": "the right", "left": "the left", "front": "you", "back": "the fixed jaw"}  # as the operator stands
NOT_CUT = "Not cut, or not all of it"  # heads the list of not_cut
CONCERNS = "To be settled with the designer before release; none of these stops it. What costs most minutes first."
NOT_REACHED = "Reached by no cutter of the shop, or not all of it"  # heads the list of not_reached
UPRIGHT = "straight from above"
YES = "yes = 1"  # the unit of a claim that is met or not


class Writer:
    """Prints from one plan.

    Args:     plan, shop: what is printed.   drawings: hidden-line drawings by clamping id, may lack any.
              fingerprint: digest of plan.json.   views: of the part for its numbers, None when nobody drew them.
              batch: that the papers are made for, None for those of a plan.
              schedule: what of an order's schedule is of this part, empty where nothing was scheduled.
              is_of_floor: print no money.   marked: mark everything printed, for tests.
              is_inch: lengths in inches, for pages of the desk.
    """

    def __init__(
        self,
        *,
        plan: Plan,
        shop: Shop,
        drawings: dict[str, ClampingDrawings],
        fingerprint: str,
        views: PartViews | None = None,
        batch: OfBatch | None = None,
        schedule: tuple[ScheduledStep, ...] = (),
        is_of_floor: bool = False,
        marked: bool = False,
        is_inch: bool = False,
    ) -> None:
        self.plan, self.shop, self.drawings, self.fingerprint = plan, shop, drawings, fingerprint
        self.views, self.batch, self.schedule, self.is_of_floor = views, batch, schedule, is_of_floor
        self.derived: Derived = derive(plan=plan, shop=shop)
        roots = {"plan": plan, "shop": shop, "derived": self.derived, "schedule": schedule}
        self.ink = Ink(roots=roots, marked=marked, is_inch=is_inch)
        self.names = Names(plan=plan, shop=shop)

    def words(self, *address: str | int) -> str:
        """Words of plan or shop with ids put plainly."""
        return self.ink.words(*address, as_text=self.names.short(str(self.ink.at(*address))))

    def told(self, *address: str | int) -> str:
        """The same; of a single face also what it is part of: "face 12 of slot 6.6 wide"."""
        text, of = self.words(*address), self.part_of((str(self.ink.at(*address)),))
        return f"{text} of {of}" if of else text

    def part_of(self, face_ids: tuple[str, ...]) -> str:
        """What faces are part of, in the first words of its name; empty for what has none, or for too many names."""
        places = self.names.parts(face_ids)
        if not 0 < len(places) <= MANY_LABELS:
            return ""
        features = self.plan.survey.features
        return " and ".join(
            self.ink.words("plan", "survey", "features", i, "name", as_text=label(features[i])) for i in places
        )

    def sentence(self, *address: str | int) -> str:
        """The same as a sentence: capital first letter, full stop."""
        return self.ink.words(*address, as_text=sentence(self.names.short(str(self.ink.at(*address)))))

    def title(self, *address: str | int) -> str:
        """The same with a capital first letter."""
        return self.ink.words(*address, as_text=capital(self.names.short(str(self.ink.at(*address)))))

    def op(self, index: int) -> str:
        """The clamping at that place as an operation: Op and its number."""
        return f"Op {self.ink.number('plan', 'clampings', index, 'number', digits=0)}"

    def money(self, *address: str | int, digits: int = 2) -> str:
        """An amount with the shop's currency."""
        return self._in_currency(self.ink.number(*address, digits=digits))

    def money_span(self, *address: str | int) -> str:
        """A fact of money as a range."""
        return self._in_currency(self.ink.span(*address, digits=2))

    def _in_currency(self, text: str) -> str:
        return text if text == NOT_SHOWN else f"{text}\u202f{self.shop.currency}"

    def place(self, noun: str, id: str) -> int | None:
        """Where the shop's list `noun` holds that id."""
        listed = getattr(self.shop, noun)
        return next((i for i, one in enumerate(listed) if one.id == id), None)

    def shop_name(self, noun: str, id: str, field: str = "name") -> str:
        """Name of a shop thing, or its id when the shop does not list it."""
        at = self.place(noun, id)
        return id if at is None else self.ink.words("shop", noun, at, field)

    def passes_of(self, clamping_id: str) -> list[int]:
        """Places of a clamping's passes in plan.passes, in working order."""
        return [i for i, one in enumerate(self.plan.passes) if one.clamping_id == clamping_id]

    def minutes(self, pass_index: int) -> str:
        """Minutes of a pass, "-" when none were reckoned."""
        line = self.derived.passes[self.plan.passes[pass_index].id].time_line
        return "-" if line < 0 else self.ink.number("plan", "time", "lines", line, "seconds", "nominal", unit="min:s")

    def pictures(self, index: int) -> tuple[Picture, Picture]:
        """The operator's view and the cut across the jaws of one clamping."""
        clamping = self.plan.clampings[index]
        drawn = self.drawings.get(clamping.id, ClampingDrawings())
        operator = operator_picture(plan=self.plan, shop=self.shop, clamping=clamping, part=drawn.operator)
        return operator, end_picture(plan=self.plan, shop=self.shop, clamping=clamping, part=drawn.end)

    def part_drawing(self) -> tuple[NDArray[np.float64], ...] | None:
        """The part's visible lines as it lies in the first operation, None when nobody drew it."""
        for clamping in self.plan.clampings:
            drawn = self.drawings.get(clamping.id)
            if drawn is not None and drawn.operator is not None and drawn.operator.visible_mm:
                return drawn.operator.visible_mm
        return None

    def feature(self, *pass_indices: int) -> str:
        """Where passes work, in words: a hole, or the faces they make; several of a kind as one phrase."""
        named = []
        for one in (self.plan.passes[i] for i in pass_indices):
            name = self.names.feature(one.feature)
            if not name.startswith("hole") and 0 < len(one.face_ids) <= MANY_FACES:
                faces = self.names.faces(one.face_ids)
                name = faces if name.startswith("face") else f"{name}: {faces}"
            named.append(name)
        plain = joined(named)
        text = self.ink.words("plan", "passes", pass_indices[0], "feature", as_text=plain)
        of = self.part_of(tuple(f for i in pass_indices for f in self.plan.passes[i].face_ids))
        return f"{of}{',' if ': ' in plain else ':'} {text}" if of and "hole" not in plain else text

    def not_cut(self) -> list[str]:
        """What a clamping leaves uncut, wholly or in part, with the reason; things of one reason on one line."""
        groups: dict[tuple[str, str], list[int]] = {}
        for i, one in enumerate(self.plan.not_cut):
            groups.setdefault((one.clamping_id, one.reason), []).append(i)
        numbers = {clamping.id: i for i, clamping in enumerate(self.plan.clampings)}
        lines = []
        for (clamping_id, _), places in groups.items():
            subjects = tuple(self.plan.not_cut[i].subject for i in places)
            named = joined([self.names.short(subject) for subject in subjects])
            what = self.ink.words("plan", "not_cut", places[0], "subject", as_text=capital(named))
            of = self.part_of(subjects)
            what += f" of {of}" if of else ""
            where = f" in {self.op(numbers[clamping_id]).replace('Op', 'op')}" if clamping_id in numbers else ""
            lines.append(f"{what}{where}: {self.words('plan', 'not_cut', places[0], 'reason')}")
        return lines

    def concern(self, index: int) -> tuple[str, str]:
        """What concerns the designer, and its limit, minutes, faces and the change that would help."""
        one, at = self.plan.concerns[index], ("plan", "concerns", index)
        if one.limit is None:
            limit = "no limit can be told"
        else:
            limit = f"wanted {one.sense} {self.ink.number(*at, 'limit', unit=one.unit, as_is=True, digits=2)}"
        limit += " (common practice, no source)" if one.is_practice else ""
        found = self.ink.number(*at, "found", unit=one.unit, as_is=True, digits=2)
        dear = "not shown"
        if one.seconds is not None:
            dear = f"at most {self.ink.number(*at, 'seconds', unit='min:s')} min"
        change = self.ink.words(*at, "change")
        numbers = {n.face_id: (bool(n.hole_id), n.balloon, n.hole_id or n.face_id) for n in self.plan.survey.faces}
        places = sorted({numbers[id] for id in one.face_ids if id in numbers})
        more = " and others" if len(places) > MANY_FACES else ""
        named = f"{capital(self.names.faces(tuple(id for *_, id in places[:MANY_FACES])))}{more}"
        faces = self.ink.words(*at, "face_ids", as_text=named)
        told = f"Found {found}, {limit}. Minutes it costs: {dear}. What would help: {change}. {faces}."
        return self.ink.words(*at, "text"), told

    def not_reached(self) -> list[str]:
        """Faces that no cutter of the shop reaches whole in the chosen clampings, why, and what would."""
        lines = []
        for i, one in enumerate(self.plan.survey.reach):
            if one.is_reached:
                continue
            at = ("plan", "survey", "reach", i)
            what = self.ink.words(*at, "face_id", as_text=capital(self.names.short(one.face_id)))
            would = f" Would reach it: {self.words(*at, 'would_reach')}." if one.would_reach else ""
            lines.append(f"{what}: {self.words(*at, 'why_not')}.{would}")
        return lines

    def row_minutes(self, clamping_id: str, row: int) -> str:
        """Minutes of all passes on one row of a setup sheet, "-" when none were reckoned."""
        if self.derived.clampings[clamping_id].rows[row].seconds is None:
            return "-"
        return self.ink.number("derived", "clampings", clamping_id, "rows", row, "seconds", unit="min:s")

    def comes_from(self, clamping_id: str, tilt_id: str) -> str:
        """Where the cutter comes from at a tilt, as the operator sees it: "from the right, level"."""
        sheet = self.derived.clampings[clamping_id].tilts[tilt_id]
        at = ("derived", "clampings", clamping_id, "tilts", tilt_id)
        if sheet.side in ("above", "below"):
            return UPRIGHT if sheet.side == "above" else "straight from below"
        words = f"from {SIDES[sheet.side]}"
        if sheet.swing_to:
            words += f", turned {self.ink.number(*at, 'swing_rad', unit='°', digits=1)} towards {SIDES[sheet.swing_to]}"
        if sheet.rise_rad == 0.0:
            return f"{words}, level"
        height = "below" if sheet.is_below else "above"
        return f"{words}, {self.ink.number(*at, 'rise_rad', unit='°', digits=1)} {height} level"

    def band(self) -> str:
        """The line on every page of a plan that is not ready; empty when it is. Papers of a batch have its waivers."""
        if self.plan.ready or self.batch is not None:
            return ""
        fails = self.ink.number("derived", "fails_count", digits=0)
        missing = self.ink.number("derived", "not_shown_count", digits=0)
        return f"NOT READY - do not cut.  Proofs that fail: {fails}.  Not shown: {missing}."

    def weakest(self) -> list[tuple[int, Proof]]:
        """Proofs with their place in the plan, weakest first."""
        places = {proof.id: i for i, proof in enumerate(self.plan.proofs)}
        return [(places[proof.id], proof) for proof in weakest_first(self.plan.proofs)]

    def grip_proof(self, clamping_id: str) -> int | None:
        """Place of the clamping's weakest proof that the grip keeps the work, None when there is none."""
        own = [
            (index, proof)
            for index, proof in self.weakest()
            if proof.stage == "holding" and proof.unit == GRIP and proof.subject.split("/")[0] == clamping_id
        ]
        return own[0][0] if own else None

    def rotary(self, clamping: Clamping) -> Rotary | None:
        """The rotary axes of the clamping's machine, None for a machine without."""
        at = self.place("machines", clamping.machine_id)
        return None if at is None else self.shop.machines[at].rotary

    def ways_up(self) -> str:
        """Which way up the part lies, clamping after clamping, by its own axes: "+z up, then −y"."""
        ways = []
        for clamping in self.plan.clampings:
            up = clamping.frame.turn.T @ np.array([0.0, 0.0, 1.0])
            axis = int(np.argmax(np.abs(up)))
            is_square = abs(up[axis]) > 1.0 - SQUARE
            ways.append(f"{'+' if up[axis] > 0.0 else '−'}{'xyz'[axis]}" if is_square else "on a slant")
        return ", then ".join([f"{ways[0]} up", *ways[1:]]) if ways else "no way found"

    def found(self, index: int) -> str:
        """What a proof found and its limit, as one phrase."""
        found, wanted = self.found_parts(index)
        proof = self.plan.proofs[index]
        if proof.found_low is None and proof.found_high is None:
            return f"nothing found yet; wanted: {wanted}"
        one_end = proof.found_low is None or proof.found_high is None
        return f"{'' if one_end else 'found '}{found}; wanted: {wanted}"

    def found_parts(self, index: int) -> tuple[str, str]:
        """What a proof found, and its limit, each in words and printed units."""
        proof = self.plan.proofs[index]
        unit = READ_AS.get(proof.unit, proof.unit)
        as_is = proof.unit not in READ_AS
        at = ("plan", "proofs", index)

        if unit in ("money", "money a piece"):
            unit = unit.replace("money", self.shop.currency)

        if unit == "N" and max(abs(v or 0.0) for v in (proof.found_low, proof.found_high, proof.limit)) >= MANY_N:
            unit, as_is = "kN", False
        numbers = [v for v in (proof.found_low, proof.found_high, proof.limit) if v is not None]
        digits = digits_apart(numbers, unit=unit, as_is=as_is)
        unit = NAMED_AS.get(unit, unit)

        def show(field: str, *, bare: bool = False) -> str:
            if unit == YES:
                return "yes" if self.ink.at(*at, field) >= 1.0 else "no"
            return self.ink.number(*at, field, unit=unit, as_is=as_is, bare=bare, digits=digits)

        word = "" if unit == YES else f"{proof.sense} "
        limit = "no limit known" if proof.limit is None else f"{word}{show('limit')}"
        if proof.found_low is None and proof.found_high is None:
            return "nothing yet", limit
        if proof.found_low is None or proof.found_high is None:
            known = "found_high" if proof.found_low is None else "found_low"
            return f"one end only, {show(known)}", limit
        if proof.found_low == proof.found_high:
            return show("found_high"), limit
        return f"{show('found_low', bare=True)} to {show('found_high')}", limit

    def mark(self, proof: Proof) -> Mark:
        """Where the bar of a proof ends."""
        return mark_of(proof)
