"""Marks of the feed against a surface texture that is asked for, worked by hand."""

from __future__ import annotations

import msgspec
import pytest
from shapes import cutter

from proveout.model.plan import SizeNote
from proveout.model.proof import Proof
from proveout.model.work import Pass, PassKind
from proveout.stages.loads.marks import mark_proofs

FACE_MILL = cutter("FM50", "face mill", 50.0, 10.0, 45.0, corner_radius_mm=0.4)
MILL = cutter("EM12", "end mill", 12.0, 32.0, 40.0)
BALL = cutter("BM8", "ball", 8.0, 16.0, 40.0)


def cut(kind: PassKind, tool: str, *faces: str, feed: float = 0.12) -> Pass:
    return Pass(
        id=f"c1/t/{tool}/{kind}/{'-'.join(faces)}", kind=kind, clamping_id="c1", tilt_id="t", cutter_id=tool,
        feature="", face_ids=faces, speed_rad_per_s=300.0, tooth_feed_mm=feed, radial_mm=1.0, axial_mm=1.0,
        moves_digest="", moves_count=2, cut_length_mm=1.0,
    )  # fmt: skip


def texture(high: float, *faces: str) -> SizeNote:
    return SizeNote(
        balloon=3, mark="3", text=f"Ra {high:g}", kind="texture", unit="µm", low=None, high=high, before_low=None,
        before_high=None, is_critical=False, face_ids=faces,
    )  # fmt: skip


def marks(note: SizeNote, *passes: Pass) -> tuple[Proof, ...]:
    return mark_proofs(passes=passes, cutters=(FACE_MILL, MILL, BALL), notes=(note,))


def test_a_face_mill_with_a_small_corner_cannot_leave_a_fine_surface() -> None:
    """Worked. 0.12^2 / (8 0.4) = 4.5 um high; 0.2566 of that is Ra 1.1547: over 0.8 even if all else is ideal."""
    (found,) = marks(texture(0.8, "f1"), cut("face", "FM50", "f1"))
    assert (found.verdict, found.blocks_release) == ("fails", False)
    assert found.found_low == pytest.approx(1.1547, abs=1e-4)
    assert found.found_high == pytest.approx(3.4641, abs=1e-3)


def test_an_ideal_below_the_limit_shows_nothing() -> None:
    (found,) = marks(texture(1.6, "f1"), cut("face", "FM50", "f1"))
    assert (found.verdict, found.found_high) == ("not shown", None)
    assert found.found_low == pytest.approx(1.1547, abs=1e-4)
    assert "first piece" in found.decides


def test_a_wall_has_the_marks_of_the_cutters_side() -> None:
    """Worked. 0.12^2 / (4 12) = 0.3 um high: Ra 0.0770."""
    (found,) = marks(texture(0.05, "f1"), cut("finish wall", "EM12", "f1"))
    assert found.found_low == pytest.approx(0.0770, abs=1e-4)
    assert found.verdict == "fails"


def test_a_ball_leaves_ridges_from_line_to_line_or_marks_along_them() -> None:
    """Worked. Lines 0.5653 mm apart under a ball of R4: 0.01 mm high, 0.2566 of that is Ra 2.566; 0.8 a tooth: 0.02."""
    line = msgspec.structs.replace(cut("finish surface", "BM8", "f1"), radial_mm=0.5653)
    (found,) = marks(texture(1.6, "f1"), line)
    assert found.verdict == "fails"
    assert found.found_low == pytest.approx(2.566, abs=2e-3)
    assert "cusp_mm" in found.remedy
    (found,) = marks(texture(1.6, "f1"), msgspec.structs.replace(line, tooth_feed_mm=0.8))
    assert found.found_low == pytest.approx(5.132, abs=2e-3)


def test_the_pass_that_comes_last_and_the_roughest_face_count() -> None:
    rough, fine = cut("face", "FM50", "f1", feed=0.4), cut("face", "FM50", "f1", feed=0.04)
    (found,) = marks(texture(0.8, "f1"), rough, fine)
    assert found.found_low == pytest.approx(1.1547 / 9.0, abs=1e-4)  # a third of 0.12 a tooth
    (found,) = marks(texture(0.8, "f1", "f2"), fine, cut("face", "FM50", "f2"))
    assert found.found_low == pytest.approx(1.1547, abs=1e-4)


def test_of_a_square_corner_or_nothing_at_all_nothing_is_said() -> None:
    assert marks(texture(0.8, "f1"), cut("finish floor", "EM12", "f1")) == ()
    assert marks(texture(0.8, "f9"), cut("face", "FM50", "f1")) == ()
    edge = msgspec.structs.replace(texture(0.8, "f1"), kind="edge", high=None)
    assert marks(edge, cut("face", "FM50", "f1")) == ()
