"""How true the planned passes leave a part: gouge and left-over of the faces that a pass says it finishes, as a table.

    python bench/accuracy.py FOLDER [FOLDER ...] [--faces]

Each folder is searched for plan.json: results of `proveout plan`, or what `bench/outside.py --keep` left. With --faces
every face beyond a limit is named, with the passes that cut it or the reason why none does.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from proveout.stages.removal_check.course import GOUGE_LIMIT_MM
from proveout.stages.removal_check.finished import FINISHED_LIMIT_MM
from proveout.stages.removal_check.replay import TOUCH_MM

HEADS = (
    "part", "pitch mm", "faces", "finished", "of them over", "most open mm", "in corners", "most mm",
    "gouged", "most mm", "strikes", "machine s", "kept",
)  # fmt: skip


@dataclass(frozen=True)
class Accuracy:
    """One plan against the limits. finished: faces that a pass says it finishes; kept: all three limits hold."""

    part: str
    pitch_mm: float
    faces_count: int
    finished_count: int
    over: tuple[dict[str, Any], ...]
    open_mm: float
    corners: tuple[dict[str, Any], ...]
    gouged: tuple[dict[str, Any], ...]
    gouge_mm: float
    strikes_count: int
    cycle_s: float

    @property
    def is_kept(self) -> bool:
        """Something is finished, nothing is gouged, left over in the open or struck beyond its limit."""
        return bool(self.finished_count) and not self.over and not self.gouged and not self.strikes_count


def accuracy_of(name: str, plan: dict[str, Any]) -> Accuracy:
    """What plan.json tells."""
    removal = plan["removal"]
    finished = [f for f in removal["faces"] if f.get("finished_by")]
    struck = sum(p["rapid_mm"] > TOUCH_MM or p["body_mm"] > TOUCH_MM for p in removal["passes"])
    return Accuracy(
        part=name, pitch_mm=removal["pitch_mm"], faces_count=len(removal["faces"]), finished_count=len(finished),
        over=tuple(f for f in finished if f["open_mm"] > FINISHED_LIMIT_MM),
        open_mm=max((f["open_mm"] for f in finished), default=0.0),
        corners=tuple(f for f in finished if f["corner_mm"] > FINISHED_LIMIT_MM),
        gouged=tuple(f for f in removal["faces"] if f["gouge_mm"] > GOUGE_LIMIT_MM),
        gouge_mm=max((f["gouge_mm"] for f in removal["faces"]), default=0.0),
        strikes_count=struck + len(removal["jaw_strikes"]), cycle_s=sum(plan["time"]["cycle_s"].values()),
    )  # fmt: skip


def row(one: Accuracy) -> str:
    """A line of the table."""
    cells = (
        one.part, f"{one.pitch_mm:g}", str(one.faces_count), str(one.finished_count), str(len(one.over)),
        f"{one.open_mm:.4f}", str(len(one.corners)), f"{max((f['corner_mm'] for f in one.corners), default=0.0):.3f}",
        str(len(one.gouged)), f"{one.gouge_mm:.4f}", str(one.strikes_count), f"{one.cycle_s:.0f}",
        "yes" if one.is_kept else "no",
    )  # fmt: skip
    return "| " + " | ".join(cells) + " |"


def named_faces(one: Accuracy, plan: dict[str, Any]) -> Iterator[str]:
    """Every face beyond a limit, with its passes."""
    kinds: dict[str, list[str]] = {}
    for made in plan["passes"]:
        for face in made["face_ids"]:
            kinds.setdefault(face, []).append(f"{made['kind']} {made['cutter_id']}")
    why = {f: n["reason"] for n in plan["not_cut"] for f in n["face_ids"]}
    for word, faces, key in (
        ("gouge", one.gouged, "gouge_mm"), ("open", one.over, "open_mm"), ("corner", one.corners, "corner_mm"),
    ):  # fmt: skip
        for face in sorted(faces, key=lambda f: (-f[key], f["face_id"])):
            name = face["face_id"]
            yield f"    {word} {face[key]:.4f} mm  {name}: {', '.join(kinds.get(name, [])) or why.get(name, 'no pass')}"


def main(given: Sequence[str] | None = None) -> int:
    """Print the table; 1 when a plan does not keep the limits, 2 when there is none."""
    parser = argparse.ArgumentParser(description="Gouge and left-over of finished faces, by plan.")
    parser.add_argument("folders", nargs="+", type=Path, metavar="FOLDER")
    parser.add_argument("--faces", action="store_true", help="name every face beyond a limit")
    asked = parser.parse_args(given)
    found = sorted(path for folder in asked.folders for path in folder.rglob("plan.json"))
    if not found:
        print("no plan.json below these folders", file=sys.stderr)
        return 2
    print(f"| {' | '.join(HEADS)} |")
    print("|---" + "|--:" * (len(HEADS) - 2) + "|---|")
    kept: list[bool] = []
    for path in found:
        plan = json.loads(path.read_bytes())
        one = accuracy_of(path.parent.parent.name if path.parent.name == "result" else path.parent.name, plan)
        kept.append(one.is_kept)
        print(row(one))
        if asked.faces:
            print(*named_faces(one, plan), sep="\n")
    print(f"{sum(kept)} of {len(kept)} plans keep the limits")
    return int(not all(kept))


if __name__ == "__main__":
    sys.exit(main())
