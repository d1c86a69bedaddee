"""From the name that a file came with to a folder name that every system takes, and to words for people."""

from __future__ import annotations

import re
import unicodedata
from pathlib import PurePosixPath, PureWindowsPath

from proveout.jobs.results import folder_name
from proveout.quantities.file_names import for_every_system

LETTERS_MOST = 60
WORDS_MOST = 120
STANDS_FOR = {"ß": "ss", "æ": "ae", "Æ": "AE", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d", "ð": "d", "þ": "th"}


def said_name(given: str) -> str:
    """The file's own name for people: without folders, control signs and ending; at most 120 letters."""
    last = PurePosixPath(PureWindowsPath(_printed(given)).name).name
    stem = re.sub(r"\.(step|stp|p21|toml|csv)$", "", last, flags=re.IGNORECASE)
    return " ".join(stem.split())[:WORDS_MOST].strip() or "part"


def plain_name(given: str) -> str:
    """A folder name of letters, digits, dot, dash and underscore, that begins with a letter or a digit."""
    words = "".join(STANDS_FOR.get(letter, letter) for letter in said_name(given))
    bare = "".join(letter for letter in unicodedata.normalize("NFKD", words) if not unicodedata.combining(letter))
    tidy = folder_name(bare.lstrip("._- ")).strip("._-")[:LETTERS_MOST].strip("._-") or "part"
    return for_every_system(tidy)


def _printed(given: str) -> str:
    """Without signs that do not print, nor those that turn the direction of writing."""
    return "".join(letter for letter in given if unicodedata.category(letter) not in ("Cc", "Cf", "Cs", "Co", "Cn"))
