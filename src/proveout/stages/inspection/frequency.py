"""How often a size is gauged on the way: by the wear of the cutters that leave it, else by common practice."""

from __future__ import annotations

import math
from collections.abc import Mapping

import msgspec

from proveout.gauging.drift import pieces_between_checks_count
from proveout.model.inspection import InspectionRule
from proveout.model.plan import CutterUse, Window
from proveout.model.shop import Cutter
from proveout.model.work import Pass

# common practice, no source: windows narrower than this many mm are gauged every so many pieces
EVERY: tuple[tuple[float, int], ...] = ((0.020, 1), (0.050, 5), (0.100, 10))
EVERY_WIDER = 25
EVERY_THREAD = 10
PRACTICE = "common practice, no source"
# passes that touch a face and leave no size of it
BESIDE = ("break edge", "spot")


class Cutting(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of how the work is cut. machine_of: by clamping id;  uses: empty where seconds are not known."""

    passes: tuple[Pass, ...] = ()
    machine_of: Mapping[str, str] = {}
    cutters: tuple[Cutter, ...] = ()
    uses: tuple[CutterUse, ...] = ()


class Often(msgspec.Struct, frozen=True, kw_only=True):
    """How often: pieces from check to check, why, pieces after changes of edge, and the cutters that are changed.

    moved_mm: how far the size moves from piece to piece at the worst; None where nobody measured the wear.
    """

    every_count: int
    why: str
    also_pieces: tuple[int, ...] = ()
    cutter_ids: tuple[str, ...] = ()
    moved_mm: float | None = None


def often(window: Window, *, accepted_mm: float | None, cutting: Cutting, rule: InspectionRule) -> Often:
    """Pieces from one check of a size to the next. accepted_mm: width of the readings accepted, None for a plug."""
    leaving = _leaving(window, cutting)
    changed = sorted({(machine, cutter) for machine, cutter, _ in leaving})
    uses = {(use.machine_id, use.cutter_id): use for use in cutting.uses}
    also = tuple(sorted({n for key in changed if key in uses for n in uses[key].changes()}))
    ids = tuple(sorted({cutter for _, cutter in changed}))
    if window.is_critical:
        return Often(every_count=1, why="critical", cutter_ids=ids)
    if rule.plan == "every piece":
        return Often(every_count=1, why="the shop's or the job's own word", cutter_ids=ids)
    moved = _moved_mm(window, leaving, cutting)
    if moved is not None and moved > 0.0 and accepted_mm is not None and accepted_mm > 0.0:
        every = pieces_between_checks_count(accepted_mm=accepted_mm, moved_mm=moved)
        return Often(
            every_count=min(every, EVERY_WIDER),
            why=f"by the wear of {' and '.join(ids)}, at most {_upward(moved)} mm a piece"
            + (f"; never more than {EVERY_WIDER} apart, {PRACTICE}" if every > EVERY_WIDER else ""),
            also_pieces=also, cutter_ids=ids, moved_mm=moved,
        )  # fmt: skip
    return Often(every_count=_by_practice(window), why=PRACTICE, also_pieces=also, cutter_ids=ids)


def often_words(found: Often, *, lot_count: int, is_daily: bool = False) -> str:
    """Which pieces are gauged, in words: every piece, or the first, every nth by its number, and the last.

    is_daily: after a night the next piece is a first one again.
    """
    every = found.every_count
    if every == 1:
        return "every piece"
    after = [f"{' or '.join(found.cutter_ids)} is changed"] if found.also_pieces else []
    after += ["a night"] if is_daily else []
    change = f", the first after {' and after '.join(after)}," if after else ""
    if lot_count > 3 * every:
        return f"pieces 1, {every}, {2 * every}, {3 * every} and so on{change or ','} and the last"
    few = ", ".join(str(n) for n in (1, every, 2 * every) if n < max(lot_count, 2))
    return f"piece{'s' if ',' in few else ''} {few}{change} and the last"


def _upward(moved_mm: float) -> str:
    """Two figures, rounded against ourselves."""
    places = max(3, 1 - math.floor(math.log10(moved_mm)))
    return f"{math.ceil(moved_mm * 10.0**places - 1e-6) / 10.0**places:.{places}f}"


def _by_practice(window: Window) -> int:
    """The narrower the window the fewer pieces from check to check."""
    if window.kind == "thread":
        return EVERY_THREAD
    return next((n for width, n in EVERY if window.width_mm < width), EVERY_WIDER)


def _leaving(window: Window, cutting: Cutting) -> list[tuple[str, str, str]]:
    """Machine and cutter of the last pass at each face of the size, with the face."""
    found: list[tuple[str, str, str]] = []
    for face in window.face_ids:
        at = [p for p in cutting.passes if face in p.face_ids and p.kind not in BESIDE]
        if at:
            found.append((cutting.machine_of.get(at[-1].clamping_id, ""), at[-1].cutter_id, face))
    return found


def _moved_mm(window: Window, leaving: list[tuple[str, str, str]], cutting: Cutting) -> float | None:
    """How far the size moves from piece to piece at worst: twice the wear of a diameter, each face's of a length."""
    wear = {cutter.id: cutter.wear_mm_per_s for cutter in cutting.cutters}
    seconds = {(use.machine_id, use.cutter_id): use.piece_s.high for use in cutting.uses}
    if not leaving or len(leaving) < len(window.face_ids) or window.kind == "thread":
        return None
    moved: list[float] = []
    for machine, cutter, _ in leaving:
        rate = wear.get(cutter)
        if rate is None or (machine, cutter) not in seconds:
            return None
        moved.append(rate.high * seconds[machine, cutter])
    return sum(moved) if window.kind == "length" else 2.0 * max(moved)
