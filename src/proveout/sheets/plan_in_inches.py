"""The pages of a plan for people who read inches: what its words, names and heads tell in mm, told in inches.

Numbers that the ink prints are in inches already, reckoned from the plan's own and with a mark before each; here is
turned over what is words: names of faces and features, sentences that stages wrote, heads of tables. What somebody
typed stays as typed: names of cutters, bars and the like, sizes as the drawing has them, and everything in a form.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.sheets.inches import LENGTHS, in_inches_of, inches, rounding_of
from proveout.sheets.ink import IN_INCHES
from proveout.sheets.names import DIGEST, capital, label, shape_words

NAMING = ("machines", "vises", "jaws", "cutters", "bars", "gauges", "finishers", "supplies", "remnants")
"""Lists of the shop whose names and ids are never taken for a length."""
SHAPE_DIGITS = 3
"""The least decimals of a size in a name, where noughts at the end are not written."""
_SIZE = r"\d+(?:\.\d+)?"
_DIAMETER = rf"(?P<across>(?<!\w)[ØR](?={_SIZE}(?![\w-]|\.\d)))(?P<size>{_SIZE})"
_PLACE = (
    rf"(?P<place>\bx −?{_SIZE}, y −?{_SIZE}, z −?{_SIZE}|\bat \(-?{_SIZE}(?:, -?{_SIZE}){{2}}\)"
    rf"|\bfrom {_SIZE} to {_SIZE} deep)"
)
_HEAD = r"(?P<head>\b[Ii]n )?(?<![\w:.°/])(?<!\d[ \u202f\u00a0])(?P<unit>mm)\b(?![²³\w])"
_EVERY = re.compile(_SIZE)
_WHOLE = re.compile(rf"\([^)]*\)|(?<![\d.])(?P<size>{_SIZE})(?![°.\w])")
_THREAD = re.compile(r"(?<=thread ).*?(?= in hole)")
_TAG = re.compile(r"(<[^>]*>)")
_READ_OUT = re.compile(r'(?<= )(alt|aria-label|title)="([^"]*)"')
_LETTER, _DIGIT = re.compile(r"[^\W\d]"), re.compile(r"\d")
_AS_IT_IS = ("pre", "code", "script", "style", "textarea")


class PlanInInches:
    """Turns what a plan's pages tell in mm into inches.

    Args:     plans: whose names are known.   shop: whose things are.
    """

    def __init__(self, plans: Sequence[Plan], shop: Shop) -> None:
        kept = {name for listed in NAMING for name in _names(getattr(shop, listed))}
        kept |= {name for plan in plans for name in (plan.part.number, plan.part.title)}
        self._named = {name: name for name in kept if _LETTER.search(name) and _DIGIT.search(name)}
        for shape in (said for plan in plans for words in _shapes(plan) for said in (words, capital(words))):
            self._named.setdefault(shape, _shape_in_inches(shape))
        listed = "|".join(map(re.escape, sorted(self._named, key=lambda name: (-len(name), name))))
        shapes_only = rf"(?<![\w.])(?P<name>{listed or '(?!)'})(?!\w|\.\d)|{_DIAMETER}|{_PLACE}"
        self._shapes, self._all = re.compile(shapes_only), re.compile(rf"{shapes_only}|{LENGTHS}|{_HEAD}")

    def said(self, text: str) -> str:
        """Plain words: lengths, feeds and sizes of shapes in inches."""
        return self._all.sub(self._told, text).replace(IN_INCHES, "")

    def page(self, html: str) -> str:
        """A whole page: its words, and what is read out of its pictures.

        Programs stay as they are, and in a form what is to be typed and its unit: of it only shapes are told in inches.
        """
        return "".join(self._turned(_TAG.split(html))).replace(IN_INCHES, "")

    def _told(self, found: re.Match[str]) -> str:
        told = found.groupdict()
        if told["name"]:
            return self._named[told["name"]]
        if told["across"]:
            return f"{told['across']}{inches(told['size'], rounding=rounding_of(found), digits_least=SHAPE_DIGITS)}"
        if told["place"]:
            return _EVERY.sub(lambda one: inches(one[0], digits_least=SHAPE_DIGITS), told["place"])
        if told["numbers"]:
            return found[0] if told["before"] else in_inches_of(found)
        is_spelt = told["head"] or found.string.startswith(".", found.end())  # no "in" at the end of a sentence
        return f"{told['head'] or ''}{'inches' if is_spelt else 'in'}"

    def _turned(self, pieces: list[str]) -> Iterator[str]:
        """Tags and the words between them, turned over."""
        verbatim = forms = 0
        hint = ""  # the element that says what may be typed, while inside it
        for nth, piece in enumerate(pieces):
            if nth % 2:
                name = piece[1:].lstrip("/").split(" ", 1)[0].rstrip("/>").lower()
                step = -1 if piece.startswith("</") else 1
                verbatim += step if name in _AS_IT_IS else 0
                forms += step if name == "form" else 0
                if forms and not hint and step > 0 and 'class="hint' in piece:
                    hint = name
                elif name == hint and step < 0:
                    hint = ""
                yield _READ_OUT.sub(lambda one: f'{one[1]}="{self.said(one[2])}"', piece)
            elif verbatim or hint or not piece.strip():
                yield piece
            else:
                yield self._shapes.sub(self._told, piece) if forms else self.said(piece)


def _shapes(plan: Plan) -> Iterator[str]:
    """What shapes of the part are called, with numbers in it."""
    ids = [*(one.face_id for one in plan.survey.faces), *(one.id for one in plan.survey.holes)]
    told = [words for one in plan.survey.features for words in (one.name, label(one))]
    told += [words for id in ids for words in (shape_words(id), DIGEST.sub("", id))]
    yield from (words for words in told if _DIGIT.search(words))


def _names(listed: Iterable[object]) -> Iterator[str]:
    for one in listed:
        yield from (str(word) for field in ("id", "name") if (word := getattr(one, field, "")))


def _shape_in_inches(words: str) -> str:
    """The name of a shape: every number of it but angles, ways in brackets, and what a thread is called."""
    kept = _THREAD.search(words)
    if kept is None:
        return _WHOLE.sub(_size_in_inches, words)
    before, after = words[: kept.start()], words[kept.end() :]
    return f"{_WHOLE.sub(_size_in_inches, before)}{kept[0]}{_WHOLE.sub(_size_in_inches, after)}"


def _size_in_inches(found: re.Match[str]) -> str:
    return inches(found["size"], digits_least=SHAPE_DIGITS) if found["size"] else found[0]
