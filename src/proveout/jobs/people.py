"""Who works in the shop, in which role, and the secrets by which they are known: salted hashes in a file.

A PIN is for the stations of the floor, a password for the office; somebody has one of them or both. The file lies
beside the records and is read by its owner alone. Of a secret nothing else is kept, printed or told.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Literal, get_args

import msgspec

from proveout.jobs.packets import HasPlans
from proveout.jobs.password import ONLY_OURS, Kept, Password, is_whole, kept_of, kept_password
from proveout.jobs.records import records_of_home
from proveout.jobs.whole_files import locked, write_whole
from proveout.model.written import named
from proveout.quantities.errors import BadInput, Unreadable
from proveout.records.opening import is_postgres

Role = Literal["floor", "inspection", "planning", "office", "owner"]
ROLES: tuple[Role, ...] = get_args(Role)
FILE = "people.json"
SIGNS_LEAST, SIGNS_MOST = 4, 12


class Known(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Somebody of the shop. who: as events name them.   pin, password: what is kept of them, where there is one."""

    who: str
    name: str
    role: Role
    pin: Kept | None = None
    password: Kept | None = None

    def __repr__(self) -> str:
        return f"Known({self.who!r}, {self.role!r})"


class _Kept(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    people: tuple[Known, ...] = ()


def people_path(home: HasPlans, named_records: str = "") -> Path:
    """Where the file of people lies: beside the records, or beside the plans where those are in PostgreSQL."""
    setting = records_of_home(home, named_records)
    return home.plans / FILE if is_postgres(setting) else Path(setting).with_name(FILE)


class People:
    """The people of one file, read anew when it has changed; a file that is not there knows nobody."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._guard = threading.Lock()
        self._read: tuple[tuple[int, int], tuple[Known, ...]] | None = None

    def all(self) -> tuple[Known, ...]:
        """Everybody, by name.

        Raises:   Unreadable for a broken file.
        """
        with self._guard:
            try:
                told = self.path.stat()
            except FileNotFoundError:
                return ()
            mark = told.st_mtime_ns, told.st_size
            if self._read is None or self._read[0] != mark:
                self._read = mark, _people_in(self.path)
            return self._read[1]

    @property
    def are_known(self) -> bool:
        """Whether anybody has a PIN here: else people say on the floor who they are."""
        return any(one.pin is not None for one in self.all())

    @property
    def have_passwords(self) -> bool:
        """Whether anybody signs in at the office by a password of their own."""
        return any(one.password is not None for one in self.all())

    def of(self, who: str) -> Known | None:
        """Somebody by the name in events, None for a stranger."""
        return next((one for one in self.all() if one.who == who), None)

    def matches(self, who: str, typed: str) -> bool:
        """True for somebody's very PIN; a stranger's takes as long."""
        known = self.of(who)
        return _is_right(None if known is None else known.pin, typed)

    def matches_password(self, who: str, typed: str) -> bool:
        """True for somebody's very password; a stranger's takes as long."""
        known = self.of(who)
        return _is_right(None if known is None else known.password, typed)

    def put(
        self, who: str, *, name: str, role: str, pin: str | None = None, password: str | None = None
    ) -> None:  # fmt: skip
        """Add somebody, or give them another name, role, PIN or password; one that is not given stays as it was.

        Raises:   BadInput for a name, role, PIN or password that will not do, for somebody new with neither, or when
                  nobody would be owner; nothing is changed then.
        """
        named(who, where="person")
        named(name, where=f"person {who}, name")
        if role not in ROLES:
            raise BadInput("There is no such role", where=f"person {who}", value=role, limit=", ".join(ROLES))
        if pin is not None:
            _check_pin(pin, who)
        of_pin = kept_of(pin) if pin is not None else None
        of_password = kept_password(password) if password is not None else None
        known: Role = next(one for one in ROLES if one == role)

        def changed(before: Known | None) -> Known:
            now = Known(
                who=who, name=name, role=known, pin=of_pin or (before.pin if before is not None else None),
                password=of_password or (before.password if before is not None else None),
            )  # fmt: skip
            if now.pin is None and now.password is None:
                raise BadInput("Nothing is set by which they are known", where=f"person {who}",
                               limit="a PIN for the floor, a password for the office, or both")  # fmt: skip
            return now

        self._change(who, changed)

    def remove(self, who: str) -> None:
        """Forget somebody and their PIN; what they wrote stays.

        Raises:   BadInput for a stranger, or for the last owner while others are there.
        """
        if self.of(who) is None:
            raise BadInput("There is nobody of this name", where="person", value=who)
        self._change(who, None)

    def _change(self, who: str, changed: Callable[[Known | None], Known] | None) -> None:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            with locked(self.path.with_name(f".{self.path.name}.lock")):
                before = _people_in(self.path) if self.path.is_file() else ()
                people = [one for one in before if one.who != who]
                known = next((one for one in before if one.who == who), None)
                people += [] if changed is None else [changed(known)]
                _check_owner(people, who)
                write_whole(
                    self.path, msgspec.json.encode(_Kept(people=tuple(people))), mode=ONLY_OURS, is_lasting=True
                )
        except OSError as fault:
            raise BadInput("The people cannot be kept", where=str(self.path), value=fault.strerror or "") from fault


_NOBODY = Kept(salt="00" * 16, hashed="00" * 32, n=2**16, r=8, p=1)


def _is_right(kept: Kept | None, typed: str) -> bool:
    is_right = Password(kept if kept is not None else _NOBODY).matches(typed)
    return is_right and kept is not None


def _check_owner(people: Sequence[Known], who: str) -> None:
    """Refuse people of whom no owner comes in where the others do: on the floor by a PIN, in the office by a password.

    Raises:   BadInput.
    """
    owners = [one for one in people if one.role == "owner"]
    for is_there, is_owners, secret in (
        (any(one.pin for one in people), any(one.pin for one in owners), "PIN"),
        (any(one.password for one in people), any(one.password for one in owners), "password"),
    ):
        if is_there and not is_owners:
            raise BadInput("Somebody must be owner", where=f"person {who}", do=f"set the owner's {secret} first")


def _check_pin(pin: str, who: str) -> None:
    """Refuse what is no PIN or is guessed at once; what was typed is not told."""
    limit = f"{SIGNS_LEAST} to {SIGNS_MOST} figures"
    if not (pin.isascii() and pin.isdigit() and SIGNS_LEAST <= len(pin) <= SIGNS_MOST):
        raise BadInput("This is no PIN", where=f"person {who}", limit=limit)
    steps = {int(b) - int(a) for a, b in pairwise(pin)}
    if steps in ({0}, {1}, {-1}):
        raise BadInput("This PIN is guessed at once", where=f"person {who}", limit=limit, do="take figures in no order")


def _people_in(path: Path) -> tuple[Known, ...]:
    try:
        people = msgspec.json.decode(path.read_bytes(), type=_Kept).people
        is_right = all(is_whole(kept) for one in people for kept in (one.pin, one.password) if kept is not None)
        is_right = is_right and all(one.pin is not None or one.password is not None for one in people)
    except (OSError, ValueError, msgspec.MsgspecError) as fault:
        raise _broken(path) from fault
    if not is_right or len({one.who for one in people}) != len(people):
        raise _broken(path)
    return tuple(sorted(people, key=lambda one: one.name.casefold()))


def _broken(path: Path) -> Unreadable:
    return Unreadable("The file of people is broken", where=str(path), do="put it back from a backup, or set PINs anew")
