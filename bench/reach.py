"""Reach against brute force, and dilation of a height map against scipy's.

Triples of a face point, a tilt and a cutter over the demo parts and ten outside parts (PROVEOUT_DATA), more than half
near a boundary: 200 000 with FULL=1, else a sample. One in twenty is a drill over a hole (reach_drills), one in fifty
an undercut cutter under a leaning plane (reach_under), one in a hundred a T-slot cutter under a ceiling
(reach_ceilings). The planner's answer from a map of 0.1 mm must be that of the whole cutter against every triangle;
what lies too near a boundary (reach_triples) is left out and counted. Parts are judged in blocks by as many processes
as there are cores, each block with its own seed, so that how many does not matter.
"""

from __future__ import annotations

import contextlib
import io
import os
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from functools import lru_cache
from pathlib import Path

import numpy as np
import scipy.ndimage
from reach_ceilings import compare_ceilings
from reach_drills import compare_drills
from reach_triples import OVER_MM, PIXEL_MM, Part, Tally, compare
from reach_under import compare_under
from yardstick import is_full, line, paired, yardstick_s

from proveout.reach.reaching import widened
from proveout.solids.step import read_step

TRIPLES, SOME, SEED = 200_000, 1300, 7
BLOCK = 500
DRILLS, UNDER, CEILINGS, TOGETHER = 20, 50, 100, 5
"""One in so many is a drill over a hole, an undercut cutter under a leaning plane, a T-slot cutter under a ceiling,
where the part has any; the last of so many blocks together.
"""
OUTSIDE = (
    "cubefactory2/01_02_02-counterplate.step", "cubefactory2/02_02_00-tube_flange.step",
    "e3d-toolchanger/TC-BACK_1.3.step", "e3d-toolchanger/TC-PLATE_v1.2.step", "e3d-toolchanger/TC-DOCK-V6_1.3.step",
    "hemy-v1/01_-_Main_plate_-_Main_plate.step", "hemy-v1/08_-_Bearing_housing_-_Bearing_housing.step",
    "hemy-v1/23_-_CW_carrier_-_CW_carrier.step", "hemy-v1/1_-_Base_tripod_-_Base_tripod.step",
    "mesospim-v5/Galvomount-22mm-diameter-Left-Scanlab-V4.stp",
)  # fmt: skip
SIDE, RADIUS_PX = 1000, 30.0
SCIPY_SIDE = 500


def demo_files(folder: Path) -> list[Path]:
    """The three demo solids, made anew in a folder."""
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "examples" / "solids"))
    import make_all  # pyright: ignore[reportMissingImports]

    with contextlib.redirect_stdout(io.StringIO()):
        return list(make_all.main(str(folder)))


def outside_files() -> list[Path]:
    """Ten outside parts, none where the data are not on this machine."""
    named = os.environ.get("PROVEOUT_DATA", "")
    folder = Path(named) / "machined-parts"
    return [folder / name for name in OUTSIDE if (folder / name).is_file()] if named else []


def dilation() -> dict[str, float]:
    """Highest heights within a disc: scipy's seconds over ours for one map, and how many pixels differ (none may)."""
    draw = np.random.default_rng(SEED)
    coarse = draw.uniform(0.0, 30.0, (40, 40))
    heights = np.asarray(scipy.ndimage.zoom(coarse, SIDE / 40, order=1), dtype=np.float64)
    small = np.ascontiguousarray(heights[:SCIPY_SIDE, :SCIPY_SIDE])
    r = int(RADIUS_PX)
    x, y = np.meshgrid(np.arange(-r, r + 1), np.arange(-r, r + 1), indexing="ij")
    disc = x * x + y * y <= RADIUS_PX**2

    def theirs() -> np.ndarray:
        return scipy.ndimage.grey_dilation(small, footprint=disc, mode="constant", cval=-np.inf)

    def ours() -> np.ndarray:
        return widened(small, radius_px=RADIUS_PX, highest=True)

    differing = int((theirs() != ours()).sum())
    found = paired(ours, theirs, pairs=3)
    return {"ratio": found["ratio"], "low": found["spread"][0], "high": found["spread"][1], "differing": differing}


@lru_cache(maxsize=len(OUTSIDE) + 3)
def part_of(path: Path) -> Part:
    """A part as read once a process."""
    return Part(read_step(path).solid, path.stem)


def judged(number: int, block: int, path: Path, count: int) -> tuple[Tally, Tally, Tally, float]:
    """One block of a part's triples judged twice: what was found, of that on drills, on ceilings, seconds of the
    process.
    """
    tally = Tally()
    part = part_of(path)
    begin = time.process_time()
    compare_drills(part, np.random.default_rng([SEED, number, block, DRILLS]), count // DRILLS, tally)
    drills = Tally()
    drills.add(tally)
    compare_under(part, np.random.default_rng([SEED, number, block, UNDER]), count // UNDER, tally)
    under = Tally()
    of_ceilings = count * TOGETHER // CEILINGS if block % TOGETHER == 0 else 0
    compare_ceilings(part, np.random.default_rng([SEED, number, block, CEILINGS]), of_ceilings, under)
    tally.add(under)
    compare(part, np.random.default_rng([SEED, number, block]), count - tally.asked, tally)
    return tally, drills, under, time.process_time() - begin


def blocks_of(files: list[Path], most: int) -> list[tuple[int, int, Path, int]]:
    """Number of the part, number of its block, its file and how many triples, part after part round and round."""
    each = most // len(files)
    out: list[tuple[int, int, Path, int]] = []
    for block in range(-(-each // BLOCK)):
        count = min(BLOCK, each - block * BLOCK)
        out += [(number, block, path, count) for number, path in enumerate(files)]
    return out


def main() -> None:
    """Judge the triples twice, time the dilation, print the line."""
    tally, drills, ceilings = Tally(), Tally(), Tally()
    outside = outside_files()
    with tempfile.TemporaryDirectory() as folder:
        files = [*demo_files(Path(folder)), *outside]
        seconds = 0.0
        with ProcessPoolExecutor(max_workers=os.cpu_count()) as pool:
            asked = [pool.submit(judged, *block) for block in blocks_of(files, TRIPLES if is_full() else SOME)]
            for done in asked:
                found, on_drills, on_ceilings, spent = done.result()
                tally.add(found)
                drills.add(on_drills)
                ceilings.add(on_ceilings)
                seconds += spent
                for text in found.wrong:
                    print(text, file=sys.stderr)
                print(
                    f"{tally.asked} asked, {tally.near} near, {tally.left_out} left out, {tally.reached} reached, "
                    f"{len(tally.wrong)} wrong, {seconds:.0f} s", file=sys.stderr, flush=True,
                )  # fmt: skip
    wide = dilation()
    yard = yardstick_s()
    print(
        line(
            name="reach",
            figures={
                "parts_count": len(files), "outside_parts_count": len(outside), "triples_count": tally.asked,
                "near_boundary_ratio": round(tally.near / tally.asked, 4),
                "left_out_ratio": round(tally.left_out / tally.asked, 5), "reached_count": tally.reached,
                "drills_count": drills.asked,
                "drills_left_out_ratio": round(drills.left_out / max(drills.asked, 1), 5),
                "ceilings_count": ceilings.asked,
                "ceilings_near_ratio": round(ceilings.near / max(ceilings.asked, 1), 4),
                "ceilings_left_out_ratio": round(ceilings.left_out / max(ceilings.asked, 1), 5),
                "ceilings_reached_count": ceilings.reached,
                "wrong_count": len(tally.wrong), "seconds_s": round(seconds, 1), "yardstick_s": yard,
                "dilation_differing_count": wide["differing"],
            },
            ratios={
                "scipy_over_dilation": round(wide["ratio"], 1),
                "triple_over_yardstick": round(seconds / tally.asked / yard, 4),
            },
            targets={
                "wrong_count": ("at most", 0.0), "left_out_ratio": ("at most", 0.02),
                "near_boundary_ratio": ("at least", 0.5), "scipy_over_dilation": ("at least", 15.0),
                "dilation_differing_count": ("at most", 0.0),
            },
            repeats=3,
            spread={"scipy_over_dilation": [round(wide["low"], 1), round(wide["high"], 1)]},
            excluded=[
                f"triples at a boundary: {OVER_MM} mm larger, {PIXEL_MM} mm smaller",
                *([] if outside else ["outside parts: PROVEOUT_DATA is not set on this machine"]),
            ],
        )
    )  # fmt: skip


if __name__ == "__main__":
    main()
