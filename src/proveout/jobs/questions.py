"""What only the owner can say, in order of what the answer would change; at most five."""

from __future__ import annotations

from proveout.model.job import Job
from proveout.model.plan import CostPlan, Question, TimePlan
from proveout.model.proof import Proof
from proveout.model.solid import ReadSolid
from proveout.model.work import Survey

QUESTIONS_MAX = 5
THREADS_NAMED_MAX = 6
# tap drills of the common coarse metric threads, mm: the hole a solid usually shows where a thread is meant
TAP_DRILLS = {2.5: "M3", 3.3: "M4", 4.2: "M5", 5.0: "M6", 6.8: "M8", 8.5: "M10", 10.2: "M12"}
FIT_MM = 0.05


def ask(
    *,
    job: Job,
    read: ReadSolid,
    survey: Survey,
    cost: CostPlan,
    time: TimePlan,
    proofs: tuple[Proof, ...],
    is_bare: bool,
) -> tuple[Question, ...]:
    """The questions that the file and the job leave open, weighed by money a piece where that can be reckoned."""
    found: list[Question] = []
    each = max(cost.each.nominal, 1e-9)
    if read.unit_is_doubtful:
        found.append(
            Question(
                id="unit", text="Is the part really this size? The unit declared in the file looks doubtful.",
                would_change="everything", weight=1000.0,
            )
        )  # fmt: skip
    if is_bare:
        once = time.batch_s.nominal
        share = once / max(1, job.order.quantity)
        piece = max(time.piece_s.nominal, 1e-9)
        found.append(
            Question(
                id="quantity", text=f"How many are wanted? {job.order.quantity} are assumed.",
                would_change=f"work done once a batch is {100.0 * share / (share + piece):.0f} % of a piece's work",
                weight=each * share / (share + piece),
            )
        )  # fmt: skip
    if job.coat is None and is_bare:
        found.append(
            Question(
                id="coat", text="Is the part coated, how thick, and which faces are masked?",
                would_change="every size to machine to, the threads, the outside lots and the dates", weight=each * 0.4,
            )
        )  # fmt: skip
    written = {s.balloon for s in job.sizes} | set(job.masked_balloons)
    threads = [
        (h, name)
        for h in survey.holes
        for size, name in TAP_DRILLS.items()
        if abs(h.diameter_mm - size) <= FIT_MM and h.balloon not in written
    ]
    if threads:
        names = ", ".join(f"hole {h.balloon} (Ø{h.diameter_mm:g}, {n})" for h, n in threads[:THREADS_NAMED_MAX])
        more = len(threads) - THREADS_NAMED_MAX
        names += f" and {more} more" if more > 0 else ""
        found.append(
            Question(
                id="threads", text=f"Which of these holes are tapped: {names}?",
                would_change="a tap in the plan, its gauge, and plugs or an oversize tap under a coat",
                weight=each * 0.05 * len(threads),
                face_ids=tuple(f for h, _ in threads for s in h.steps for f in s.face_ids),
            )
        )  # fmt: skip
    if not job.sizes:
        found.append(
            Question(
                id="sizes", text="Which five to ten sizes matter, and with what limits?",
                would_change="before-coat sizes, gauges and how often to measure", weight=each * 0.15,
            )
        )  # fmt: skip
    holding = [p for p in proofs if p.stage == "holding" and p.verdict == "not shown"]
    if holding:
        found.append(
            Question(
                id="grip", text="What do ten pull tests of your jaws on this bar give, and what force do they reach?",
                would_change=f"{len(holding)} holding proofs that block release", weight=each * 0.5,
            )
        )  # fmt: skip
    if not job.show_faces and (is_bare or job.coat is not None):
        found.append(
            Question(
                id="show faces", text="Which faces does the customer see?",
                would_change="where jaws and racks may touch", weight=each * 0.03,
            )
        )  # fmt: skip
    missing = [p for p in proofs if p.stage == "clampings" and p.verdict == "fails"]
    if missing:
        is_held = bool(missing[0].found_high)
        text = (
            f"May the design change here: {missing[0].subject}?"
            if is_held
            else "How else could it be held: a wider vise, a larger machine, a fixture, another shop?"
        )
        found.append(
            Question(
                id="unreached", text=text,
                would_change="whether the part can be made in this shop at all", weight=each * 2.0,
            )
        )  # fmt: skip
    found.sort(key=lambda q: (-q.weight, q.id))
    return tuple(
        Question(
            id=q.id, text=q.text, would_change=q.would_change, weight=round(q.weight, 4), face_ids=q.face_ids
        )
        for q in found[:QUESTIONS_MAX]
    )  # fmt: skip
