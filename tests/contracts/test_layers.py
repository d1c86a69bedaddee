"""The folders are the architecture: every kind of breach of the layer contracts is refused."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

LINT_IMPORTS = Path(sys.executable).with_name("lint-imports")


def contracts(root: Path) -> dict[str, dict]:
    settings = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
    return {contract["id"]: contract for contract in settings["tool"]["importlinter"]["contracts"]}


def names_of(layer: str) -> list[str]:
    return re.findall(r"\w+", layer)


@pytest.fixture
def tree(root: Path, tmp_path: Path) -> Path:
    shutil.copytree(root / "src", tmp_path / "src", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy2(root / "pyproject.toml", tmp_path)
    return tmp_path


def lint(tree: Path) -> subprocess.CompletedProcess[str]:
    # the copy is found before the checkout that the environment points to
    return subprocess.run(
        [LINT_IMPORTS, "--no-logo", "--no-cache"],
        cwd=tree,
        env={"PYTHONPATH": str(tree / "src"), "PATH": "/usr/bin:/bin", "COLUMNS": "200"},
        capture_output=True,
        text=True,
        check=False,
    )


def add(tree: Path, module: str, text: str) -> None:
    """Add a module; folders on the way become packages."""
    path = tree / "src" / "proveout" / module
    path.parent.mkdir(parents=True, exist_ok=True)
    for folder in path.parents:
        if folder == tree / "src":
            break
        (folder / "__init__.py").touch()
    path.write_text(text, encoding="utf-8")


def test_the_code_keeps_every_contract(tree: Path) -> None:
    done = lint(tree)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    ("module", "text", "broken"),
    [
        ("model/planted.py", "import proveout.stages", "Imports go down only"),
        ("model/planted.py", "def f():\n    import proveout.jobs", "Imports go down only"),
        ("quantities/planted.py", "import proveout.geometry", "Imports go down only"),
        ("cutting/planted.py", "import proveout.grip", "Imports go down only"),
        ("intake/planted.py", "import proveout.sheets", "Imports go down only"),
        ("stages/survey/planted.py", "import proveout.jobs", "Imports go down only"),
        ("planted/__init__.py", "", "Imports go down only"),
        ("stages/planted/__init__.py", "", "Stages never import each other"),
        ("stages/survey/planted.py", "import proveout.stages.bars.planted", "Stages never import each other"),
        ("stages/passes/planted.py", "import proveout.removal.fields", "Whoever makes passes does without"),
        ("stages/removal_check/planted.py", "import proveout.cutting.turning", "Whoever checks passes does without"),
        ("jobs/planted.py", "import OCP", "Only solids touches the CAD kernel"),
        ("jobs/planted.py", "def f():\n    from OCP.gp import gp_Pnt", "Only solids touches the CAD kernel"),
        ("removal/planted.py", "import ortools.sat.python.cp_model", "Only solving touches the solvers"),
        ("jobs/planted.py", "import sqlalchemy", "Only the records touch SQL"),
        ("books/planted.py", "def f():\n    import sqlite3", "Only the records touch SQL"),
        ("jobs/planted.py", "import typst", "Only sheets touches the typesetter"),
        ("removal/planted.py", "import numba", "Only the kernels folders touch the compiler"),
        ("jobs/planted.py", "import trimesh", "that only its development has"),
        (
            "jobs/planted.py",
            "import proveout.jobs.planted_too",
            "No two folders or modules import each other in a ring",
        ),
    ],
)
def test_a_breach_is_refused(tree: Path, module: str, text: str, broken: str) -> None:
    add(tree, module, text + "\n")
    if "stages.bars" in text:
        add(tree, "stages/bars/planted.py", "")
    if "planted_too" in text:
        add(tree, "jobs/planted_too.py", "import proveout.jobs.planted\n")
    done = lint(tree)
    assert done.returncode == 1, done.stdout + done.stderr
    assert re.search(rf"{re.escape(broken)}.*BROKEN", done.stdout), done.stdout


@pytest.mark.parametrize(
    ("module", "text"),
    [
        ("solids/planted.py", "import OCP"),
        ("solving/planted.py", "import ortools"),
        ("sheets/planted.py", "import typst"),
        ("records/planted.py", "import sqlalchemy"),
        ("removal/kernels/planted.py", "import numba"),
        ("stages/survey/planted.py", "import proveout.solids"),
    ],
)
def test_an_allowed_import_is_accepted(tree: Path, module: str, text: str) -> None:
    add(tree, module, text + "\n")
    done = lint(tree)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_drawing_shows_the_layers_of_the_contract(root: Path) -> None:
    drawing = re.search(r"```layers\n(.*?)```", (root / "ARCHITECTURE.md").read_text(encoding="utf-8"), re.DOTALL)
    assert drawing, "ARCHITECTURE.md has no block of layers"
    drawn = [names_of(line.split("#")[0]) for line in drawing[1].splitlines()]
    agreed = [names_of(layer) for layer in contracts(root)["layers"]["layers"]]
    assert drawn == agreed


def test_the_drawing_lists_the_stages_of_the_contract(root: Path) -> None:
    drawing = re.search(r"```stages\n(.*?)```", (root / "ARCHITECTURE.md").read_text(encoding="utf-8"), re.DOTALL)
    assert drawing, "ARCHITECTURE.md has no block of stages"
    assert names_of(drawing[1]) == names_of(contracts(root)["stages"]["layers"][0])
