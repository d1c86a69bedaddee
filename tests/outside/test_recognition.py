"""Recognition on parts that others drew: printed diameters, two exports of one part, and labelled faces.

The printed values are those of the semantic dimensions in the AP242 files of NIST, which name the faces they measure.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest
from moved import reread, unmatched

from proveout.model.features import Feature
from proveout.model.solid import Solid
from proveout.recognition.recognise import recognise

MM_PER_INCH = 25.4


def files(data: Path, folder: str) -> list[Path]:
    found = sorted((data / "nist-pmi" / folder).glob("*.stp"))
    if not found:
        pytest.skip(f"no files in {data}/nist-pmi/{folder}: this part of the outside data is not on this machine")
    return found


def solid_at(path: Path) -> Solid:
    from proveout.solids.step import read_step

    return read_step(path).solid


def printed_diameters(path: Path, solid: Solid) -> Iterator[tuple[float, tuple[str, ...]]]:
    """Nominal diameter in mm of each dimension of the file, and the faces of the solid that it measures."""
    text = re.sub(r"\s+", "", path.read_text(encoding="utf-8", errors="replace").split("DATA;", 1)[1])
    entities = dict(re.findall(r"#(\d+)=(.*?);", text))
    parts, uses = defaultdict(set), defaultdict(set)
    for whole, part in re.findall(r"SHAPE_ASPECT_RELATIONSHIP\('[^']*',(?:\$|'[^']*'),#(\d+),#(\d+)\)", text):
        parts[whole].add(part)
    used = r"GEOMETRIC_ITEM_SPECIFIC_USAGE\('[^']*',(?:\$|'[^']*'),#(\d+),#\d+,#(\d+)\)"
    for aspect, face in re.findall(used, text):
        uses[aspect].add(face)
    (shell,) = (re.findall(r"#(\d+)", body) for body in re.findall(r"=CLOSED_SHELL\('[^']*',\(([^)]*)\)", text))
    by_place = {face.brep_index: face.id for face in solid.faces}
    values = dict(re.findall(r"DIMENSIONAL_CHARACTERISTIC_REPRESENTATION\(#(\d+),#(\d+)\)", text))
    is_inch = "CONVERSION_BASED_UNIT('INCH'" in text.upper()
    for name, aspect in re.findall(r"#(\d+)=DIMENSIONAL_SIZE\(#(\d+),'diameter'\)", text):
        items = re.findall(r"#(\d+)", entities[values[name]].split(",(")[1]) if name in values else []
        nominal = [
            float(found[1])
            for item in items
            if (found := re.search(r"LENGTH_MEASURE\(([\d.E+-]+)\)", entities[item]))
            and "'nominalvalue'" in entities[item]
        ]
        todo, seen = [aspect], set()
        while todo:
            seen.add(one := todo.pop())
            todo += parts[one] - seen
        faces = {by_place[shell.index(face)] for one in seen for face in uses[one] if face in shell}
        if nominal and faces:
            yield nominal[0] * (MM_PER_INCH if is_inch else 1.0), tuple(sorted(faces))


def test_every_printed_diameter_is_that_of_the_hole_its_faces_are_in(outside_data: Path) -> None:
    counted = 0
    for path in files(outside_data, "ap242-pmi"):
        solid = solid_at(path)
        holes = [f for f in recognise(solid) if f.kind == "hole"]
        for diameter, faces in printed_diameters(path, solid):
            for face_id in faces:
                home = next((hole for hole in holes if face_id in hole.face_ids), None)
                assert home is not None, (path.name, diameter, face_id)
                sizes = [value for key, value in home.sizes_mm.items() if key.endswith("diameter_mm")]
                assert any(abs(value - diameter) < 1e-3 for value in sizes), (path.name, diameter, home.name)
                counted += 1
    assert counted >= 50


def of_sizes(features: tuple[Feature, ...], *kinds: str) -> Counter[tuple[object, ...]]:
    """Kinds and sizes to a hundredth, counted."""
    return Counter(
        (f.kind, f.form, *(round(v, 2) for _, v in sorted(f.sizes_mm.items()))) for f in features if f.kind in kinds
    )


# worked: counted on the drawings of the parts as NIST publishes them, inches made mm
BY_HAND = {
    "nist_ctc_01": {("through", 25.0): 4, ("through", 35.0): 4, ("blind", 20.0): 2},
    "nist_ftc_06": {
        ("blind", 6.35): 2, ("through", 10.54): 4, ("through", 14.29): 2, ("through", 7.14): 4,
    },
}  # fmt: skip


@pytest.mark.parametrize("stem", sorted(BY_HAND))
def test_the_holes_of_a_published_part_are_counted(outside_data: Path, stem: str) -> None:
    path = next(p for p in files(outside_data, "ap203-geometry-only") if p.name.startswith(stem))
    found = Counter(
        (f.form, round(f.sizes_mm["diameter_mm"], 2)) for f in recognise(solid_at(path)) if f.kind == "hole"
    )
    assert found == BY_HAND[stem]


def test_two_exports_of_one_part_have_the_same_holes_and_recesses(outside_data: Path) -> None:
    kinds = ("hole", "window", "slot", "step")
    compared = 0
    for new in files(outside_data, "ap242-pmi"):
        stem = "_".join(new.name.split("_")[:3])
        old = next((p for p in files(outside_data, "ap203-geometry-only") if p.name.startswith(stem)), None)
        if old is None:
            continue
        a, b = (of_sizes(recognise(solid_at(path)), *kinds) for path in (old, new))
        assert a == b, (stem, a - b, b - a)
        compared += 1
    assert compared >= 3


def test_a_turned_and_newly_exported_published_part_has_the_same_features(outside_data: Path, tmp_path: Path) -> None:
    path = next(p for p in files(outside_data, "ap203-geometry-only") if p.name.startswith("nist_ctc_01"))
    assert unmatched(recognise(solid_at(path)), recognise(reread(path, tmp_path / "moved.step"))) == []
