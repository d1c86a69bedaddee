"""Every check has its planted fault, and every planted fault is caught."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import plant_faults
import pytest
from plant_faults import (
    ROOT,
    Bed,
    Fault,
    Warm,
    by_test_file,
    plant_all,
    plant_group,
    read_faults,
    row,
    table,
    wrongness,
)

# folders of tests/ that hold no checks of the kind a fault is planted for: contracts prove themselves on planted
# breaches, faults holds the list, outside reads data that is not always there
WITHOUT_FAULTS = {"contracts", "faults", "outside"}


FAULTS = read_faults(ROOT / "tests" / "faults")
BY_TEST_FILE = {group[0].test.split("::")[0]: group for group in by_test_file(FAULTS)}


@pytest.fixture(scope="session")
def warm() -> Iterator[Warm]:
    with Warm() as begun:
        yield begun


@pytest.fixture(scope="session")
def own_bed(root: Path, warm: Warm, tmp_path_factory: pytest.TempPathFactory) -> Bed:
    """A copy of this checkout, one for each worker."""
    place = tmp_path_factory.mktemp("bed")
    return Bed(root, place, place / "compiled", warm)


@pytest.mark.parametrize("test_file", BY_TEST_FILE)
def test_every_planted_fault_is_caught(
    test_file: str, own_bed: Bed, record_property: Callable[[str, object], None]
) -> None:
    results = plant_group(own_bed, BY_TEST_FILE[test_file])
    record_property("planted faults", [row(result) for result in results])
    assert not any(result.why for result in results), table(results)


def test_every_listed_fault_is_planted() -> None:
    assert sorted(fault.id for group in BY_TEST_FILE.values() for fault in group) == sorted(f.id for f in FAULTS)
    assert FAULTS, "no fault is listed in tests/faults"


def test_every_area_of_the_tests_has_a_planted_fault(root: Path) -> None:
    with_fault = {fault.area for fault in read_faults(root / "tests" / "faults")}
    areas = {path.parent.relative_to(root / "tests").parts[0] for path in (root / "tests").rglob("*/test_*.py")}
    assert not sorted(areas - WITHOUT_FAULTS - with_fault)


CODE = "def double(x):\n    return x + x\n"
TEST = (
    "from proveout.double import double\n"
    "def test_double():\n    assert double(3) == 6\n"
    "def test_sign():\n    assert double(1) > 0\n"
)


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """A small checkout with one function and two tests of it."""
    (tmp_path / "src" / "proveout").mkdir(parents=True)
    (tmp_path / "src" / "proveout" / "__init__.py").touch()
    (tmp_path / "src" / "proveout" / "double.py").write_text(CODE)
    (tmp_path / "tests" / "small").mkdir(parents=True)
    (tmp_path / "tests" / "small" / "test_double.py").write_text(TEST)
    (tmp_path / "pytest.ini").write_text("[pytest]\n")
    return tmp_path


def small(id: str, find: str, replace: str, test: str = "test_double") -> Fault:
    return Fault(
        id=id,
        file="src/proveout/double.py",
        find=find,
        replace=replace,
        test=f"tests/small/test_double.py::{test}",
    )


def planted(faults: list[Fault], checkout: Path, place: Path, warm: Warm) -> list[str]:
    """Why each fault was not caught, in the order given."""
    bed = Bed(checkout, place / "place", place / "compiled", warm)
    return [result.why for result in plant_group(bed, faults)]


def test_a_fault_counts_only_when_its_test_fails_for_it(checkout: Path) -> None:
    faults = [
        small("caught", "x + x", "x - x"),
        small("same length, caught", "x + x", "x + 1"),
        small("not caught", "x + x", "x + 2", test="test_sign"),
        small("another reason", "x + x", "x + y"),
        small("no import", "def double", "import nothing_of_that_name\ndef double"),
    ]
    results = {result.fault.id: result.why for result in plant_all(faults, source=checkout, workers=2)}
    assert results["caught"] == ""
    assert results["same length, caught"] == ""
    assert results["not caught"].startswith("NOT CAUGHT")
    assert results["another reason"].startswith("the test failed for another reason: NameError")
    assert results["no import"].startswith("pytest ended with 4 instead of a failing test")


def test_a_test_that_fails_anyway_proves_nothing(checkout: Path, tmp_path: Path, warm: Warm) -> None:
    (checkout / "src" / "proveout" / "double.py").write_text(CODE.replace("+", "-"))
    (why,) = planted([small("any", "x - x", "x * 0")], checkout, tmp_path, warm)
    assert why.startswith("the test does not pass before anything is planted")


KERNEL = """
import numba

@numba.njit(cache=True)
def inner(x):
    return x + x
"""
OUTER = """
import numba
from proveout.engine.kernels.inner import inner

@numba.njit(cache=True)
def outer(x):
    return inner(x) + 1.0
"""


KERNELS = "src/proveout/engine/kernels"


@pytest.fixture
def with_kernel(checkout: Path) -> Path:
    """The small checkout with one compiled function."""
    kernels = checkout / KERNELS
    kernels.mkdir(parents=True)
    for folder in (kernels, kernels.parent):
        (folder / "__init__.py").touch()
    (kernels / "inner.py").write_text(KERNEL)
    return checkout


def test_a_fault_in_compiled_code_reaches_the_kernels_that_hold_it(
    with_kernel: Path, tmp_path: Path, warm: Warm
) -> None:
    (with_kernel / KERNELS / "outer.py").write_text(OUTER)
    test = "from proveout.engine.kernels.outer import outer\ndef test_outer():\n    assert outer(2.0) == 5.0\n"
    (with_kernel / "tests" / "small" / "test_outer.py").write_text(test)
    common: dict[str, Any] = {
        "file": f"{KERNELS}/inner.py",
        "find": "x + x",
        "test": "tests/small/test_outer.py::test_outer",
    }
    faults = [
        Fault(id="deep, of the same length", replace="x - x", **common),
        Fault(id="no change of the value", replace="2 * x", **common),
    ]
    assert planted(faults, with_kernel, tmp_path, warm) == ["", "NOT CAUGHT: the test still passes"]


def test_a_fault_may_ask_for_the_plain_twin_of_a_kernel(with_kernel: Path, tmp_path: Path, warm: Warm) -> None:
    """The test passes only where nothing is compiled."""
    test = (
        "from proveout.engine.kernels.inner import inner\n"
        "def test_inner():\n    assert not hasattr(inner, 'py_func')\n    assert inner(2.0) == 4.0\n"
    )
    (with_kernel / "tests" / "small" / "test_inner.py").write_text(test)
    common: dict[str, Any] = {
        "file": f"{KERNELS}/inner.py",
        "find": "x + x",
        "replace": "x - x",
        "test": "tests/small/test_inner.py::test_inner",
    }
    faults = [Fault(id="plain", jit=False, **common), Fault(id="compiled", **common)]
    plain, compiled = planted(faults, with_kernel, tmp_path, warm)
    assert plain == ""
    assert compiled.startswith("the test does not pass before anything is planted")


def test_the_copy_is_restored_after_every_planting(checkout: Path, tmp_path: Path, warm: Warm) -> None:
    bed = Bed(checkout, tmp_path / "place", tmp_path / "compiled", warm)
    assert bed.plant(small("caught", "x + x", "x - x")) == ""
    assert (bed.root / "src" / "proveout" / "double.py").read_text() == CODE


@pytest.mark.parametrize("ill", ["os.abort()", "time.sleep(60.0)"])
def test_what_only_a_fork_suffers_from_is_run_in_a_process(
    ill: str,
    checkout: Path,
    tmp_path: Path,
    warm: Warm,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(plant_faults, "FORK_LIMIT_S", 3.0)
    only_in_fork = f"import os, sys, time\nif 'ortools.sat.python.cp_model' in sys.modules:\n    {ill}\n"
    (checkout / "tests" / "small" / "test_double.py").write_text(only_in_fork + TEST)
    bed = Bed(checkout, tmp_path / "place", tmp_path / "compiled", warm)
    assert bed.plant(small("caught", "x + x", "x - x")) == ""
    assert bed.plant(small("not caught", "x + x", "x + 2", test="test_sign")).startswith("NOT CAUGHT")
    told = capsys.readouterr().err
    assert told.count("a process begins: tests/small/test_double.py") == 2
    assert "test_double.py" in told.partition("a process begins")[2].partition("\n")[2], "where it stood is not told"


def test_where_ci_is_set_no_long_difference_is_worked_out(
    checkout: Path, tmp_path: Path, warm: Warm, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CI", "true")
    monkeypatch.setenv("BUILD_NUMBER", "1")
    names = "import os\ndef test_names():\n    assert not {'CI', 'BUILD_NUMBER'} & set(os.environ)\n"
    (checkout / "tests" / "small" / "test_double.py").write_text(names + TEST)
    bed = Bed(checkout, tmp_path / "place", tmp_path / "compiled", warm)
    assert bed.run(["tests/small/test_double.py::test_names"], bed.warm_cache)[0] == 0


@pytest.mark.parametrize(
    ("find", "replace", "says"),
    [
        ("x", "y", "occurs 3 times"),
        ("z", "y", "occurs 0 times"),
        ("x + x", "x + x", "changes nothing"),
        ("x + x", "x +", "does not compile"),
    ],
)
def test_a_fault_that_cannot_be_planted_is_named(checkout: Path, find: str, replace: str, says: str) -> None:
    assert says in wrongness(small("any", find, replace), checkout)


def test_the_list_refuses_a_second_fault_of_one_id_and_a_missing_field(tmp_path: Path) -> None:
    entry = '[[fault]]\nid = "a"\nfile = "f"\nfind = "x"\nreplace = "y"\ntest = "tests/a/t.py::t"\n'
    (tmp_path / "twice.toml").write_text(entry * 2)
    with pytest.raises(ValueError, match="used twice"):
        read_faults(tmp_path)
    for wrong in (entry.replace('find = "x"\n', ""), entry + "jit = 0\n"):
        (tmp_path / "twice.toml").write_text(wrong)
        with pytest.raises(ValueError, match="exactly the texts"):
            read_faults(tmp_path)
    (tmp_path / "twice.toml").write_text(entry + "jit = false\n")
    assert [fault.jit for fault in read_faults(tmp_path)] == [False]


def test_the_faults_of_one_test_file_stay_together() -> None:
    elsewhere = Fault(id="elsewhere", file="f.py", find="x", replace="y", test="tests/other/test_other.py::test")
    faults = [elsewhere, *(small(str(n), "x", "y") for n in range(5))]
    assert by_test_file(faults) == [faults[1:], [elsewhere]]


def test_what_one_copy_has_compiled_the_other_finds(with_kernel: Path, tmp_path: Path, warm: Warm) -> None:
    test = (
        "from proveout.engine.kernels.inner import inner\n"
        "def test_inner():\n    assert inner(2.0) == 4.0\n    assert inner.stats.cache_hits\n"
    )
    (with_kernel / "tests" / "small" / "test_inner.py").write_text(test)
    statuses = []
    for place in ("first", "second"):
        bed = Bed(with_kernel, tmp_path / place, tmp_path / "compiled", warm)
        statuses.append(bed.run(["tests/small/test_inner.py::test_inner"], bed.warm_cache)[0])
    assert statuses == [1, 0]


def test_what_was_compiled_beside_the_code_need_not_be_compiled_in_the_copy(
    with_kernel: Path, tmp_path: Path, warm: Warm
) -> None:
    call = "import sys\nsys.path.insert(0, 'src')\nfrom proveout.engine.kernels.inner import inner\ninner(2.0)\n"
    kept = {name: value for name, value in os.environ.items() if name not in {"NUMBA_CACHE_DIR", "PYTHONPATH"}}
    subprocess.run([sys.executable, "-c", call], cwd=with_kernel, env=kept, check=True)
    test = (
        "from proveout.engine.kernels.inner import inner\n"
        "def test_inner():\n    assert inner(2.0) == 4.0\n    assert inner.stats.cache_hits\n"
    )
    (with_kernel / "tests" / "small" / "test_inner.py").write_text(test)
    bed = Bed(with_kernel, tmp_path / "place", tmp_path / "compiled", warm)
    fault = Fault(
        id="in the kernel", file=f"{KERNELS}/inner.py", find="x + x", replace="x - x",
        test="tests/small/test_inner.py::test_inner",
    )  # fmt: skip
    assert [result.why for result in plant_group(bed, [fault])] == [""]
