"""Blocks of a program as text: words in one order, numbers with their point, modal words only where they change."""

from __future__ import annotations

import math
import unicodedata

from proveout.model.program_style import ProgramStyle

COMMENT_MOST = 60
FEED_DECIMALS = 2
ANGLE_DECIMALS = 4


class ProgramText:
    """A program while it is being written.

    Motion word, places and feed are written where they change; `forget` makes the next block write them anew.
    """

    def __init__(self, style: ProgramStyle) -> None:
        self.style = style
        self._lines: list[str] = ["%"]
        self._number = 0
        self._motion = ""
        self._place: list[str] = ["", "", ""]
        self._feed = ""
        self._plane = ""

    @property
    def lines_count(self) -> int:
        """How many lines there are so far: the line that comes next has the number after it."""
        return len(self._lines)

    def comment(self, text: str) -> None:
        """A comment on a line of its own."""
        self._lines.append(f"({plain(text)[:COMMENT_MOST]})")

    def block(self, words: str) -> None:
        """A block as it stands, with its number."""
        if self.style.number_step:
            self._number += self.style.number_step
            words = f"N{self._number} {words}"
        self._lines.append(words)

    def blocks(self, blocks: tuple[str, ...]) -> None:
        """Blocks of the machine's description; after them nothing that is in force is taken for granted."""
        for words in blocks:
            self.block(words)
        self.forget()

    def forget(self) -> None:
        """Write motion word, places and feed anew in the next block that has any."""
        self._motion, self._feed, self._plane, self._place = "", "", "", ["", "", ""]

    def rapid(self, point: tuple[float | None, float | None, float | None], extra: str = "") -> None:
        """A rapid move to a point, mm; None for an axis that stays."""
        self._move("G0", point, extra=extra)

    def feed(self, point: tuple[float, float, float], feed_mm_per_s: float) -> None:
        """A straight move at feed."""
        self._move("G1", point, feed=f"F{fixed(feed_mm_per_s * 60.0, FEED_DECIMALS)}")

    def arc(
        self, point: tuple[float, float, float], offset: tuple[float, float], *, turns_left: bool, feed_mm_per_s: float
    ) -> None:
        """An arc or a helix about Z, its centre written as the way to it from the start, mm."""
        decimals = self.style.decimals_count
        words = [] if self._plane == "G17" else ["G17"]
        motion = "G3" if turns_left else "G2"
        if motion != self._motion:
            words.append(motion)
        places = [f"{letter}{fixed(value, decimals)}" for letter, value in zip("XYZ", point, strict=True)]
        words += places[:2]
        if places[2] != self._place[2]:
            words.append(places[2])
        words += [f"{letter}{fixed(value, decimals)}" for letter, value in zip("IJ", offset, strict=True)]
        feed = f"F{fixed(feed_mm_per_s * 60.0, FEED_DECIMALS)}"
        if feed != self._feed:
            words.append(feed)
        self._motion, self._plane, self._place, self._feed = motion, "G17", places, feed
        self.block(" ".join(words))

    def turn(self, words: str) -> None:
        """Rotary axes to their positions, their brakes opened before and closed behind."""
        style = self.style
        for word in (style.unclamp_a, style.unclamp_c):
            if word:
                self.block(word)
        self.block(f"G0 {words}")
        for word in (style.clamp_a, style.clamp_c):
            if word:
                self.block(word)
        self.forget()

    def _move(
        self, motion: str, point: tuple[float | None, float | None, float | None], *, feed: str = "", extra: str = ""
    ) -> None:
        words: list[str] = []
        if motion != self._motion:
            words.append(motion)
        if extra:
            words.append(extra)
        moves = False
        for k, letter in enumerate("XYZ"):
            value = point[k]
            if value is None:
                continue
            word = f"{letter}{fixed(value, self.style.decimals_count)}"
            if word != self._place[k]:
                self._place[k] = word
                words.append(word)
                moves = True
        if not moves and not extra:
            return
        if feed and feed != self._feed:
            words.append(feed)
            self._feed = feed
        self._motion = motion
        self.block(" ".join(words))

    def text(self) -> str:
        """The whole, with a line end behind every line."""
        return "\n".join([*self._lines, "%"]) + "\n"


def fixed(value: float, decimals: int) -> str:
    """A number with its point and no more digits than needed, never -0: 12. and 0.5 and -3.125."""
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0")
    if text in ("-0.", "-0"):
        text = text[1:]
    return text


def degrees(angle_rad: float) -> str:
    """An angle in degrees."""
    return fixed(math.degrees(angle_rad), ANGLE_DECIMALS)


def plain(text: str) -> str:
    """What every control can show: capital letters without accents, digits and a few signs, no brackets."""
    parted = unicodedata.normalize("NFKD", text.replace("Ø", "D").replace("°", " DEG"))
    known = "".join(letter for letter in parted if not unicodedata.combining(letter)).upper()
    kept = "".join(
        letter if letter.isascii() and (letter.isalnum() or letter in " .,:+-/=") else " " for letter in known
    )
    return " ".join(kept.split())
