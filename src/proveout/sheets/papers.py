"""The papers of a plan as one PDF: A4, black and white, one operation a page, tagged for readers (PDF/UA-1)."""

from __future__ import annotations

from typing import Any

from proveout.model.job import part_title
from proveout.model.plan import Plan
from proveout.model.schedule import ScheduledStep
from proveout.model.shop import Shop
from proveout.sheets.names import digest_words
from proveout.sheets.numbered import PartViews
from proveout.sheets.of_batch import OfBatch
from proveout.sheets.pages_bench import bench_page
from proveout.sheets.pages_buy import buy_page
from proveout.sheets.pages_edges import edges_page
from proveout.sheets.pages_finisher import finisher_pages
from proveout.sheets.pages_floor import inspection_page, prove_out_page
from proveout.sheets.pages_front import route_page
from proveout.sheets.pages_loading import loading_page
from proveout.sheets.pages_open import cautions_page, numbers_pages, proofs_page
from proveout.sheets.pages_pack import labels_page, pack_page
from proveout.sheets.pages_places import places_page
from proveout.sheets.pages_price import price_page
from proveout.sheets.pages_records import close_page, receiving_page, trail_page
from proveout.sheets.pages_saw import saw_page
from proveout.sheets.pages_setup import setup_page, torque_words
from proveout.sheets.pages_trials import trials_page
from proveout.sheets.picture import ClampingDrawings
from proveout.sheets.typesetting import typeset
from proveout.sheets.writer import Writer


def papers_document(writer: Writer) -> dict[str, Any]:
    """All pages as plain data, every number in them printed by the writer's ink."""
    plan, ink = writer.plan, writer.ink
    bought = None if writer.is_of_floor else buy_page(writer)
    pages = [route_page(writer), *([] if bought is None else [bought]), saw_page(writer)]
    for index in range(len(plan.clampings)):
        card = loading_page(writer, index, torque=torque_words(writer, index))
        pages += [setup_page(writer, index), *([] if card is None else [card])]
    pages += [places_page(writer, index) for index in range(len(plan.table_loads))]
    beside = [page for page in (trials_page(writer), edges_page(writer)) if page is not None]
    pages += [inspection_page(writer), prove_out_page(writer), bench_page(writer), *beside, *finisher_pages(writer)]
    back = receiving_page(writer)
    pages += [*([] if back is None else [back]), pack_page(writer), labels_page(writer), trail_page(writer)]
    price = None if writer.is_of_floor else price_page(writer)
    pages += [] if writer.is_of_floor else [close_page(writer)]
    pages += [] if price is None else [price]
    pages += [] if writer.is_of_floor else [proofs_page(writer)]
    pages += [cautions_page(writer)]
    pages += numbers_pages(writer)  # last: it lists the numbers that the pages before it name
    named = (ink.words("plan", "part", "number"), ink.words("plan", "part", "name"))
    part = part_title(*named)
    return {
        "title": f"Papers of {plan.part.title}, revision {plan.part.revision}",
        "part": part,
        "revision": ink.words("plan", "part", "revision") or "-",
        "shop": writer.shop.name,
        "batch": "" if writer.batch is None else writer.batch.batch,
        "waivers": [] if writer.batch is None else list(writer.batch.waivers),
        "fingerprint": digest_words(writer.fingerprint),
        "start": f"from {ink.words('plan', 'start')}" if plan.start else "",
        "ready": plan.ready or writer.batch is not None,
        "band": writer.band(),
        "pages": pages,
    }


def papers_pdf(
    *,
    plan: Plan,
    shop: Shop,
    drawings: dict[str, ClampingDrawings],
    fingerprint: str,
    views: PartViews | None = None,
    batch: OfBatch | None = None,
    schedule: tuple[ScheduledStep, ...] = (),
    is_of_floor: bool = False,
) -> bytes:
    """The papers as PDF bytes, the same for the same plan and batch.

    drawings: by clamping id, made along operator_view and end_view; a missing one leaves the box of the part.
    fingerprint: digest of plan.json, printed on every page.   views: of the part, for the page of its numbers.
    batch: that they are made for, printed on every page with its waivers; None for the papers of a plan.
    schedule: the part's own steps of the order's schedule, for the days outside; empty where nothing was scheduled.
    is_of_floor: without what shows money: purchases, prices, the close-out, and proofs, some of which are of money.
    """
    writer = Writer(
        plan=plan,
        shop=shop,
        drawings=drawings,
        fingerprint=fingerprint,
        views=views,
        batch=batch,
        schedule=schedule,
        is_of_floor=is_of_floor,
    )
    return typeset(papers_document(writer))
