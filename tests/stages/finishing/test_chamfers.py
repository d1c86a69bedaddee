"""A chamfer written as 2 x 45°: read, found on the solid from either side, and made smaller before its coat."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import build123d as bd
import msgspec
import pytest
from shapes import solid_of
from stages.coated_parts import coat, job_of, proof

from proveout.model.job import Coat, Size
from proveout.model.plan import SizeNote
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.size_text import read_size
from proveout.model.solid import Solid
from proveout.model.work import Survey
from proveout.stages import survey
from proveout.stages.finishing.decide import FinishingResult, decide


@cache
def block(leg: float, other: float, more: float = 0.0) -> tuple[Solid, Survey, int]:
    """60 x 40 x 20 with its long upper edge at y 0 chamfered, leg down its side; and the chamfer's balloon.

    more: leg of a second chamfer, at the other long upper edge.
    """
    shape: Any = bd.Solid.make_box(60, 40, 20)
    shape = shape - wedge(leg, other)
    if more:
        shape = shape - wedge(more, more).moved(bd.Location((60, 40, 0), (0, 0, 180)))
    solid = solid_of(getattr(shape, "wrapped", shape))
    found = survey.decide(solid=solid, run=Run()).value
    (face,) = [f for f in solid.faces if f.surface.kind == "plane" and f.normal[1] < -0.01 and f.normal[2] > 0.01]
    (note,) = [n for n in found.faces if n.face_id == face.id]
    return solid, found, note.balloon


def wedge(leg: float, other: float) -> Any:
    """What is cut off the edge at y 0, z 20: leg along z, other along y."""
    points = [(0, 20.0 - leg), (-1, 20.0 - leg - leg / other), (-1, 25), (other + 5.0 * other / leg, 25)]
    face = bd.Face(bd.Wire.make_polygon([bd.Vector(-1, y, z) for y, z in points], close=True))
    return bd.Solid.extrude(face, bd.Vector(62, 0, 0))


def judged(
    text: str, leg: float = 2.0, other: float = 2.0, *, some: Coat | None = None, general: str | None = "m",
    masks: str = "",
) -> Decision[FinishingResult]:  # fmt: skip
    solid, found, balloon = block(leg, other)
    everything = tuple(n.balloon for n in found.faces)
    masked = {"": (), "all": everything, "itself": (balloon,)}[masks]
    return decide(
        solid=solid, survey=found,
        job=job_of(Size(balloon=balloon, text=text), coat=some, general=general, masked=masked),
    )  # fmt: skip


def mark(decision: Decision[FinishingResult]) -> str:
    return next(p.id.split(":")[1] for p in decision.proofs if "drawn-as-written" in p.id or "understood" in p.id)


def only_note(decision: Decision[FinishingResult]) -> SizeNote:
    (note,) = decision.value.finishing.notes
    return note


def verdicts(decision: Decision[FinishingResult]) -> tuple[str, str]:
    one = mark(decision)
    of = [proof(decision, f"finishing:{one}:{name}") for name in ("drawn-as-written", "drawn-at-its-angle")]
    assert all(p.blocks_release for p in of)
    return of[0].verdict, of[1].verdict


@pytest.mark.parametrize(
    ("text", "leg", "half", "angle", "angle_half"),
    [
        ("2 x 45°", 2.0, 0.0, 45.0, 0.0), ("2x45deg", 2.0, 0.0, 45.0, 0.0), ("0,5 × 30°", 0.5, 0.0, 30.0, 0.0),
        ("2 ±0.2 x 45°", 2.0, 0.2, 45.0, 0.0), ("1.5 +/-0.1 x 60 deg ±0.5°", 1.5, 0.1, 60.0, 0.5),
        ("2 x 45° ± 1", 2.0, 0.0, 45.0, 1.0),
    ],
)  # fmt: skip
def test_a_chamfer_is_read_as_drawings_write_it(
    text: str, leg: float, half: float, angle: float, angle_half: float
) -> None:
    found = read_size(text)
    assert (found.manner, found.nominal_mm, found.angle_deg, found.angle_half_deg) == (
        "chamfer",
        leg,
        angle,
        angle_half,
    )
    assert (found.low_deviation_mm, found.high_deviation_mm) == (-half, half)
    assert read_size(f"{text} mask").is_masked


@pytest.mark.parametrize("text", ["2 x 45", "0 x 45°", "2 x 90°", "2 x 0°", "x 45°", "2 ±2 x 45°", "2 x 45° 1°", "C2x"])
def test_what_is_no_chamfer_is_not_guessed_at(text: str) -> None:
    assert read_size(text).manner == "unknown"


def test_a_chamfer_has_the_limits_of_the_general_tolerance() -> None:
    """Printed, ISO 2768-1: up to 3 mm a chamfer's height may differ by 0.2, an angle up to 10 mm by 1 degree."""
    found = judged("2 x 45°")
    note = only_note(found)
    assert (note.kind, note.unit, note.low, note.high) == ("chamfer", "mm", 1.8, 2.2)
    assert (note.before_low, note.before_high) == (1.8, 2.2)
    assert verdicts(found) == ("holds", "holds")
    angle = proof(found, f"finishing:{mark(found)}:drawn-at-its-angle")
    assert (angle.limit, angle.unit, angle.basis.source) == (pytest.approx(1.0), "deg", "iso_2768_page")


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("2.15 x 45°", ("holds", "holds")), ("2.3 x 45°", ("fails", "holds")), ("2 x 46.5°", ("holds", "fails")),
        ("2.3 ±0.4 x 46.5° ±2°", ("holds", "holds")),
    ],
)  # fmt: skip
def test_the_solid_is_held_against_leg_and_angle(text: str, wanted: tuple[str, str]) -> None:
    assert verdicts(judged(text)) == wanted


@pytest.mark.parametrize(("text", "wanted"), [("2 x 30°", ("holds", "holds")), ("1.155 x 60°", ("holds", "holds"))])
def test_an_uneven_chamfer_is_told_from_either_side(text: str, wanted: tuple[str, str]) -> None:
    """Worked: 2 tan 30 = 1.1547, and from there the angle is 60; 2 x 60° and 1.155 x 30° are neither."""
    legs = (2.0, 2.0 * math.tan(math.radians(30.0)))
    assert verdicts(judged(text, *legs)) == wanted
    assert "fails" in verdicts(judged("2 x 60°", *legs))
    assert "fails" in verdicts(judged("1.155 x 30°", *legs))


def test_a_leg_grows_under_a_coat_by_less_than_its_faces_do() -> None:
    """Worked: each face grows by 0.018 to 0.033; the leg by 1 - tan 22.5 = 0.585786 of it: 0.010544 to 0.019331.

    So 1.8 and 2.2 before the coat are 1.8 - 0.010544 and 2.2 - 0.019331.
    """
    found = judged("2 x 45°", some=coat())
    note = only_note(found)
    assert (note.low, note.high) == (1.8, 2.2)
    assert (note.before_low, note.before_high) == pytest.approx((1.8 - 0.010544, 2.2 - 0.019331), abs=1e-6)
    room = proof(found, f"finishing:{mark(found)}:chamfer-has-room-before-its-coat")
    assert (room.verdict, room.blocks_release) == ("holds", True)
    assert room.found_low == pytest.approx(0.4 - 0.008787, abs=1e-6)


def test_the_growth_of_a_leg_is_that_of_the_planes_themselves() -> None:
    """Worked by moving planes: x = g and x + y = -2 + g sqrt 2 meet at y = -2 + g (sqrt 2 - 1); the corner is at g."""
    from proveout.stages.finishing.chamfers import leg_growth_ratio

    g = 0.025
    assert 2.0 + g * leg_growth_ratio((2.0, 45.0, 2.0, 45.0)) == pytest.approx(g - (-2.0 + g * (math.sqrt(2.0) - 1.0)))
    # a chamfer of 30 degrees: planes y = g, x = g and x sin 30 + y cos 30 = -a sin 30 + g; along y = g
    leg = 2.0
    x = (-leg * 0.5 + g - g * math.cos(math.radians(30.0))) / 0.5
    assert leg + g * leg_growth_ratio((leg, 30.0, leg * math.tan(math.radians(30.0)), 60.0)) == pytest.approx(g - x)


def test_limits_narrower_than_the_coats_spread_fail_and_block() -> None:
    """Worked: 0.585786 (0.033 - 0.018) = 0.008787 of the limits; 0.010 must be left: +-0.009 leaves 0.009213."""
    for half, verdict in ((0.009, "fails"), (0.0095, "holds")):
        found = judged(f"2 ±{half} x 45°", some=coat())
        room = proof(found, f"finishing:{mark(found)}:chamfer-has-room-before-its-coat")
        assert (room.verdict, room.blocks_release) == (verdict, True)


def test_a_masked_chamfer_stays_and_one_half_masked_is_not_known() -> None:
    bare = only_note(judged("2 x 45°", some=coat(), masks="all"))
    assert (bare.before_low, bare.before_high) == (1.8, 2.2)
    found = judged("2 x 45°", some=coat(), masks="itself")
    half = only_note(found)
    assert (half.before_low, half.before_high) == (None, None)
    room = proof(found, f"finishing:{mark(found)}:chamfer-has-room-before-its-coat")
    assert (room.verdict, room.blocks_release) == ("not shown", True)
    assert "mask all of them or none" in room.decides


def test_an_unsaid_etch_that_decides_is_asked_of_the_finisher() -> None:
    """Worked: of +-0.010 an etch of 0 to 0.025 leaves nothing and no etch 0.0112: not shown, and no ends."""
    some = msgspec.structs.replace(coat(), etch_mm=None)
    found = judged("2 ±0.010 x 45°", some=some)
    room = proof(found, f"finishing:{mark(found)}:chamfer-has-room-before-its-coat")
    assert room.verdict == "not shown"
    assert "etch" in room.decides
    assert only_note(found).before_low is None


@pytest.mark.parametrize(
    ("text", "general", "says"),
    [("2 x 45°", None, "write limits"), ("2 ±0.2 x 45°", None, "write limits"), ("0.4 x 45°", "m", "write limits")],
)
def test_a_chamfer_without_limits_asks_for_them(text: str, general: str | None, says: str) -> None:
    found = judged(text, general=general)
    assert found.value.finishing.notes == ()
    assert says in proof(found, f"finishing:{mark(found)}:size-is-understood").decides


def test_at_a_face_that_is_no_chamfer_it_means_nothing() -> None:
    solid, found, balloon = block(2.0, 2.0)
    other = next(n.balloon for n in found.faces if n.balloon != balloon)
    decision = decide(solid=solid, survey=found, job=job_of(Size(balloon=other, text="2 x 45°")))
    assert decision.value.finishing.notes == ()
    told = proof(decision, f"finishing:{mark(decision)}:size-is-understood")
    assert told.blocks_release
    assert told.decides == f"type 2 x 45° at a chamfer: balloon {other} is none, or several"


def test_like_chamfers_go_by_one_text_and_unlike_ones_do_not() -> None:
    for more, is_one in ((2.0, True), (3.0, False)):
        solid, found, _ = block(2.0, 2.0, more)
        ids = tuple(f for one in found.features if one.kind == "chamfer" for f in one.face_ids)
        assert len(ids) == 2
        decision = decide(solid=solid, survey=found, job=job_of(Size(balloon=1, text="2 x 45°", face_ids=ids)))
        assert bool(decision.value.finishing.notes) is is_one
