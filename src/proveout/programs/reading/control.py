"""What a reader knows of the control that a program is for: modes at its start, offsets, lengths, own words.

Meaning:  NIST report 6556, tables 4, 5, 7 and 8. Beyond it (common practice, no source): G95 feed by the turn, M19 the
          spindle is brought to a stop at one angle, M98 and M99 subprograms.
"""

from __future__ import annotations

import msgspec

from proveout.model.course import Axes
from proveout.model.program_style import Meaning, TiltedPlane, ZeroAfterTurning

GROUPS: dict[str, tuple[str, ...]] = {
    "motion": ("G0", "G1", "G2", "G3", "G38.2", "G80", "G81", "G82", "G83", "G84", "G85", "G86", "G87", "G88", "G89"),
    "plane": ("G17", "G18", "G19"),
    "distance": ("G90", "G91"),
    "feed": ("G93", "G94", "G95"),
    "units": ("G20", "G21"),
    "radius": ("G40", "G41", "G42"),
    "length": ("G43", "G49"),
    "return": ("G98", "G99"),
    "system": ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"),
    "path": ("G61", "G61.1", "G64"),
}
"""Modal groups: of each one word is in force."""
ONCE = ("G4", "G10", "G28", "G30", "G53", "G92", "G92.1", "G92.2", "G92.3")
"""Words in force on their own line alone; those that take axis words come instead of a motion."""
TAKE_AXES = ("G10", "G28", "G30", "G92")
M_GROUPS: dict[str, tuple[str, ...]] = {
    "stopping": ("M0", "M1", "M2", "M30", "M60"),
    "change": ("M6",),
    "spindle": ("M3", "M4", "M5", "M19"),
    "coolant": ("M7", "M8", "M9"),
    "overrides": ("M48", "M49"),
    "calls": ("M98", "M99"),
}
GROUP_OF = {word: group for table in (GROUPS, M_GROUPS) for group, words in table.items() for word in words}
SYSTEM_NUMBER = {word: number for number, word in enumerate(GROUPS["system"], start=1)}
LETTERS = frozenset("ABCDFGHIJKLMNOPQRSTXYZ")
"""Letters that mean something here; U, V, W and E do not."""
REPORT_DEFAULTS = ("G80", "G17", "G90", "G94", "G40", "G49", "G98", "G54")
"""What the report's own control starts with, as far as it says; of units it says nothing."""

BACK_OFF_MM = 0.254
"""How far above the last bottom G83 goes on, where a machine's description does not say: a hundredth of an inch, common
practice, no source.

Not the 0.5 mm of `stages/passes/pecking.py`, on purpose: that is how far our own pecks stay off; here it is guessed
what a control does with a foreign G83, and the nearer to the metal its rapid ends the sooner the check finds it.
"""


class Control(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of the control and of what was measured in it.

    powers_on: modal words in force at the start; a group without one is unknown there, and is asked for when a program
    leans on it.  meanings: of the control's own words.  origins_mm: machine coordinates of the zero of systems 1 to 9,
    as far as known.  lengths_mm, radii_mm: by H and by D number.  home_mm: where G28 goes, machine coordinates.
    centre_mm: where the rotary axes meet, machine coordinates.  a_sign, c_sign: as in ProgramStyle.
    cutter: in the spindle at the start.  parameters: set before the program.  back_off_mm: of G83.  begins_at_top: the
    spindle stands at the top of its Z before the first block.  tilted_plane: what its call means, None where nobody
    said.  a_travel_rad: as the work turns, None where not known.
    """

    powers_on: tuple[str, ...] = ()
    meanings: dict[str, Meaning] = {}
    origins_mm: dict[int, Axes] = {}
    lengths_mm: dict[int, float] = {}
    radii_mm: dict[int, float] = {}
    home_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    centre_mm: tuple[float, float, float] | None = None
    zero_after_turning: ZeroAfterTurning | None = None
    a_sign: int = 1
    c_sign: int = 1
    cutter: int | None = None
    parameters: dict[int, float] = {}
    back_off_mm: float = BACK_OFF_MM
    begins_at_top: bool = False
    tilted_plane: TiltedPlane | None = None
    a_travel_rad: tuple[float, float] | None = None


def modes_at_start(control: Control) -> dict[str, str]:
    """By modal group the word in force, "" where nobody said."""
    found = dict.fromkeys(GROUPS, "")
    for word in control.powers_on:
        group = GROUP_OF.get(word, "")
        if group in found:
            found[group] = word
    return found
