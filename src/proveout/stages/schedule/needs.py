"""What each step needs, reckoned from plan and shop by code that knows nothing of how a schedule is made."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import NamedTuple

from proveout.model.order import OrderedPart
from proveout.model.plan import TimeLine
from proveout.model.schedule import ScheduledStep
from proveout.model.shop import Shop
from proveout.quantities.units import S_PER_MIN

HAND_ENDINGS = ("unload and load", "blow off vise and work")
LINES_OF = {
    "kit": lambda text: text.startswith("kit"),
    "blast": lambda text: text == "blast",
    "bench": lambda text: text != "blast" and not text.startswith("kit"),
}
WEEK_DAYS = 5
SHARE_STEP = 0.01  # shares of a person are told in hundredths, rounded up
SLACK = 1e-6


class Needs(NamedTuple):
    """Of one step. length_s: None where it is not reckoned here.  share: of one person, at least."""

    length_s: float | None
    share: float
    setup_s: float


def needs_of(
    *, steps: Sequence[ScheduledStep], parts: Sequence[OrderedPart], names: Sequence[str], shop: Shop,
    stretched_s: Mapping[str, float], left_lying: Collection[str],
) -> dict[str, Needs]:  # fmt: skip
    """By step: seconds of work, share of a person, set-up.

    A set-up is asked for where a machine did something else before. stretched_s: by how much some trouble makes a step
    longer;  left_lying: steps at which nobody works meanwhile.
    """
    by_name = dict(zip(names, parts, strict=True))
    begun = {n: sum(s.pieces_count for s in steps if s.kind == "saw" and s.parts == (n,)) for n in names}
    found: dict[str, Needs] = {}
    on_it: dict[str, str] = {}  # by station, part and operation done last
    for step in sorted(steps, key=lambda s: (s.begin_s, s.end_s)):
        if step.kind == "away" or step.parts[0] not in by_name:
            found[step.id] = Needs(None, 0.0, 0.0)
            continue
        part, own = by_name[step.parts[0]], step.id.rsplit(" ", 1)[0]
        length_s, hand_s = _seconds(step, part, shop, begun_count=begun[step.parts[0]])
        setup_s = 0.0
        if step.kind in ("saw", "machine", "blast", "prepare"):
            setup_s = 0.0 if on_it.get(step.station) == own else _setup_s(step, part, shop)
            on_it[step.station] = own
        share = 1.0
        if step.kind == "machine":
            worked_s = step.end_s - step.begin_s - stretched_s.get(step.id, 0.0)
            share = min(1.0, hand_s / worked_s) if worked_s > 0.0 else 1.0
        if step.id in left_lying:
            share = 0.0
        whole_s = None if length_s is None else length_s + stretched_s.get(step.id, 0.0)
        found[step.id] = Needs(whole_s, share, setup_s)
    return found


def need_faults(steps: Sequence[ScheduledStep], needs: Mapping[str, Needs]) -> list[str]:
    """Steps that say something else than they need."""
    found: list[str] = []
    for step in steps:
        need = needs[step.id]
        if not need.share - SLACK <= step.people_ratio <= min(1.0, need.share + SHARE_STEP) + SLACK:
            found.append(f"{step.id} takes {step.people_ratio:.2f} of a person and needs {need.share:.3f}")
        if abs(step.setup_s - need.setup_s) > SLACK:
            found.append(f"{step.id} is set up for {step.setup_s:.0f} s and needs {need.setup_s:.0f}")
        length_s = step.end_s - step.begin_s
        if need.length_s is not None and not -SLACK <= length_s - need.length_s < S_PER_MIN + SLACK:
            found.append(f"{step.id} takes {length_s:.0f} s and needs {need.length_s:.0f}")
    return found


def _seconds(
    step: ScheduledStep, part: OrderedPart, shop: Shop, *, begun_count: int
) -> tuple[float | None, float]:  # fmt: skip
    """Seconds of a step at nominal values, and those of a person among them.   begun_count: pieces of all its lots."""
    lines, count = part.plan.time.lines, step.pieces_count
    if step.kind == "programming":
        return _sum(x for x in lines if x.per == "design" and x.station == "bench"), 0.0
    if step.kind == "prepare":
        return None, 0.0
    if step.kind == "saw":
        sawn = [x for x in lines if x.station == "saw" and x.text != "set up"]
        return _as_off(sawn, shop) * count / max(begun_count, 1), 0.0
    if step.kind != "machine":
        is_one = LINES_OF[step.kind]
        return _sum(x for x in lines if x.station == "bench" and x.per == "piece" and is_one(x.text)) * count, 0.0
    own = [x for x in lines if x.per == "piece" and x.station == step.station and _clamping(x) in _clampings(step)]
    hand_s = _sum(x for x in own if x.text.endswith(HAND_ENDINGS)) * count
    return _sum(own) * count * shop.shift_h * WEEK_DAYS / shop.spindle_h_per_week, hand_s


def _setup_s(step: ScheduledStep, part: OrderedPart, shop: Shop) -> float:
    """Whole minutes of setting up for a step after anything else."""
    lines = [x for x in part.plan.time.lines if x.station == step.station]
    if step.kind == "saw":
        own = [x for x in lines if x.text == "set up"]
    else:
        own = [x for x in lines if x.per == "batch" and _clamping(x) in _clampings(step)]
    return math.ceil(_as_off(own, shop) / S_PER_MIN - SLACK) * S_PER_MIN


def _clamping(line: TimeLine) -> str:
    return line.text.partition(":")[0]


def _clampings(step: ScheduledStep) -> list[str]:
    """The clampings that a step's name holds."""
    return step.id.removeprefix(f"{step.parts[0]} ").rsplit(" ", 1)[0].split(" + ")


def _sum(lines: Iterable[TimeLine]) -> float:
    return sum(line.seconds.nominal for line in lines)


def _as_off(lines: Sequence[TimeLine], shop: Shop) -> float:
    """Minutes of set-ups and saw as far off as the shop says, where their sum has no ends of its own."""
    ratio, is_exact = shop.money.setup_ratio, all(x.seconds.low == x.seconds.high for x in lines)
    return _sum(lines) * (ratio.nominal if ratio is not None and is_exact else 1.0)
