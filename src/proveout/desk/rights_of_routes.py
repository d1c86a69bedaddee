"""Which right each address of the desk needs: the one list, held against everything that the desk answers.

An address that changes something and does not stand here is refused to everybody who has to sign in.
"""

from __future__ import annotations

import re
from typing import Literal, NamedTuple

from starlette.routing import compile_path

from proveout.jobs.packets import OF_BATCH
from proveout.jobs.rights import Right

Needed = Right | Literal["open"]
OPEN: Literal["open"] = "open"
"""Needs no right: to sign in."""

WRITES: dict[str, Needed] = {
    "/sign-in": OPEN,
    "/sign-out": "read",
    "/own-password": "read",
    "/lengths": "read",
    "/people": "people",
    "/people/{who}/remove": "people",
    "/floor-people": "floor",
    "/floor-people/leave": "floor",
    "/floor/events": "floor",
    "/floor/taps": "floor",
    "/floor/by-another": "floor",
    "/floor/photos": "floor",
    "/floor/program": "floor",
    "/stock/{id}": "stock",
    "/designs": "plan",
    "/entries/{name}/plan": "plan",
    "/entries/{name}/draft": "plan",
    "/entries/{name}/job": "plan",
    "/entries/{name}/questions": "plan",
    "/entries/{name}/questions/undo": "plan",
    "/parts/{address}/questions": "plan",
    "/parts/{address}/questions/undo": "plan",
    "/parts/{address}/revision": "plan",
    "/parts/{address}/try": "plan",
    "/parts/{address}/tries/{id}/keep": "plan",
    "/parts/{address}/tries/{id}/drop": "plan",
    "/parts/{address}/check": "read",
    "/parts/{address}/batch": "plan",
    "/tasks/{id}/cancel": "plan",
    "/tasks/{id}/again": "plan",
    "/batches/{name}/plan": "plan",
    "/batches/{name}/waive": "release",
    "/batches/{name}/release": "release",
    "/batches/{name}/correct": "release",
    "/batches/{name}/close": "release",
    "/parts/{address}/revision/{id}/keep": "release",
    "/changes": "release",
    "/changes/{id}/day": "release",
    "/changes/{id}/stays": "release",
    "/changes/{id}/pieces": "release",
    "/changes/{id}/unsay": "release",
    "/changes/{id}/stock": "release",
    "/changes/{id}/unsay-stock": "release",
    "/lessons/accept": "lessons",
    "/lessons/decline": "lessons",
    "/shop/new": "shop",
    "/shop/undo": "shop",
    "/shop/{kind}/new": "shop",
    "/shop/{kind}/{number}": "shop",
    "/shop/{kind}/{number}/remove": "shop",
}
"""By the address that something is posted to.

To check a program and to hold a solid against a plan change nothing of the shop's. Two need more where what they are
given changes the shop's file, and say so themselves: a table of cutters among designs, and a try that is kept.
"""

READS: dict[str, Needed] = {
    "/sign-in": OPEN,
    "/people": "people",
    "/own-password": "read",
    "/floor-people": "read",
    "/floor-kept.js": "read",
    "/floor": "read",
    "/floor/{station}": "read",
    "/floor/{station}/scan": "read",
    "/floor/{station}/{step}/{batch}": "read",
    "/floor-photos/{digest}": "read",
    "/batches": "read",
    "/batches/{name}": "read",
    "/batches/{batch}/charts": "read",
    "/stock": "read",
    "/stock/mix": "read",
    "/parts/{address}/papers": "read",
    "/parts/{address}/files/{name:path}": "read",
    "/parts/{address}/drawn": "read",
    "/parts/{address}/check": "read",
    "/parts/{address}/check/{id}": "read",
    "/parts/{address}/work": "read",
    "/parts/{address}/work/scene": "read",
    "/parts/{address}/work/metal": "read",
    "/parts/{address}/work/way": "read",
    "/parts/{address}/work/part": "read",
    "/parts/{address}/work/clamping-{number}.svg": "read",
    "/parts/{address}/work/face": "read",
    "/parts/{address}/work/distance": "read",
}
"""Whatever may be read without the right to see money. Every other page needs that right: one that is new, too.

Of papers and files those that show money are kept back one by one (`jobs/result_files.py`), and nothing of a plan that
no batch was released by is shown without it.
"""

OF_PLANS = "/parts/{address}/"
"""Begins what is of a plan or a packet."""

_WRITES: list[tuple[re.Pattern[str], Needed]] = [(compile_path(path)[0], right) for path, right in WRITES.items()]


class _Read(NamedTuple):
    """Of one page."""

    pattern: re.Pattern[str]
    right: Needed
    is_of_plan: bool


_READS = [_Read(compile_path(path)[0], right, path.startswith(OF_PLANS)) for path, right in READS.items()]


def right_of(method: str, path: str) -> Needed | None:
    """The right that a request needs; OPEN for none, None for one that names none and is refused."""
    if method in ("GET", "HEAD"):
        found = next((one for one in _READS if one.pattern.match(path)), None)
        if found is None or (found.is_of_plan and not path.startswith(f"/parts/{OF_BATCH}")):
            return "money"
        return found.right
    if method != "POST":
        return None
    return next((right for pattern, right in _WRITES if pattern.match(path)), None)
