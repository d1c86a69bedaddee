"""STEP files of every kind an owner may hand over: read in a child process, or refused in one plain sentence."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

import math
import re
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from drawn_part import write_drawn

from proveout.intake import step
from proveout.intake.process import Child
from proveout.intake.step import drawing, drawings, read_solid
from proveout.model.solid import ReadSolid
from proveout.quantities.errors import BadInput, InternalError, OutOfTime, ProveoutError, Unreadable

MM_UNIT = re.compile(r"\(\s*LENGTH_UNIT\(\)\s*NAMED_UNIT\(\*\)\s*SI_UNIT\(\.MILLI\.,\.METRE\.\)\s*\)")


def _read(path: Path, *, solid_name: str = "") -> ReadSolid:
    """As the child reads it, without the cost of a process."""
    from proveout.solids.step import read_step

    return read_step(path, solid_name=solid_name)


def _box(x_mm: float, y_mm: float, z_mm: float, *, at: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Any:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
    from OCP.gp import gp_Pnt

    return BRepPrimAPI_MakeBox(gp_Pnt(*at), x_mm, y_mm, z_mm).Solid()


def _compound(shapes: list[Any]) -> Any:
    from OCP.BRep import BRep_Builder
    from OCP.TopoDS import TopoDS_Compound

    builder, compound = BRep_Builder(), TopoDS_Compound()
    builder.MakeCompound(compound)
    for shape in shapes:
        builder.Add(compound, shape)
    return compound


def _prism_of_flats(count: int) -> Any:
    """A cylinder of radius 10 and height 10 with its wall cut into flat strips, as a mesh export leaves it."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Pnt, gp_Vec

    outline = BRepBuilderAPI_MakePolygon()
    for k in range(count):
        angle = 2.0 * math.pi * k / count
        outline.Add(gp_Pnt(10.0 * math.cos(angle), 10.0 * math.sin(angle), 0.0))
    outline.Close()
    return BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(outline.Wire()).Face(), gp_Vec(0, 0, 10)).Shape()


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., Path]:
    """Writes a shape as STEP, with the text changed if a function for that is given; returns the path."""
    from proveout.solids.step import write_step

    def _write(shape: Any, *, change: Callable[[str], str] | None = None, name: str = "part.step") -> Path:
        path = tmp_path / name
        write_step(shape, path, name="block")
        if change is not None:
            text = path.read_text(encoding="utf-8")
            changed = change(text)
            assert changed != text
            path.write_text(changed, encoding="utf-8")
        return path

    return _write


def test_a_plain_box_is_read_with_its_size_and_no_warning(write: Callable[..., Path]) -> None:
    found = read_solid(write(_box(30.0, 20.0, 10.0)))
    assert found.solid.size_mm == (30.0, 20.0, 10.0)
    assert found.solid.volume_mm3 == pytest.approx(6000.0, rel=1e-9)
    assert found.solid.unit_declared == "mm"
    assert found.solid.name == "block"
    assert found.solid.mesh_is_closed
    assert found.solid.is_valid
    assert found.warnings == ()
    assert found.other_solids == ()


def test_a_file_in_metres_is_read_to_mm(write: Callable[..., Path]) -> None:
    path = write(
        _box(0.030, 0.020, 0.010), change=lambda text: text.replace("SI_UNIT(.MILLI.,.METRE.)", "SI_UNIT($,.METRE.)")
    )
    found = _read(path)
    assert found.solid.size_mm == pytest.approx((30.0, 20.0, 10.0), abs=1e-6)
    assert found.solid.unit_declared == "m"
    assert not found.unit_is_doubtful


def _as_inches(text: str) -> str:
    inch = (
        "(CONVERSION_BASED_UNIT('INCH',#900001)LENGTH_UNIT()NAMED_UNIT(#900002));\n"
        "#900001=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#900003);\n"
        "#900002=DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.);\n"
        "#900003=(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))"
    )
    return MM_UNIT.sub(inch, text)


def test_a_file_in_inches_is_read_to_mm(write: Callable[..., Path]) -> None:
    found = _read(write(_box(3.0, 2.0, 0.5), change=_as_inches))
    assert found.solid.size_mm == pytest.approx((76.2, 50.8, 12.7), abs=1e-6)
    assert found.solid.unit_declared == "inch"
    assert not found.unit_is_doubtful


def test_millimetres_declared_as_inches_become_a_question(write: Callable[..., Path]) -> None:
    """180 x 150 x 20 inches is a plate of 4.6 m: more likely the numbers are mm."""
    found = _read(write(_box(40.0, 30.0, 5.0), change=_as_inches))
    assert found.unit_is_doubtful
    assert any("is that its true size" in warning and '"inch"' in warning for warning in found.warnings)


def test_sizes_that_break_the_kernel_do_not_take_the_solid_with_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The child ends on them; the solid is read without them, and that is told."""
    path = tmp_path / "drawn.step"
    write_drawn(path)

    class Breaking(Child):
        def __init__(self, task: str, arguments: dict[str, Any], **more: Any) -> None:
            super().__init__(
                "crash" if arguments["with_pmi"] else task, {} if arguments["with_pmi"] else arguments, **more
            )

    monkeypatch.setattr(step, "Child", Breaking)
    found = step.read_solid(path)
    assert found.pmi is None
    assert found.warnings == (step.PMI_BROKEN,)
    assert len(found.solid.faces) == 7


def test_a_solid_below_one_millimetre_becomes_a_question(write: Callable[..., Path]) -> None:
    found = _read(write(_box(0.11, 0.09, 0.025)))
    assert found.unit_is_doubtful
    assert "0.11 x 0.09 x 0.025 mm" in found.warnings[0]


def test_of_several_solids_the_largest_is_taken_and_the_others_named(write: Callable[..., Path]) -> None:
    shapes = [
        _box(5.0, 5.0, 5.0),
        _box(30.0, 20.0, 10.0, at=(50.0, 0.0, 0.0)),
        _box(8.0, 8.0, 8.0, at=(0.0, 50.0, 0.0)),
    ]
    path = write(_compound(shapes))
    found = _read(path)
    assert found.solid.size_mm == (30.0, 20.0, 10.0)
    assert found.solid.low_mm == (50.0, 0.0, 0.0)
    assert [round(other.volume_mm3) for other in found.other_solids] == [512, 125]
    assert len({found.solid.name, *(other.name for other in found.other_solids)}) == 3
    assert "holds 3 solids" in found.warnings[0]
    named = _read(path, solid_name=found.other_solids[1].name)
    assert named.solid.volume_mm3 == pytest.approx(125.0)


def test_a_name_that_is_not_there_is_answered_with_the_names_that_are(write: Callable[..., Path]) -> None:
    with pytest.raises(BadInput, match=r'No solid of that name.*"lid".*one of "block"'):
        read_solid(write(_box(3.0, 2.0, 1.0)), solid_name="lid")


def _refusal(path: Path | str, **options: Any) -> ProveoutError:
    with pytest.raises(ProveoutError) as refusal:
        read_solid(path, **options)
    message = refusal.value.message
    assert "\n" not in message
    assert "Traceback" not in message
    assert str(Path(path).parent) not in message or Path(path).parent == Path()
    return refusal.value


def test_files_that_are_no_step_are_refused_by_what_they_are(tmp_path: Path) -> None:
    empty, text, folder = tmp_path / "empty.step", tmp_path / "mesh.stl", tmp_path / "folder"
    empty.write_bytes(b"")
    text.write_text("solid box\nfacet normal 0 0 1\nendsolid", encoding="utf-8")
    folder.mkdir()
    assert "There is no such file" in _refusal(tmp_path / "absent.step").message
    assert "a folder" in _refusal(folder).message
    assert "empty" in _refusal(empty).message
    assert "not STEP" in _refusal(text).message
    assert isinstance(_refusal(text), Unreadable)


def test_blanks_only_is_an_empty_file(tmp_path: Path) -> None:
    blank = tmp_path / "blank.step"
    blank.write_text(" \n\n", encoding="utf-8")
    assert "empty" in _refusal(blank).message


def test_a_truncated_file_is_refused(write: Callable[..., Path]) -> None:
    path = write(_box(3.0, 2.0, 1.0), change=lambda text: text[: len(text) * 2 // 3])
    assert "stops before its end" in _refusal(path).message


def test_a_file_with_no_readable_entity_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "hollow.step"
    path.write_text("ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n#1=((;\nENDSEC;\nEND-ISO-10303-21;\n", encoding="utf-8")
    assert isinstance(_refusal(path), Unreadable)


def test_surfaces_without_a_solid_are_refused(write: Callable[..., Path]) -> None:
    from proveout.solids.shapes import sub_shapes

    path = write(_compound(sub_shapes(_box(3.0, 2.0, 1.0), "face")[:5]))
    assert "holds no solid" in _refusal(path).message


def test_a_faceted_cylinder_is_refused(write: Callable[..., Path]) -> None:
    assert "faceted" in _refusal(write(_prism_of_flats(64))).message


def test_a_hexagonal_bar_is_no_faceted_solid(write: Callable[..., Path]) -> None:
    assert len(_read(write(_prism_of_flats(6))).solid.faces) == 8


def test_a_loose_edge_is_told() -> None:
    """A solid can pass the kernel's check and still be vague by a tenth of a millimetre along an edge."""
    from OCP.BRep import BRep_Builder

    from proveout.solids.measure import solid_from_shape
    from proveout.solids.shapes import sub_shapes
    from proveout.solids.step import warnings_of

    box = _box(30.0, 20.0, 10.0)
    BRep_Builder().UpdateEdge(sub_shapes(box, "edge")[0], 0.15)
    solid = solid_from_shape(box, name="loose", unit_declared="mm", deflection_mm=0.1)
    assert solid.edge_tolerance_max_mm == pytest.approx(0.15)
    (warning,) = warnings_of(solid, "mm", doubtful=False)
    assert "only known to 0.150 mm" in warning


def test_who_made_the_file_and_where_is_never_repeated(write: Callable[..., Path]) -> None:
    def sign(text: str) -> str:
        header = (
            "FILE_NAME('/home/jdoe/secret/part.step','2001-01-01T00:00:00',"
            "('Jane Doe'),('Doe Works'),'PreWriter','CadThing','');"
        )
        return re.sub(r"FILE_NAME\(.*?\);", header, text, count=1, flags=re.DOTALL).replace(
            "'block'", "'CadThing block'"
        )

    path = write(_compound([_box(3.0, 2.0, 1.0), _box(3.0, 2.0, 1.5, at=(9.0, 0.0, 0.0))]), change=sign)
    found = read_solid(path)
    said = " ".join([found.solid.name, *found.warnings, *(other.name for other in found.other_solids)])
    said += found.solid.brep.decode("latin-1") + _refusal(path, solid_name="x").message
    for word in ("Jane", "Doe", "PreWriter", "CadThing", "secret", "/home"):
        assert word not in said


def test_a_slow_child_is_stopped_at_the_time_limit() -> None:
    began = time.monotonic()
    with pytest.raises(OutOfTime, match=r"took too long.*slow\.step.*0.5 s"):
        Child("wait", {"seconds_s": 60.0}, where="slow.step", time_limit_s=0.5).result()
    assert time.monotonic() - began < 10.0


def test_a_child_that_nobody_waits_for_any_more_is_ended_and_leaves_nothing() -> None:
    child = Child("wait", {"seconds_s": 60.0}, where="slow.step", time_limit_s=60.0)
    folder = Path(child.folder.name)
    assert folder.is_dir()
    assert child.process.poll() is None
    child.stop()
    child.stop()
    assert child.process.poll() is not None
    assert not folder.exists()


def test_a_crash_of_the_child_is_one_sentence() -> None:
    with pytest.raises(Unreadable, match=r"broke the CAD kernel.*bad\.step"):
        Child("crash", {}, where="bad.step", time_limit_s=30.0).result()


def test_a_child_that_asks_for_too_much_memory_is_refused() -> None:
    pytest.importorskip("resource", reason="this operating system sets no memory limit on a process")
    with pytest.raises(Unreadable, match=r"too much memory.*fat\.step.*512 MB"):
        Child(
            "fill", {"size_bytes": 1024**3}, where="fat.step", time_limit_s=30.0, memory_limit_bytes=512 * 1024**2
        ).result()


def test_a_fault_of_our_own_in_the_child_is_not_blamed_on_the_file() -> None:
    with pytest.raises(InternalError, match="TypeError"):
        Child("wait", {"seconds": 1.0}, where="good.step", time_limit_s=30.0).result()


def test_drawings_come_from_one_child_in_the_order_asked(write: Callable[..., Path]) -> None:
    solid = read_solid(write(_box(30.0, 20.0, 10.0))).solid
    above, front = drawings(solid, [((0.0, 0.0, -1.0), (0.0, 1.0, 0.0)), ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0))])
    assert np.concatenate(above.visible_mm).max(axis=0) == pytest.approx([30.0, 20.0], abs=1e-6)
    assert np.concatenate(front.visible_mm).max(axis=0) == pytest.approx([30.0, 10.0], abs=1e-6)
    alone = drawing(solid, view_direction=(0.0, 1.0, 0.0), up=(0.0, 0.0, 1.0))
    assert all(np.array_equal(a, b) for a, b in zip(alone.visible_mm, front.visible_mm, strict=True))


def test_reading_twice_gives_the_same_solid_to_the_byte(write: Callable[..., Path]) -> None:
    path = write(_box(30.0, 20.0, 10.0))
    first, second = read_solid(path).solid, read_solid(path).solid
    assert first.digest == second.digest
    assert first.brep == second.brep
    assert first.vertices_mm.tobytes() == second.vertices_mm.tobytes()
    assert first.triangles.tobytes() == second.triangles.tobytes()


def test_intake_itself_imports_no_cad_kernel() -> None:
    """The parent must stay light and alive: the kernel lives in the child alone."""
    import subprocess
    import sys

    code = "import sys, proveout.intake.step; sys.exit(any(m.split('.')[0] in ('OCP', 'scipy') for m in sys.modules))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
