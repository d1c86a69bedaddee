"""Changes of what an owner wrote, as data: which key of which file, and its new value."""

from __future__ import annotations

from typing import Literal

from proveout.model.shop import Noun

ChangedFile = Literal["job", "order", "shop"]
Step = str | int


class Change(Noun, frozen=True, kw_only=True):
    """One key that is to say something else.

    path: keys from the outside in, a row of a list by its id or its place from 0.   value: as TOML text, "" to take the
    key, or the row, out.
    """

    file: ChangedFile
    path: tuple[Step, ...]
    value: str

    @property
    def words(self) -> str:
        """Such as: shop, vise / vise-3 / torque_n_m = 90."""
        where = " / ".join(str(step) for step in self.path)
        return f"{self.file} file, {where}: {'taken out' if not self.value else self.value}"


class Offer(Noun, frozen=True, kw_only=True):
    """One thing that may be tried.

    group: what it belongs to.   text: what it is, in words.   unit: of the key.   present: as TOML text, "" where the
    file does not write it.   wanted: what the key accepts, in words.   choices: TOML texts, empty where anything may be
    typed.   may_go: it may be taken out.
    """

    group: str
    text: str
    unit: str
    file: ChangedFile
    path: tuple[Step, ...]
    present: str
    wanted: str
    choices: tuple[str, ...] = ()
    may_go: bool = False

    @property
    def key(self) -> str:
        """One of a kind: its file and place, as in a form."""
        return f"{self.file}:{'/'.join(str(step) for step in self.path)}"
