"""A process that has pytest and the slow libraries loaded and runs pytest in a fork of itself on request.

Reads one JSON object a line: {"arguments", "environment", "folder", "log", "limit_s"}; answers each with one:
{"status", "cpu_s"}, the exit status of pytest (124 when it was stopped at its limit) and the processor time of the fork
and its children. folder: the checkout to test. Nothing of Proveout is loaded before the fork, so every fork reads the
code as it lies on the disk at that moment. Used for planted faults; needs a system that can fork.
"""

from __future__ import annotations

import contextlib
import faulthandler
import gc
import io
import json
import os
import signal
import sys
import tempfile
import time
from pathlib import Path

import hypothesis  # noqa: F401  # loaded for the forks, as are the next ones
import manifold3d  # noqa: F401
import msgspec  # noqa: F401
import numpy  # noqa: ICN001, F401
import OCP  # noqa: F401
import ortools.sat.python.cp_model  # noqa: F401
import pypdf  # noqa: F401
import pytest
import scipy.optimize
import scipy.spatial  # noqa: F401
import shapely  # noqa: F401
import tomlkit  # noqa: F401
import trimesh  # noqa: F401
import typst  # noqa: F401
from numba.core import caching
from numba.core import config as compiler

TELL_BEFORE_S = 5.0  # so long before its limit a fork writes where each of its threads stands


def _place_in_tree(py_file: str) -> str:
    """Where the compiled code of a file is kept: by its place in the tree, so that copies of a tree share it."""
    return os.path.relpath(Path(py_file).absolute().parent, Path.cwd()).replace(os.sep, "_")


def _warm_up() -> None:
    """Run one test of nothing, so that pytest has all that it loads late; no conftest.py and no settings are read."""
    with tempfile.TemporaryDirectory() as name, contextlib.redirect_stdout(io.StringIO()):
        test = Path(name) / "test_nothing.py"
        test.write_text("def test_nothing():\n    assert 1 + 1 == 2\n")
        arguments = ["-x", "-q", "-s", "-p", "no:xdist", "-p", "no:cacheprovider", "-p", "no:unraisableexception"]
        arguments += ["--import-mode=importlib", "-c", os.devnull, "--rootdir", name, f"--junit-xml={name}/report.xml"]
        pytest.main([*arguments, str(test)])


def _run_in_child(arguments: list[str], environment: dict[str, str], folder: str, log: str, limit_s: float) -> None:
    place = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o644)
    nothing = os.open(os.devnull, os.O_RDONLY)
    os.dup2(nothing, 0)
    os.dup2(place, 1)
    os.dup2(place, 2)
    os.setsid()
    faulthandler.dump_traceback_later(max(limit_s - TELL_BEFORE_S, 0.5 * limit_s), file=os.dup(place))
    os.environ.clear()
    os.environ.update(environment)
    os.chdir(folder)
    sys.path.insert(0, str(Path(folder) / "src"))
    compiler.reload_config()  # the place of its cache, and whether it compiles at all, differ by fork
    status = 3  # pytest's own word for an internal error
    try:
        status = int(pytest.main(arguments))
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


def run(
    *, arguments: list[str], environment: dict[str, str], folder: str, log: str, limit_s: float
) -> tuple[int, float]:
    """Exit status and processor seconds of pytest in a fork; 124 when it passed its limit and was stopped."""
    child = os.fork()
    if child == 0:
        _run_in_child(arguments, environment, folder, log, limit_s)
    end = time.monotonic() + limit_s
    while True:
        done, status, usage = os.wait4(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status), usage.ru_utime + usage.ru_stime
        if time.monotonic() > end:
            os.killpg(child, signal.SIGKILL)
            _, _, usage = os.wait4(child, 0)
            return 124, usage.ru_utime + usage.ru_stime
        time.sleep(0.01)


def main() -> None:
    """Answer requests until the input ends."""
    caching._CacheLocator.get_suitable_cache_subpath = staticmethod(_place_in_tree)  # noqa: SLF001 - no public way
    _warm_up()
    gc.collect()
    gc.freeze()  # a fork that looks for garbage need not go through, and so copy, all that is loaded here
    for request in sys.stdin:
        status, cpu_s = run(**json.loads(request))
        print(json.dumps({"status": status, "cpu_s": cpu_s}), flush=True)


if __name__ == "__main__":
    main()
