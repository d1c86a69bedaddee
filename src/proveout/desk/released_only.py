"""Stands before every page of a packet: only one that an event released is shown, and as the records tell of it."""

from __future__ import annotations

from fastapi import Request

from proveout.desk.page import desk_of
from proveout.jobs.packets import OF_BATCH
from proveout.jobs.releasing import batch_of, packet_place
from proveout.quantities.errors import Refused


def released_only(request: Request) -> None:
    """Refuse the address of a packet that no event released, or whose files are not those of its release.

    Raises:   Refused; BadInput where there is no such batch or packet.
    """
    address = str(request.path_params.get("address", ""))
    if not address.startswith(OF_BATCH):
        return
    desk = desk_of(request)
    batch = batch_of(desk.records, address.removeprefix(OF_BATCH))
    if not batch.is_released:
        raise Refused("No event released this packet", where=batch.batch, value=batch.state,
                      do="do not work from it; release the batch, which makes a packet of its own")  # fmt: skip
    packet_place(desk.home, batch)
