"""What a role may do in the office: the one table of roles and rights.

What a role may write at the stations of the floor stands in `jobs/floor_taps.py`; which address needs which right in
`desk/rights_of_routes.py`.
"""

from __future__ import annotations

from typing import Literal, get_args

from proveout.jobs.people import ROLES, Role

Right = Literal["read", "floor", "stock", "money", "plan", "release", "shop", "lessons", "people"]
RIGHTS: tuple[Right, ...] = get_args(Right)

WORDS: dict[Right, str] = {
    "read": "read",
    "floor": "write at the stations of the floor",
    "stock": "write what happened to stock",
    "money": "see prices, rates and costs, and whatever shows them: plans, orders, close-outs, the shop",
    "plan": "plan, try and answer questions",
    "release": "answer for open proofs, release, correct and close batches, end revisions",
    "shop": "change the shop",
    "lessons": "accept what batches taught",
    "people": "say who works here",
}
"""Each right in words, as pages name it."""

MAY_DO: dict[Role, frozenset[Right]] = {
    "floor": frozenset(("read", "floor", "stock")),
    "inspection": frozenset(("read", "floor", "stock")),
    "planning": frozenset(("read", "floor", "stock", "money", "plan")),
    "office": frozenset(("read", "floor", "stock", "money", "plan", "release")),
    "owner": frozenset(RIGHTS),
}
"""Who plans chooses by money, and so sees it. The shop's file holds what friction and force rest on, so it is the
owner's alone, and so is what changes it."""

OF_A_STATION: frozenset[Right] = frozenset(("read", "floor"))
"""Of whoever signed in with the stations' one password where people have passwords of their own."""


def roles_with(right: Right) -> tuple[Role, ...]:
    """The roles that may do it."""
    return tuple(role for role in ROLES if right in MAY_DO[role])
