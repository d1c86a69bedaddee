"""Plant each fault of tests/faults/*.toml in a copy of the code and demand that the test it names fails.

A fault: id, file, find (source text occurring once), replace, test (a pytest node id), and for a kernel perhaps
jit = false: then the test runs the plain twin of the kernels, as nothing needs to be compiled anew. Before anything is
planted the named tests must pass in the copy. A planted test counts as caught only when it fails while it runs: a file
that no longer compiles, imports or collects proves nothing about the check.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import tomllib
import xml.etree.ElementTree as ET
from collections import defaultdict, deque
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Self

ROOT = Path(__file__).resolve().parent.parent
LEFT_OUT = (".*", "__pycache__", "demo-result", "outside-result", "build", "dist", "node_modules")
WRONG_REASONS = (
    "ImportError",
    "ModuleNotFoundError",
    "SyntaxError",
    "IndentationError",
    "NameError",
    "UnboundLocalError",
)
# where one of these is set pytest works out the whole difference of two long lists: minutes for a few hundred rows
LONG_DIFFERENCES = ("CI", "BUILD_NUMBER")
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
FORK_LIMIT_S = 60.0
TEST_LIMIT_S = 120.0  # in a process of its own
ALL_LIMIT_S = 600.0  # all named tests together, before anything is planted
STOPPED = 124
TOLD_CHARACTERS = 3000
_PACKAGE_NAME = re.compile(r"^\s*(?:from|import)\s+(proveout[\w.]*)", re.MULTILINE)
FIELDS = {"id", "file", "find", "replace", "test"}


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One fault: in `file`, `find` becomes `replace`, and `test` must then fail."""

    id: str
    file: str
    find: str
    replace: str
    test: str
    jit: bool = True

    @property
    def area(self) -> str:
        """The folder of tests/ that the named test lies in."""
        return self.test.split("/")[1]


@dataclass(frozen=True, kw_only=True)
class Result:
    """How a planting came out: `why` says why the fault was not caught and is empty when it was."""

    fault: Fault
    why: str
    cpu_s: float


def read_faults(folder: Path) -> list[Fault]:
    """All faults of a folder's TOML files, by file name and place; ValueError when an entry is not one."""
    faults: list[Fault] = []
    for path in sorted(folder.glob("*.toml")):
        for entry in tomllib.loads(path.read_text(encoding="utf-8")).get("fault", []):
            texts = {name: value for name, value in entry.items() if name != "jit"}
            if (
                set(texts) != FIELDS
                or not all(isinstance(value, str) for value in texts.values())
                or not isinstance(entry.get("jit", True), bool)
            ):
                message = (
                    f"{path.name}: a fault has exactly the texts {sorted(FIELDS)} and perhaps jit = false; "
                    f"found {sorted(entry)}"
                )
                raise ValueError(message)
            faults.append(Fault(**entry))
    ids = [fault.id for fault in faults]
    twice = sorted({name for name in ids if ids.count(name) > 1})
    if twice:
        message = f"fault ids used twice: {twice}"
        raise ValueError(message)
    return faults


def wrongness(fault: Fault, root: Path) -> str:
    """Why a fault cannot be planted under `root`; empty when it can."""
    path = root / fault.file
    if not path.is_file():
        return f"{fault.file} does not exist"
    text = path.read_text(encoding="utf-8")
    if text.count(fault.find) != 1:
        return f"the text to find occurs {text.count(fault.find)} times in {fault.file}, not once"
    if fault.find == fault.replace:
        return "the replacement changes nothing"
    if not (root / fault.test.split("::")[0]).is_file():
        return f"{fault.test.split('::')[0]} does not exist"
    if path.suffix == ".py":
        try:
            compile(text.replace(fault.find, fault.replace), fault.file, "exec")
        except SyntaxError as error:
            return f"the planted file does not compile: {error}"
    return ""


class Warm:
    """The process of warm_pytest.py, of which every run of a planted test is a fork; a context manager."""

    def __enter__(self) -> Self:
        # a fork is only safe in a process without threads of its own: the linear algebra libraries begin some on import
        self.server = subprocess.Popen(
            [sys.executable, str(ROOT / "scripts" / "warm_pytest.py")],
            env=os.environ | ONE_THREAD,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        return self

    def __exit__(self, *_: object) -> None:
        self.server.communicate()

    def ask(self, request: dict[str, object]) -> tuple[int, float]:
        """Exit status and processor seconds of one run."""
        assert self.server.stdin
        assert self.server.stdout
        self.server.stdin.write(json.dumps(request) + "\n")
        self.server.stdin.flush()
        line = self.server.stdout.readline()
        if not line:
            message = f"the process that runs the tests ended with {self.server.wait()}"
            raise RuntimeError(message)
        answer = json.loads(line)
        return int(answer["status"]), float(answer["cpu_s"])


class Bed:
    """A copy of the checkout in which faults are planted, one at a time."""

    def __init__(self, source: Path, place: Path, warm_cache: Path, warm: Warm) -> None:
        self.source, self.root = source, place / "tree"
        shutil.copytree(source, self.root, ignore=shutil.ignore_patterns(*LEFT_OUT), symlinks=True)
        self.warm_cache = warm_cache  # compiled code of what is not planted, perhaps shared with other beds
        self.warm = warm
        self.reports = place / "report.xml"
        self.log = place / "log"
        self.plantings = 0
        self.cpu_s = 0.0
        kept = {
            name: value
            for name, value in os.environ.items()
            if not name.startswith("PYTEST_") and name not in LONG_DIFFERENCES
        }
        kept.pop("PYTHONDONTWRITEBYTECODE", None)  # the copy is read hundreds of times
        # whole plans that several tests make: an entry names all code that made it, so a planted file finds none
        decisions = {"DECISIONS_KEPT": str(place / "decisions")}
        self.environment = kept | ONE_THREAD | decisions | {"PYTHONPATH": str(self.root / "src")}

    def take_compiled(self) -> None:
        """Take over what has been compiled beside the code that was copied, but for what the copy has of its own."""
        for index in sorted((self.source / "src").rglob("__pycache__/*.nbi")):
            folder = self.warm_cache / "_".join(index.parent.parent.relative_to(self.source).parts)
            if not (folder / index.name).exists():
                folder.mkdir(parents=True, exist_ok=True)
                for kept in (index, *sorted(index.parent.glob(f"{index.stem}.*.nbc"))):
                    shutil.copy2(kept, folder)

    def run(self, tests: list[str], compiled: Path, *, jit: bool = True, limit_s: float = 0.0) -> tuple[int, str]:
        """Run pytest on the node ids, the kernels compiled or plain; its exit status and its output.

        It runs in a fork. A fork of a process with so many libraries may stand still or die, rarely: what it printed is
        told, and the tests run once more in a process of their own, at most `limit_s` each time where that is given.
        """
        self.reports.unlink(missing_ok=True)
        # to look for garbage, for errors in finalizers alone, is left to the run of the tests themselves
        without = ("xdist", "cacheprovider", "unraisableexception")
        arguments = ["-x", "-q", "--color=no", *(word for name in without for word in ("-p", f"no:{name}"))]
        arguments += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]  # the server has some plugins loaded
        arguments += ["--durations=0", "--durations-min=9999", f"--junit-xml={self.reports}", *tests]
        environment = {
            "NUMBA_CACHE_DIR": str(compiled),
            "NUMBA_DISABLE_JIT": "0" if jit else "1",
            "FAULT_PLANTED": "1",  # tests/conftest.py: a failing example is not made smaller
        }
        status = self._in_fork(arguments, environment, limit_s or FORK_LIMIT_S)
        if status < 0 or status == STOPPED:
            print(f"a fork ended with {status}, a process begins: {tests[0]}\n{self._told()}", file=sys.stderr)
            self.reports.unlink(missing_ok=True)
            status = self._in_process(arguments, environment, limit_s or TEST_LIMIT_S)
        return status, self._told()

    def _told(self) -> str:
        """The end of the log, or where all threads stood when the limit came near."""
        text = self.log.read_text(encoding="utf-8", errors="replace")
        stood = text.rfind("Timeout (")
        return text[stood:][:TOLD_CHARACTERS] if stood >= 0 else text[-TOLD_CHARACTERS:]

    def _in_fork(self, arguments: list[str], environment: dict[str, str], limit_s: float) -> int:
        status, cpu_s = self.warm.ask(
            {
                "arguments": arguments,
                "environment": self.environment | environment,
                "folder": str(self.root),
                "log": str(self.log),
                "limit_s": limit_s,
            }
        )
        self.cpu_s += cpu_s
        return status

    def _in_process(self, arguments: list[str], environment: dict[str, str], limit_s: float) -> int:
        with self.log.open("wb") as log:
            process = subprocess.Popen(
                [sys.executable, "-m", "pytest", *arguments],
                cwd=self.root,
                env=self.environment | environment,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
            try:
                return process.wait(limit_s)
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, signal.SIGKILL)
                process.wait()
                return STOPPED

    def failure(self) -> str:
        """The first failure's message in the last run, empty when nothing failed while it ran."""
        found = ET.parse(self.reports).getroot().find(".//failure")  # noqa: S314  # written by pytest just now
        return "" if found is None else found.get("message", "")

    def plant(self, fault: Fault) -> str:
        """Plant, run the named test, restore; why the fault was not caught, empty when it was."""
        path = self.root / fault.file
        before, stamp = path.read_text(encoding="utf-8"), path.stat()
        self.plantings += 1
        with tempfile.TemporaryDirectory(dir=self.root.parent) as copied:
            compiled_anew = fault.jit and "kernels" in path.parts
            compiled = self._cache_without(path, Path(copied)) if compiled_anew else self.warm_cache
            path.write_text(before.replace(fault.find, fault.replace), encoding="utf-8")
            # byte code is kept by whole second and size: give every planting a second of its own
            os.utime(path, (stamp.st_atime, stamp.st_mtime + 10 * self.plantings))
            try:
                status, output = self.run([fault.test], compiled, jit=fault.jit)
            finally:
                path.write_text(before, encoding="utf-8")
                os.utime(path, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))
        return self._judge(status, output)

    def _cache_without(self, changed: Path, place: Path) -> Path:
        """A copy of the compiled code that lacks all that holds code of `changed`.

        The compiler looks only whether a function's own file has changed, not the files that it calls into.
        """
        compiled = place / "compiled"
        compiled.mkdir()
        if self.warm_cache.is_dir():
            shutil.copytree(self.warm_cache, compiled, dirs_exist_ok=True)
        for module in (changed, *self._compiled_with(changed)):
            for kept in [*compiled.rglob(f"{module.stem}.*.nbi"), *compiled.rglob(f"{module.stem}.*.nbc")]:
                kept.unlink()
        return compiled

    def _compiled_with(self, changed: Path) -> list[Path]:
        """Other kernels whose compiled form holds code of `changed`: those that import it, directly or not."""
        imports = {
            file: set(_PACKAGE_NAME.findall(file.read_text(encoding="utf-8")))
            for file in sorted((self.root / "src").rglob("*.py"))
            if "kernels" in file.parts
        }
        found, waiting = {changed}, [changed]
        while waiting:
            name = ".".join(waiting.pop().relative_to(self.root / "src").with_suffix("").parts)
            for file, names in imports.items():
                # `from proveout.x.kernels import y` names the folder only: then every module of it may be meant
                if file not in found and names & {name, name.rpartition(".")[0]}:
                    found.add(file)
                    waiting.append(file)
        return sorted(found - {changed})

    def _judge(self, status: int, output: str) -> str:
        if status == 0:
            return "NOT CAUGHT: the test still passes"
        if status != 1:
            return f"pytest ended with {status} instead of a failing test:\n{output}"
        message = self.failure()
        if not message:
            return f"the test broke before it ran:\n{output}"
        if message.split(":")[0].strip().rsplit(".", 1)[-1] in WRONG_REASONS:
            return f"the test failed for another reason: {message}"
        return ""


def by_test_file(faults: list[Fault]) -> list[list[Fault]]:
    """Faults whose tests lie in one file, the largest group first."""
    groups: dict[str, list[Fault]] = defaultdict(list)
    for fault in faults:
        groups[fault.test.split("::")[0]].append(fault)
    return [group for _, group in sorted(groups.items(), key=lambda item: (-len(item[1]), item[0]))]


def failing_before(bed: Bed, group: list[Fault]) -> dict[str, str]:
    """By fault id, why its test says nothing: it does not pass before anything is planted."""
    failing: dict[str, str] = {}
    for jit in (True, False):
        faults = [fault for fault in group if fault.jit == jit]
        tests = sorted({fault.test for fault in faults})
        if not tests or bed.run(tests, bed.warm_cache, jit=jit, limit_s=ALL_LIMIT_S)[0] == 0:
            continue
        for test in tests:
            status, output = bed.run([test], bed.warm_cache, jit=jit)
            if status != 0:
                why = f"the test does not pass before anything is planted (pytest {status}):\n{output}"
                failing |= {fault.id: why for fault in faults if fault.test == test}
    return failing


def plant_group(bed: Bed, group: list[Fault]) -> list[Result]:
    """Plant faults whose tests lie in one file, one after the other."""
    bed.take_compiled()
    whys = {fault.id: wrongness(fault, bed.root) for fault in group}
    whys |= failing_before(bed, [fault for fault in group if not whys[fault.id]])
    results: list[Result] = []
    for fault in group:
        before_s = bed.cpu_s
        why = whys[fault.id] or bed.plant(fault)
        results.append(Result(fault=fault, why=why, cpu_s=bed.cpu_s - before_s))
    return results


def plant_all(
    faults: list[Fault], *, source: Path, workers: int, tell: Callable[[Result], None] = lambda _: None
) -> list[Result]:
    """Plant every fault, each worker in a copy of its own; the results in the order given."""
    waiting = deque(by_test_file(faults))
    done: dict[str, Result] = {}

    def work(place: Path) -> None:
        with Warm() as warm:
            bed = Bed(source, place, place / "compiled", warm)
            while waiting:
                try:
                    group = waiting.popleft()
                except IndexError:
                    return
                for result in plant_group(bed, group):
                    done[result.fault.id] = result
                    tell(result)

    with tempfile.TemporaryDirectory(prefix="proveout-faults-") as name, ThreadPoolExecutor(workers) as pool:
        for working in [pool.submit(work, Path(name) / str(number)) for number in range(workers)]:
            working.result()
    return [done[fault.id] for fault in faults]


def row(result: Result) -> str:
    """One line: how it came out, its processor time, which fault, which test."""
    word = "FAILED" if result.why else "caught"
    return f"{word:7} {result.cpu_s:5.1f} s  {result.fault.id:40} {result.fault.test}"


def table(results: list[Result]) -> str:
    """One line a fault, then how many were caught."""
    lines = [row(result) for result in results]
    lines += [f"\n{result.fault.id}: {result.why}" for result in results if result.why]
    lines.append(f"{sum(not result.why for result in results)} of {len(results)} planted faults caught")
    return "\n".join(lines)


def main() -> int:
    """Plant what is asked for; 0 when every fault was caught."""
    parser = argparse.ArgumentParser(description="Plant each fault and demand that the test it names fails.")
    parser.add_argument("--only", default="", help="a fault's id, a file's name in tests/faults or an area of tests/")
    parser.add_argument("--workers", type=int, default=2)
    arguments = parser.parse_args()
    faults = read_faults(ROOT / "tests" / "faults")
    if arguments.only:
        named = {fault.id for fault in faults if arguments.only in (fault.id, fault.area)}
        own = ROOT / "tests" / "faults" / f"{arguments.only}.toml"
        if own.is_file():
            named |= {entry["id"] for entry in tomllib.loads(own.read_text(encoding="utf-8")).get("fault", [])}
        faults = [fault for fault in faults if fault.id in named]
    if not faults:
        print("no such fault", file=sys.stderr)
        return 2
    results = plant_all(
        faults,
        source=ROOT,
        workers=arguments.workers,
        tell=lambda result: print(row(result), file=sys.stderr, flush=True),
    )
    print("\n" + table(results))
    return int(any(result.why for result in results))


if __name__ == "__main__":
    sys.exit(main())
