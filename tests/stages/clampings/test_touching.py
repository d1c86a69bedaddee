"""What the jaws touch: sawn ends or the bar's faces, faces that show, and the lift as they close."""

from __future__ import annotations

import msgspec
import pytest
from jaw_parts import BLOCK
from shapes import SMOOTH, SOFT, TOOTHED, VISE, fact

from proveout.geometry.frames import Frame
from proveout.model.proof import Proof
from proveout.model.shop import Jaws
from proveout.model.work import Blank
from proveout.stages.clampings.touching import lift_proof, raw_touch, show_proof

HELD = msgspec.structs.replace(BLOCK, grip_faces=("side a", "side b"))
ALONG_X = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
ALONG_Y = Frame(x=(0.0, 1.0, 0.0), y=(-1.0, 0.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))


def shown(*faces: str, jaws: Jaws = SOFT, blast: bool = True) -> Proof | None:
    return show_proof(HELD, jaws=jaws, show_faces=faces, is_blasted=blast)


def test_a_bar_along_x_is_held_by_its_own_faces_across_y_and_by_its_sawn_ends_across_x() -> None:
    blank = Blank(
        bar_id="bar", length_axis=0, low_mm=(0.0, 0.0, 0.0), high_mm=(60.0, 20.0, 20.0), cut_length_mm=60.0,
        grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0,
        mass_kg=0.1,
    )  # fmt: skip
    assert raw_touch(blank, ALONG_X) == "the bar's own faces"
    assert raw_touch(blank, ALONG_Y) == "its sawn ends"


@pytest.mark.parametrize(
    ("lift", "verdict"), [(None, "not shown"), ((0.0, 0.005, 0.015), "holds"), ((0.01, 0.02, 0.03), "not shown"),
                          ((0.03, 0.04, 0.05), "fails")],
)  # fmt: skip
def test_the_lift_is_named_and_judged_by_its_interval(
    lift: tuple[float, float, float] | None, verdict: str
) -> None:  # fmt: skip
    vise = VISE if lift is None else msgspec.structs.replace(VISE, lift_mm=fact(*lift, "mm"))
    proof = lift_proof(vise)
    assert (proof.verdict, proof.blocks_release) == (verdict, False)
    assert lift is not None or "indicator" in proof.decides


def test_faces_that_show_may_be_held_by_soft_jaws_before_blast_only() -> None:
    def verdict(*faces: str, jaws: Jaws = SOFT, blast: bool = True) -> str:
        proof = shown(*faces, jaws=jaws, blast=blast)
        return "none" if proof is None else proof.verdict

    assert verdict("top") == "none"
    assert verdict("side a") == "holds"
    assert verdict("side a", blast=False) == "fails"
    for hard in (SMOOTH, TOOTHED):
        assert verdict("side a", "top", jaws=hard) == "fails"
    proof = shown("side a", "top")
    assert proof is not None
    assert proof.subject == "side a"
