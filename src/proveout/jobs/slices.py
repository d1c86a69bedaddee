"""What decisions receive of nouns that say more: what they do not read is left out, so that they stay when it moves.

A decision is stored under all that it received. Vises come here without how hard they are closed, jaws without their
friction, cutters, machines and a blank without what they cost, a job without its order. Nothing that a decision reads
may be left out: a contract test looks at it.
"""

from __future__ import annotations

import msgspec

from proveout.model.job import Job, Order
from proveout.model.shop import Cutter, Jaws, Machine, Shop, Vise
from proveout.model.table_load import TableLoad
from proveout.model.work import Blank

ONE = Order(quantity=1)


def vises_as_bodies(vises: tuple[Vise, ...]) -> tuple[Vise, ...]:
    """The vises without how hard they are closed."""
    return tuple(
        msgspec.structs.replace(
            vise, preload_n=None, rating_n=None, torque_n_mm=None, is_hand_tight=False, chart_torques_n_mm=(),
            chart_forces_n=(), grip_reserve_ratio=1.0,
        )
        for vise in vises
    )  # fmt: skip


def jaws_as_bodies(jaws: tuple[Jaws, ...]) -> tuple[Jaws, ...]:
    """The jaws without their friction."""
    return tuple(msgspec.structs.replace(pair, friction_ratio=None) for pair in jaws)


def cutters_as_bodies(cutters: tuple[Cutter, ...]) -> tuple[Cutter, ...]:
    """The cutters without what an edge costs, how long it lasts and how it wears."""
    return tuple(msgspec.structs.replace(cutter, price=0.0, life_s=None, wear_mm_per_s=None) for cutter in cutters)


def machines_as_bodies(machines: tuple[Machine, ...]) -> tuple[Machine, ...]:
    """The machines without what an hour costs and how long setting up takes."""
    return tuple(msgspec.structs.replace(one, rate_per_h=0.0, setup_s=0.0, setup_more_s=None) for one in machines)


def shop_of_bodies(shop: Shop) -> Shop:
    """The shop with its machines, vises, jaws and cutters as bodies."""
    return msgspec.structs.replace(
        shop, machines=machines_as_bodies(shop.machines), vises=vises_as_bodies(shop.vises),
        jaws=jaws_as_bodies(shop.jaws), cutters=cutters_as_bodies(shop.cutters),
    )  # fmt: skip


def blank_as_body(blank: Blank) -> Blank:
    """The blank without its price, its mass and the bar's length."""
    return msgspec.structs.replace(
        blank, pieces_per_bar=0, bar_length_mm=0.0, material_price_each=0.0, mass_kg=0.0, beside_price_each=0.0
    )


def job_of_design(job: Job) -> Job:
    """What is written about the part, without order, pins and what finishers mark."""
    return msgspec.structs.replace(job, order=ONE, pins=(), markings=())


def order_of_pieces(order: Order) -> Order:
    """How many, without the days."""
    return msgspec.structs.replace(order, start="", due="")


def job_of_pieces(job: Job) -> Job:
    """What is written about the part and how many are wanted, without days, pins and what finishers mark."""
    return msgspec.structs.replace(job, order=order_of_pieces(job.order), pins=(), markings=())


def without_counts(load: TableLoad) -> TableLoad:
    """The load without how often a batch has its cycles."""
    return msgspec.structs.replace(load, fillings=())
