"""What the STEP file writes and this plan does not judge is *not shown*; where the job differs both are told."""

from __future__ import annotations

from collections import Counter

from proveout.model.pmi import PmiNote
from proveout.model.proof import Basis, Proof, prove
from proveout.stages.inspection.gauge_proofs import STAGE


def as_drawn_proofs(notes: tuple[PmiNote, ...]) -> tuple[Proof, ...]:
    """One for each size and tolerance of the file that is not used, or not whole, and for each that the job overrides.

    A datum claims nothing by itself.  None of them blocks release: a job without a drawing knows nothing of them.
    """
    proofs: list[Proof] = []
    seen: Counter[str] = Counter()
    for note in notes:
        if note.kind == "datum" or not note.why:
            continue
        where = f" at {', '.join(str(number) for number in note.balloons)}" if note.balloons else ""
        name = f"{note.text}{where}"
        seen[name] += 1
        tail = f" ({seen[name]})" if seen[name] > 1 else ""
        if note.status == "overridden":
            proofs.append(
                prove(
                    id=f"{STAGE}:file:{name}{tail}", stage=STAGE, subject=f"{note.kind} of the STEP file",
                    claim=f"job and STEP file write the same{where}: {note.text}", sense="at least", found_low=0.0,
                    found_high=0.0, limit=1.0, unit="yes = 1", blocks_release=False,
                    basis=Basis(formula="limits of the job against those of the file", source="step-file"),
                    remedy=f"ask the designer which of the two is meant: {note.why}",
                )
            )  # fmt: skip
            continue
        proofs.append(
            prove(
                id=f"{STAGE}:file:{name}{tail}", stage=STAGE, subject=f"{note.kind} of the STEP file",
                claim=f"the part is made to what the STEP file writes{where}: {note.text}", sense="at most",
                found_low=None, found_high=None, limit=None, unit="mm", blocks_release=False,
                basis=Basis(formula="none: the plan does not judge it", source="step-file"),
                decides=f"measure as drawn: {note.text}{where}; {note.why}",
            )
        )  # fmt: skip
    return tuple(proofs)
