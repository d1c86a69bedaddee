"""Which cutter works on which part of a catalogue, as a table."""

from __future__ import annotations

import csv
import io

from proveout.model.catalogue import Catalogue
from proveout.sheets.bars_csv import plain_words

HEAD = ("machine", "cutter", "place", "parts_count", "part", "seconds_a_piece")


def cutters_csv(catalogue: Catalogue) -> str:
    """A row for each machine, cutter and part; place is empty where the cutter comes and goes."""
    out = io.StringIO()
    sheet = csv.writer(out, lineterminator="\n")
    sheet.writerow(HEAD)
    for changer in catalogue.sharing.changers:
        for cutter in changer.cutters:
            for part, seconds in zip(cutter.parts, cutter.piece_s, strict=True):
                row = (changer.machine_id, cutter.cutter_id, cutter.place, len(cutter.parts), part, seconds)
                sheet.writerow(["" if v is None else plain_words(v) if isinstance(v, str) else v for v in row])
    return out.getvalue()
