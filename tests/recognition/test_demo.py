"""Every hole, pocket, slot, edge, round and flank of the three demo parts, as their scripts make them.

The expected lists are worked from examples/solids by hand; where a size follows from others its working stands beside.
"""

from __future__ import annotations

import math
import sys
import tomllib
from pathlib import Path

import pytest
from moved import reread, unmatched

from proveout.model.features import Feature
from proveout.model.job import Size
from proveout.model.run import Run
from proveout.recognition.recognise import recognise
from proveout.stages import survey

Row = tuple[str, str, str, dict[str, float], tuple[float, float, float] | None, tuple[float, float, float] | None]
Z, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)
# the lock screw's axis; its seat lies where a Ø12 cutter is sunk 0.4 beyond the last of its rim: 6 tan(lean) + 0.4
IN_X = math.cos(math.radians(15.0)) * math.cos(math.radians(25.0))
LOCK = (IN_X, -math.cos(math.radians(15.0)) * math.sin(math.radians(25.0)), math.sin(math.radians(15.0)))
RIM_MM = 6.0 * math.sqrt(1.0 - IN_X**2) / IN_X
# the deepest part of the rim lies as far below its middle as its highest above it
SEAT_MM = RIM_MM + 0.4 + RIM_MM
# the cross hole runs from the side at 20 to the bore of radius 10, nearest where it leaves it sideways by its radius 3
CROSS_MM = 20.0 - math.sqrt(10.0**2 - 3.0**2)

EXPECTED: dict[str, list[Row]] = {
    "EX-101": [
        *[("hole", "through", "", {"diameter_mm": 6.6, "depth_mm": 25.0, "counterbore_diameter_mm": 11.0,
                                   "counterbore_depth_mm": 6.5}, Z, (x, y, 25.0))
          for x in (14.0, 96.0) for y in (32.0, 76.0)],
        *[("hole", "blind", "", {"diameter_mm": 5.0, "depth_mm": 14.0}, DOWN, (x, 76.0, 0.0)) for x in (38.0, 72.0)],
        ("hole", "blind", "", {"diameter_mm": 5.0, "depth_mm": SEAT_MM + 18.0, "counterbore_diameter_mm": 12.0,
                               "counterbore_depth_mm": SEAT_MM}, LOCK, None),
        ("pocket", "closed", "", {"width_mm": 36.0, "length_mm": 50.0, "depth_mm": 12.0, "corner_radius_mm": 4.0}, Z,
         (55.0, 44.0, 25.0)),
        *[("fillet", "inside", "pocket", {"radius_mm": 4.0}, None, None)] * 4,
        *[("fillet", "outside", "", {"radius_mm": 6.0}, None, None)] * 2,
        ("fillet", "outside", "", {"radius_mm": 0.8}, None, None),
        ("flank", "undercut", "", {}, None, None),
    ],
    "EX-102": [
        *[("slot", "closed", "", {"width_mm": 11.0, "length_mm": 18.4, "depth_mm": 6.5}, Z, (x, 9.0, 18.0))
          for x in (22.0, 67.0)],
        *[("slot", "through", "", {"width_mm": 6.6, "length_mm": 14.0, "depth_mm": 11.5}, Z, (x, 9.0, 11.5 / 2.0))
          for x in (22.0, 67.0)],
        ("hole", "blind", "", {"diameter_mm": 5.0, "depth_mm": 12.0}, (0.0, -1.0, 0.0), (45.5, 0.0, 9.0)),
        ("chamfer", "edge", "", {"leg_mm": 0.8, "other_leg_mm": 0.8}, None, None),
        ("chamfer", "edge", "", {"leg_mm": 0.5, "other_leg_mm": 0.5}, None, None),
        *[("fillet", "outside", "", {"radius_mm": 2.0}, None, None)] * 2,
        ("flank", "leaning", "", {}, None, None),
    ],
    "EX-103": [
        ("hole", "blind", "", {"diameter_mm": 4.2, "depth_mm": 26.0, "counterbore_diameter_mm": 20.0,
                               "counterbore_depth_mm": 16.0, "mouth_chamfer_mm": 0.5}, DOWN, (0.0, 0.0, 0.0)),
        *[("hole", "through", "", {"diameter_mm": 6.0, "depth_mm": CROSS_MM}, None, None)] * 2,
        ("chamfer", "edge", "", {"leg_mm": 0.5, "other_leg_mm": 0.5}, None, None),
        *[("fillet", "outside", "", {"radius_mm": 6.0}, None, None)] * 4,
    ],
}  # fmt: skip


@pytest.fixture(scope="module")
def paths(root: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    sys.path.insert(0, str(root / "examples" / "solids"))
    try:
        import make_all  # pyright: ignore[reportMissingImports]  # a program beside its parts, no package
    finally:
        sys.path.pop(0)
    return {path.stem: path for path in make_all.main(str(tmp_path_factory.mktemp("demo")))}


@pytest.fixture(scope="module")
def found(paths: dict[str, Path]) -> dict[str, tuple[Feature, ...]]:
    from proveout.solids.step import read_step

    return {name: recognise(read_step(path).solid) for name, path in paths.items()}


def is_it(one: Feature, row: Row) -> bool:
    kind, form, within, sizes, opens, place = row
    apart_mm = 0.01 if opens is LOCK else 1e-4  # a rim that is no arc is known to the mesh's own 0.01
    return (
        (one.kind, one.form) == (kind, form)
        and (one.within.startswith(within) if within else not one.within)
        and set(sizes) <= set(one.sizes_mm)
        and all(abs(one.sizes_mm[key] - size) < apart_mm for key, size in sizes.items())
        and (opens is None or all(abs(a - b) < 1e-6 for a, b in zip(one.opens, opens, strict=True)))
        and (place is None or all(abs(a - b) < 1e-4 for a, b in zip(one.place_mm, place, strict=True)))
    )


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_every_feature_of_a_demo_part_is_found_and_no_other(found: dict[str, tuple[Feature, ...]], name: str) -> None:
    left = list(found[name])
    for row in EXPECTED[name]:
        partner = next((one for one in left if is_it(one, row)), None)
        assert partner is not None, (row, [one.name for one in left])
        left.remove(partner)
    assert left == []


def test_both_flanks_lean_by_the_twenty_degrees_of_their_scripts(found: dict[str, tuple[Feature, ...]]) -> None:
    angles = [f.angle_rad for name in found for f in found[name] if f.kind == "flank"]
    assert angles == pytest.approx([math.radians(20.0)] * 2, abs=1e-6)


# worked: the tapped holes of the scripts (examples/solids), at the balloons that the jobs write their threads at
THREADS = {
    "EX-101": ["thread M6 6H in hole Ø5, 14 deep, from −z"] * 2,
    "EX-102": ["thread M6 6H in hole Ø5, 12 deep, from −y"],
    "EX-103": ["thread M5 6H in hole Ø4.2, 10 deep, from −z"],
}


@pytest.mark.parametrize(("name", "job"), [("EX-101", "body"), ("EX-102", "jaw"), ("EX-103", "knob")])
def test_threads_come_from_the_job_s_text_and_from_no_solid(
    found: dict[str, tuple[Feature, ...]], paths: dict[str, Path], root: Path, name: str, job: str
) -> None:
    from proveout.solids.step import read_step

    assert [f for f in found[name] if f.kind == "thread"] == []
    seen = survey.decide(solid=read_step(paths[name]).solid, run=Run()).value
    written = tomllib.loads((root / "examples" / f"{job}.toml").read_text("utf-8"))["sizes"]
    sizes = tuple(Size(balloon=int(at), text=text) for at, texts in written.items() for text in texts.split("; "))
    threads = [f.name for f in survey.with_threads(seen, sizes).features if f.kind == "thread"]
    assert threads == THREADS[name]


def test_the_sculpted_crown_is_left_without_a_name(
    found: dict[str, tuple[Feature, ...]], paths: dict[str, Path]
) -> None:
    from proveout.solids.step import read_step

    named = {face_id for feature in found["EX-103"] for face_id in feature.face_ids}
    crown = [f for f in read_step(paths["EX-103"]).solid.faces if f.surface.kind == "other"]
    assert len(crown) == 8
    assert all(face.id not in named for face in crown)


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_a_turned_and_newly_exported_part_has_the_same_features(
    found: dict[str, tuple[Feature, ...]], paths: dict[str, Path], tmp_path: Path, name: str
) -> None:
    assert unmatched(found[name], recognise(reread(paths[name], tmp_path / "moved.step"))) == []
