"""Run the benchmarks of this folder one after the other and keep each one's last line with commit and machine."""

from __future__ import annotations

import argparse
import ast
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from yardstick import yardstick_s

FOLDER = Path(__file__).resolve().parent
ROOT = FOLDER.parent
NOT_PROGRAMS = {"run", "yardstick", "outside", "accuracy"}  # the last two print tables of their own
LIMIT_S = 240.0
KEYS = {"name", "figures", "ratios", "targets", "met", "repeats", "spread", "excluded", "machine"}


def programs(folder: Path) -> list[Path]:
    """The benchmarks of a folder: modules with a main, by name."""
    found = []
    for path in sorted(folder.glob("*.py")):
        if path.stem in NOT_PROGRAMS:
            continue
        names = {node.name for node in ast.parse(path.read_text("utf-8")).body if isinstance(node, ast.FunctionDef)}
        if "main" in names:
            found.append(path)
    return found


def name_of(path: Path) -> str:
    """A benchmark's name; its file ends in an underscore where Python has a module of that name."""
    return path.stem.removesuffix("_")


def last_line(output: str) -> dict[str, Any]:
    """The JSON object on the last line; ValueError when there is none or its keys are others."""
    lines = output.strip().splitlines()
    try:
        found = json.loads(lines[-1] if lines else "")
    except json.JSONDecodeError as error:
        message = "the last line is not one JSON object"
        raise ValueError(message) from error
    if not isinstance(found, dict) or set(found) != KEYS:
        message = f"the last line must be an object with exactly the keys {sorted(KEYS)}"
        raise ValueError(message)
    return found


def commit() -> str:
    """The commit under test, with a mark when files of it are changed."""
    program = shutil.which("git")
    if program is None:
        return "no commit known"
    git = [program, "-C", str(ROOT)]
    head = subprocess.run([*git, "rev-parse", "HEAD"], capture_output=True, text=True, check=False)
    if head.returncode:
        return "no commit known"
    dirty = subprocess.run(
        [*git, "status", "--porcelain", "--untracked-files=no", "--", "src", "bench", "uv.lock"],
        capture_output=True,
        text=True,
        check=False,
    )
    return head.stdout.strip() + (" with changes" if dirty.stdout.strip() else "")


def run_one(path: Path, *, full: bool, limit_s: float = LIMIT_S) -> dict[str, Any]:
    """The result of one benchmark; ValueError with the reason when it gave none."""
    environment = os.environ | {"PROVEOUT_BENCH_FULL": "1" if full else "0", "PROVEOUT_STORE": "off"}
    try:
        done = subprocess.run(
            [sys.executable, str(path)],
            cwd=ROOT,
            env=environment,
            stdout=subprocess.PIPE,
            text=True,
            timeout=None if full else limit_s,
            check=False,
        )
    except subprocess.TimeoutExpired as error:
        message = f"no end within {limit_s:.0f} s (FULL=1 lifts the limit)"
        raise ValueError(message) from error
    if done.returncode:
        message = f"ended with status {done.returncode}"
        raise ValueError(message)
    return last_line(done.stdout)


def main() -> int:
    """Run what is asked for; 0 when every benchmark ran and met its targets."""
    parser = argparse.ArgumentParser(description="Run the benchmarks and keep their results.")
    parser.add_argument("--only", default="", help="the name of one benchmark")
    parser.add_argument("--full", action="store_true", help="no limit of 240 s")
    parser.add_argument("--results", type=Path, default=FOLDER / "results")
    arguments = parser.parse_args()
    chosen = [path for path in programs(FOLDER) if arguments.only in ("", name_of(path))]
    if not chosen:
        print("no such benchmark; there are:", *(name_of(path) for path in programs(FOLDER)), file=sys.stderr)
        return 2
    arguments.results.mkdir(parents=True, exist_ok=True)
    bad = 0
    for path in chosen:
        try:
            result = run_one(path, full=arguments.full)
        except ValueError as error:
            print(f"{name_of(path)}: {error}", file=sys.stderr)
            bad += 1
            continue
        result |= {"commit": commit(), "full": arguments.full, "yardstick_s": yardstick_s()}
        text = json.dumps(result, indent=2, sort_keys=True) + "\n"
        (arguments.results / f"{name_of(path)}.json").write_text(text, encoding="utf-8")
        print(json.dumps(result, sort_keys=True))
        missed = sorted(key for key, met in result["met"].items() if not met)
        if missed:
            print(f"{name_of(path)}: targets missed: {', '.join(missed)}", file=sys.stderr)
            bad += 1
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main())
