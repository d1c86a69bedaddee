"""Watched times of a calibration program: what the file says, and the empty file to write them into."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import msgspec

from proveout.intake.toml_words import Place, load_toml, read_text
from proveout.quantities.errors import BadInput, OutOfRange

LONGEST_S = 3600.0
TIMES = "times_s"


class WatchedTimes(msgspec.Struct, frozen=True, kw_only=True):
    """Seconds by the name of their stretch, for one machine's program of one fingerprint."""

    machine_id: str
    fingerprint: str
    seconds: dict[str, float]


def times_draft(*, machine_id: str, fingerprint: str, stretches: Sequence[tuple[str, float]]) -> str:
    """The file to fill in.  stretches: name and the seconds that are foretold."""
    lines = [
        "# Seconds by the stop watch. Take the # away before a stretch that was timed, and write its seconds behind =.",
        f'machine = "{machine_id}"',
        f'program = "{fingerprint}"   # of the program that was run',
        "",
        f"[{TIMES}]",
        *(f'# "{name}" =        # about {seconds:.1f}' for name, seconds in stretches),
    ]
    return "\n".join(lines) + "\n"


def read_times(path: Path) -> WatchedTimes:
    """The times that somebody wrote down.

    Raises:   BadInput where the file is broken; OutOfRange for a time that no stretch can take.
    """
    raw = load_toml(read_text(path), file=path.name)
    place = Place(file=path.name)
    unknown = sorted(set(raw) - {"machine", "program", TIMES})
    if unknown:
        raise BadInput(
            "This key is not known", where=place.at(unknown[0]), value=str(raw[unknown[0]]),
            limit=f"machine, program, [{TIMES}]", do="remove it, or correct its name",
        )  # fmt: skip
    for key in ("machine", "program"):
        if not isinstance(raw.get(key), str):
            raise BadInput(
                "A file of times names its machine and program", where=place.at(key),
                value=str(raw.get(key, "nothing")),
                do="start from the times.toml that lies beside the program",
            )  # fmt: skip
    given = raw.get(TIMES)
    if not isinstance(given, dict) or not given:
        raise BadInput(
            "There are no times", where=place.at(f"[{TIMES}]"),
            do="take the # away before a stretch that was timed, and write its seconds behind =",
        )  # fmt: skip
    seconds: dict[str, float] = {}
    for name, value in given.items():
        where = place.at(f"[{TIMES}] {name}")
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise BadInput("A time is a number of seconds", where=where, value=str(value), do="write it as 13.4")
        if not 0.0 < float(value) <= LONGEST_S:
            raise OutOfRange(
                "A measured time must be above 0", where=where, value=f"{value} s",
                limit=f"above 0, at most {LONGEST_S:g} s",
                do="write the seconds of the whole stretch, or leave the stretch out",
            )  # fmt: skip
        seconds[str(name)] = float(value)
    return WatchedTimes(machine_id=raw["machine"], fingerprint=raw["program"], seconds=seconds)
