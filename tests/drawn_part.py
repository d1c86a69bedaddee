"""A small STEP file that writes sizes, a tolerance and a datum on its faces: our own text behind the kernel's solid."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from shapes import box, drilled

HOLE_TEXT, LENGTH_TEXT = "8 +0.05/-0.1", "10 ±0.2"
SCHEMA = "FILE_SCHEMA(('AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 1 1 4 }'));"
FIRST = 90000  # of the numbers of what is added


def plate() -> Any:
    """A 40 x 30 x 10 plate at the origin with a through hole of 8 at (12, 11): no turn lays it on itself."""
    return drilled(box(40.0, 30.0, 10.0), at=(12.0, 11.0, -1.0), along=(0.0, 0.0, 1.0), dia=8.0, deep=12.0)


class _Text:
    """Instances that are added, and what of the file they point at."""

    def __init__(self, text: str, faces: dict[str, int]) -> None:
        flat = re.sub(r"\s+", "", text)
        self.lines: list[str] = []
        self._faces = faces
        self.shape = self._number(flat, "PRODUCT_DEFINITION_SHAPE")
        self._body = self._number(flat, "ADVANCED_BREP_SHAPE_REPRESENTATION")
        self._unit = int(re.findall(r"#(\d+)=\(LENGTH_UNIT\(\)NAMED_UNIT", flat)[0])
        self._context = int(re.findall(r"#(\d+)=\(GEOMETRIC_REPRESENTATION_CONTEXT\(3\)", flat)[0])

    @staticmethod
    def _number(flat: str, name: str) -> int:
        return int(re.findall(rf"#(\d+)={name}\(", flat)[0])

    def add(self, body: str) -> int:
        number = FIRST + len(self.lines)
        self.lines.append(f"#{number}={body};")
        return number

    def aspect(self, face: str, kind: str = "SHAPE_ASPECT") -> int:
        aspect = self.add(f"{kind}('','',#{self.shape},.T.)")
        self.add(f"GEOMETRIC_ITEM_SPECIFIC_USAGE('','',#{aspect},#{self._body},#{self._faces[face]})")
        return aspect

    def measure(self, value: float, name: str = "") -> int:
        return self.add(
            f"(LENGTH_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()MEASURE_WITH_UNIT(LENGTH_MEASURE({value!r}),"
            f"#{self._unit})REPRESENTATION_ITEM('{name}'))"
        )

    def size(self, body: str, nominal: float, deviations: tuple[float, float] | str | None) -> None:
        size = self.add(body)
        shown = self.add(
            f"SHAPE_DIMENSION_REPRESENTATION('',(#{self.measure(nominal, 'nominal value')}),#{self._context})"
        )
        self.add(f"DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(#{size},#{shown})")
        if isinstance(deviations, str):
            fit = self.add(f"LIMITS_AND_FITS('{deviations[0]}','hole','{deviations[1:]}','')")
            self.add(f"PLUS_MINUS_TOLERANCE(#{fit},#{size})")
        elif deviations is not None:
            low, high = (self.measure(one) for one in deviations)
            self.add(f"PLUS_MINUS_TOLERANCE(#{self.add(f'TOLERANCE_VALUE(#{low},#{high})')},#{size})")


def write_drawn(path: Path, *, hole_mm: tuple[float, float] | str = (-0.1, 0.05)) -> None:
    """The plate with a hole of 8, a thickness of 10 ±0.2, 40 without limits, a position to A, and A itself.

    hole_mm: deviations of the hole, or its class of fit.
    """
    from proveout.solids.step import read_step, write_step

    write_step(plate(), path, name="plate")
    text = path.read_text("utf-8")
    flat = re.sub(r"\s+", "", text)
    (shell,) = re.findall(r"=CLOSED_SHELL\('[^']*',\(([^)]*)\)", flat)
    order = [int(number) for number in re.findall(r"#(\d+)", shell)]
    faces: dict[str, int] = {}
    for face in read_step(path).solid.faces:
        axis = max(range(3), key=lambda k, face=face: abs(face.normal[k]))
        name = f"{'+' if face.normal[axis] > 0 else '-'}{'xyz'[axis]}" if face.surface.kind == "plane" else "hole"
        faces[name] = order[face.brep_index]
    more = _Text(text, faces)
    hole = more.aspect("hole")
    more.size(f"DIMENSIONAL_SIZE(#{hole},'diameter')", 8.0, hole_mm)
    for one, other, nominal, deviations in (("+z", "-z", 10.0, (-0.2, 0.2)), ("+x", "-x", 40.0, None)):
        ends = f"#{more.aspect(one)},#{more.aspect(other)}"
        more.size(f"DIMENSIONAL_LOCATION('linear distance','',{ends})", nominal, deviations)
    feature = more.aspect("-z", "DATUM_FEATURE")
    datum = more.add(f"DATUM('','',#{more.shape},.F.,'A')")
    more.add(f"SHAPE_ASPECT_RELATIONSHIP('','',#{feature},#{datum})")
    part = more.add(f"DATUM_REFERENCE_COMPARTMENT('','',#{more.shape},.F.,#{datum},$)")
    system = more.add(f"DATUM_SYSTEM('','',#{more.shape},.F.,(#{part}))")
    position = more.add(
        f"(GEOMETRIC_TOLERANCE('Position','',#{more.measure(0.3)},#{hole})"
        f"GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE((#{system}))POSITION_TOLERANCE())"
    )
    form = more.add("TOLERANCE_ZONE_FORM('cylindrical or circular')")
    more.add(f"TOLERANCE_ZONE('','',#{more.shape},.F.,(#{position}),#{form})")
    text = re.sub(r"FILE_SCHEMA\s*\(.*?\)\s*;", SCHEMA, text, count=1, flags=re.DOTALL)
    before, end = text.rsplit("ENDSEC;", 1)
    path.write_text(f"{before}{chr(10).join(more.lines)}\nENDSEC;{end}", "utf-8")
