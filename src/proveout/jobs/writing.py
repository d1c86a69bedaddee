"""Write what a plan gives: plan.json, the page, papers, drawings, bars, inspection, moves and the inputs used."""

from __future__ import annotations

import shutil
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec
import numpy as np

from proveout.intake.measured_files import response_text
from proveout.jobs.days_kept import DAYS, days_bytes
from proveout.jobs.jaw_files import write_jaw_files
from proveout.jobs.plan_job import Planned
from proveout.jobs.result_files import PAPERS
from proveout.model.order import OrderedPart, OrderLoad, OrderMoney
from proveout.model.plan import Plan
from proveout.model.proof import Proof, nothing_blocks, open_proofs
from proveout.model.purchase import OrderBuying
from proveout.model.run import Run
from proveout.model.sawing import OrderSawing
from proveout.model.schedule import OrderSchedule
from proveout.model.shop import Shop
from proveout.quantities.canonical import digest_of

if TYPE_CHECKING:
    from proveout.sheets.picture import ClampingDrawings

ORDER_SCHEMA_VERSION = 1
PAPER_MARK = 16
"""Letters of a plan's fingerprint that papers and pages carry."""


def plan_bytes(plan: Plan) -> bytes:
    """plan.json: two-space indent, keys in the order of the schema, a newline at the end."""
    return msgspec.json.format(msgspec.json.encode(plan, order="deterministic"), indent=2) + b"\n"


def fingerprint_of(plan: Plan) -> str:
    """The digest that papers carry: of the whole plan."""
    return digest_of(plan)[:PAPER_MARK]


def write_part(
    folder: Path, *, planned: Planned, shop: Shop, shop_text: str, job_file: Path | None, step: Path, run: Run,
    schedule: OrderSchedule | None = None,
) -> None:  # fmt: skip
    """Everything of one part into a folder that may not exist yet.   schedule: of its order, None without one."""
    from proveout.sheets.curve_csv import curve_csv
    from proveout.sheets.dates_ics import part_dates
    from proveout.sheets.loads_csv import loads_csv
    from proveout.sheets.papers import papers_pdf
    from proveout.sheets.plan_html import plan_html

    plan = planned.plan
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "plan.json").write_bytes(plan_bytes(plan))
    views = planned.drawings
    for name, content in floor_files(plan, shop=shop, drawings=views).items():
        (folder / name).write_bytes(content)
    (folder / "cost-curve.csv").write_text(curve_csv(plan), encoding="utf-8", newline="")
    if planned.loads.moves:
        text = loads_csv(planned.moves, planned.loads)
        (folder / "loads.csv").write_text(text, encoding="utf-8", newline="")
    if dates := part_dates(plan):
        (folder / "dates.ics").write_bytes(dates)
    mark = fingerprint_of(plan)
    write_jaw_files(folder, plan)
    run.check("papers", "the page")
    page = plan_html(plan=plan, shop=shop, target=planned.target, drawings=views, fingerprint=mark)
    (folder / "plan.html").write_text(page, encoding="utf-8", newline="")
    if planned.part_views is not None and plan.removal.faces:
        (folder / "deviation.html").write_text(_deviation(planned), encoding="utf-8", newline="")
    run.check("papers", "typesetting")
    own = () if schedule is None else tuple(s for s in schedule.steps if plan.part.number in s.parts)
    papers = papers_pdf(
        plan=plan, shop=shop, drawings=views, fingerprint=mark, views=planned.part_views, schedule=own
    )  # fmt: skip
    (folder / PAPERS).write_bytes(papers)
    if own:
        (folder / DAYS).write_bytes(days_bytes(own, plan=mark))
    _write_moves(folder / "moves", planned)
    for name, text in planned.programs.items():
        (folder / "programs").mkdir(exist_ok=True)
        (folder / "programs" / name).write_text(text, encoding="ascii", newline="")
    _write_inputs(folder / "inputs", shop=shop, shop_text=shop_text, job_file=job_file, step=step)


def floor_files(plan: Plan, *, shop: Shop, drawings: dict[str, ClampingDrawings]) -> dict[str, bytes]:
    """What goes to the floor beside the papers, by file name: bars, inspection, lists, a picture of each clamping."""
    from proveout.sheets.bars_csv import bars_csv
    from proveout.sheets.clamping_svg import clamping_svg
    from proveout.sheets.inspection_table import inspection_csv, inspection_xlsx
    from proveout.sheets.lists import lists_xlsx, purchase_csv
    from proveout.sheets.picture import ClampingDrawings

    pictures = {
        f"clamping-{clamping.number}.svg": clamping_svg(
            plan=plan, shop=shop, clamping_id=clamping.id, drawings=drawings.get(clamping.id, ClampingDrawings())
        ).encode()
        for clamping in plan.clampings
    }
    return {
        "bars.csv": bars_csv(plan).encode(), "inspection.csv": inspection_csv(plan, shop).encode(),
        "inspection.xlsx": inspection_xlsx(plan, shop, mark=fingerprint_of(plan)), "lists.xlsx": lists_xlsx(plan),
        "purchases.csv": purchase_csv(plan).encode(), **pictures,
    }  # fmt: skip


def _deviation(planned: Planned) -> str:
    """What the planned moves leave on every face and cut too deep, as a page."""
    from proveout.sheets.deviation import Deviations, FaceRow, deviation_html
    from proveout.stages.removal_check.decide import GOUGE_LIMIT_MM, LEFTOVER_LIMIT_MM

    plan, views = planned.plan, planned.part_views
    assert views is not None
    shown = Deviations(
        title=f"{plan.part.number} {plan.part.name}: left over and gouged".replace("  ", " "),
        words=(f"What the plan {fingerprint_of(plan)} leaves once all its moves are made.",),
        faces=tuple(FaceRow(f.face_id, f.leftover_mm, f.gouge_mm) for f in plan.removal.faces),
        leftover_limit_mm=LEFTOVER_LIMIT_MM, gouge_limit_mm=GOUGE_LIMIT_MM,
    )  # fmt: skip
    return deviation_html(shown, views=views, survey=plan.survey)


def _write_moves(folder: Path, planned: Planned) -> None:
    folder.mkdir(exist_ok=True)
    for digest, moves in sorted(planned.moves.moves.items()):
        table = moves.table.astype("<f8")
        np.save(folder / f"{digest[:32]}.npy", table, allow_pickle=False)


def _write_inputs(folder: Path, *, shop: Shop, shop_text: str, job_file: Path | None, step: Path) -> None:
    folder.mkdir(exist_ok=True)
    for response in shop.responses:
        (folder / response.file).write_text(response_text(response), encoding="utf-8", newline="")
    (folder / "shop.toml").write_text(shop_text, encoding="utf-8", newline="")
    if job_file is not None:
        shutil.copyfile(job_file, folder / "job.toml")
    shutil.copyfile(step, folder / f"part{step.suffix.lower() or '.step'}")


def is_order_ready(plans: Iterable[Plan], *, fits: tuple[Proof, ...], sawing_proofs: tuple[Proof, ...]) -> bool:
    """True when every part is ready, every fit of the order holds, and what blocks it in sawing holds."""
    fitting = all(fit.verdict == "holds" for fit in fits)
    return all(plan.ready for plan in plans) and fitting and nothing_blocks(sawing_proofs)


def write_order(
    folder: Path, *, order_file: Path, name: str, parts: Sequence[tuple[OrderedPart, str]], load: OrderLoad, shop: Shop,
    sawing: OrderSawing, sawing_proofs: tuple[Proof, ...], buying: OrderBuying, money: OrderMoney | None,
    fits: tuple[Proof, ...] = (),
) -> None:  # fmt: skip
    """order.json and its page: each part's folder and verdict, the order against the calendar; with the order file.

    saw.csv: how the parts are sawn together.   papers.pdf, purchases.csv, lists.xlsx: of the whole order.
    """
    from proveout.sheets.bars_csv import saw_csv
    from proveout.sheets.dates_ics import order_dates
    from proveout.sheets.lists import order_lists_xlsx, order_purchase_csv
    from proveout.sheets.order_html import order_html
    from proveout.sheets.order_papers import order_pdf

    content: dict[str, Any] = {
        "schema_version": ORDER_SCHEMA_VERSION,
        "ready": is_order_ready([part.plan for part, _ in parts], fits=fits, sawing_proofs=sawing_proofs),
        "parts": [_part_of_order(part.plan, sub) for part, sub in parts],
        "load": load,
        "fits": fits,
        "sawing": sawing,
        "sawing_proofs": sawing_proofs,
        "buying": buying,
        "money": money,
    }
    encoded = msgspec.json.encode(content, order="deterministic")
    (folder / "order.json").write_bytes(msgspec.json.format(encoded, indent=2) + b"\n")
    papers = order_pdf(
        parts=[(part.plan, sub) for part, sub in parts], load=load, shop=shop, name=name, fits=fits, sawing=sawing,
        fingerprint=digest_of(content)[:PAPER_MARK], sawing_proofs=sawing_proofs, buying=buying, money=money,
        is_ready=content["ready"],
    )  # fmt: skip
    (folder / PAPERS).write_bytes(papers)
    (folder / "purchases.csv").write_text(
        order_purchase_csv(buying, currency=shop.currency), encoding="utf-8", newline=""
    )
    (folder / "lists.xlsx").write_bytes(
        order_lists_xlsx(name=name, buying=buying, sawing=sawing, currency=shop.currency)
    )
    page = order_html(parts=[(part.plan, sub) for part, sub in parts], load=load, shop=shop, name=name, fits=fits,
        sawing=sawing, buying=buying, money=money,
    )  # fmt: skip
    (folder / "saw.csv").write_text(saw_csv(sawing), encoding="utf-8", newline="")
    unready = tuple(part.plan.part.number for part, _ in parts if not part.plan.ready)
    if dates := order_dates(load, name=name, shop=shop, unready=unready):
        (folder / "dates.ics").write_bytes(dates)
    (folder / "order.html").write_text(page, encoding="utf-8", newline="")
    write_schedule(folder, load)
    shutil.copyfile(order_file, folder / "order.toml")


def write_schedule(folder: Path, load: OrderLoad) -> None:
    """schedule.csv and rhythm.csv, as far as there are any."""
    from proveout.sheets.schedule_csv import rhythm_csv, schedule_csv

    if load.schedule is None:
        return
    (folder / "schedule.csv").write_text(schedule_csv(load.schedule), encoding="utf-8", newline="")
    if load.schedule.rhythm is not None:
        (folder / "rhythm.csv").write_text(rhythm_csv(load.schedule.rhythm), encoding="utf-8", newline="")


def _part_of_order(plan: Plan, sub: str) -> dict[str, Any]:
    return {
        "number": plan.part.number, "revision": plan.part.revision, "folder": sub, "quantity": plan.part.quantity,
        "ready": plan.ready, "bars_count": plan.bars.bars_count,
        "cost_each": None if plan.metal_unknown else plan.cost.each,
        "failing": [proof.id for proof in open_proofs(plan.proofs)],
    }  # fmt: skip
