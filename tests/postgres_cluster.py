"""A PostgreSQL of our own in a temporary folder, on a socket that only this machine reaches."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from pathlib import Path

INSTALL = "sudo apt-get update && sudo apt-get install --yes postgresql"
USER = "proveout"
PORT = 5432
START_S = 60.0
PLENTY_BYTES = 1_000_000_000


def programs() -> Path:
    """The folder of PostgreSQL's programs; RuntimeError with what to install where there is none."""
    found = [Path(path).resolve().parent for name in ("initdb",) if (path := shutil.which(name))]
    found += sorted((path.parent for path in Path("/usr/lib/postgresql").glob("*/bin/initdb")), reverse=True)
    for folder in found:
        if (folder / "postgres").is_file():
            return folder
    message = f"PostgreSQL is missing: the records are tested with it. Run: {INSTALL}"
    raise RuntimeError(message)


def quick_place() -> Path:
    """Memory where there is plenty: a database of a hundred tests makes some thousand files."""
    memory = Path("/dev/shm")  # noqa: S108 - as the other one, for a folder that mkdtemp makes
    plenty = memory.is_dir() and os.access(memory, os.W_OK) and shutil.disk_usage(memory).free > PLENTY_BYTES
    return memory if plenty else Path("/tmp")  # noqa: S108


class Cluster:
    """A server with databases of our own.

    It waits for its disk as a shop's would. It will not run as root: then it runs as nobody.

    Args:     within: the folder that its own is made in; a socket's path must be short.
    """

    def __init__(self, within: Path | None = None) -> None:
        self.programs = programs()
        self.folder = Path(tempfile.mkdtemp(prefix="proveout-pg-", dir=within or quick_place()))
        self.user = pwd.getpwnam("nobody").pw_uid if os.getuid() == 0 else None
        if self.user is not None:
            os.chown(self.folder, self.user, -1)
        self.folder.chmod(0o700)
        self._count = 0
        self._server: subprocess.Popen[bytes] | None = None
        try:
            self._run("initdb", "-D", str(self.data), "-U", USER, "-A", "trust", "--no-locale", "-E", "UTF8", "-N")
            self.start()
        except BaseException:
            self.remove()
            raise

    @property
    def data(self) -> Path:
        return self.folder / "data"

    def start(self) -> None:
        """Start the server and wait until it answers."""
        with (self.folder.parent / f"{self.folder.name}.log").open("ab") as log:
            self._server = subprocess.Popen(
                [self.programs / "postgres", "-D", self.data, "-k", self.folder, "-p", str(PORT),
                 "-c", "listen_addresses=", "-c", "shared_buffers=16MB", "-c", "max_connections=40"],
                user=self.user, stdin=subprocess.DEVNULL, stdout=log, stderr=log, cwd="/", start_new_session=True,
            )  # fmt: skip
        end = time.monotonic() + START_S
        while time.monotonic() < end:
            if self._answers():
                return
            time.sleep(0.05)
        message = f"PostgreSQL does not start within {START_S:.0f} s: {self.log()}"
        raise RuntimeError(message)

    def kill(self) -> None:
        """End the server and all it started with SIGKILL, and wait until it is gone."""
        assert self._server is not None
        os.killpg(self._server.pid, signal.SIGKILL)
        self._server.wait()
        (self.data / "postmaster.pid").unlink(missing_ok=True)
        self._server = None

    def database(self) -> str:
        """The address of a new empty place: a schema of its own, as a database takes a second to make."""
        self._count += 1
        name = f"s{self._count}"
        self._run("psql", "-h", str(self.folder), "-p", str(PORT), "-U", USER, "-d", "postgres", "-qc",
                  f"CREATE SCHEMA {name}")  # fmt: skip
        return f"postgresql://{USER}@/postgres?host={self.folder}&port={PORT}&options=-csearch_path%3D{name}"

    def log(self) -> str:
        path = self.folder.parent / f"{self.folder.name}.log"
        return path.read_text("utf-8", "replace")[-600:] if path.is_file() else ""

    def remove(self) -> None:
        """End the server and leave nothing behind; what it would bring to disk first is not wanted."""
        if self._server is not None:
            self.kill()
        shutil.rmtree(self.folder, ignore_errors=True)
        (self.folder.parent / f"{self.folder.name}.log").unlink(missing_ok=True)

    def _answers(self) -> bool:
        assert self._server is not None
        if self._server.poll() is not None:
            message = f"PostgreSQL ended at once: {self.log()}"
            raise RuntimeError(message)
        done = subprocess.run(
            [self.programs / "pg_isready", "-q", "-h", self.folder, "-p", str(PORT)], check=False, cwd="/"
        )
        return done.returncode == 0

    def _run(self, name: str, *arguments: str) -> None:
        done = subprocess.run(
            [self.programs / name, *arguments], user=self.user, capture_output=True, text=True, check=False, cwd="/",
        )  # fmt: skip
        if done.returncode:
            message = f"{name} failed: {done.stderr[-600:]}"
            raise RuntimeError(message)
