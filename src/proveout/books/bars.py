"""Which bars a batch may be sawn from."""

from __future__ import annotations

from proveout.model.batch import Batch
from proveout.model.stock_events import Sawn
from proveout.quantities.errors import Refused


def of_its_plan(batch: Batch, of: Sawn) -> None:
    """Let bars pass that are as the batch was released: of its alloy, of one of its sections, and all of one heat.

    What stands in the event is compared with the bar's own tag in the book of the bar.
    Raises:   Refused for another alloy or section, for a second heat where one is wanted, and for a heat not read.
    """
    where = f"{batch.batch}, bars {of.item}"
    if batch.alloy and of.alloy != batch.alloy:
        raise Refused("The batch was planned in another alloy", where=where, value=of.alloy or "not said",
                      limit=batch.alloy, do="take the bars that the saw ticket names")  # fmt: skip
    if batch.sections and of.section not in batch.sections:
        raise Refused("The batch was planned from another section", where=where, value=of.section or "not said",
                      limit=", ".join(batch.sections), do="take the bars that the saw ticket names")  # fmt: skip
    if not batch.is_one_heat:
        return
    if not of.heat.strip():
        raise Refused("This batch is sawn from one heat, and none was read off the bar", where=where,
                      do="read the heat off the bar; without one it goes back to the rack")  # fmt: skip
    if batch.heats and of.heat not in batch.heats:
        raise Refused("This batch is sawn from one heat, and the bar is of another", where=where, value=of.heat,
                      limit=", ".join(batch.heats), do="take a bar of that heat, or ask for another batch")  # fmt: skip
