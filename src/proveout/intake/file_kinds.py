"""Which of an owner's files a TOML text is: job, order or shop."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from proveout.quantities.errors import BadInput

KINDS = {"job": ("part",), "order": ("item",), "shop": ("machine", "vise", "jaws", "crib", "rack", "material", "bench")}


def refuse_other_kind(raw: Mapping[str, Any], *, wanted: Literal["job", "shop"], file: str) -> None:
    """BadInput when the tables of a file are those of another kind, so that it was named in the wrong place."""
    if raw.keys() & set(KINDS[wanted]):
        return
    for kind, marks in KINDS.items():
        found = [mark for mark in marks if mark in raw]
        if kind != wanted and found:
            raise BadInput(
                f"This is {'an' if kind == 'order' else 'a'} {kind} file where a {wanted} file is needed",
                where=file, value=", ".join(f"[{mark}]" for mark in found),
                do="type proveout plan JOB.toml --shop SHOP.toml" if "shop" in (kind, wanted) else "name another file",
            )  # fmt: skip
