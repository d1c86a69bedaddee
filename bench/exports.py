"""Two exports of one part, AP203 and AP242: do they give the same faces, holes, features, clampings, cutters and bar?

Faces are matched by the rigid motion that lays one solid on the other; every difference is printed. With FULL=1 both
exports of each part are planned with the starting shop up to the first look, which names clampings, tilts, the cutters
foreseen and the bar; without it one part alone is. Of files that hold one solid all of these must be the same.
"""

from __future__ import annotations

import os
import re
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from yardstick import is_full, line

from proveout.geometry.rigid_match import Matched, Motion, matched
from proveout.intake.job_file import job_from_step
from proveout.intake.starting_shop import starting_shop
from proveout.jobs.plan_job import plan_job
from proveout.jobs.request import Request
from proveout.jobs.store import Store
from proveout.model.plan import FirstLook
from proveout.model.run import Run
from proveout.model.signature import FaceSign, marks_of, pieces_of, signs_of
from proveout.model.solid import Solid
from proveout.model.work import Survey
from proveout.solids.shapes import silence
from proveout.solids.step import read_step
from proveout.stages import survey

PLANNED = "ftc_10"  # both its exports hold the same solid
# pairs that are one part: of ctc_01 one export has letters cut in its end and 2000 mm3 less metal
ONE_PART = ("ctc_05", "ftc_10")
SAME = ("bar", "up", "machines", "tilts", "cutters")
STEM = re.compile(r"nist_([cfs]tc_\d\d)_")


class _Seen(Exception):
    """Ends a plan once its first look is known."""


@dataclass(frozen=True)
class Export:
    """One file as read and surveyed."""

    path: Path
    solid: Solid
    survey: Survey


def pairs_of(data: Path) -> dict[str, tuple[Path, Path]]:
    """AP203 and AP242 of each part that has both, by the part's name."""
    found: list[dict[str, Path]] = []
    for folder in ("ap203-geometry-only", "ap242-pmi"):
        paths = sorted((data / "nist-pmi" / folder).glob("*.stp"))
        found.append({match[1]: path for path in paths if (match := STEM.match(path.name))})
    return {name: (found[0][name], found[1][name]) for name in sorted(found[0].keys() & found[1].keys())}


def export_of(path: Path) -> Export:
    """The file as read here, in this process."""
    solid = read_step(path).solid
    return Export(path, solid, survey.decide(solid=solid, run=Run()).value)


def faces_matched(one: Export, other: Export) -> Matched:
    """Surfaces of the one on those of the other."""
    return matched(marks_of(pieces(one)), marks_of(pieces(other)))


def pieces(export: Export) -> tuple[tuple[FaceSign, ...], ...]:
    """Faces by the surfaces that they make up: one export cuts a hole in halves, another does not."""
    return pieces_of(signs_of(export.solid, export.survey))


def differences(one: Export, other: Export, found: Matched) -> list[str]:
    """What the two exports differ in, a line each: faces without partner, holes, features."""
    if not found.motions:
        return ["no motion lays the one on the other"]
    motion, pairs = found.motions[0], found.pairs[0]
    said = [] if motion.is_still else [f"the second lies otherwise: shift {np.round(motion.shift, 3).tolist()} mm"]
    first, second = pieces(one), pieces(other)
    said += [f"surface only in the first: {piece[0].id}" for i, piece in enumerate(first) if pairs[i] < 0]
    there = {int(j) for j in pairs}
    said += [f"surface only in the second: {piece[0].id}" for j, piece in enumerate(second) if j not in there]
    partner = {sign.id: int(pairs[i]) for i, piece in enumerate(first) for sign in piece}
    place = {sign.id: j for j, piece in enumerate(second) for sign in piece}
    holes = Counter(frozenset(place[id] for step in hole.steps for id in step.face_ids) for hole in other.survey.holes)
    for hole in one.survey.holes:
        ids = frozenset(partner[id] for step in hole.steps for id in step.face_ids)
        if holes[ids]:
            holes[ids] -= 1
        else:
            said.append(f"hole only in the first: {hole.id}")
    said += [
        f"hole only in the second, on {second[min(ids)][0].id}" for ids, count in holes.items() for _ in range(count)
    ]
    kinds = Counter((f.kind, f.form) for f in one.survey.features)
    others = Counter((f.kind, f.form) for f in other.survey.features)
    said += [f"feature only in the first: {count} x {kind}" for kind, count in (kinds - others).items()]
    said += [f"feature only in the second: {count} x {kind}" for kind, count in (others - kinds).items()]
    return said


def look_of(export: Export) -> FirstLook:
    """The first look at a bare file with the starting shop; the plan is ended there."""
    seen: list[FirstLook] = []

    def keep(look: FirstLook) -> None:
        seen.append(look)
        raise _Seen

    request = Request(
        step=export.path, job=job_from_step(export.path.name), shop=starting_shop(), start="", inputs={"step": "0"},
    )  # fmt: skip
    try:
        plan_job(request, store=Store(None), run=Run(), show=keep)
    except _Seen:
        return seen[0]
    message = "a plan ended without a first look"
    raise RuntimeError(message)


def chosen(look: FirstLook, motion: Motion | None = None) -> dict[str, Any]:
    """What was chosen, in the axes of the other export where a motion is given."""
    turn = np.eye(3) if motion is None else motion.turn
    return {
        "bar": look.blank.chosen.bar_id,
        "up": [_way(turn @ (one.frame.turn.T @ np.array([0.0, 0.0, 1.0]))) for one in look.clampings],
        "machines": [one.machine_id for one in look.clampings],
        "tilts": [sorted((round(t.a_rad, 4), round(t.c_rad, 4)) for t in one.tilts) for one in look.clampings],
        "cutters": [
            sorted({p.cutter_id for p in look.passes if p.clamping_id == one.id}) for one in look.clampings
        ],
        "passes": dict(sorted(Counter(f"{p.kind} with {p.cutter_id}" for p in look.passes).items())),
    }  # fmt: skip


def _way(vector: Any) -> list[float]:
    return [round(float(v), 6) + 0.0 for v in vector]


def main() -> None:
    """Prints each part's differences and the line of figures."""
    pairs = pairs_of(Path(os.environ.get("PROVEOUT_DATA", "")))
    if not pairs:
        print("PROVEOUT_DATA names no folder with both exports of a part: nothing is measured")
        print(line(name="exports", figures={}, excluded=["no such files on this machine"]))
        return
    silence()
    figures: dict[str, float] = {}
    for name, (first, second) in pairs.items():
        one, other = export_of(first), export_of(second)
        begin = time.perf_counter()
        found = faces_matched(one, other)
        took = time.perf_counter() - begin
        said = differences(one, other, found)
        volumes = [export.solid.volume_mm3 for export in (one, other)]
        print(
            f"\n{name}: {len(one.solid.faces)} and {len(other.solid.faces)} faces on {len(pieces(one))} and "
            f"{len(pieces(other))} surfaces, {found.count} matched in "
            f"{took:.2f} s; volumes {volumes[0]:.1f} and {volumes[1]:.1f} mm3; {len(said)} differences"
        )
        figures |= {f"{name} surfaces_count": float(len(pieces(one))), f"{name} matched_count": float(found.count)}
        figures |= {f"{name} differences_count": float(len(said)), f"{name} match_s": took}
        for text in said[:40]:
            print(f"    {text}")
        if is_full() or name == PLANNED:
            motion = found.motions[0] if found.motions else None
            told = [chosen(look_of(one), motion), chosen(look_of(other))]
            for key in told[0]:
                same = told[0][key] == told[1][key]
                print(f"    {key}: {'the same' if same else f'{told[0][key]} and {told[1][key]}'}")
                figures[f"{name} same_{key}_count"] = float(same)
    targets = {
        f"{name} same_{key}_count": ("at least", 1.0)
        for name in ONE_PART
        for key in SAME
        if f"{name} same_{key}_count" in figures
    }
    print(
        line(
            name="exports", figures=figures, targets=targets,
            excluded=[
                "reading and surveying: match_s is the matching alone",
                "ctc_01 from the targets: its two files are not one solid, their volumes differ by 2000 mm3",
            ],
        )
    )  # fmt: skip


if __name__ == "__main__":
    main()
