"""What the command line says of a checked program: the verdict, what is wrong by line, cutters, minutes."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from proveout.cli.inches import in_inches
from proveout.cli.words import wrapped
from proveout.jobs.check_program import Checked
from proveout.model.checking import CutterUse, Finding
from proveout.model.proof import Proof, open_proofs, weakest_first
from proveout.quantities.units import MM_PER_INCH, S_PER_MIN
from proveout.stages.removal_check.decide import LEFTOVER_LIMIT_MM

FINDINGS_SHOWN = 30
FACES_SHOWN = 8
CAUSES = ("words", "cutter", "length", "zero", "not known")


def check_words(checked: Checked, out: Path | None, *, is_inch: bool = False) -> list[str]:
    """The check in words, the verdict first; in inches where the shop reads them, or is_inch asks for it."""
    is_inch = is_inch or checked.is_inch
    check = checked.check

    numbered = _numbering(checked)
    names = (*checked.names, *dict.fromkeys(finding.heading for finding in check.findings))

    def told(text: str) -> str:
        text = numbered(text)
        return wrapped(in_inches(text, names) if is_inch else text, "    ")

    lines = [
        f"{checked.program.name}: {check.lines_count} blocks, {check.motions_count} moves",
        f"Fingerprint: {grouped(checked.fingerprint)}",
        "",
        _verdict(checked),
    ]
    lines += [told(_proof(p)) for p in _causes_first(open_proofs(checked.proofs))]
    held = sum(p.verdict == "holds" for p in checked.proofs)
    lines += [f"  {held} of {len(checked.proofs)} proofs hold."]
    beside = [p for p in weakest_first(checked.proofs) if p.verdict != "holds" and not p.blocks_release]
    if beside:
        lines += ["", "Beside that, without holding it back:"]
        lines += [told(_proof(p)) for p in beside]
    if check.findings:
        lines += ["", "By line:"]
        groups = together(check.findings)
        lines += [told(_finding(group)) for group in groups[:FINDINGS_SHOWN]]
        if len(groups) > FINDINGS_SHOWN:
            lines.append(f"  ... and {len(groups) - FINDINGS_SHOWN} more (all of them in check.json: --out)")
    lines += ["", "Cutters as the program calls them:"]
    for use in check.uses:
        lines += [in_inches(line) if is_inch else line for line in _use(use, is_inch=is_inch)]
    lines += [] if check.uses else ["  none"]
    left = sorted(
        (f for f in check.faces if f.leftover_mm > LEFTOVER_LIMIT_MM), key=lambda f: (-f.leftover_mm, f.face_id)
    )
    if left:
        lines += ["", "Metal left over on:"]
        lines += [
            f"  {f.leftover_mm / MM_PER_INCH:8.5f} in  {numbered(f.face_id)}" if is_inch
            else f"  {f.leftover_mm:8.3f} mm  {numbered(f.face_id)}"
            for f in left[:FACES_SHOWN]
        ]  # fmt: skip
        if len(left) > FACES_SHOWN:
            lines.append(f"  ... and {len(left) - FACES_SHOWN} more faces")
    if check.seconds is not None:
        lines += ["", f"Minutes: {check.seconds / S_PER_MIN:.2f}, loading not counted"]
    if checked.differs:
        lines += ["", "Differs from the plan:"]
        lines += [told(f"  {text}") for text in checked.differs]
    lines += ["", "Taken as given:"]
    lines += [told(f"  {text}") for text in checked.taken]
    if out is not None:
        lines += ["", f"Written: {out}"]
    return lines


def _numbering(checked: Checked) -> Callable[[str], str]:
    """What puts the number of a face before its id, as drawing and papers have it."""
    notes = checked.finished.survey.faces if checked.finished is not None else ()
    numbers = {note.face_id: note.balloon for note in notes}
    if not numbers:
        return str
    longest_first = sorted(numbers, key=lambda face_id: (-len(face_id), face_id))
    finder = re.compile("|".join(map(re.escape, longest_first)))
    return lambda text: finder.sub(lambda found: f"face {numbers[found[0]]}, {found[0]}", text)


def grouped(fingerprint: str) -> str:
    """A fingerprint in groups of four signs, as the setup sheet shows it."""
    return " ".join(fingerprint[i : i + 4] for i in range(0, len(fingerprint), 4))


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


def _proof(proof: Proof) -> str:
    why = proof.decides if proof.verdict == "not shown" else proof.remedy
    return f"  {proof.verdict}: {proof.claim}. {_capital(why)}".rstrip()


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


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


def _finding(group: list[Finding]) -> str:
    first, last = group[0], group[-1]
    worst = max(group, key=lambda f: abs((f.found or 0.0) - (f.limit or 0.0)))
    size = ""
    if worst.found is not None and worst.limit is not None:
        size = (
            f" ({'worst ' if len(group) > 1 else ''}{worst.found:g} {worst.unit}, limit {worst.limit:g} {worst.unit})"
        )
    heading = f" [{first.heading}]" if first.heading else ""
    mark = "" if first.is_sure else "not shown: "
    lines = f"line {first.line}" if len(group) == 1 else f"{len(group)} lines from {first.line} to {last.line}"
    return f"  {lines}: {mark}{first.what}{size}{heading}"


def _use(use: CutterUse, *, is_inch: bool) -> list[str]:
    """A cutter from one change to the next, and the line at which its chip is thickest."""
    name = f"T{use.number}" if use.number else "no cutter"
    feed = "a feed not known" if use.feed_s is None else f"{use.feed_s / S_PER_MIN:6.2f} min of feed"
    volume, way = f"{use.removed_mm3 / 1000.0:9.2f} cm3", f"{use.cut_mm / 1000.0:7.2f} m"
    if is_inch:
        volume, way = f"{use.removed_mm3 / MM_PER_INCH**3:9.3f} in3", f"{use.cut_mm / MM_PER_INCH / 12.0:7.1f} ft"
    said = [f"  {name:10} from line {use.line}: {volume} over {way}, {feed}"]
    if use.axial_mm > 0.0:
        text = f"             at most a_e {use.radial_mm:.2f} mm, a_p {use.axial_mm:.2f} mm"
        if use.chip_mm is not None:
            text += f"; thickest chip {use.chip_mm:.3f} mm, line {use.chip_line}"
        said.append(text)
    return said
