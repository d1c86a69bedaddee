"""What a check has to tell, piece by piece and in words, for whoever shows it: a command line or a page."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from proveout.jobs.check_program import Checked
from proveout.model.checking import CutterUse, Finding
from proveout.model.proof import Proof, open_proofs, weakest_first
from proveout.quantities.units import MM_PER_INCH, S_PER_MIN
from proveout.sheets.inches import in_inches
from proveout.stages.removal_check.decide import LEFTOVER_LIMIT_MM

CAUSES = ("words", "cutter", "length", "zero", "not known")
YES = "yes = 1"
MEASURED = ("mm", "mm3", "mm/min", "1/min", "°")
"""Units that are told behind a number; what has another one is counted."""


@dataclass(frozen=True, kw_only=True)
class ToldProof:
    """A proof with its claim, what would help or decide it (empty where it holds), and what was found and wanted."""

    proof: Proof
    claim: str
    why: str
    found: str
    wanted: str


@dataclass(frozen=True, kw_only=True)
class ToldFinding:
    """What is wrong in one or several lines.   is_sure: False where something is missing that would decide it."""

    lines: tuple[int, ...]
    text: str
    is_sure: bool

    @property
    def where(self) -> str:
        """Its lines, in words."""
        if len(self.lines) == 1:
            return f"line {self.lines[0]}"
        return f"{len(self.lines)} lines from {self.lines[0]} to {self.lines[-1]}"


@dataclass(frozen=True, kw_only=True)
class ToldUse:
    """A cutter from one change to the next.   line: where that begins.   engagement: empty where it cut nothing.

    chip_line: the line at which its chip is thickest, 0 where no chip is known.
    """

    name: str
    line: int
    removed: str
    cut: str
    feed: str
    engagement: str
    chip_line: int


@dataclass(frozen=True, kw_only=True)
class ToldCheck:
    """All of a check.   verdict: its first word is HOLDS, FAILS or NOT SHOWN.   fingerprint: in groups of four.

    held_back: what blocks and does not hold, causes first; beside: what is open without holding it back; holding: the
    rest; each of these weakest first.   left: metal left over with its face, most first.   minutes: empty where no
    machine is known.
    """

    program: str
    blocks_count: int
    moves_count: int
    fingerprint: str
    verdict: str
    ready: bool
    held_back: tuple[ToldProof, ...]
    beside: tuple[ToldProof, ...]
    holding: tuple[ToldProof, ...]
    findings: tuple[ToldFinding, ...]
    uses: tuple[ToldUse, ...]
    left: tuple[tuple[str, str], ...]
    minutes: str
    differs: tuple[str, ...]
    taken: tuple[str, ...]

    @property
    def proofs_count(self) -> int:
        """How many proofs there are."""
        return len(self.held_back) + len(self.beside) + len(self.holding)


def check_told(checked: Checked, *, is_inch: bool = False) -> ToldCheck:
    """A check in words; lengths in inches where the shop reads them, or is_inch asks for it."""
    is_inch = is_inch or checked.is_inch
    check = checked.check
    numbered = _numbering(checked)
    names = (*checked.names, *dict.fromkeys(finding.heading for finding in check.findings))

    def told(text: str) -> str:
        text = numbered(text)
        text = in_inches(text, names) if is_inch else text
        return text.encode("utf-8", errors="surrogateescape").decode("utf-8", errors="replace")

    left = sorted(
        (f for f in check.faces if f.leftover_mm > LEFTOVER_LIMIT_MM), key=lambda f: (-f.leftover_mm, f.face_id)
    )
    weakest = weakest_first(checked.proofs)
    return ToldCheck(
        program=checked.program.name, blocks_count=check.lines_count, moves_count=check.motions_count,
        fingerprint=grouped(checked.fingerprint), verdict=_verdict(checked), ready=checked.ready,
        held_back=tuple(_proof(p, told) for p in _causes_first(open_proofs(checked.proofs))),
        beside=tuple(_proof(p, told) for p in weakest if p.verdict != "holds" and not p.blocks_release),
        holding=tuple(_proof(p, told) for p in weakest if p.verdict == "holds"),
        findings=tuple(_finding(group, told) for group in together(check.findings)),
        uses=tuple(_use(use, is_inch=is_inch) for use in check.uses),
        left=tuple(
            (f"{f.leftover_mm / MM_PER_INCH:.5f} in" if is_inch else f"{f.leftover_mm:.3f} mm", numbered(f.face_id))
            for f in left
        ),
        minutes="" if check.seconds is None else f"{check.seconds / S_PER_MIN:.2f}",
        differs=tuple(told(text) for text in checked.differs), taken=tuple(told(text) for text in checked.taken),
    )  # fmt: skip


def grouped(fingerprint: str) -> str:
    """A fingerprint in groups of four signs, as the setup sheet shows it."""
    return " ".join(fingerprint[i : i + 4] for i in range(0, len(fingerprint), 4))


def together(findings: tuple[Finding, ...]) -> list[list[Finding]]:
    """Findings that say the same one after the other, as one; in the order of their first lines."""
    groups: dict[tuple[str, str, bool], list[Finding]] = {}
    done: list[list[Finding]] = []
    for finding in findings:
        key = finding.kind, finding.what, finding.is_sure
        if key not in groups:
            groups[key] = []
            done.append(groups[key])
        groups[key].append(finding)
    return done


def _numbering(checked: Checked) -> Callable[[str], str]:
    """What puts the number of a face before its id, as drawing and papers have it."""
    notes = checked.finished.survey.faces if checked.finished is not None else ()
    numbers = {note.face_id: note.balloon for note in notes}
    if not numbers:
        return str
    longest_first = sorted(numbers, key=lambda face_id: (-len(face_id), face_id))
    finder = re.compile("|".join(map(re.escape, longest_first)))
    return lambda text: finder.sub(lambda found: f"face {numbers[found[0]]}, {found[0]}", text)


def _verdict(checked: Checked) -> str:
    blocking = [p for p in checked.proofs if p.blocks_release]
    fails = sum(p.verdict == "fails" for p in blocking)
    unknown = sum(p.verdict == "not shown" for p in blocking)
    if fails:
        return f"FAILS: {fails} {'claim' if fails == 1 else 'claims'} not met" + (
            f", {unknown} not shown" if unknown else ""
        )
    if unknown:
        return (
            f"NOT SHOWN: nothing was found to fail, and {unknown} {'claim is' if unknown == 1 else 'claims are'} open"
        )
    return "HOLDS: nothing was found against it, as far as was looked"


def _causes_first(proofs: tuple[Proof, ...]) -> list[Proof]:
    """What makes all that follows doubtful comes first: a wrong word, cutter, length or zero; then the weakest."""
    return sorted(weakest_first(proofs), key=lambda p: p.id.rpartition(":")[2] not in CAUSES)


def _proof(proof: Proof, told: Callable[[str], str]) -> ToldProof:
    why = proof.decides if proof.verdict == "not shown" else proof.remedy
    known = [value for value in (proof.found_low, proof.found_high) if value is not None]
    found = " to ".join(dict.fromkeys(_value(value, proof.unit) for value in known)) if known else "nothing yet"
    if len(known) == 1:
        found = f"one end only, {found}"
    wanted = "no limit known" if proof.limit is None else _value(proof.limit, proof.unit)
    sense = "" if proof.unit == YES or proof.limit is None else f"{proof.sense} "
    return ToldProof(
        proof=proof, claim=told(proof.claim), why=told(_capital(why)), found=told(found), wanted=told(sense + wanted)
    )


def _value(value: float, unit: str) -> str:
    if unit == YES:
        return "yes" if value >= 1.0 else "no"
    return f"{value:.3f} mm" if unit == "mm" else f"{value:g} {unit}" if unit in MEASURED else f"{value:g}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _finding(group: list[Finding], told: Callable[[str], str]) -> ToldFinding:
    first = group[0]
    worst = max(group, key=lambda f: abs((f.found or 0.0) - (f.limit or 0.0)))
    size = ""
    if worst.found is not None and worst.limit is not None:
        size = (
            f" ({'worst ' if len(group) > 1 else ''}{worst.found:g} {worst.unit}, limit {worst.limit:g} {worst.unit})"
        )
    heading = f" [{first.heading}]" if first.heading else ""
    mark = "" if first.is_sure else "not shown: "
    return ToldFinding(
        lines=tuple(one.line for one in group), text=told(f"{mark}{first.what}{size}{heading}"), is_sure=first.is_sure
    )


def _use(use: CutterUse, *, is_inch: bool) -> ToldUse:
    volume, way = f"{use.removed_mm3 / 1000.0:.2f} cm3", f"{use.cut_mm / 1000.0:.2f} m"
    if is_inch:
        volume, way = f"{use.removed_mm3 / MM_PER_INCH**3:.3f} in3", f"{use.cut_mm / MM_PER_INCH / 12.0:.1f} ft"
    engagement = ""
    if use.axial_mm > 0.0:
        engagement = f"at most a_e {use.radial_mm:.2f} mm, a_p {use.axial_mm:.2f} mm"
        if use.chip_mm is not None:
            engagement += f"; thickest chip {use.chip_mm:.3f} mm"
    return ToldUse(
        name=f"T{use.number}" if use.number else "no cutter", line=use.line, removed=volume, cut=way,
        feed="a feed not known" if use.feed_s is None else f"{use.feed_s / S_PER_MIN:.2f} min of feed",
        engagement=in_inches(engagement) if is_inch else engagement,
        chip_line=use.chip_line if engagement and use.chip_mm is not None else 0,
    )  # fmt: skip
