"""What the command line says of a checked program: the verdict, what is wrong by line, cutters, minutes."""

from __future__ import annotations

from pathlib import Path

from proveout.cli.words import wrapped
from proveout.jobs.check_program import Checked
from proveout.jobs.check_told import ToldProof, ToldUse, check_told

FINDINGS_SHOWN = 30
FACES_SHOWN = 8


def check_words(checked: Checked, out: Path | None, *, is_inch: bool = False) -> list[str]:
    """The check in words, the verdict first; in inches where the shop reads them, or is_inch asks for it."""
    told = check_told(checked, is_inch=is_inch)
    lines = [
        f"{told.program}: {told.blocks_count} blocks, {told.moves_count} moves",
        f"Fingerprint: {told.fingerprint}",
        "",
        told.verdict,
    ]
    lines += [_proof(p) for p in told.held_back]
    lines += [f"  {len(told.holding)} of {told.proofs_count} proofs hold."]
    if told.beside:
        lines += ["", "Beside that, without holding it back:"]
        lines += [_proof(p) for p in told.beside]
    if told.findings:
        lines += ["", "By line:"]
        lines += [_wrapped(f"  {one.where}: {one.text}") for one in told.findings[:FINDINGS_SHOWN]]
        if len(told.findings) > FINDINGS_SHOWN:
            lines.append(f"  ... and {len(told.findings) - FINDINGS_SHOWN} more (all of them in check.json: --out)")
    lines += ["", "Cutters as the program calls them:"]
    for use in told.uses:
        lines += _use(use)
    lines += [] if told.uses else ["  none"]
    if told.left:
        lines += ["", "Metal left over on:"]
        lines += [f"  {size:>11}  {face}" for size, face in told.left[:FACES_SHOWN]]
        if len(told.left) > FACES_SHOWN:
            lines.append(f"  ... and {len(told.left) - FACES_SHOWN} more faces")
    if told.minutes:
        lines += ["", f"Minutes: {told.minutes}, loading not counted"]
    if told.differs:
        lines += ["", "Differs from the plan:"]
        lines += [_wrapped(f"  {text}") for text in told.differs]
    lines += ["", "Taken as given:"]
    lines += [_wrapped(f"  {text}") for text in told.taken]
    if out is not None:
        lines += ["", f"Written: {out}"]
    return lines


def _wrapped(text: str) -> str:
    return wrapped(text, "    ")


def _proof(one: ToldProof) -> str:
    return _wrapped(f"  {one.proof.verdict}: {one.claim}. {one.why}".rstrip())


def _use(use: ToldUse) -> list[str]:
    """A cutter from one change to the next, and the line at which its chip is thickest."""
    said = [f"  {use.name:10} from line {use.line}: {use.removed:>13} over {use.cut:>9}, {use.feed:>18}"]
    if use.engagement:
        at = f", line {use.chip_line}" if use.chip_line else ""
        said.append(f"             {use.engagement}{at}")
    return said
