"""Plan every STEP file that others made with the starting shop, and print what came of each as a table.

    PROVEOUT_DATA=FOLDER python bench/outside.py [--only ID] [--quick COUNT] [--jobs N] [--keep DIR]

Files are found by kind (their content begins as ISO 10303-21) and are named by the first eight digits of their sha256.
A whole run writes docs/outside.md. With --keep a run that was stopped is taken up again, as long as the commit is the
same. The exit status is 1 when a file met a defect of ours: a traceback, an internal error, no end within the time, a
half-written folder.
"""

from __future__ import annotations

import argparse
import dataclasses
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from run import commit
from yardstick import machine, yardstick_s

ROOT = Path(__file__).resolve().parent.parent
TABLE = ROOT / "docs" / "outside.md"
FOLDERS = ("nist-pmi", "machined-parts")
STEP_START = b"ISO-10303-21"
TIME_LIMIT_S = 600
BESIDE_FACTOR = 4
HANG_AFTER_S = 60.0
POLL_S = 0.1
MUST_HOLD = ("plan.json", "plan.html", "papers.pdf", "bars.csv")
ROW_FILE = "row.json"
EXPECTED = (0, 2, 3)
REASON_WIDTH = 110
FIRST_LOOK = b"First look"
LOOK_WITHIN_S = 60.0


@dataclass(frozen=True)
class Row:
    """What came of one file; None where the plan does not say. `reason`: the first sentence of what stops it.

    look_s: seconds until the first look was printed.  look_low_s, look_high_s: machine time that it foretold, all
    clampings together.  planned_s: what the plan came to.
    """

    id: str
    status: int
    clampings_count: int | None
    tilts_count: int | None
    reached_ratio: float | None
    leftover_mm3: float | None
    gouge_mm3: float | None
    wall_s: float
    processor_s: float
    reason: str
    defects: tuple[str, ...]
    look_s: float | None = None
    look_low_s: float | None = None
    look_high_s: float | None = None
    planned_s: float | None = None


def step_files(folder: Path) -> Iterator[Path]:
    """Every file below a folder whose content begins as ISO 10303-21, in order of path."""
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            with path.open("rb") as file:
                if file.read(len(STEP_START)) == STEP_START:
                    yield path


def outside_files(data: Path) -> list[tuple[str, Path]]:
    """(id, path) of every outside file, one a content, in order of id."""
    found: dict[str, Path] = {}
    for name in FOLDERS:
        for path in step_files(data / name):
            found.setdefault(file_id(path), path)
    return sorted(found.items())


def file_id(path: Path) -> str:
    """The first eight digits of the sha256 of a file's content."""
    return hashlib.sha256(path.read_bytes()).hexdigest()[:8]


def plan_one(name: str, path: Path, *, folder: Path, limit_s: int, is_beside: bool = False) -> Row:
    """Run `proveout plan` on one file in an empty folder of its own and read what it wrote.

    limit_s: seconds a file may take.  is_beside: other work shares the processor, so that only processor seconds are
    held against the limit, and the clock may show BESIDE_FACTOR times as many.
    """
    clock_s = limit_s * (BESIDE_FACTOR if is_beside else 1)
    place = folder / name
    place.mkdir(parents=True)
    out = place / "result"
    environment = os.environ | {"PROVEOUT_STORE": "off", "PYTHONWARNINGS": "default"}
    asked = [
        sys.executable, "-m", "proveout", "plan", str(path), "--out", str(out), "--time-limit", str(clock_s),
    ]  # fmt: skip
    begin = time.perf_counter()
    with (place / "stdout").open("wb") as said, (place / "stderr").open("wb") as told:
        child = subprocess.Popen(asked, cwd=place, env=environment, stdout=said, stderr=told, start_new_session=True)
        status, processor_s, look_s = _wait(
            child, told=place / "stderr", begin=begin, until=begin + clock_s + HANG_AFTER_S
        )  # fmt: skip
    wall_s = time.perf_counter() - begin
    told_text = (place / "stderr").read_text("utf-8", errors="replace")
    plan = _read_plan(out)
    defects = list(_defects(status, out=out, place=place, told=told_text))
    if processor_s > limit_s:
        defects.append(f"took {processor_s:.0f} s of processor time, {limit_s} are allowed")
    return Row(
        id=name, status=status, wall_s=wall_s, processor_s=processor_s, reason=_reason(status, plan, told_text),
        defects=tuple(defects), look_s=look_s, **_figures(plan),
    )  # fmt: skip


def _wait(
    child: subprocess.Popen[bytes], *, told: Path, begin: float, until: float
) -> tuple[int, float, float | None]:  # fmt: skip
    """Status and processor seconds of a child and its children, and when its first look stood in the file `told`.

    A child past its time is ended by its own id.
    """
    look_s: float | None = None
    while True:
        pid, status, used = os.wait4(child.pid, os.WNOHANG)
        now = time.perf_counter()
        if look_s is None and FIRST_LOOK in told.read_bytes():
            look_s = now - begin
        if pid:
            child.returncode = os.waitstatus_to_exitcode(status)
            return child.returncode, used.ru_utime + used.ru_stime, look_s
        if now > until:
            os.killpg(child.pid, 9)
            _, _, used = os.wait4(child.pid, 0)
            child.returncode = -9
            return -9, used.ru_utime + used.ru_stime, look_s
        time.sleep(POLL_S)


def keep_row(row: Row, folder: Path) -> None:
    """Write a finished row beside its result, with the commit that it was planned at."""
    kept = {"commit": commit(), "row": dataclasses.asdict(row)}
    (folder / row.id / ROW_FILE).write_text(json.dumps(kept, indent=2) + "\n", encoding="utf-8")


def kept_row(name: str, folder: Path) -> Row | None:
    """The row of a file that was finished at this commit; what another commit or a stopped run left is cleared away.

    Where files differ from their commit, or none is known, nothing tells whether the program is the same.
    """
    try:
        kept = json.loads((folder / name / ROW_FILE).read_text("utf-8"))
    except (OSError, ValueError):
        kept = {}
    if kept.get("commit") != commit() or " " in commit():
        shutil.rmtree(folder / name, ignore_errors=True)
        return None
    return Row(**{**kept["row"], "defects": tuple(kept["row"]["defects"])})


def _read_plan(out: Path) -> dict[str, Any] | None:
    try:
        return json.loads((out / "plan.json").read_bytes())
    except (OSError, ValueError):
        return None


def _figures(plan: dict[str, Any] | None) -> dict[str, Any]:
    if plan is None:
        return dict.fromkeys(
            ("clampings_count", "tilts_count", "reached_ratio", "leftover_mm3", "gouge_mm3")
        )  # fmt: skip
    outlook = plan.get("outlook") or {"cycle_s": {}}
    foretold = outlook["cycle_s"].values()
    faces = max(1, plan["part"]["faces_count"])
    clampings = plan["clampings"]
    return {
        "clampings_count": len(clampings),
        "tilts_count": sum(len(c["tilts"]) for c in clampings),
        "reached_ratio": 1.0 - len(plan["survey"]["unreached"]) / faces if clampings else 0.0,
        "leftover_mm3": plan["removal"]["leftover_mm3"],
        "gouge_mm3": plan["removal"]["gouge_mm3"],
        "look_low_s": sum(s["low"] for s in foretold) if foretold else None,
        "look_high_s": sum(s["high"] for s in foretold) if foretold else None,
        "planned_s": sum(plan["time"]["cycle_s"].values()) if plan["passes"] else None,
    }


def _reason(status: int, plan: dict[str, Any] | None, told: str) -> str:
    """The weakest proof that blocks release, or what the program said on its way out."""
    if plan is not None:
        stopping = [p for p in plan["proofs"] if p["blocks_release"] and p["verdict"] != "holds"]
        stopping.sort(key=lambda p: (p["stage"] != "clampings", p["verdict"] != "fails"))
        text = f"{stopping[0]['verdict']}: {stopping[0]['claim']}" if stopping else ""
    else:
        lines = [line for line in told.splitlines() if line.strip()]
        text = lines[-1] if lines else f"nothing said, status {status}"
    return text if len(text) <= REASON_WIDTH else text[: REASON_WIDTH - 1] + "…"


def _defects(status: int, *, out: Path, place: Path, told: str) -> Iterator[str]:
    if status == -9:
        yield "no end a minute past its time limit"
    elif status not in EXPECTED:
        yield f"status {status}"
    if "Traceback" in told or "at fault" in told:
        yield "an error of ours: " + next(
            (line for line in told.splitlines() if "at fault" in line), told.strip().splitlines()[-1]
        )
    if "Warning" in told:
        yield "a warning of the interpreter"
    planned = status in (0, 3)
    missing = [name for name in MUST_HOLD if not (out / name).is_file()]
    if planned and missing:
        yield f"the result lacks {', '.join(missing)}"
    if not planned and out.exists():
        yield "a result folder without a plan"
    left = sorted(p.name for p in place.iterdir() if p.name not in ("stdout", "stderr", "result"))
    if left:
        yield f"left behind: {', '.join(left)}"


def _cell(value: float | None, digits: int = 0, scale: float = 1.0) -> str:
    return "–" if value is None else f"{value * scale:.{digits}f}"


def _range(low_s: float | None, high_s: float | None) -> str:
    if low_s is None or high_s is None:
        return "–"
    return f"{_cell(low_s, 1, 1.0 / 60.0)} to {_cell(high_s, 1, 1.0 / 60.0)}"


def _is_in_range(row: Row) -> bool | None:
    """Whether the plan's machine time lay in the range of the first look; None where one of them is missing."""
    if row.planned_s is None or row.look_low_s is None or row.look_high_s is None:
        return None
    return row.look_low_s <= row.planned_s <= row.look_high_s


def table_lines(rows: Sequence[Row]) -> list[str]:
    """The rows as a Markdown table."""
    heads = (
        "id", "exit", "clampings", "tilts", "reached %", "left-over mm³", "gouge mm³", "seconds", "CPU s",
        "first look s", "minutes: look", "plan", "first reason",
    )  # fmt: skip
    lines = [
        f"| {' | '.join(heads)} |",
        "|---|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|---|",
    ]
    for row in sorted(rows, key=lambda r: r.id):
        cells = (
            row.id, str(row.status), _cell(row.clampings_count), _cell(row.tilts_count),
            _cell(row.reached_ratio, 1, 100.0), _cell(row.leftover_mm3, 1), _cell(row.gouge_mm3, 2),
            _cell(row.wall_s), _cell(row.processor_s), _cell(row.look_s), _range(row.look_low_s, row.look_high_s),
            _cell(row.planned_s, 1, 1.0 / 60.0), row.reason.replace("|", "/"),
        )  # fmt: skip
        lines.append("| " + " | ".join(cells) + " |")
    return lines


def summary_lines(rows: Sequence[Row]) -> list[str]:
    """What the table comes to, in sentences; defects last."""
    planned = [r for r in rows if r.reached_ratio is not None]
    held = [r for r in planned if r.clampings_count]
    whole = [r for r in held if r.reached_ratio is not None and r.reached_ratio >= 1.0 - 1e-9]
    quick = [r for r in planned if r.processor_s <= 60.0]
    looked = [r.look_s for r in rows if r.look_s is not None]
    soon_count = sum(s <= LOOK_WITHIN_S for s in looked)
    compared = [_is_in_range(r) for r in rows if _is_in_range(r) is not None]
    lines = [
        f"- {len(rows)} files: {len(planned)} planned, {sum(r.status == 2 for r in rows)} refused as bad input.",
        f"- {len(held)} of the planned ones can be held in this shop; {len(whole)} of those are reached whole.",
        f"- {len(quick)} of {len(planned)} were planned within 60 s of processor time.",
        f"- {len(looked)} of {len(rows)} gave a first look; {soon_count} of those within a minute.",
        f"- The plan's machine time lay in the first look's range for {sum(map(bool, compared))} of {len(compared)}.",
    ]
    if rows:
        slowest = max(rows, key=lambda r: r.wall_s)
        lines.append(f"- The slowest took {slowest.wall_s:.0f} s ({slowest.id}).")
    defects = [f"- {r.id}: {text}" for r in sorted(rows, key=lambda r: r.id) for text in r.defects]
    return [*lines, "", "## Defects", "", *(defects or ["- none"])]


def page(rows: Sequence[Row], *, jobs_count: int = 1, is_beside: bool = False) -> str:
    """docs/outside.md.  jobs_count: files planned at a time.  is_beside: other work shared the processor."""
    here = machine()
    on = f"{here['processor']}, {here['cores']} cores, {here['system']}, Python {here['python']}"
    return "\n".join(
        [
            "# Parts that others made",
            "",
            "Written by `make outside`; not to be edited. Every STEP file below `nist-pmi` and `machined-parts` of",
            "`PROVEOUT_DATA`, named by the first eight digits of its sha256, planned as a bare file with the built-in",
            "starting shop, in an empty folder, with no stored results. Exit 0 is ready, 3 planned but not ready or",
            "not to be made in this shop, 2 bad input. Reached is the share of faces that a cutter of the shop reaches",
            "in the chosen clampings; left-over and gouge are what the replay of the moves found against the target.",
            "First look s is when the first look was printed; minutes are those of the machine, a piece, all clampings",
            "together: the range that the first look foretold, and what the plan came to.",
            "The starting shop leaves out what only a measurement tells, so that nothing can be ready with it.",
            *(
                [f"{jobs_count} files were planned at a time: alone a file takes fewer seconds."]
                if jobs_count > 1
                else []
            ),
            *(
                ["Other work shared the processor: CPU s counts, seconds and first look s are longer than alone."]
                if is_beside
                else []
            ),
            "",
            f"Commit {commit()}. Machine: {on}; yardstick {yardstick_s():.2f} s.",
            "",
            *table_lines(rows),
            "",
            *summary_lines(rows),
            "",
        ]
    )


def main() -> int:
    """Plan what is asked for; 1 when any file met a defect, 2 when there is no data."""
    parser = argparse.ArgumentParser(description="Plan every outside STEP file and print the table.")
    parser.add_argument("--only", action="append", default=[], metavar="ID", help="only files whose id begins so")
    parser.add_argument("--quick", type=int, default=0, metavar="COUNT", help="only the COUNT smallest files")
    parser.add_argument(
        "--jobs", type=int, default=1, metavar="N", help="files at a time; more than 1 spoils the seconds"
    )
    parser.add_argument("--limit", type=int, default=TIME_LIMIT_S, metavar="S", help="seconds a file may take")
    parser.add_argument(
        "--beside", action="store_true", help="other work shares the processor: hold processor seconds to the limit"
    )
    parser.add_argument(
        "--keep", type=Path, metavar="DIR", help="keep the results below this folder, and take up a stopped run"
    )
    given = parser.parse_args()
    named = os.environ.get("PROVEOUT_DATA", "")
    if not named:
        print("skipped: PROVEOUT_DATA is not set: no outside data on this machine", file=sys.stderr)
        return 0
    files = outside_files(Path(named))
    if not files:
        print(f"no STEP file below {' or '.join(FOLDERS)} of PROVEOUT_DATA={named}", file=sys.stderr)
        return 2
    if given.only:
        files = [(name, path) for name, path in files if any(name.startswith(o) for o in given.only)]
    if given.quick:
        files = sorted(files, key=lambda f: (f[1].stat().st_size, f[0]))[: given.quick]
    folder = given.keep if given.keep is not None else Path(tempfile.mkdtemp(prefix="proveout-outside-"))

    def one(file: tuple[str, Path]) -> Row:
        done = kept_row(file[0], folder)
        if done is not None:
            return done
        row = plan_one(*file, folder=folder, limit_s=given.limit, is_beside=given.beside)
        keep_row(row, folder)
        text = "".join(f"; DEFECT {d}" for d in row.defects)
        print(f"{row.id}: exit {row.status}, {row.wall_s:.0f} s, CPU {row.processor_s:.0f} s{text}", file=sys.stderr)
        return row

    try:
        with ThreadPoolExecutor(max_workers=max(1, given.jobs)) as pool:
            rows = list(pool.map(one, files))
    finally:
        if given.keep is None:
            shutil.rmtree(folder, ignore_errors=True)
    print("\n".join([*table_lines(rows), "", *summary_lines(rows)]))
    if not given.only and not given.quick:
        TABLE.write_text(page(rows, jobs_count=given.jobs, is_beside=given.beside), encoding="utf-8")
    return int(any(row.defects for row in rows))


if __name__ == "__main__":
    sys.exit(main())
