"""The certificate that the desk makes for itself: for its own names, kept, anew in time, its key for nobody else."""

from __future__ import annotations

import http.client
import shutil
import socket
import ssl
import stat
import subprocess
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import uvicorn

from proveout.desk.app import OWN_NAMES, desk_app
from proveout.desk.door import Door
from proveout.jobs.certificate import ANEW_DAYS, DAYS, Certificate, certificate_for, fingerprint_of
from proveout.jobs.home import Home
from proveout.quantities.errors import BadInput, Unreadable

NAMES = ("mill.local", "10.0.0.7")


@pytest.fixture
def made(tmp_path: Path) -> Certificate:
    return certificate_for(NAMES, tmp_path / "own")


@pytest.fixture
def port(tmp_path: Path, made: Certificate) -> Iterator[int]:
    """A desk that answers by https."""
    app = desk_app(Home(tmp_path), hosts=(*OWN_NAMES, "mill.local"), door=Door(None))
    server = uvicorn.Server(
        uvicorn.Config(
            app,
            host="127.0.0.1",
            port=0,
            log_level="warning",
            ws="none",
            ssl_certfile=str(made.path),
            ssl_keyfile=str(made.key),
        )
    )
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield server.servers[0].sockets[0].getsockname()[1]
    server.should_exit = True
    thread.join()
    app.state.desk.close()


def test_the_key_is_its_owners_alone_and_the_folder_too(made: Certificate) -> None:
    assert stat.S_IMODE(made.key.stat().st_mode) == 0o600
    assert stat.S_IMODE(made.key.parent.stat().st_mode) == 0o700
    assert sorted(path.name for path in made.key.parent.iterdir()) == ["certificate.pem", "key.pem", "made.json"]


def test_it_is_kept_while_it_will_do_and_made_anew_in_time(tmp_path: Path, made: Certificate) -> None:
    folder = tmp_path / "own"
    assert certificate_for(NAMES, folder).fingerprint == made.fingerprint
    later = datetime.now(UTC) + timedelta(days=DAYS - ANEW_DAYS + 1)
    anew = certificate_for(NAMES, folder, now=lambda: later)
    assert anew.fingerprint != made.fingerprint
    assert certificate_for((*NAMES, "other"), folder).fingerprint != anew.fingerprint
    (folder / "key.pem").unlink()
    last = certificate_for((*NAMES, "other"), folder)
    assert last.key.is_file()
    assert last.fingerprint == fingerprint_of(last.path)
    (folder / "made.json").write_text("{")
    assert certificate_for((*NAMES, "other"), folder).fingerprint != last.fingerprint


def test_a_station_that_trusts_it_is_answered_under_its_names_and_under_no_other(port: int, made: Certificate) -> None:
    context = ssl.create_default_context(cafile=str(made.path))
    for name, is_own in (("mill.local", True), ("10.0.0.7", True), ("evil.example", False)):
        plain = socket.create_connection(("127.0.0.1", port))
        if not is_own:
            with plain, pytest.raises(ssl.SSLCertVerificationError, match="mismatch"):
                context.wrap_socket(plain, server_hostname=name)
            continue
        with plain, context.wrap_socket(plain, server_hostname=name) as safe:
            assert (safe.version() or "") >= "TLSv1.2"
    with socket.create_connection(("127.0.0.1", port)) as plain, pytest.raises(ssl.SSLError, match="self-signed"):
        ssl.create_default_context().wrap_socket(plain, server_hostname="mill.local")
    with closing(http.client.HTTPSConnection("127.0.0.1", port, context=context)) as client:
        client.request("GET", "/sign-in", headers={"host": "mill.local"})
        with client.getresponse() as answer:
            assert answer.status == 200


def test_its_fingerprint_is_the_one_that_others_reckon(made: Certificate) -> None:
    told = subprocess.run(
        ["openssl", "x509", "-in", made.path, "-noout", "-fingerprint", "-sha256"],  # noqa: S607 - for the test
        capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    assert told.strip().rpartition("=")[2] == made.fingerprint


@pytest.mark.parametrize("name", ["a\nb", "DNS:x, IP:1.2.3.4", "", "-x", "ä", "x" * 300])
def test_what_is_no_name_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(BadInput, match="no name of a machine"):
        certificate_for((name,), tmp_path)


def test_without_openssl_it_is_said_what_to_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "which", lambda _: None)
    with pytest.raises(BadInput, match="apt-get install") as refused:
        certificate_for(NAMES, tmp_path / "own")
    assert "--http" in refused.value.message
    with pytest.raises(Unreadable, match="no certificate"):
        fingerprint_of(tmp_path / "none.pem")
