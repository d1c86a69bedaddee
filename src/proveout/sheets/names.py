"""Plain names for people: a face is "face 12", a pass "op 1, rough, hole 3"; long ids stay in plan.json."""

from __future__ import annotations

import re

from proveout.model.features import Feature
from proveout.model.plan import Plan
from proveout.model.shop import Shop

FILE_FIRST = re.compile(r"[\w-]+\.[a-z]")
SHORTEST = 3  # an id of fewer signs is not looked for inside sentences
DIGEST = re.compile(r"\s*#[0-9a-f]{5,}")
STAGES = {
    "survey": "Survey",
    "concerns": "Design",
    "finishing": "Coat",
    "blank": "Blank",
    "clampings": "Clampings",
    "cutters": "Cutters",
    "passes": "Passes",
    "removal_check": "Replay of the cut",
    "program": "Programs",
    "jaw_forms": "Soft jaws",
    "loads": "Cutting loads",
    "stability": "Chatter",
    "holding": "Holding",
    "loading": "Loading",
    "turning_over": "From one operation to the next",
    "sending": "Outside work",
    "fits": "Fits",
    "inspection": "Inspection",
    "bench": "Bench",
    "packing": "Packing",
    "bars": "Bars",
    "timing": "Time",
    "costing": "Cost",
    "schedule": "Schedule",
}
FEATURES = {"levels": "level by level", "stairs": "in stairs"}  # what a pass over a whole area is called
NUMBERED = re.compile(r"(face|hole) (\d+)( .*)?")  # "hole 3 Ø11.0"
LONG_DIAMETER = re.compile(r"(Ø\d+\.\d)(\d*?)0+\b")
VERDICTS = {"holds": "holds", "fails": "fails", "not shown": "not shown"}


class Names:
    """Replaces the plan's ids in any text by plain words.

    used: the ids that were put plainly so far.

    Args:     plan: gives faces and holes their balloon numbers, clampings their operation numbers.
              shop: gives machines, vises, jaws and cutters their names.
    """

    def __init__(self, *, plan: Plan, shop: Shop) -> None:
        table: dict[str, str] = {}
        for note in plan.survey.faces:
            table[note.face_id] = f"face {note.balloon}"
        for hole in plan.survey.holes:
            table[hole.id] = f"hole {hole.balloon}"
        for clamping in plan.clampings:
            table[clamping.id] = f"op {clamping.number}"
            table[f"clamping {clamping.number}"] = f"op {clamping.number}"
        for machine in shop.machines:
            table[machine.id] = machine.name
        for cutter in shop.cutters:
            table[cutter.id] = cutter.name
        for gauge in shop.gauges:
            table[gauge.id] = gauge.name or gauge.id
        for finisher in shop.finishers:
            table[finisher.id] = finisher.process or finisher.id
            if finisher.process:
                table.setdefault(finisher.process, finisher.process)  # "laser marking" holds the id of the laser
        self._features = plan.survey.features
        self.feature_of = features_of_faces(plan.survey.features)
        self.used: set[str] = set()
        self._short = dict(table)
        self._table, self._finder = table, _finder(table)
        for one in plan.passes:
            feature = self.feature(one.feature)
            table[one.id] = f"{table.get(one.clamping_id, one.clamping_id)}, {one.kind}, {feature}"
        self._finder = _finder(table)

    def feature(self, feature: str) -> str:
        """A pass's feature in words: a numbered hole or face, else the text without its digest."""
        self.used.add(feature)
        return self._short.get(feature) or FEATURES.get(feature) or _rounded(self.short(feature))

    def short(self, text: str) -> str:
        """The text with every id put plainly and digests left out."""
        if text in self._table:
            return self._name(text)
        if self._finder is not None:
            text = self._finder.sub(lambda match: self._name(match.group(0)), text)
        return DIGEST.sub("", text)

    def _name(self, id: str) -> str:
        self.used.add(id)
        return self._table[id]

    def parts(self, face_ids: tuple[str, ...]) -> list[int]:
        """Places in the plan of the features that these faces are part of, one for each label, by label.

        Empty when one of the faces is part of nothing that has a name.
        """
        found = [self.feature_of.get(face_id) for face_id in face_ids]
        known = [place for place in found if place is not None]
        if len(known) < len(found):
            return []
        by_label: dict[str, int] = {}
        for place in sorted(known):
            by_label.setdefault(label(self._features[place]), place)
        return [by_label[key] for key in sorted(by_label)]

    def faces(self, face_ids: tuple[str, ...]) -> str:
        """Faces as one phrase: "faces 3, 4 and 7", first-named first; the empty text for none."""
        words = [self.short(face_id) for face_id in face_ids]
        numbers = [word.removeprefix("face ") for word in words if word.startswith("face ")]
        others = [word for word in words if not word.startswith("face ")]
        if numbers:
            head = "face" if len(numbers) == 1 else "faces"
            tail = numbers[0] if len(numbers) == 1 else f"{', '.join(numbers[:-1])} and {numbers[-1]}"
            others.append(f"{head} {tail}")
        return "; ".join(others)


def features_of_faces(features: tuple[Feature, ...]) -> dict[str, int]:
    """Place of the feature to name a face by: a thread before its hole, a pocket before the round in its corner."""
    table: dict[str, int] = {}
    for place, feature in sorted(enumerate(features), key=lambda pair: _rank(pair[1])):
        for face_id in feature.face_ids:
            table.setdefault(face_id, place)
    return table


def _rank(feature: Feature) -> tuple[bool, bool, str]:
    return feature.kind != "thread", bool(feature.within), feature.id


def label(feature: Feature) -> str:
    """The first words of a feature's name: "slot 6.6 wide", "thread M6 6H in hole Ø5"."""
    return feature.name.split(", ")[0]


def joined(features: list[str]) -> str:
    """Features of one kind as one phrase: "hole 3", "hole 4" as "holes 3 and 4"; else one after the other."""
    found = [NUMBERED.fullmatch(feature) for feature in features]
    first = found[0] if found else None
    if len(features) < 2 or first is None or any(m is None or (m[1], m[3]) != (first[1], first[3]) for m in found):
        return "; ".join(features)
    numbers = [m[2] for m in found if m is not None]
    return f"{first[1]}s {', '.join(numbers[:-1])} and {numbers[-1]}{',' if first[3] else ''}{first[3] or ''}"


def _rounded(text: str) -> str:
    """The text with diameters shown to what they need: Ø11.000 is Ø11.0."""
    return LONG_DIAMETER.sub(r"\1\2", text)


def _finder(table: dict[str, str]) -> re.Pattern[str] | None:
    """Finds any id of the table that stands alone in a text, the longest first."""
    long = sorted((key for key in table if len(key) >= SHORTEST), key=lambda key: (-len(key), key))
    parts = [rf"(?<![\w/.-]){re.escape(key)}(?![\w/.-]*\w)" for key in long]
    return re.compile("|".join(parts)) if parts else None


SHAPES = (
    (r"plane ([+-])([xyz]) (-?[\d.]+)", r"plane facing \1\2, at \2 \3"),
    (r"plane \(([^)]*)\) (-?[\d.]+)", r"slanted plane facing (\1), \2 from the origin"),
    (r"cylinder in d([\d.]+) (.+)", r"hollow round Ø\1 along \2"),
    (r"cylinder out d([\d.]+) (.+)", r"outside round Ø\1 along \2"),
    (r"cone in ([\d.]+)deg (.+)", r"hollow cone of \1° along \2"),
    (r"cone out ([\d.]+)deg (.+)", r"outside cone of \1° along \2"),
    (r"sphere in d([\d.]+)(.*)", r"hollow ball corner Ø\1\2"),
    (r"sphere out d([\d.]+)(.*)", r"outside ball corner Ø\1\2"),
    (r"torus (in|out) r([\d.]+) on r([\d.]+) (.+)", r"bent round R\2 on R\3 about \4"),
    (r"hole ([+-][xyz]) dia ([\d.]+) at ([^,]+),([^,]+),([^,]+)", r"Ø\2 hole from \1, mouth at x \3, y \4, z \5"),
    (r"hole \(([^)]*)\) dia ([\d.]+) at ([^,]+),([^,]+),([^,]+)",
     r"Ø\2 hole from (\1), mouth at x \3, y \4, z \5"),
)  # fmt: skip


def shape_words(id: str) -> str:
    """What an id of a face or hole tells of its kind, size and place, in words; signs are true minus signs."""
    text = DIGEST.sub("", id)
    for pattern, words in SHAPES:
        if re.fullmatch(pattern, text):
            text = re.sub(pattern, words, text)
            break
    return re.sub(r"(?<![\w)])-(?=[\dxyz])", "−", text)


def sentence(text: str) -> str:
    """The text with a capital first letter and a full stop at its end; the empty text stays empty."""
    if not text:
        return ""
    tail = "" if text[-1] in ".?!:" else "."
    return f"{capital(text)}{tail}"


def capital(text: str) -> str:
    """The text with a capital first letter."""
    return text if FILE_FIRST.match(text) else f"{text[:1].upper()}{text[1:]}"


def digest_words(digest: str) -> str:
    """A fingerprint as three groups of four signs, enough to compare by eye."""
    head = digest[:12]
    return " ".join(head[i : i + 4] for i in range(0, len(head), 4))
