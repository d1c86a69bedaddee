"""What the package imports: only what it declares, solvers only in solving, and little for a question of help."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

HEAVY = {"OCP", "alembic", "build123d", "manifold3d", "nicegui", "numba", "ortools", "scipy", "shapely"}
HEAVY |= {"sqlalchemy", "typst"}
MODULE_FROM_DISTRIBUTION = {"cadquery-ocp-novtk": "OCP"}
# what one of ours is built on and hands to those who use it
BROUGHT_BY = {"starlette": "fastapi", "markupsafe": "jinja2"}
READ_WITH = {"python_multipart": "fastapi"}  # what one of ours imports by itself, where we ask for it to be there


@cache
def imported_names(text: str) -> tuple[str, ...]:
    """Full dotted names that a module's text imports, wherever in it the import stands."""
    return tuple(_imported_names(text))


def _imported_names(text: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def uses_scipy_solvers(text: str) -> bool:
    return any(re.match(r"scipy\.optimize(\.|$)", name) for name in imported_names(text))


def sources(root: Path) -> list[Path]:
    return sorted((root / "src" / "proveout").rglob("*.py"))


@pytest.mark.parametrize(
    "text",
    ["import scipy.optimize", "from scipy import optimize", "def f():\n    from scipy.optimize import linprog as x"],
)
def test_an_import_of_the_solvers_of_scipy_is_seen(text: str) -> None:
    assert uses_scipy_solvers(text)


def test_an_import_of_another_part_of_scipy_is_no_solver() -> None:
    assert not uses_scipy_solvers("from scipy.spatial import cKDTree")


def test_only_solving_touches_the_solvers_of_scipy(root: Path) -> None:
    package = root / "src" / "proveout"
    outside = [path for path in sources(root) if path.relative_to(package).parts[0] != "solving"]
    assert outside
    assert [path for path in outside if uses_scipy_solvers(path.read_text(encoding="utf-8"))] == []


def test_the_package_imports_what_it_declares_and_nothing_else(root: Path) -> None:
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    declared = set()
    extras = [name for extra in project["optional-dependencies"].values() for name in extra]
    for requirement in [*project["dependencies"], *extras]:
        name = re.match(r"[\w-]+", requirement)
        assert name
        declared.add(MODULE_FROM_DISTRIBUTION.get(name[0], name[0].replace("-", "_")))
    allowed = declared | set(sys.stdlib_module_names) | {"proveout"}
    found = {name.split(".")[0] for path in sources(root) for name in imported_names(path.read_text(encoding="utf-8"))}
    brought = {name for name, by in BROUGHT_BY.items() if by in declared}
    assert sorted(found - allowed - brought) == []
    unseen = {name for name, by in READ_WITH.items() if by in found}
    assert sorted(declared - found - unseen) == [], "declared, but nothing imports it"


def test_what_an_extra_brings_is_imported_in_one_place_where_its_absence_is_told(root: Path) -> None:
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    places = {"cluster": "src/proveout/jobs/crew.py", "postgres": "src/proveout/records/opening.py"}
    assert list(project["optional-dependencies"]) == list(places)
    for extra, modules in (("cluster", {"distributed", "dask"}), ("postgres", {"psycopg"})):
        using = [p for p in sources(root) if modules & set(imported_names(p.read_text(encoding="utf-8")))]
        assert [path.relative_to(root).as_posix() for path in using] == [places[extra]]


def test_every_folder_with_code_is_a_package(root: Path) -> None:
    """The layer contracts do not see a folder that is none."""
    folders = {path.parent for path in sources(root)}
    assert sorted(folder for folder in folders if not (folder / "__init__.py").is_file()) == []


def test_help_imports_nothing_heavy(root: Path, tmp_path: Path) -> None:
    program = (
        "import sys\n"
        "from proveout.cli.main import main\n"
        "try:\n    status = main(['--help'])\n"
        "except SystemExit as end:\n    status = end.code\n"
        "print('MODULES', *sorted({name.split('.')[0] for name in sys.modules}))\n"
        "sys.exit(status)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=tmp_path,
        env={"PYTHONPATH": str(root / "src"), "PATH": "/usr/bin:/bin"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "usage" in done.stdout.lower()
    loaded = set(done.stdout.rpartition("MODULES")[2].split())
    assert "proveout" in loaded
    assert sorted(loaded & HEAVY) == []
