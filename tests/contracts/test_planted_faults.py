"""Every check has its planted fault, and every planted fault is caught."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import plant_faults
import pytest
from plant_faults import Bed, Fault, by_test_file, plant_all, read_faults, table, wrongness

# folders of tests/ that hold no checks of the kind a fault is planted for: contracts prove themselves on planted
# breaches, faults holds the list, outside reads data that is not always there
WITHOUT_FAULTS = {"contracts", "faults", "outside"}


def test_every_planted_fault_is_caught(root: Path, record_property: Callable[[str, object], None]) -> None:
    faults = read_faults(root / "tests" / "faults")
    assert faults, "no fault is listed in tests/faults"
    results = plant_all(faults, source=root, workers=2)
    record_property("planted faults", table(results))
    assert not any(result.why for result in results), table(results)


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


def test_a_test_that_fails_anyway_proves_nothing(checkout: Path) -> None:
    (checkout / "src" / "proveout" / "double.py").write_text(CODE.replace("+", "-"))
    results = plant_all([small("any", "x - x", "x * 0")], source=checkout, workers=1)
    assert results[0].why.startswith("the test does not pass before anything is planted")


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


def test_a_fault_in_compiled_code_reaches_the_kernels_that_hold_it(with_kernel: Path) -> None:
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
    whys = [result.why for result in plant_all(faults, source=with_kernel, workers=1)]
    assert whys == ["", "NOT CAUGHT: the test still passes"]


def test_a_fault_may_ask_for_the_plain_twin_of_a_kernel(with_kernel: Path) -> None:
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
    plain, compiled = (result.why for result in plant_all(faults, source=with_kernel, workers=1))
    assert plain == ""
    assert compiled.startswith("the test does not pass before anything is planted")


def test_the_copy_is_restored_after_every_planting(checkout: Path, tmp_path: Path) -> None:
    with Bed(checkout, tmp_path / "place", tmp_path / "compiled") as bed:
        assert bed.plant(small("caught", "x + x", "x - x")) == ""
    assert (bed.root / "src" / "proveout" / "double.py").read_text() == CODE


@pytest.mark.parametrize("ill", ["os.abort()", "time.sleep(60.0)"])
def test_what_only_a_fork_suffers_from_is_run_in_a_process(
    ill: str, checkout: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(plant_faults, "FORK_LIMIT_S", 3.0)
    only_in_fork = f"import os, sys, time\nif 'ortools.sat.python.cp_model' in sys.modules:\n    {ill}\n"
    (checkout / "tests" / "small" / "test_double.py").write_text(only_in_fork + TEST)
    with Bed(checkout, tmp_path / "place", tmp_path / "compiled") as bed:
        assert bed.plant(small("caught", "x + x", "x - x")) == ""
        assert bed.plant(small("not caught", "x + x", "x + 2", test="test_sign")).startswith("NOT CAUGHT")
    told = capsys.readouterr().err
    assert told.count("a process begins: tests/small/test_double.py") == 2
    assert "test_double.py" in told.partition("a process begins")[2].partition("\n")[2], "where it stood is not told"


def test_where_ci_is_set_no_long_difference_is_worked_out(
    checkout: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CI", "true")
    monkeypatch.setenv("BUILD_NUMBER", "1")
    names = "import os\ndef test_names():\n    assert not {'CI', 'BUILD_NUMBER'} & set(os.environ)\n"
    (checkout / "tests" / "small" / "test_double.py").write_text(names + TEST)
    with Bed(checkout, tmp_path / "place", tmp_path / "compiled") as bed:
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


def test_what_one_copy_has_compiled_the_other_finds(with_kernel: Path, tmp_path: Path) -> None:
    test = (
        "from proveout.engine.kernels.inner import inner\n"
        "def test_inner():\n    assert inner(2.0) == 4.0\n    assert inner.stats.cache_hits\n"
    )
    (with_kernel / "tests" / "small" / "test_inner.py").write_text(test)
    statuses = []
    for place in ("first", "second"):
        with Bed(with_kernel, tmp_path / place, tmp_path / "compiled") as bed:
            statuses.append(bed.run(["tests/small/test_inner.py::test_inner"], bed.warm_cache)[0])
    assert statuses == [1, 0]
