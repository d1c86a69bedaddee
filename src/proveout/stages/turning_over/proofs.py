"""The proofs of what goes over from one clamping to the next.

What the owner wrote a limit for blocks release: a step under `step_max_mm`, a bow under `bow_max_mm`, a size that is
critical, and the slab between the jaws, whose giving way hurts people.  All else is measured on the first piece before
the second is cut, and says so; it never blocks.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from proveout.grip.strip import RESERVE_ASKED
from proveout.model.fact import Fact, exact_fact
from proveout.model.job import Job
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Vise
from proveout.model.turned import Bow, Facing, Meeting
from proveout.model.work import Clamping
from proveout.quantities.warmth import warm_growth_mm
from proveout.stages.turning_over.bow import BowOf

STAGE = "turning_over"
NO_WARMTH = (
    f"Not in it: warmth of the work (aluminium_typicals: {1000.0 * warm_growth_mm(length_mm=10.0, warmer_k=10.0):.1f} "
    "µm for 10 mm and 10 K), chips under it, wear of the cutter, drift of the zero"
)
SUM = "sum of all shares at once, each times its lever, in the worst direction. "


def meeting_proof(meeting: Meeting, numbers: Mapping[str, int], job: Job, *, is_critical: bool) -> Proof:
    """A step, or a size, that hangs on two clampings."""
    one, other = (numbers[name] for name in meeting.clamping_ids)
    is_step = meeting.kind == "step"
    if is_step:
        claim = f"where operation {other} goes on from a surface of operation {one} no step is larger than allowed"
        id = f"{STAGE}:{meeting.subject}:step"
        limit_words = "step_max_mm of the job" if job.step_max_mm is not None else "the general tolerance"
        remedy = (
            "cut both faces in one operation, or probe the work in operation "
            f"{other} on a face of operation {one} and shift the zero by what it reads"
        )
        asked = "how large a step may be: step_max_mm in the job file, or a general tolerance"
    else:
        claim = f"{meeting.text}, from a face of operation {one} to a face of operation {other}, stays in its window"
        id = f"{STAGE}:{meeting.mark or meeting.subject}:size over two clampings"
        limit_words = (
            "half the window before the coat" if meeting.mark else "the general tolerance less half the coat's"
        )
        remedy = (
            f"gauge the first piece after operation {other} and shift its zero by what it is off; or cut both faces in "
            "one operation; or loosen the size"
        )
        asked = "limits for this size, or a general tolerance, and what the finisher takes off and puts on"
    inputs = {_named(line.text, line.count): line.each_mm for line in meeting.lines}
    off = meeting.off_mm
    lacks = [*meeting.lacks, *([asked] if meeting.limit_mm is None else [])]
    return prove(
        id=id, stage=STAGE, subject=f"size {meeting.mark}" if meeting.mark else meeting.subject, claim=claim,
        sense="at most", found_low=None if off is None else off.low, found_high=None if off is None else off.high,
        limit=meeting.limit_mm, unit="mm",
        blocks_release=is_critical or (is_step and job.step_max_mm is not None),
        basis=Basis(formula=f"{SUM}Limit: {limit_words}. {NO_WARMTH}", source="own-algorithm", inputs=inputs),
        decides="; ".join(lacks) or f"the first piece, measured there after operation {other}", remedy=remedy,
    )  # fmt: skip


def _named(text: str, count: int) -> str:
    return text if count == 1 else f"{text}, {count} times"


def bow_proof(bow: Bow, numbers: Mapping[str, int], job: Job, bow_of: BowOf) -> Proof:
    """How far the work bows once this clamping has faced it; nobody's published figure is for this bar."""
    number, found, bar = numbers[bow.clamping_id], bow.bow_mm, bow_of.bar
    inputs: dict[str, Fact] = {
        "L, length": exact_fact(bow.length_mm, "mm", "own-algorithm", "assumed"),
        "t, thickness left": exact_fact(bow.thickness_mm, "mm", "own-algorithm", "assumed"),
    }
    if found is not None and bar is not None and bar.faced_bow_mm is not None and bar.faced_bow_length_mm is not None:
        inputs["h_m, bow measured"] = bar.faced_bow_mm
        inputs["L_m, length of that piece"] = exact_fact(bar.faced_bow_length_mm, "mm", "shop-file", "measured here")
    lacks = [] if found is not None else [bow_of.ask(job.part.alloy)]
    if job.bow_max_mm is None:
        lacks.append("how far the part may be bowed: bow_max_mm in the job file")
    return prove(
        id=f"{STAGE}:{bow.clamping_id}:bow after facing", stage=STAGE, subject=f"clamping {number}",
        claim="stress let go by facing bows the work by no more than allowed", sense="at most",
        found_low=None if found is None else found.low, found_high=None if found is None else found.high,
        limit=job.bow_max_mm, unit="mm", blocks_release=job.bow_max_mm is not None,
        basis=Basis(
            formula="h = h_m (L / L_m)^2 of a piece of the same bar faced before, no longer and no thinner: as if bent "
            "evenly; pockets and holes are not in it. No figure that was published is for this bar",
            source="own-algorithm", inputs=inputs,
        ),
        decides="; ".join(lacks) or "the first piece on a flat plate, feelers under its middle",
        remedy="face both sides in turns and open the vise before the last skim, or buy the bar stretched (-T6511)",
    )  # fmt: skip


def slab_proof(
    facing: Facing, clampings: Sequence[Clamping], vises: Sequence[Vise], elastic_mpa: Fact | None
) -> Proof:  # fmt: skip
    """The slab that the weakest stage of a facing pass leaves between the jaws."""
    clamping = next(c for c in clampings if c.id == facing.clamping_id)
    known = [s for s in facing.stages if s.reserve_low is not None]
    least = min(known, key=lambda s: s.reserve_low or 0.0, default=None)
    inputs = {"g, between the jaws": exact_fact(clamping.gap_mm, "mm", "own-algorithm", "assumed")}
    if elastic_mpa is not None:
        inputs["E, elastic modulus"] = elastic_mpa
    vise = next(v for v in vises if v.id == clamping.vise_id)
    lacks = [] if elastic_mpa is not None else ["the elastic modulus of this metal"]
    if vise.preload_n is None or not vise.preload_n.is_backed:
        given = "" if vise.preload_n is None else f"; the number in the shop file {vise.preload_n.lack_words}"
        lacks.append(f"the jaw force of {vise.id} at the torque used, with its source and spread{given}")
    stages = facing.count
    return prove(
        id=f"{STAGE}:{clamping.id}:slab between the jaws", stage=STAGE, subject=f"clamping {clamping.number}",
        claim=f"what {stages} stage{'s' if stages > 1 else ''} of facing leave{'' if stages > 1 else 's'} between the "
        "jaws does not bow away under them",
        sense="at least", found_low=None if least is None else least.reserve_low,
        found_high=None if least is None else least.reserve_high, limit=RESERVE_ASKED, unit="times the jaw force",
        blocks_release=True,
        basis=Basis(
            formula="least P with E I(y) w'' + P w = 0, w = 0 at both jaws, over P of the jaws: I(y), sum of dx t^3 / "
            "12 of the finished work's metal along the jaws, its pockets and holes taken out, with what still stands "
            "on its highest face; the press counted in the middle of each section",
            source="euler_column", inputs=inputs,
        ),
        decides="; ".join(lacks) or "a smaller spread of jaw force and modulus",
        remedy="close the vise softer; or face first, before the pockets are cut; or hold it flat on a plate",
    )  # fmt: skip
