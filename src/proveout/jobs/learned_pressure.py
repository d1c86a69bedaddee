"""What spindles' meters, read while batches ran, tell of the cutting pressure of the shop's alloys.

No batch tells it by going well: only readings do, and they go into the shop file as readings, where every plan reckons
with them by the one estimate that there is. A reading counts once: by the id of its record, which its row keeps.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from msgspec.structs import replace

from proveout.intake.measured_files import readings_of_words
from proveout.jobs.learned_found import FEWEST_BATCHES, Found, batches_words
from proveout.jobs.metal import lacking
from proveout.model.close_out import CloseOut, MeterAt
from proveout.model.learned import Key, Proposal
from proveout.model.measured import SpindleReading
from proveout.model.shop import Cutter, Shop
from proveout.quantities.errors import BadInput
from proveout.quantities.units import rpm_from_rad_per_s

if TYPE_CHECKING:
    from proveout.model.proof import Decision
    from proveout.stages.loads.readings import CuttingPressure

SAME_CUTTER_MM = 1e-6
Row = dict[str, float | str]
Fresh = tuple[CloseOut, MeterAt, Row, SpindleReading]


def learned_pressure(shop: Shop, closed: Sequence[CloseOut]) -> Found:
    """The interval of each alloy's cutting pressure with the readings of batches among those of the file."""
    proposals: list[Proposal] = []
    silent: list[str] = []
    fresh = list(_fresh(shop, closed, silent))
    for alloy in sorted({meter.alloy for _, meter, _, _ in fresh}):
        own = [one for one in fresh if one[1].alloy == alloy]
        if lacking(alloy, shop):
            silent.append(f"{_text(alloy)}: [material] of the shop file has no figures for it")
            continue
        told = _of_alloy(shop, alloy, own)
        if isinstance(told, str):
            silent.append(f"{_text(alloy)}: {told}")
        else:
            proposals.append(told)
    return Found(proposals=tuple(proposals), silent=tuple(silent))


def _text(alloy: str) -> str:
    return f"cutting pressure of {alloy}"


def _fresh(shop: Shop, closed: Sequence[CloseOut], silent: list[str]) -> list[Fresh]:
    """Readings that the file does not hold yet; why one is left out goes into `silent`."""
    written = {one.event: one for one in shop.spindle_readings if one.event}
    cutters = {one.id: one for one in shop.cutters}
    found: list[Fresh] = []
    for one in closed:
        for meter in one.meters:
            where = f"spindle meter read in {one.batch}, {meter.step}, by {meter.person}"
            why = meter.why or _changed(cutters.get(meter.cutter), meter)
            row = row_of(one.batch, meter)
            try:
                reading = None if why else _read(row, shop)
            except BadInput as fault:
                why, reading = fault.message, None
            before = written.get(meter.event)
            if before is not None:
                if reading is not None and reading != _as_written(before, reading):
                    silent.append(
                        f"{where}: its row in the shop file says otherwise: corrected since, or changed there"
                    )
            elif reading is None:
                silent.append(f"{where}: {why}")
            else:
                found.append((one, meter, row, reading))
        standing = {meter.event for meter in one.meters}
        silent += [
            f"spindle reading of {before.date} in the shop file: it did not happen in {one.batch} after all, take its "
            "row away" for event, before in written.items()
            if before.source.startswith(f"{_batch(one.batch)},") and event not in standing
        ]  # fmt: skip
    return found


def _as_written(before: SpindleReading, reading: SpindleReading) -> SpindleReading:
    """The reading with what the owner may say better of it than its record: how much reaches the edge, and who."""
    return replace(before, efficiency_ratio=reading.efficiency_ratio, source=reading.source)


def _changed(cutter: Cutter | None, meter: MeterAt) -> str:
    """Why a reading tells nothing of the cutter as it stands in the file now; empty where it does."""
    if cutter is None:
        return f"{meter.cutter} is not in the shop file any more"
    is_same = abs(cutter.diameter_mm - meter.diameter_mm) < SAME_CUTTER_MM
    if not is_same or cutter.flutes_count != meter.flutes_count:
        return f"{meter.cutter} is another cutter in the shop file by now"
    return ""


def row_of(batch: str, meter: MeterAt) -> Row:
    """A reading as a row of `[[spindle_reading]]`, in the keys of the shop file."""
    unit = "kw" if meter.read.unit == "kW" else "percent"
    row: Row = {
        "machine": meter.machine, "cutter": meter.cutter, "alloy": meter.alloy,
        "speed_rpm": _plain(rpm_from_rad_per_s(meter.speed_rad_per_s)), "tooth_feed_mm": _plain(meter.tooth_feed_mm),
        "axial_mm": _plain(meter.axial_mm), "radial_mm": _plain(meter.radial_mm),
        f"load_{unit}": meter.read.load, f"idle_{unit}": meter.read.idle,
    }  # fmt: skip
    if meter.read.smallest is not None:
        row[f"step_{unit}"] = meter.read.smallest
    if meter.section_error_ratio:
        row["section_error"] = meter.section_error_ratio
    minutes = "" if meter.read.edge_min is None else f", edge {meter.read.edge_min:g} min in cut"
    return row | {
        "edge": meter.read.edge, "date": meter.day, "event": meter.event,
        "source": f"{_batch(batch)}, step {meter.step}, {meter.person}{minutes}",
    }  # fmt: skip


def _batch(batch: str) -> str:
    return f"batch {batch}"


def _plain(value: float) -> float:
    return float(f"{value:.6g}")


def _read(row: Row, shop: Shop) -> SpindleReading:
    """The row as the shop file is read: what is proposed is what plans will reckon with.

    Raises:   BadInput for what the shop file would refuse.
    """
    (reading,) = readings_of_words(
        {"spindle_reading": [row]}, file="the batch", machines=shop.machines, cutters=shop.cutters, assumed=[]
    )
    return reading


def _of_alloy(shop: Shop, alloy: str, fresh: Sequence[Fresh]) -> Proposal | str:
    """The proposal, or why there is none."""
    from proveout.cutting.unit_force_fit import READINGS_LEAST
    from proveout.stages.loads.readings import CUTTERS_LEAST, decide_pressure

    def decided(more: Sequence[SpindleReading]) -> Decision[CuttingPressure]:
        return decide_pressure(
            readings=(*shop.spindle_readings, *more), cutters=shop.cutters, alloy=alloy,
            pressure_mpa=shop.cutting_pressure_mpa, exponent_ratio=shop.cutting_exponent_ratio,
        )  # fmt: skip

    before, after = decided(()), decided([reading for _, _, _, reading in fresh])
    batches = tuple(dict.fromkeys(one.batch for one, _, _, _ in fresh))
    in_file = [one for one in shop.spindle_readings if _is_of(one, alloy)]
    count = len(in_file) + len(fresh)
    if not after.value.used_count:
        return f"{count} of at least {READINGS_LEAST} spindle readings, {len(in_file)} of them in the shop file"
    taken, now = before.value.pressure_mpa, after.value.pressure_mpa
    times = len(batches) + len({one.source.partition(",")[0] if one.event else one.date for one in in_file})
    if now.high < taken.high and times < FEWEST_BATCHES:
        return (
            f"{count} spindle readings would lower its high end, and they are of {times} of at least {FEWEST_BATCHES} "
            "batches, or days on which the shop read"
        )
    (proof,) = after.proofs
    cutters = len({one.cutter_id for one in in_file} | {meter.cutter for _, meter, _, _ in fresh})
    exponent = after.value.exponent_ratio
    kinds = f"{cutters} cutter{'' if cutters == 1 else 's'}"
    how = (
        f"{len(fresh)} spindle readings of {batches_words(batches)} beside {len(in_file)} in the shop file, of {kinds}"
        f"; the exponent {exponent:.3g}, {before.value.exponent_ratio:.3g} so far; "
        f"{proof.basis.formula.rpartition('; ')[2]}"
    )
    cautions: list[str] = []
    if proof.verdict == "fails":
        cautions.append("readings and what is written lie apart, so both are held: one of the two is wrong")
    if cutters < CUTTERS_LEAST:
        cautions.append(f"cutters read: {cutters} of {CUTTERS_LEAST}; the high end is not lowered")
    return Proposal(
        key=Key(kind="pressure", of=alloy), text=_text(alloy), was=None if taken.strength == "assumed" else taken,
        taken=taken, now=now, batches=batches, pieces_count=0, events_count=len(fresh), worth_count=0.0,
        cautions=tuple(cautions), is_writable=True, how=how, rows=tuple(row for _, _, row, _ in fresh),
    )  # fmt: skip


def _is_of(reading: SpindleReading, alloy: str) -> bool:
    return reading.alloy.strip().casefold() == alloy.strip().casefold()
