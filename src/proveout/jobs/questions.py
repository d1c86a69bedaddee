"""What only the owner can say, in order of what the answer would change; at most five.

The weight of a question is reckoned from the plan and from nothing else: the share of what then blocks release that its
answer decides or adds, and the share of the price that it can move. Each lies between 0 and 1, and the two are added. A
question whose change cannot be reckoned weighs 0 and comes last; questions of one weight stand in the order of ids.
"""

from __future__ import annotations

from proveout.cutting.threads import COARSE_PITCH_MM, MINOR_RATIO
from proveout.model.job import ALLOY, COATED, QUANTITY, Job
from proveout.model.marking import is_marking
from proveout.model.plan import CostPlan, Question, TimePlan
from proveout.model.proof import Proof, open_proofs
from proveout.model.shop import Finisher
from proveout.model.solid import ReadSolid
from proveout.model.table_load import TableOption
from proveout.model.work import Hole, Survey
from proveout.money.finisher_lot import lot_price
from proveout.stages.timing.table_groups import UNMEASURED

QUESTIONS_MAX = 5
THREADS_NAMED_MAX = 6
FIT_MM = 0.05
MINOR_FIT_MM = 0.01
"""A minor diameter is drawn as reckoned: less would take the clearance hole of M6, 6.6 mm, for a thread M8."""
ASKED_FROM_MM = 3.0
"""Smaller threads are not asked about: their holes are too often something else."""
# proofs that block release which finishing adds for each written size (open, can be held, drawn as written, target in
# the window) and thread (open, can be held, takes its screw); the least number of sizes that is asked for
PROOFS_OF_A_SIZE, PROOFS_OF_A_THREAD, SIZES_ASKED = 4, 3, 5
REACHED = "clampings:part:every face reached"


UNIT = "Is the part really this size? The unit declared in the file looks doubtful."
COAT = "Is the part coated, how thick, and which faces are masked?"
SHOW = "Which faces does the customer see?"
MARKED = (
    "What is marked on the part by {process}, on which face, and how high? [[outside.marking]] in the job file says it."
)
ORDERED = "the order to the finisher, and what is looked at once the pieces are back"
TOUCH = "where jaws and racks may touch"
METAL = "the bar and its price, speeds, loads and how the coat grows"
NO_PLAN = "how much, is reckoned once there is a plan"


def ask_before_plan(*, job: Job, read: ReadSolid, survey: Survey) -> tuple[Question, ...]:
    """What is open before anything is planned, in the order of what most often changes most; none of it is weighed."""
    found: list[Question] = []
    if read.unit_is_doubtful:
        found.append(_asked("unit", UNIT, "everything", 0.0))
    found += [_asked(q.id, q.text, q.would_change, 0.0, q.face_ids) for q in _of_sizes(job, survey, 0)]
    if COATED in job.unsaid:
        found.append(_asked("coat", COAT, NO_PLAN, 0.0))
    if QUANTITY in job.unsaid:
        found.append(_asked("quantity", f"How many are wanted? {job.order.quantity} are assumed.", NO_PLAN, 0.0))
    return (*found, *_of_metal(job), *_of_show(job))


def ask(
    *,
    job: Job,
    read: ReadSolid,
    survey: Survey,
    cost: CostPlan,
    time: TimePlan,
    proofs: tuple[Proof, ...],
    finishers: tuple[Finisher, ...],
    table_options: tuple[TableOption, ...] = (),
) -> tuple[Question, ...]:
    """The questions that file, job and shop leave open, each weighed as the head of this file says."""
    waiting = open_proofs(proofs)
    found = [
        *_of_the_part(job, read, time, cost, finishers),
        *_of_sizes(job, survey, len(waiting)),
        *_of_proofs(waiting),
        *of_places(table_options, cost),
        *_of_metal(job),
        *_of_show(job),
        *_of_marking(job, finishers),
    ]
    found.sort(key=lambda q: (-q.weight, q.id))
    return tuple(found[:QUESTIONS_MAX])


def _asked(id: str, text: str, would_change: str, weight: float, face_ids: tuple[str, ...] = ()) -> Question:
    return Question(id=id, text=text, would_change=would_change, weight=round(weight, 4), face_ids=face_ids)


def _of_the_part(
    job: Job, read: ReadSolid, time: TimePlan, cost: CostPlan, finishers: tuple[Finisher, ...]
) -> list[Question]:
    """Unit, quantity and coat: what they can move of the price, and of a wrong unit everything."""
    found: list[Question] = []
    quantity = max(1, job.order.quantity)
    if read.unit_is_doubtful:
        found.append(_asked("unit", UNIT, "everything", 2.0))
    if QUANTITY in job.unsaid:
        once = time.batch_s.nominal / quantity
        share = once / max(once + time.piece_s.nominal, 1e-9)
        text = f"How many are wanted? {job.order.quantity} are assumed."
        change = f"work done once a batch is {100.0 * share:.0f} % of a piece's work"
        found.append(_asked("quantity", text, change, share))
    if COATED in job.unsaid:
        lots = [lot_price(f, pieces_count=quantity) for f in finishers]
        added = min(lots, default=0.0) / quantity
        change = "every size to machine to, the threads, the outside lots and the dates"
        if lots:
            change += f"; the cheapest outside lot adds {added:.2f} {cost.currency} a piece"
        share = added / max(added + cost.each.nominal, 1e-9)
        found.append(_asked("coat", COAT, change, share))
    return found


def _of_metal(job: Job) -> list[Question]:
    """The alloy where nobody said it: what that would change is not reckoned."""
    if ALLOY not in job.unsaid:
        return []
    return [_asked("alloy", f"Of which metal is it? {job.part.alloy} is assumed.", METAL, 0.0)]


def _of_show(job: Job) -> list[Question]:
    """The faces that are seen, unless the owner named some or said that the part stays bare."""
    if job.show_faces or (job.coat is None and COATED not in job.unsaid):
        return []
    return [_asked("show faces", SHOW, TOUCH, 0.0)]


def _of_marking(job: Job, finishers: tuple[Finisher, ...]) -> list[Question]:
    """What a finisher who marks is to mark, where the job sends the part to him and says nothing of it."""
    said = {one.finisher for one in job.markings}
    silent = [f for f in finishers if f.id in job.other_finishers and f.id not in said and is_marking(f.process)]
    return [_asked(f"marking {f.id}", MARKED.format(process=f.process), ORDERED, 0.0) for f in silent]


def of_places(options: tuple[TableOption, ...], cost: CostPlan) -> list[Question]:
    """Where vises stand, when a cheaper way of filling the table waits for nothing else: the money it would save."""
    waiting = [o for o in options[1:] if o.why_not == UNMEASURED and o.each < options[0].each]
    if not waiting:
        return []
    best = min(waiting, key=lambda o: o.each)
    saved = options[0].each - best.each
    text = f"Where does each vise of {', '.join(best.machine_ids)} stand, in machine coordinates?"
    change = f"{best.text} would cost {saved:.2f} {cost.currency} a piece less"
    return [_asked("places", text, change, saved / max(cost.each.nominal, 1e-9))]


def _of_sizes(job: Job, survey: Survey, waiting_count: int) -> list[Question]:
    """Threads and sizes: the proofs they would add, among all that would then be open."""
    found: list[Question] = []
    written = {s.balloon for s in job.sizes} | set(job.masked_balloons)
    threads = [
        (h, name)
        for h in survey.holes
        if h.balloon not in written and (name := coarse_thread(h.diameter_mm)) is not None
    ]
    if threads:
        change = "a tap in the plan, its gauge, and plugs or an oversize tap under a coat"
        weight = _share_added(PROOFS_OF_A_THREAD * len(threads), waiting_count)
        faces = tuple(f for h, _ in threads for s in h.steps for f in s.face_ids)
        found.append(_asked("threads", _threads_text(threads), change, weight, faces))
    if not job.sizes:
        weight = _share_added(PROOFS_OF_A_SIZE * SIZES_ASKED, waiting_count)
        text = "Which five to ten sizes matter, and with what limits?"
        found.append(_asked("sizes", text, "before-coat sizes, gauges and how often to measure", weight))
    return found


def coarse_thread(diameter_mm: float) -> str | None:
    """The coarse thread that a hole of this diameter may stand for; None for none.

    A solid shows a thread as a hole of the tap drill, a pitch below the major diameter, or of the basic minor one.
    """
    for major, pitch in COARSE_PITCH_MM.items():
        low, high = major - MINOR_RATIO * pitch - MINOR_FIT_MM, major - pitch + FIT_MM + 1e-9
        if major >= ASKED_FROM_MM and low <= diameter_mm <= high:
            return f"M{major:g}"
    return None


def _share_added(added_count: int, waiting_count: int) -> float:
    return added_count / (added_count + waiting_count)


def _threads_text(threads: list[tuple[Hole, str]]) -> str:
    names = ", ".join(f"hole {h.balloon} (Ø{h.diameter_mm:g}, {n})" for h, n in threads[:THREADS_NAMED_MAX])
    more = len(threads) - THREADS_NAMED_MAX
    return f"Which of these holes are tapped: {names}{f' and {more} more' if more > 0 else ''}?"


OURS = ("passes", "cutters")
"""Stages whose open proofs want a cutter or another way of holding, not an answer."""


def _of_proofs(waiting: tuple[Proof, ...]) -> list[Question]:
    """What would settle the proofs that are not shown, one question for all that wait for the same thing."""
    found: list[Question] = []
    by_pull_tests = [p for p in waiting if _is_for_pull_tests(p)]
    if by_pull_tests:
        text = "What do ten pull tests of your jaws on this bar give, and what force do they reach?"
        found.append(_waiting_for("grip", text, by_pull_tests, waiting))
    # where a value lies on both sides of its limit nothing is missing, and a remedy stands beside the proof
    missing = [
        p
        for p in waiting
        if p.verdict == "not shown" and p.margin is None and p not in by_pull_tests and p.stage not in OURS
    ]
    for words in sorted({p.decides for p in missing}):
        mine = [p for p in missing if p.decides == words]
        found.append(_waiting_for(f"open {min(p.id for p in mine)}", f"{words[:1].upper()}{words[1:]}.", mine, waiting))
    unreached = [p for p in waiting if p.id == REACHED and p.verdict == "fails"]
    if unreached:
        text = (
            f"May the design change here: {unreached[0].subject}?"
            if unreached[0].found_high
            else "How else could it be held: a wider vise, a larger machine, a fixture, another shop?"
        )
        change = "whether the part can be made in this shop at all"
        # without an answer the whole price is for nothing
        found.append(_asked("unreached", text, change, 1.0 + len(unreached) / len(waiting)))
    return found


def _is_for_pull_tests(proof: Proof) -> bool:
    """A grip that is not shown as its friction is not known, or as friction and jaw force are known too widely."""
    if proof.stage != "holding" or proof.verdict != "not shown" or ":grip" not in proof.id:
        return False
    friction = proof.basis.inputs.get("mu, friction")
    return friction is None or not friction.is_backed or proof.margin is not None


def _waiting_for(id: str, text: str, mine: list[Proof], waiting: tuple[Proof, ...]) -> Question:
    count = len(mine)
    change = (
        "the one proof that blocks release and does not hold"
        if len(waiting) == 1
        else f"{count} of the {len(waiting)} proofs that block release and do not hold"
    )
    return _asked(id, text, change, count / len(waiting))
