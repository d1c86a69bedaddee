"""What is told of one face of a plan."""

from __future__ import annotations

import msgspec
import pytest
import worked_home

from proveout.jobs.faces import face_rows, told_of_face
from proveout.model.plan import Plan
from proveout.model.proof import Basis, prove
from proveout.quantities.errors import BadInput


def plan() -> Plan:
    """Passes 1 and 2 name faces 0 and 1; nothing names face 2."""
    base = worked_home.plan()
    ids = [note.face_id for note in base.survey.faces]
    named = ((ids[0], ids[1]), (ids[0],), (), ())
    own = tuple(msgspec.structs.replace(one, face_ids=faces) for one, faces in zip(base.passes, named, strict=True))
    return msgspec.structs.replace(base, passes=own)


def told(face: int, whole: Plan | None = None) -> dict[str, str]:
    whole = whole or plan()
    return {one.word: one.said for one in told_of_face(whole, worked_home.shop(), whole.survey.faces[face].face_id)}


def test_a_face_costs_its_share_of_the_passes_that_name_it() -> None:
    """worked: 30 s shared by two faces and 60 s alone: 75 s; of face 1 half of 30 s."""
    rate = worked_home.shop().machines[0].rate_per_h
    assert told(0)["costs"].startswith(f"75.0 s a piece, {75.0 * rate / 3600.0:.2f} ")
    assert told(1)["costs"].startswith("15.0 s a piece")


def test_money_and_minutes_of_an_unknown_metal_are_not_told() -> None:
    assert told(0, msgspec.structs.replace(plan(), metal_unknown="no figures"))["costs"] == "not shown"


def test_proofs_of_its_passes_are_told_the_weakest_first() -> None:
    whole = plan()
    lines = told_of_face(whole, worked_home.shop(), whole.survey.faces[0].face_id)
    verdicts = [one.word for one in lines if one.word in ("holds", "fails", "not shown")]
    assert verdicts == ["not shown", "holds"]


def test_a_strike_of_its_pass_is_told_first() -> None:
    whole = plan()
    struck = prove(
        id="removal check:jaws", stage="removal check", subject=f"{whole.passes[1].id}: fixed jaw met 0.50 mm deep",
        claim="nothing meets a jaw", sense="at most", found_low=1.0, found_high=1.0, limit=0.0, unit="strikes",
        blocks_release=True, basis=Basis(formula="", source="own-algorithm"),
    )  # fmt: skip
    hit = msgspec.structs.replace(whole, proofs=(*whole.proofs, struck))
    lines = told_of_face(hit, worked_home.shop(), whole.survey.faces[0].face_id)
    assert "fails" in [one.word for one in lines]
    other = told_of_face(hit, worked_home.shop(), whole.survey.faces[2].face_id)
    assert "fails" not in [one.word for one in other]


def test_a_face_that_no_pass_names_says_so() -> None:
    assert told(2)["cut by"].startswith("no pass that names it")
    assert told(2)["proofs"] == "none names this face or a pass over it"


def test_sizes_and_what_is_left_are_told() -> None:
    whole = plan()
    window = next(w for w in whole.finishing.windows if w.face_ids)
    lines = told_of_face(whole, worked_home.shop(), window.face_ids[0])
    said = {one.word: one.said for one in lines}
    assert said[f"size {window.mark}"].startswith(
        f"{window.text}: {window.finished_low_mm:.3f} to ".replace("-", "\u2212")
    )
    left = next(one for one in whole.removal.faces if one.face_id == window.face_ids[0])
    assert said["left over"].startswith(f"{left.leftover_mm:.3f} mm")


def test_a_face_of_no_plan_is_refused() -> None:
    with pytest.raises(BadInput, match="no such face"):
        told_of_face(plan(), worked_home.shop(), "plane +z 99.000 #000000")


def test_a_gouge_counts_before_what_is_left_over_and_an_unknown_face_is_neither() -> None:
    whole = plan()
    ids = [note.face_id for note in whole.survey.faces][:3]
    one = whole.removal.faces[0]
    faces = [
        msgspec.structs.replace(one, face_id=ids[0], leftover_mm=9.0, gouge_mm=2.0),
        msgspec.structs.replace(one, face_id=ids[1], leftover_mm=9.0, gouge_mm=0.0),
    ]
    whole = msgspec.structs.replace(whole, removal=msgspec.structs.replace(whole.removal, faces=tuple(faces)))
    rows = face_rows(whole, ids)
    assert [(row.state, row.mark) for row in rows] == [(2, "\u22122.000 mm"), (1, "+9.000 mm"), (0, "")]
    assert rows[2].leftover_mm is None
