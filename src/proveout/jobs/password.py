"""The password of the desk: kept as a salted hash in a file of this user's own, never as it was typed."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from pathlib import Path

import msgspec

from proveout.jobs.whole_files import write_whole
from proveout.quantities.errors import BadInput, Unreadable

LETTERS_LEAST, LETTERS_MOST = 10, 200
# how much memory and time a guess costs: 128 r n bytes, about 64 MB; from memory: what is advised for passwords
COST_N, COST_R, COST_P = 2**16, 8, 1
COST_MOST_N = 2**20
MEMORY_MOST_BYTES = 512 * 1024 * 1024
SALT_BYTES, HASH_BYTES = 16, 32
ONLY_OURS = 0o600


class Kept(msgspec.Struct, frozen=True, kw_only=True):
    """What the file holds: salt and hash as hexadecimal digits, and the cost that the hash was made with."""

    salt: str
    hashed: str
    n: int
    r: int
    p: int


class Password:
    """A password that was set earlier; it can be compared with, and not be read."""

    def __init__(self, kept: Kept) -> None:
        self._kept = kept

    def matches(self, typed: str) -> bool:
        """True for the very password; it takes as long for a wrong one."""
        if len(typed) > LETTERS_MOST:
            return False
        return hmac.compare_digest(_hashed(typed, self._kept), bytes.fromhex(self._kept.hashed))

    def __repr__(self) -> str:
        return "Password(...)"


def default_path() -> Path:
    """Where this user's password file lies."""
    import platformdirs

    return Path(platformdirs.user_config_dir("proveout", appauthor=False)) / "desk-password.json"


def set_password(typed: str, path: Path) -> None:
    """Keep the hash of a password; an earlier one counts no more.

    Raises:   BadInput for one that is too short or too long, or when the file cannot be written.
    """
    kept = kept_password(typed)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, msgspec.json.encode(kept), mode=ONLY_OURS)
    except OSError as fault:
        raise BadInput("The password cannot be kept", where=str(path), value=fault.strerror or "") from fault


def kept_password(typed: str) -> Kept:
    """What is kept of a password.

    Raises:   BadInput for one that is too short or too long; what was typed is not told.
    """
    if not LETTERS_LEAST <= len(typed) <= LETTERS_MOST:
        raise BadInput(
            "The password has too few or too many letters", where="password", value=f"{len(typed)} letters",
            limit=f"{LETTERS_LEAST} to {LETTERS_MOST}", do="take several words",
        )  # fmt: skip
    return kept_of(typed)


def read_password(path: Path) -> Password:
    """The password that was set.

    Raises:   BadInput when none was set; Unreadable when its file is broken.
    """
    try:
        kept = msgspec.json.decode(path.read_bytes(), type=Kept)
        is_right = is_whole(kept)
    except FileNotFoundError as fault:
        raise BadInput(
            "No password was set, so the desk opens on this machine alone", where="--lan",
            do="set one with proveout serve --set-password, or the owner's own with proveout people set WHO --password",
        ) from fault  # fmt: skip
    except (OSError, ValueError, msgspec.DecodeError) as fault:
        raise Unreadable("The password file is broken", where=str(path), do="set the password anew") from fault
    if not is_right:
        raise Unreadable("The password file is broken", where=str(path), do="set the password anew")
    return Password(kept)


def kept_of(typed: str) -> Kept:
    """What is kept of a secret that somebody typed: a salted hash that costs whoever guesses as much as it may."""
    kept = Kept(salt=secrets.token_bytes(SALT_BYTES).hex(), hashed="", n=COST_N, r=COST_R, p=COST_P)
    return msgspec.structs.replace(kept, hashed=_hashed(typed, kept).hex())


def is_whole(kept: Kept) -> bool:
    """Whether it is as long as it was made, and guessing costs no less than it does today.

    Raises:   ValueError for what are no hexadecimal digits.
    """
    is_long = len(bytes.fromhex(kept.hashed)) == HASH_BYTES and len(bytes.fromhex(kept.salt)) == SALT_BYTES
    return is_long and COST_N <= kept.n <= COST_MOST_N and kept.r >= COST_R and kept.p >= COST_P


def _hashed(typed: str, kept: Kept) -> bytes:
    return hashlib.scrypt(
        typed.encode("utf-8", "surrogatepass"), salt=bytes.fromhex(kept.salt), n=kept.n, r=kept.r, p=kept.p,
        maxmem=MEMORY_MOST_BYTES, dklen=HASH_BYTES,
    )  # fmt: skip
