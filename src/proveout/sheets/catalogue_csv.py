"""Which cutter works on which part of a catalogue, as a table."""

from __future__ import annotations

from proveout.model.catalogue import Catalogue
from proveout.sheets.csv_text import csv_text

HEAD = ("machine", "cutter", "place", "parts_count", "part", "seconds_a_piece")


def cutters_csv(catalogue: Catalogue) -> str:
    """A row for each machine, cutter and part; place is empty where the cutter comes and goes."""
    rows = [
        (changer.machine_id, cutter.cutter_id, cutter.place, len(cutter.parts), part, seconds)
        for changer in catalogue.sharing.changers
        for cutter in changer.cutters
        for part, seconds in zip(cutter.parts, cutter.piece_s, strict=True)
    ]
    return csv_text([HEAD, *rows])
