"""What a form of the desk sent, as plain texts by name."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Request

FIELDS_MOST = 20_000
DIGEST = "digest"


async def _typed(request: Request) -> dict[str, str]:
    """Fields of the form; of a name that comes more than once, as ticked boxes do, the texts by line."""
    async with request.form(max_fields=FIELDS_MOST, max_files=0) as form:
        found: dict[str, list[str]] = {}
        for name, value in form.multi_items():
            if isinstance(value, str):
                found.setdefault(name, []).append(value)
    # an empty text beside ticked boxes says that the boxes were asked
    return {name: "\n".join([one for one in texts if one] or [""]) for name, texts in found.items()}


TypedForm = Annotated[dict[str, str], Depends(_typed)]
