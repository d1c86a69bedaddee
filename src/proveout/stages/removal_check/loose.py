"""Slugs and windows that come loose: in which pass, how large, and where they lie."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from proveout.model.proof import Basis, Proof, prove
from proveout.model.work import Clamping, LoosePiece, Pass
from proveout.removal.fields import Fields
from proveout.removal.pieces import Lump, lumps_of

LEAST_MM3 = 2.0
"""A smaller crumb goes with the chips. Common practice, no source."""
SAME_CELLS = 2.0


@dataclass
class LooseWatch:
    """Looks after every pass for metal that no longer hangs on the largest piece, which is taken to be the held one."""

    found: list[LoosePiece] = field(default_factory=list)
    _lying: list[Lump] = field(default_factory=list)

    def look(self, fields: Fields, one: Pass, clamping: Clamping) -> None:
        """Notes what this pass has parted from the rest; what lay loose before is not told again."""
        now = list(lumps_of(fields, least_mm3=LEAST_MM3))[1:]
        cell = SAME_CELLS * float(fields.pitch_mm.max())
        for lump in now:
            if not any(_lies_in(lump, old, cell) for old in self._lying):
                middle = (np.array(lump.low_mm) + np.array(lump.high_mm)) / 2.0
                x, y, z = (round(float(v), 2) for v in clamping.frame.into(middle[None, :])[0])
                size = sorted((round(b - a, 2) for a, b in zip(lump.low_mm, lump.high_mm, strict=True)), reverse=True)
                self.found.append(
                    LoosePiece(
                        pass_id=one.id, clamping_id=clamping.id, volume_mm3=round(lump.volume_mm3, 2),
                        size_mm=(size[0], size[1], size[2]), at_mm=(x, y, z),
                    )
                )  # fmt: skip
        self._lying = now


def _lies_in(lump: Lump, old: Lump, cell_mm: float) -> bool:
    """Whether a piece lies within the box of one that lay loose before: it, or what is left of it."""
    return all(
        a >= c - cell_mm and b <= d + cell_mm
        for a, b, c, d in zip(lump.low_mm, lump.high_mm, old.low_mm, old.high_mm, strict=True)
    )


def loose_proof(found: tuple[LoosePiece, ...]) -> Proof:
    """Said with the pass that sets them free; no reason to hold back release, for a stop before it takes them out."""
    names = "; ".join(f"{one.pass_id}: {one.words}" for one in found[:6])
    more = f"; and {len(found) - 6} more" if len(found) > 6 else ""
    return prove(
        id="removal check:loose pieces", stage="removal check", subject=found[0].pass_id if found else "all passes",
        claim="no slug or window comes loose under the cutter", sense="at most", found_low=float(len(found)),
        found_high=float(len(found)), limit=0.0, unit="pieces", blocks_release=False,
        basis=Basis(
            formula=f"after each pass, pieces of {LEAST_MM3:g} mm³ and more that do not hang on the largest"
            + (f": {names}{more}" if found else ""),
            source="own-algorithm",
        ),
        remedy="stop before the pass, leave a skin or tabs and break the piece out, or cut it all to chips: the cutter "
        "catches a loose piece and throws it",
    )  # fmt: skip
