"""Two hundred damaged STEP files: each is read or refused in one sentence, and nothing hangs or takes us down."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

import random
from pathlib import Path

import pytest

from proveout.intake.process import Child
from proveout.intake.step import read_solid
from proveout.quantities.errors import OutOfTime, ProveoutError, Unreadable

MUTANT_COUNT, SEED = 200, 20240607
BATCH_LIMIT_S = 120.0
OUTCOMES = {"read", "Unreadable", "BadInput", "OutOfTime", "crash"}


def _mutant(source: bytes, draw: random.Random) -> bytes:
    """The file with one to six damages: a byte changed, a stretch cut, doubled or moved, a number blown up."""
    data = bytearray(source)
    for _ in range(draw.randint(1, 6)):
        place, length = draw.randrange(len(data)), draw.randint(1, 60)
        kind = draw.randrange(6)
        if kind == 0:
            data[place] = draw.randrange(256)
        elif kind == 1:
            del data[place : place + length]
        elif kind == 2:
            data[place:place] = data[place : place + length]
        elif kind == 3:
            stretch = data[place : place + length]
            del data[place : place + length]
            other = draw.randrange(len(data))
            data[other:other] = stretch
        elif kind == 4:
            digits = [k for k in range(place, min(place + 400, len(data))) if chr(data[k]).isdigit()]
            for k in digits[:1]:
                data[k : k + 1] = draw.choice([b"9", b"0", b"-1", b"1E308", b"99999999999999999999", b"NAN"])
        else:
            references = [k for k in range(place, min(place + 400, len(data))) if data[k : k + 1] == b"#"]
            for k in references[:1]:
                data[k + 1 : k + 2] = str(draw.randint(1, 400)).encode()
    return bytes(data)


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A small plate with a hole and a chamfered edge."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    from proveout.solids.shapes import sub_shapes
    from proveout.solids.step import write_step

    axis = gp_Ax2(gp_Pnt(12, 15, -1), gp_Dir(0, 0, 1))
    plate = BRepAlgoAPI_Cut(BRepPrimAPI_MakeBox(40, 30, 10).Shape(), BRepPrimAPI_MakeCylinder(axis, 4, 12).Shape())
    sink = BRepPrimAPI_MakeCone(gp_Ax2(gp_Pnt(28, 15, 6), gp_Dir(0, 0, 1)), 0, 5, 5)
    part = sub_shapes(BRepAlgoAPI_Cut(plate.Shape(), sink.Shape()).Shape(), "solid")[0]
    path = tmp_path_factory.mktemp("source") / "plate.step"
    write_step(part, path, name="plate")
    return path.read_bytes()


@pytest.fixture(scope="module")
def mutants(source: bytes, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("mutants")
    draw = random.Random(SEED)  # noqa: S311  damages, not secrets
    paths = []
    for number in range(MUTANT_COUNT):
        path = folder / f"mutant-{number:03d}.step"
        path.write_bytes(_mutant(source, draw))
        paths.append(path)
    return paths


def _outcomes(paths: list[Path], log: Path) -> dict[str, str]:
    """Outcome of each file by name; a child that a file takes down is replaced and goes on behind that file."""
    left, outcomes = list(paths), {}
    while left:
        log.write_text("", encoding="utf-8")
        ending = "lost"
        try:
            Child(
                "read many",
                {"paths": left, "deflection_mm": 0.2, "log": log},
                where="mutants",
                time_limit_s=BATCH_LIMIT_S,
            ).result()
        except (Unreadable, OutOfTime) as refusal:
            ending = f"{type(refusal).__name__} {refusal.message}"
        name = ""
        for line in log.read_text(encoding="utf-8").splitlines():
            if line.startswith("begin "):
                name = line.removeprefix("begin ")
                outcomes[name] = ending
            else:
                outcomes[name] = line
        assert name, "a child must get at least one file further"
        left = left[[path.name for path in left].index(name) + 1 :]
    return outcomes


def test_every_damaged_file_is_read_or_refused_in_one_sentence(mutants: list[Path], tmp_path: Path) -> None:
    outcomes = _outcomes(mutants, tmp_path / "log.txt")
    assert sorted(outcomes) == [path.name for path in mutants]
    odd = {name: outcome for name, outcome in outcomes.items() if outcome.split(" ")[0] not in OUTCOMES}
    assert odd == {}
    refused = [outcome for outcome in outcomes.values() if not outcome.startswith("read")]
    assert len(refused) > MUTANT_COUNT // 20, "the damages are too mild to show anything"
    assert len(refused) < MUTANT_COUNT, "the damages are too wild to show anything"
    assert all("; where: mutant-" in outcome for outcome in refused if outcome.startswith(("Unr", "Bad")))


def test_damaged_files_through_the_front_door_leave_nothing_behind(
    mutants: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    before = {path.name for path in mutants[0].parent.iterdir()}
    volumes_mm3: list[float] = []
    messages: list[str] = []
    for path in mutants[:3]:
        try:
            volumes_mm3.append(read_solid(path).solid.volume_mm3)
        except ProveoutError as refusal:
            messages.append(refusal.message)
    assert all(volume_mm3 > 0.0 for volume_mm3 in volumes_mm3)
    assert all("\n" not in message and "mutant-" in message for message in messages)
    assert list(tmp_path.iterdir()) == []
    assert {path.name for path in mutants[0].parent.iterdir()} == before
