"""Changes of what an owner wrote, as data: which key of which file, and its new value."""

from __future__ import annotations

from collections.abc import Sequence
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
        return f"{self.where}: {'taken out' if not self.value else self.value}"

    @property
    def where(self) -> str:
        """Its file and key."""
        return f"{self.file} file, {' / '.join(str(step) for step in self.path)}"


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


def told_changes(
    changes: Sequence[Change], offers: Sequence[Offer], *, is_present: bool
) -> list[tuple[str, str]]:  # fmt: skip
    """Each change as its key's own words, with what stood there before, and beside them the key.

    Args:     is_present: the files still say what they said before the change.
    Returns:  words and key of each; for a key that is not offered the change in its own words, and no key.
    """
    found: list[tuple[str, str]] = []
    for change in changes:
        offer = next((one for one in offers if (one.file, one.path) == (change.file, change.path)), None)
        if offer is None:
            found.append((change.words, ""))
            continue
        what, unit = offer.text.split(";")[0], f" {offer.unit}" if offer.unit else ""
        now = f"{change.value}{unit}" if change.value else "taken out"
        was = f", was {offer.present + unit if offer.present else 'not written'}" if is_present else ""
        found.append((f"{offer.group}, {what}: {now}{was if offer.present != 'there' else ''}", change.where))
    return found
