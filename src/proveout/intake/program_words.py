"""The words of a machine's description of its programs: [machine.program] with its own_words and tilted_plane."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from typing import Any, get_args

from proveout.intake.shop_words import Section
from proveout.intake.toml_words import Place, Word, read_words, table_at
from proveout.model.program_style import (
    AnglesAbout,
    Meaning,
    ProgramStyle,
    RotaryAtPlane,
    TiltedPlane,
    ZeroAfterTurning,
)
from proveout.quantities.errors import BadInput

WORK_OFFSETS = ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3")
MEANINGS: tuple[str, ...] = get_args(Meaning)
ZEROS: tuple[str, ...] = get_args(ZeroAfterTurning)
COUNTS = ("as the work turns", "the other way")
CYCLES = ("canned", "expanded")
OWN_WORDS = "own_words"
TILTED_PLANE = "tilted_plane"
ROTARY_AT_PLANE: tuple[str, ...] = get_args(RotaryAtPlane)
ABOUT: tuple[str, ...] = get_args(AnglesAbout)
SIDES_OF_A = ("above 0", "below 0")
_ANGLE = re.compile(r"([A-Z]) about (-?[XYZ])")
_WORD = re.compile(r"[A-Z]\d+(\.\d)?")


def _word(stem: str, text: str, **more: Any) -> Word:
    return Word(stem=stem, text=text, kind="text", default="", quiet=True, **more)


PROGRAM = Section(
    name="machine.program",
    text="how the machine's control is spoken to; without it no program is written",
    words=(
        Word(stem="powers_on", text="words in force when a program begins, as G17 and G21", kind="texts", must=True),
        Word(stem="opening", text="blocks that every program begins with", kind="texts", must=True),
        Word(stem="closing", text="blocks that every program ends with", kind="texts", must=True),
        Word(
            stem="before_change", text="blocks that take the spindle up before cutters change and axes turn",
            kind="texts", must=True,
        ),
        Word(
            stem="work_offsets", text="words for zeros, in the order in which several places take them", kind="texts",
            default=list(WORK_OFFSETS), quiet=True,
        ),
        Word(
            stem="zero_after_turning", text="where program zero lies once a rotary axis has turned", kind="choice",
            choices=ZEROS, default=ZEROS[0], quiet=True,
        ),
        Word(
            stem="a_counts", text="which way the control counts A", kind="choice", choices=COUNTS,
            default=COUNTS[0], quiet=True,
        ),
        Word(
            stem="c_counts", text="which way the control counts C", kind="choice", choices=COUNTS,
            default=COUNTS[0], quiet=True,
        ),
        _word("clamp_a", "word that closes the brake of A"),
        _word("unclamp_a", "word that opens the brake of A"),
        _word("clamp_c", "word that closes the brake of C"),
        _word("unclamp_c", "word that opens the brake of C"),
        Word(stem="coolant_on", text="word that starts the coolant", kind="text", default="M8", quiet=True),
        Word(stem="coolant_off", text="word that stops the coolant", kind="text", default="M9", quiet=True),
        Word(
            stem="cycles", text="holes as canned cycles, or move by move", kind="choice", choices=CYCLES,
            default=CYCLES[0], quiet=True,
        ),
        Word(
            stem="number_step", text="step from one block number to the next, 0 for none", kind="count", low=0,
            high=1000, default=10, quiet=True,
        ),
        Word(stem="ending", text="what names of program files end in", kind="text", default=".nc", quiet=True),
        Word(
            stem="decimals", text="digits behind the point of a length in mm", kind="count", low=2, high=5, default=3,
            quiet=True, field="decimals_count",
        ),
        Word(
            stem="peck_back", text="how far above the last bottom G83 feeds on; without it pecks are written out",
            measure="length", low=0.01, high=5.0, field="peck_back_mm",
        ),
    ),
)  # fmt: skip

PLANE = Section(
    name="machine.program.tilted_plane",
    text="the control's call of a tilted plane; without it such a call is a word that nobody declared",
    words=(
        Word(stem="call", text="word that calls it", kind="text", must=True),
        Word(stem="cancel", text="word that leaves it", kind="text", must=True),
        Word(
            stem="angles", kind="texts", must=True,
            text='letters of the angles in their order and the axis that each turns about, as "I about Z"',
        ),
        Word(stem="about", text="which axes the angles turn about", kind="choice", choices=ABOUT, must=True),
        Word(
            stem="shift", text="letters of the plane's zero along the work's X, Y and Z", kind="texts",
            default=["X", "Y", "Z"], quiet=True,
        ),
        Word(
            stem="rotary", text="when the rotary axes set the cutter square to the plane", kind="choice",
            choices=ROTARY_AT_PLANE, must=True,
        ),
        Word(
            stem="turn_word", text="the word at which they turn, where it is one of their own", kind="text", default="",
            quiet=True,
        ),
        Word(
            stem="a_goes", text="which side of A is taken where both are within its travel", kind="choice",
            choices=SIDES_OF_A, must=True,
        ),
    ),
)  # fmt: skip


def program_style(raw: Mapping[str, Any], place: Place, assumed: list[str], *, turns: bool) -> ProgramStyle:
    """The description of a machine's programs; `turns`: it has rotary axes, whose manner must then be said.

    Raises:   BadInput for unknown keys, for a word that is none and for a meaning that nothing has.
    """
    values = read_words(
        {key: value for key, value in raw.items() if key not in (OWN_WORDS, TILTED_PLANE)}, PROGRAM.words, place,
        assumed, inner=[OWN_WORDS, TILTED_PLANE],
    )  # fmt: skip
    for key in ("zero_after_turning", "a_counts", "c_counts"):
        if turns and key not in raw:
            raise BadInput(
                "A control with rotary axes must say how it counts them and where program zero then lies",
                where=place.at(), value=f"no {key}", do=f"add {key}, and try it in the air first",
            )  # fmt: skip
    own = table_at(raw, OWN_WORDS, place, must=False) or {}
    inner = Place(file=place.file, path=f"{place.path} {OWN_WORDS}")
    for word, meaning in own.items():
        _refuse_no_word(word, inner)
        if meaning not in MEANINGS:
            raise BadInput(
                "Nobody knows this meaning of a word", where=inner.at(word), value=str(meaning),
                limit=", ".join(MEANINGS), do='write one of these; a word that moves nothing is "harmless"',
            )  # fmt: skip
    for key in ("clamp_a", "unclamp_a", "clamp_c", "unclamp_c", "coolant_on", "coolant_off"):
        if values[key]:
            _refuse_no_word(values[key], Place(file=place.file, path=f"{place.path} {key}"))
    for axis in "ac":
        if bool(values[f"clamp_{axis}"]) != bool(values[f"unclamp_{axis}"]):
            raise BadInput(
                f"A brake of {axis.upper()} that is opened is closed again", where=place.at(),
                value=f"only one of clamp_{axis} and unclamp_{axis}", do="write both, or neither",
            )  # fmt: skip
    ending = values["ending"]
    if not re.fullmatch(r"\.[A-Za-z0-9]{1,8}", ending):
        raise BadInput("A file's name cannot end so", where=place.at("ending"), value=ending, do="write it as .nc")
    strange = [word for word in values["work_offsets"] if word not in WORK_OFFSETS]
    if strange or not values["work_offsets"]:
        raise BadInput(
            "This is no work offset", where=place.at("work_offsets"), value=strange[0] if strange else "none",
            limit=", ".join(WORK_OFFSETS), do="write those that the control has",
        )  # fmt: skip
    tilted = table_at(raw, TILTED_PLANE, place, must=False)
    plane = None
    if tilted is not None:
        if not turns:
            raise BadInput(
                "A machine without rotary axes turns to no tilted plane", where=place.at(TILTED_PLANE),
                do=f"remove [machine.program.{TILTED_PLANE}], or describe the axes in [machine.rotary]",
            )  # fmt: skip
        plane = _tilted_plane(tilted, Place(file=place.file, path=f"{place.path} {TILTED_PLANE}"), assumed, own)
    return ProgramStyle(
        powers_on=tuple(word.upper() for word in values["powers_on"]), opening=tuple(values["opening"]),
        closing=tuple(values["closing"]), before_change=tuple(values["before_change"]), own_words=dict(own),
        zero_after_turning=values["zero_after_turning"], a_sign=1 if values["a_counts"] == COUNTS[0] else -1,
        c_sign=1 if values["c_counts"] == COUNTS[0] else -1, clamp_a=values["clamp_a"], unclamp_a=values["unclamp_a"],
        clamp_c=values["clamp_c"], unclamp_c=values["unclamp_c"], coolant_on=values["coolant_on"],
        coolant_off=values["coolant_off"], has_cycles=values["cycles"] == CYCLES[0],
        number_step=values["number_step"], ending=ending, decimals_count=values["decimals_count"], tilted_plane=plane,
        peck_back_mm=values["peck_back_mm"],
        work_offsets=tuple(values["work_offsets"]),
    )  # fmt: skip


def _tilted_plane(raw: Mapping[str, Any], place: Place, assumed: list[str], own: Collection[str]) -> TiltedPlane:
    values = read_words(raw, PLANE.words, place, assumed)
    for key in ("call", "cancel", "turn_word"):
        word = values[key]
        if word or key != "turn_word":
            _refuse_no_word(word, Place(file=place.file, path=f"{place.path} {key}"))
        if word in own:
            raise BadInput(
                "A word of the tilted plane has a meaning of its own too", where=place.at(key), value=word,
                do=f"remove it from [machine.program.{OWN_WORDS}]",
            )  # fmt: skip
    if bool(values["turn_word"]) != (values["rotary"] == ROTARY_AT_PLANE[1]):
        raise BadInput(
            "The word at which the rotary axes turn goes with its choice", where=place.at("turn_word"),
            value=f'turn_word = "{values["turn_word"]}" and rotary = "{values["rotary"]}"',
            do=f'write turn_word where rotary is "{ROTARY_AT_PLANE[1]}", and nowhere else',
        )  # fmt: skip
    angles: list[tuple[str, str]] = []
    for text in values["angles"]:
        found = _ANGLE.fullmatch(text)
        if found is None:
            raise BadInput(
                "This is no angle of a tilted plane", where=place.at("angles"), value=text,
                limit='a letter, "about", and X, Y or Z, with - for the other way', do='write it as "I about Z"',
            )  # fmt: skip
        angles.append((found[1], found[2]))
    shift = values["shift"]
    letters = [letter for letter, _ in angles] + [letter for letter in shift if letter]
    if len(shift) != 3 or not all(re.fullmatch("[A-Z]?", one) for one in shift) or len(set(letters)) != len(letters):
        raise BadInput(
            "A tilted plane needs three letters for its zero, and each letter once", where=place.at(),
            value=", ".join(letters), do='write shift = ["X", "Y", "Z"], with "" for a letter that there is none of',
        )  # fmt: skip
    return TiltedPlane(
        call=values["call"], cancel=values["cancel"], angles=tuple(angles), about=values["about"],
        shift=(shift[0], shift[1], shift[2]), rotary=values["rotary"], turn_word=values["turn_word"],
        a_is_positive=values["a_goes"] == SIDES_OF_A[0],
    )  # fmt: skip


def _refuse_no_word(word: str, place: Place) -> None:
    if not _WORD.fullmatch(word):
        raise BadInput(
            "This is no word of a program", where=place.at(), value=word, do="write a letter and its number, as M10"
        )
