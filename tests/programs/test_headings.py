"""Programs call faces and holes by the numbers that stand on the drawing."""

from __future__ import annotations

import pytest

from proveout.model.work import FaceNote, Hole, HoleStep, Pass, PassKind, Survey
from proveout.programs.writing.headings import NAMED_MOST, headings_of
from proveout.programs.writing.text import COMMENT_MOST


def hole(id: str, number: int) -> Hole:
    step = HoleStep(kind="cylinder", diameter_mm=5.0, depth_low_mm=0.0, depth_high_mm=9.0, face_ids=("wall",))
    return Hole(
        id=id, balloon=number, entry_mm=(0.0, 0.0, 0.0), outward=(0.0, 0.0, 1.0), steps=(step,), is_through=False,
        bottom="flat",
    )  # fmt: skip


SURVEY = Survey(
    faces=tuple(
        FaceNote(face_id=f"plane {k}", index=k, balloon=100 + k, kind="plane", area_mm2=1.0) for k in range(20)
    ),
    holes=(hole("hole -z dia 5.000 at 1,2,3", 7), hole("hole -z dia 5.000 at 1,2,30", 8)),
    directions=(), access=(), unreached=(),
)  # fmt: skip


def one(feature: str, *face_ids: str, kind: PassKind = "finish wall") -> Pass:
    return Pass(
        id=f"{kind} {feature}", kind=kind, clamping_id="c1", tilt_id="upright", cutter_id="mill", feature=feature,
        face_ids=face_ids, speed_rad_per_s=1.0, tooth_feed_mm=0.05, radial_mm=1.0, axial_mm=1.0, moves_digest="",
        moves_count=2, cut_length_mm=1.0,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("work", "called"),
    [
        (one("plane 3", "plane 3"), "finish wall, face 103"),
        (one("plane 9 and 2 more", "plane 9", "plane 12", "plane 3"), "finish wall, faces 103 109 112"),
        (one("plane 0 and 4 more", *(f"plane {k}" for k in range(5))), "finish wall, faces 100 101 102 103 104"),
        (one("plane 0 and 5 more", *(f"plane {k}" for k in range(6))),
         "finish wall, faces 100 101 102 103 and 2 more"),
        (one("levels", kind="rough"), "rough, levels"),
        (one("hole -z dia 5.000 at 1,2,3", kind="spot"), "spot, hole 7"),
        (one("hole -z dia 5.000 at 1,2,30", "wall", kind="drill"), "drill, hole 8"),
        (one("hole -z dia 5.000 at 1,2,3 Ø11.000", "wall", kind="counterbore"), "counterbore, hole 7 Ø11.000"),
        (one("hole -z dia 5.000 at 1,2,3 mouth", "plane 3", kind="break edge"), "break edge, hole 7 mouth"),
    ],
)  # fmt: skip
def test_a_pass_is_called_by_the_numbers_of_what_it_makes(work: Pass, called: str) -> None:
    assert headings_of([work], SURVEY) == {work.id: called}


def test_the_longest_heading_fits_on_its_line() -> None:
    faces = [f"plane {k}" for k in range(20)]
    heading = headings_of([one("plane 0 and 19 more", *faces, kind="finish surface")], SURVEY).popitem()[1]
    assert heading.endswith(f"and {20 - NAMED_MOST} more")
    assert len(f"PLACE 1: {heading}") <= COMMENT_MOST
