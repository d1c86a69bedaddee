"""What the owner says to a lesson: taken over into the shop file, or not, with a name either way.

Nothing here changes how work is held: only keys of `model/learned.py` are written, each at its place in `puts_of`.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from proveout.intake.shop_file import read_shop, shop_from_text
from proveout.intake.toml_blocks import edited
from proveout.intake.toml_words import load_toml
from proveout.jobs.learning import lesson_of, puts_of
from proveout.jobs.owner_file import replace_text, show
from proveout.jobs.signed import Signed
from proveout.model.learned import Lesson, Proposal
from proveout.model.shop import Shop
from proveout.model.shop_events import ValueAccepted, ValueDeclined
from proveout.quantities.canonical import digest_of
from proveout.quantities.errors import BadInput
from proveout.records.records import Records


def lesson_of_file(records: Records, shop_path: Path, *, plans: Path) -> Lesson:
    """What the batches on record tell of the numbers in a shop file.

    Raises:   BadInput where there is no such file, or it is refused as it stands.
    """
    if not shop_path.is_file():
        raise BadInput("There is no shop file that lessons could be written into", where=shop_path.name,
                       do="write a first one on the page of the shop")  # fmt: skip
    return lesson_of(records, read_shop(shop_path), plans=plans)


def groups_of(told: Lesson) -> tuple[tuple[Proposal, ...], ...]:
    """Proposals that are answered together, because they were learned together."""
    found: dict[str, list[Proposal]] = {}
    for one in told.proposals:
        found.setdefault(one.key.group, []).append(one)
    return tuple(tuple(some) for some in found.values())


def mark_of_offer(proposals: Sequence[Proposal]) -> str:
    """By what a form is known to answer exactly these numbers and no later ones."""
    return digest_of(tuple((one.key.words, one.was, one.now, one.batches, one.rows) for one in proposals))


def accept(
    records: Records, shop_path: Path, keys: Sequence[str], *, plans: Path, person: str, offered: str = ""
) -> tuple[Proposal, ...]:  # fmt: skip
    """Write what batches tell of some numbers into the shop file, and that its owner took it over into the records.

    Args:     keys: as `Key.words` names them; what is learned together is taken over together.
              offered: mark of the offer that is answered; empty for whatever is offered now.
    Raises:   BadInput for a key that nothing is proposed of, another offer, or a shop file that cannot be changed.
    """
    shown = show(shop_path)
    shop = read_shop(shop_path)
    taken = _meant([one for one in lesson_of(records, shop, plans=plans).proposals if one.is_writable], keys, offered)
    raw = load_toml(shown.text, file=shop_path.name)
    text = edited(
        shown.text, [put for one in taken for put in puts_of(one.key, one.now, raw, at_mm=one.at_mm, rows=one.rows)]
    )

    def check(text: str) -> Shop:
        return shop_from_text(text, file=shop_path.name, folder=shop_path.parent)

    check(text)
    for one in taken:
        # the record first: without the file's change it counts for nothing, and the batches tell it anew
        accepted = ValueAccepted(shop=shop.name, key=one.key.words, was=one.was, now=one.now, batches=one.batches,
                                 pieces_count=one.pieces_count)  # fmt: skip
        records.post(Signed(person=person).says(accepted))
    replace_text(shop_path, text, shown_digest=shown.digest, check=check)
    return taken


def decline(
    records: Records, shop_path: Path, keys: Sequence[str], *, plans: Path, person: str, why: str, offered: str = ""
) -> tuple[Proposal, ...]:  # fmt: skip
    """Write into the records that the owner does not take numbers over; the shop file stays as it is.

    Args:     as accept takes them.   why: in words.
    Raises:   BadInput for a key that nothing is proposed of, another offer, or no word why.
    """
    shop = read_shop(shop_path)
    turned = _meant(lesson_of(records, shop, plans=plans).proposals, keys, offered)
    for one in turned:
        said = ValueDeclined(shop=shop.name, key=one.key.words, now=one.now, batches=one.batches, why=why.strip())
        records.post(Signed(person=person).says(said))
    return turned


def _meant(proposals: Sequence[Proposal], keys: Sequence[str], offered: str) -> tuple[Proposal, ...]:
    told = {one.key.words: one for one in proposals}
    for key in keys:
        if key not in told:
            raise BadInput("Nothing is proposed of this number that a shop file could hold", where=key,
                           limit=", ".join(sorted(told)) or "none",
                           do="look at what is proposed now")  # fmt: skip
    groups = {told[key].key.group for key in keys}
    meant = tuple(one for one in proposals if one.key.group in groups)
    if offered and mark_of_offer(meant) != offered:
        raise BadInput("Something else is proposed by now than was shown, so nothing was written",
                       where=", ".join(keys), do="look at what is proposed now, and answer that")  # fmt: skip
    return meant
