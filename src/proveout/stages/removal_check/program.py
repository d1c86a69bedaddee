"""A program checked against blank, target, cutters and machine, by its text alone."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from proveout.model.checking import CutterTable, FaceFound, Finding, FindingKind, ProgramCheck, Standing
from proveout.model.course import Course
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.run import Run
from proveout.model.target import Target
from proveout.removal.comparing import deviation, per_face
from proveout.removal.fields import Fields
from proveout.removal.meshing import mesh_fields
from proveout.stages.removal_check.course import Replay, Track
from proveout.stages.removal_check.decide import GOUGE_LIMIT_MM, LEFTOVER_LIMIT_MM
from proveout.stages.removal_check.rules import broken_rules
from proveout.stages.removal_check.touched import first_touch
from proveout.stages.removal_check.unseen import covered_mm

STAGE = "program check"
CLAIMS: dict[FindingKind, str] = {
    "rapid in metal": "no rapid move meets metal",
    "shank or holder": "shank, holder and head meet no metal of the work",
    "strike": "no cutter, shank, holder or head meets jaws, seat, bed or table",
    "over-travel": "every axis stays within its travel",
    "turn": "nothing is met while a rotary axis turns",
    "brake": "brakes are open while an axis turns and closed while the cutter is fed",
    "length": "the length in force is that of the cutter in the spindle",
    "cutter": "every cutter is in the table",
    "spindle": "the spindle turns the right way whenever metal is met",
    "speed": "no speed is above that of the cutter, its holder or the machine",
    "feed": "every feed is known and within the machine's",
    "zero": "the work offset in force is the one that was set",
    "words": "every word means something that a control does",
    "not known": "everything that moves was followed in space",
}
"""What is claimed of a program, one proof each."""


def decide(
    course: Course,
    *,
    fields: Fields,
    target: Target | None,
    standing: Standing,
    table: CutterTable,
    lines_count: int,
    leftover_counts: bool = True,
    run: Run,
) -> Decision[ProgramCheck]:
    """Replay a course and judge it.

    Args:     fields: the work as it stands before, cut in place.   target: None when nothing is known of the finished
              part.   leftover_counts: False where later clampings cut on.
    Returns:  all findings in the order of their lines, deviations by face, and a proof a claim.
    """
    findings = [*_noted(course), *broken_rules(course, standing=standing, table=table)]
    wanted = None
    if target is not None:
        wanted = mesh_fields(
            target.vertices_mm, target.triangles, low_mm=fields.low_mm, high_mm=fields.high_mm,
            pitch_mm=float(fields.pitch_mm.max()),
        )  # fmt: skip
    part = None if wanted is None else wanted.copy()
    replayed = Replay(fields, standing=standing, table=table, part=part, run=run).go(course)
    findings.extend(replayed.findings)
    faces: tuple[FaceFound, ...] = ()
    if target is not None and wanted is not None:
        run.check("program", "comparing with the target")
        faces = _faces(fields, target, replayed.tracks, wanted)
    ordered = tuple(sorted(findings, key=lambda f: (f.line, f.kind, f.what)))
    check = ProgramCheck(
        lines_count=lines_count, motions_count=replayed.motions_count, pitch_mm=float(fields.pitch_mm.max()),
        findings=ordered, faces=faces, uses=tuple(replayed.uses), removed_mm3=round(replayed.removed_mm3, 3),
        seconds=None, cuts=tuple(replayed.cuts),
    )  # fmt: skip
    lacking = _lacking(standing, table)
    proofs = _proofs(check, course, target, standing, lacking=lacking, leftover_counts=leftover_counts)
    return Decision(value=check, proofs=proofs)


def _lacking(standing: Standing, table: CutterTable) -> dict[str, str]:
    """Kinds of findings that could not be looked for, and what would let them be."""
    found: dict[str, str] = {}
    if not standing.obstacles:
        found["strike"] = "nobody said how the work is held: name the vise, or a plan"
    if table.machine is None:
        found |= dict.fromkeys(("over-travel", "brake", "speed", "feed"), "name the machine and its shop file")
    elif None in standing.zero_mm:
        found["over-travel"] = "measure where the vise stands: write its stands_x_mm, stands_y_mm, stands_z_mm"
    return found


def _noted(course: Course) -> list[Finding]:
    return [
        Finding(kind="words", line=note.line, heading="", what=note.what, is_sure=note.kind == "fault")
        for note in course.notes
    ]


def _faces(fields: Fields, target: Target, tracks: Sequence[Track], wanted: Fields) -> tuple[FaceFound, ...]:
    """The deviation of every face, with the line that left its deepest gouge."""
    compared = deviation(
        fields, vertices=target.vertices_mm, triangles=target.triangles, triangle_face=target.triangle_face,
        face_offset_mm=np.zeros(len(target.face_ids)),
    )  # fmt: skip
    found = per_face(compared)
    unseen = covered_mm(fields, wanted, target, [i for i in range(len(target.face_ids)) if i not in found])
    faces: list[FaceFound] = []
    for i, face_id in enumerate(target.face_ids):
        left, gouged, _ = found.get(i, (unseen.get(i, 0.0), 0.0, 0))
        line = None
        if gouged > GOUGE_LIMIT_MM:
            own = np.flatnonzero(compared.face == i)
            line = first_line_at(compared.points_mm[own[np.argmin(compared.deviation_mm[own])]], tracks)
        faces.append(FaceFound(face_id=face_id, leftover_mm=round(left, 6), gouge_mm=round(gouged, 6), gouge_line=line))
    return tuple(faces)


def first_line_at(point_mm: NDArray[np.float64], tracks: Sequence[Track]) -> int | None:
    """The line of the first motion that comes to a point (3,) of the surface that was left; None when none does."""
    for track in tracks:
        row = first_touch(
            point_mm, pieces=track.pieces, axis=track.axis, starts_mm=track.starts_mm, ends_mm=track.ends_mm
        )
        if row is not None:
            return int(track.lines[row])
    return None


def _proofs(
    check: ProgramCheck, course: Course, target: Target | None, standing: Standing, *, lacking: dict[str, str],
    leftover_counts: bool,
) -> tuple[Proof, ...]:  # fmt: skip
    proofs: list[Proof] = []
    seen = f"the program's own text, replayed on three fields of intervals {check.pitch_mm:g} mm apart"
    for kind, claim in CLAIMS.items():
        own = [f for f in check.findings if f.kind == kind]
        sure = [f for f in own if f.is_sure]
        unsure = [f for f in own if not f.is_sure]
        # what nobody described is said, and no reason to hold the program back
        is_unlooked = kind in lacking and not own
        low, high = float(len(sure)), None if is_unlooked else float(len(own))
        first = (sure or unsure or [None])[0]
        at = f"line {first.line}: {first.what}" if first is not None else ""
        more = f" (and {len(own) - 1} more)" if len(own) > 1 else ""
        proofs.append(
            prove(
                id=f"{STAGE}:{kind}", stage=STAGE, subject=f"line {first.line}" if first is not None else "all lines",
                claim=claim, sense="at most", found_low=low, found_high=high, limit=0.0, unit="strikes"
                if kind in ("rapid in metal", "shank or holder", "strike", "turn") else "ways",
                blocks_release=not is_unlooked, basis=Basis(formula=seen, source="own-algorithm"),
                decides=lacking[kind] if is_unlooked else at + more if unsure and not sure else "",
                remedy=at + more if sure else "",
            )
        )  # fmt: skip
    proofs.append(
        prove(
            id=f"{STAGE}:end", stage=STAGE, subject="the program", claim="it comes to its end word (M2 or M30)",
            sense="at least", found_low=float(course.ended), found_high=float(course.ended), limit=1.0, unit="yes = 1",
            blocks_release=True, basis=Basis(formula="the words M2 and M30", source="nist-program-report"),
            remedy="end the program with M30",
        )
    )  # fmt: skip
    if standing.unlooked:
        proofs.append(_unlooked(standing))
    blind = any(f.kind == "not known" for f in check.findings)
    if target is None:
        proofs.append(_unknown("gouge", "nothing is cut below the target", "name the finished solid"))
        return tuple(proofs)
    if not target.mesh_is_closed:
        proofs.append(_unknown("gouge", "nothing is cut below the target", "a solid whose mesh closes"))
        return tuple(proofs)
    gouges = [f for f in check.findings if f.kind == "gouge"]
    proofs.append(
        prove(
            id=f"{STAGE}:part", stage=STAGE, subject=f"line {gouges[0].line}" if gouges else "all lines",
            claim="no line takes metal of the finished part", sense="at most", found_low=float(len(gouges)),
            found_high=None if blind and not gouges else float(len(gouges)), limit=0.0, unit="ways",
            blocks_release=True, basis=Basis(
                formula=f"the cutter, {GOUGE_LIMIT_MM:g} mm narrower all round, on the part's own fields",
                source="own-algorithm",
            ),
            decides="what was not followed", remedy=f"line {gouges[0].line}: {gouges[0].what}" if gouges else "",
        )
    )  # fmt: skip
    worst = max(check.faces, key=lambda f: (f.gouge_mm, f.face_id))
    where = f" in line {worst.gouge_line}" if worst.gouge_line is not None else ""
    proofs.append(
        prove(
            id=f"{STAGE}:gouge", stage=STAGE, subject=worst.face_id, claim="nothing is cut below the target",
            sense="at most", found_low=worst.gouge_mm,
            found_high=worst.gouge_mm if not blind or worst.gouge_mm > GOUGE_LIMIT_MM else None,
            limit=GOUGE_LIMIT_MM, unit="mm", blocks_release=True, basis=Basis(formula=seen, source="own-algorithm"),
            decides="what was not followed",
            remedy=f"{worst.face_id} is cut {worst.gouge_mm:.3f} mm too deep{where}: keep off it",
        )
    )  # fmt: skip
    most = max(check.faces, key=lambda f: (f.leftover_mm, f.face_id))
    proofs.append(
        prove(
            id=f"{STAGE}:left over", stage=STAGE, subject=most.face_id, claim="no metal is left over",
            sense="at most", found_low=most.leftover_mm, found_high=most.leftover_mm, limit=LEFTOVER_LIMIT_MM,
            unit="mm", blocks_release=leftover_counts, basis=Basis(formula=seen, source="own-algorithm"),
            remedy="a pass that takes the rest of this face",
        )
    )  # fmt: skip
    return tuple(proofs)


def _unlooked(standing: Standing) -> Proof:
    """What nobody described cannot be met here: said, and no reason to hold the program back."""
    names = ", ".join(standing.unlooked)
    return prove(
        id=f"{STAGE}:bodies", stage=STAGE, subject=names, claim=f"nothing meets {names}", sense="at most",
        found_low=0.0, found_high=None, limit=0.0, unit="strikes", blocks_release=False,
        basis=Basis(formula="in no description, or stands nobody knows where, so not looked at", source="shop-file"),
        decides=f"describe {names} in the shop file and where it stands, and name vise and machine",
    )  # fmt: skip


def _unknown(slug: str, claim: str, decides: str) -> Proof:
    return prove(
        id=f"{STAGE}:{slug}", stage=STAGE, subject="all faces", claim=claim, sense="at most", found_low=None,
        found_high=None, limit=GOUGE_LIMIT_MM, unit="mm", blocks_release=True,
        basis=Basis(formula="no target to compare with", source="own-algorithm"), decides=decides,
    )  # fmt: skip
