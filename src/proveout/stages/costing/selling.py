"""What is left of the price by each way of selling, from how many pieces on it pays, and whether to make at all."""

from __future__ import annotations

from proveout.model.cost_band import ChannelBand, Range
from proveout.model.fact import Fact
from proveout.model.proof import Basis, Proof, prove
from proveout.model.selling import Selling
from proveout.model.shop import Channel
from proveout.money.band import band_of, share_below
from proveout.money.draws import Drawing, shares_of
from proveout.money.spread import Array, spread_of
from proveout.stages.costing.curve import Curve

STAGE = "costing"


def channels_of(selling: Selling, channels: tuple[Channel, ...]) -> tuple[Channel, ...]:
    """The channels of a job, in the shop's order; one without fees where the shop names none."""
    if not channels:
        return (Channel(id="direct", fee_ratio=0.0),)
    return tuple(one for one in channels if not selling.channels or one.id in selling.channels)


def channel_band(
    channel: Channel, *, selling: Selling, each: Array, curve: Curve, quantities: tuple[int, ...]
) -> ChannelBand:
    """One way of selling, at the order's quantity and over the curve."""
    net = left = loss = even = sure = None
    if selling.price is not None:
        net = round(selling.price * (1.0 - channel.fee_ratio) - channel.fee_each, 4)
        left, loss = band_of(net - each), share_below(net - each, 0.0)
        even = curve.first_from(quantities, lambda band: band.p50 <= net)
        sure = curve.first_from(quantities, lambda band: band.p90 <= net)
    floor = None
    if selling.margin_ratio is not None and selling.margin_ratio + channel.fee_ratio < 1.0:
        dear = band_of(each).p90
        floor = round((dear + channel.fee_each) / (1.0 - channel.fee_ratio - selling.margin_ratio), 4)
    return ChannelBand(
        channel=channel.id, fee_ratio=channel.fee_ratio, fee_each=channel.fee_each, price=selling.price, net=net,
        left=left, loss_ratio=loss, even_quantity=even, sure_quantity=sure, floor_price=floor,
    )  # fmt: skip


def channel_proof(one: ChannelBand, *, each: Range, currency: str, cost: Fact) -> Proof:
    """Whether the price leaves something at the dear end of the cost."""
    return prove(
        id=f"{STAGE}:{one.channel}:price-leaves-something",
        stage=STAGE,
        subject=one.channel,
        claim="the price less fees covers the cost of a piece nine times in ten",
        sense="at most",
        found_low=each.p10,
        found_high=each.p90,
        limit=one.net,
        unit=currency,
        blocks_release=False,
        basis=Basis(
            formula="p90 of the drawn cost of a piece against price x (1 - share of fees) - fee a piece",
            source="own-algorithm",
            inputs={"cost of a piece, all worst ends together": cost},
        ),
        decides="write price under [selling] in the job file" if one.price is None else "",
        remedy="a higher price, a larger batch, or measure what widens the band most",
    )


def saving_of(bought: Fact, each: Array, drawing: Drawing) -> Array:
    """What making saves a piece against buying, drawn."""
    return spread_of(bought).at(shares_of("bought", drawing)) - each


def bought_proof(saving: Range | None, bought: Fact | None, currency: str) -> Proof:
    """Whether making is cheaper than buying; not shown where no price is written."""
    return prove(
        id=f"{STAGE}:make-or-buy:making-is-cheaper",
        stage=STAGE,
        subject="make or buy",
        claim="making costs less than buying ready made, nine times in ten",
        sense="at least",
        found_low=None if saving is None else saving.p10,
        found_high=None if saving is None else saving.p90,
        limit=0.0,
        unit=currency,
        blocks_release=False,
        basis=Basis(
            formula="price bought less cost made, drawn; p10 to p90",
            source="own-algorithm",
            inputs={} if bought is None else {"bought, a piece": bought},
        ),
        decides=(
            "ask for a price of the finished piece and write it as bought_each under [selling]"
            if saving is None
            else "measure what widens the band most"
        ),
        remedy="buy it, make more at once, or change what makes it dear",
    )
