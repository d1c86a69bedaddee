"""A certificate of the desk's own, made on the spot, so that other stations talk to it by https.

Nobody vouches for it: whoever opens the desk for the first time compares its fingerprint with the one that the desk
prints. It is made anew when it is about to end, or when the machine has other names. The key never leaves its folder.
"""

from __future__ import annotations

import hashlib
import re
import shutil
import ssl
import subprocess
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import msgspec

from proveout.jobs.password import ONLY_OURS, default_path
from proveout.jobs.whole_files import write_whole
from proveout.quantities.errors import BadInput, Unreadable

DAYS, ANEW_DAYS = 397, 30
CERTIFICATE, KEY, MADE = "certificate.pem", "key.pem", "made.json"
ALWAYS = ("localhost", "127.0.0.1")
MOST_S = 60.0
INSTALL = "sudo apt-get install --yes openssl"
_NAME = re.compile(r"[a-z0-9]([a-z0-9._-]{0,251}[a-z0-9])?")
_CONFIG = """[req]
distinguished_name = who
x509_extensions = for
prompt = no
[who]
CN = {first}
O = Proveout desk
[for]
basicConstraints = critical, CA:FALSE
keyUsage = critical, digitalSignature
extendedKeyUsage = serverAuth
subjectAltName = {names}
"""


class _Made(msgspec.Struct, frozen=True, kw_only=True):
    names: tuple[str, ...]
    ends: datetime


@dataclass(frozen=True)
class Certificate:
    """Two files in PEM form. fingerprint: sha256 of the certificate, as browsers show it.   ends: until when."""

    path: Path
    key: Path
    fingerprint: str
    ends: datetime


def own_folder() -> Path:
    """Where this user's certificate lies."""
    return default_path().with_name("desk-certificate")


def certificate_for(
    names: Sequence[str], folder: Path, *, now: Callable[[], datetime] = lambda: datetime.now(UTC)
) -> Certificate:  # fmt: skip
    """The certificate for a machine of those names and addresses, made where there is none that will do.

    Raises:   BadInput for what is no name, or where openssl is missing or makes none.
    """
    wanted = tuple(dict.fromkeys((*names, *ALWAYS)))
    for name in wanted:
        if not _NAME.fullmatch(name):
            raise BadInput("This is no name of a machine", where="--name", value=name[:80],
                           limit="letters, digits, dots and dashes")  # fmt: skip
    made = _made(folder)
    if made is None or made.names != wanted or made.ends - now() < timedelta(days=ANEW_DAYS):
        made = _make(wanted, folder, now() + timedelta(days=DAYS))
    path = folder / CERTIFICATE
    return Certificate(path=path, key=folder / KEY, fingerprint=fingerprint_of(path), ends=made.ends)


def fingerprint_of(path: Path) -> str:
    """sha256 of a certificate, in pairs of digits.

    Raises:   Unreadable for a file that holds none.
    """
    try:
        found = hashlib.sha256(ssl.PEM_cert_to_DER_cert(path.read_text(encoding="ascii"))).hexdigest()
    except (OSError, ValueError) as fault:
        raise Unreadable("This is no certificate in PEM form", where=str(path)) from fault
    return ":".join(found[at : at + 2] for at in range(0, len(found), 2)).upper()


def _made(folder: Path) -> _Made | None:
    """What was made last; None where it is not whole."""
    try:
        if not (folder / KEY).is_file() or not (folder / CERTIFICATE).is_file():
            return None
        return msgspec.json.decode((folder / MADE).read_bytes(), type=_Made)
    except (OSError, msgspec.MsgspecError):
        return None


def _make(names: tuple[str, ...], folder: Path, ends: datetime) -> _Made:
    program = shutil.which("openssl")
    if program is None:
        raise BadInput("A certificate is made by openssl, which is not on this machine", where="--lan",
                       do=f"{INSTALL}, or give --certificate and --key, or --http on your own network")  # fmt: skip
    made = _Made(names=names, ends=ends)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        folder.chmod(0o700)
        with tempfile.TemporaryDirectory(prefix=".making-", dir=folder) as beside:
            config, key, path = (Path(beside) / name for name in ("config", KEY, CERTIFICATE))
            config.write_text(_CONFIG.format(first=names[0][:64], names=", ".join(map(_alternative, names))))
            done = subprocess.run(
                [program, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
                 "-sha256", "-days", str(DAYS), "-config", config, "-keyout", key, "-out", path],
                capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL, timeout=MOST_S, umask=0o077,
            )  # fmt: skip
            if done.returncode or not key.is_file():
                raise BadInput("openssl made no certificate", where=str(folder), value=done.stderr[-200:].strip(),
                               do="give --certificate and --key")  # fmt: skip
            (folder / MADE).unlink(missing_ok=True)  # until all three are there, there is none
            write_whole(folder / KEY, key.read_bytes(), mode=ONLY_OURS)
            write_whole(folder / CERTIFICATE, path.read_bytes())
        write_whole(folder / MADE, msgspec.json.encode(made))
    except (OSError, subprocess.TimeoutExpired) as fault:
        raise BadInput("The certificate cannot be made", where=str(folder), value=str(fault)[:200],
                       do="give --certificate and --key") from fault  # fmt: skip
    return made


def _alternative(name: str) -> str:
    try:
        ip_address(name)
    except ValueError:
        return f"DNS:{name}"
    return f"IP:{name}"
