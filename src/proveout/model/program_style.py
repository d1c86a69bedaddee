"""How one machine's control is spoken to: what a program for it begins and ends with, and what its own words mean."""

from __future__ import annotations

from typing import Literal

import msgspec

Meaning = Literal[
    "harmless", "clamp A", "unclamp A", "clamp C", "unclamp C", "probe", "rigid tapping", "retract"
]  # fmt: skip
"""What a word of the control's own does; `harmless`: it moves nothing and changes no meaning of other words."""
ZeroAfterTurning = Literal["carried by the control", "at the rotation centre", "an offset for each tilt"]
"""Where program zero lies once a rotary axis has turned.

carried by the control: it turns with the work, and the control knows the rotation centre.   at the rotation centre: the
work offset lies there, and the program holds where the work stands from it.   an offset for each tilt: the program
sets one at its head for each tilt, from the measured centre and place of the vise.
"""

RotaryAtPlane = Literal["turn with the call", "turn at a word of their own", "are turned by A and C words"]
AnglesAbout = Literal["axes as turned so far", "axes that stand"]


class TiltedPlane(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a control's call of a tilted plane means: behind it coordinates are counted in a plane fixed to the work.

    call, cancel: the words.  angles: in their order, the letter of each and the axis it turns about, "Z" or "-Z", by
    the right-hand rule about that direction.  about: whether each axis is the work's own or as those before turned it.
    shift: the letters of the plane's zero along the work's X, Y and Z, "" for none.  rotary: when the rotary axes turn
    so that the cutter stands square to the plane; turn_word: the word of their own, else "".  a_is_positive: of the two
    positions that do, the one with A above 0 is taken where the travel allows it, else the one below.
    """

    call: str
    cancel: str
    angles: tuple[tuple[str, str], ...]
    about: AnglesAbout
    shift: tuple[str, str, str]
    rotary: RotaryAtPlane
    turn_word: str = ""
    a_is_positive: bool = True


class ProgramStyle(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The description of a machine's programs.

    powers_on: the modal words in force when a program begins, such as G17 and G21.  opening, closing: whole blocks.
    before_change: whole blocks that bring the spindle where cutters are changed and axes turned.  own_words: what
    words of the control's own mean, by the word (G905, M10).  number_step: between block numbers, 0 for none.
    a_sign, c_sign: +1 where the control counts as the work turns, right-handed about machine +X and +Z, else -1.
    clamp_a and the like: the word, "" where the axis has no brake that a program works.  has_cycles: canned cycles are
    written as such.  decimals_count: of lengths in mm.  peck_back_mm: how far above
    the last bottom the control's own cycle of pecks (G83) goes on by feed; None where nobody wrote it: pecks are then
    written move by move.  ending: of the file's name.  tilted_plane: None where no call
    of one is described.  work_offsets: words for zeros, in the order in which several places take them.
    """

    powers_on: tuple[str, ...]
    opening: tuple[str, ...]
    closing: tuple[str, ...]
    before_change: tuple[str, ...]
    own_words: dict[str, Meaning] = {}
    zero_after_turning: ZeroAfterTurning = "carried by the control"
    a_sign: int = 1
    c_sign: int = 1
    clamp_a: str = ""
    unclamp_a: str = ""
    clamp_c: str = ""
    unclamp_c: str = ""
    coolant_on: str = "M8"
    coolant_off: str = "M9"
    has_cycles: bool = True
    number_step: int = 10
    ending: str = ".nc"
    decimals_count: int = 3
    peck_back_mm: float | None = None
    tilted_plane: TiltedPlane | None = None
    work_offsets: tuple[str, ...] = ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3")
