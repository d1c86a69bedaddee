"""Setting up says exactly what a machine lacks, and supplies it when root."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from system_libraries import BROWSER_PACKAGES, PACKAGE_FROM_LIBRARY, missing_for_browser, missing_packages

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="setting up by make is for Debian")


def test_a_library_that_cannot_be_loaded_is_named_by_its_package() -> None:
    assert missing_packages({"libc.so.6": "libc6", "libnothing.so.9": "libnothing9"}) == ["libnothing9"]


def test_the_libraries_of_the_kernel_and_of_the_compiler_are_asked_for() -> None:
    assert sorted(PACKAGE_FROM_LIBRARY.values()) == ["libexpat1", "libgl1", "libgomp1", "libx11-6"]


def test_a_browser_and_letters_are_asked_for_where_they_are_missing(tmp_path: Path) -> None:
    assert missing_for_browser({"nothing-of-that-name": "nothing"}, tmp_path) == ["nothing", "fonts-dejavu-core"]
    (tmp_path / "truetype").mkdir()
    (tmp_path / "truetype" / "letters.ttf").touch()
    assert missing_for_browser({"sh": "dash"}, tmp_path) == []
    assert BROWSER_PACKAGES == ("chromium", "fonts-dejavu-core")


class Machine:
    """A checkout on a machine whose programs are small shell scripts that write down how they were called."""

    def __init__(self, root: Path, place: Path) -> None:
        self.checkout = place / "checkout"
        self.programs = place / "bin"
        self.calls = place / "calls"
        (self.checkout / "scripts").mkdir(parents=True)
        self.programs.mkdir()
        for name in ("scripts/setup", "scripts/system_libraries.py", "pyproject.toml", "uv.lock"):
            shutil.copy2(root / name, self.checkout / name)
        for name in ("bash", "cat", "cut", "dirname", "id", "rm", "sha256sum"):
            found = shutil.which(name)
            assert found
            (self.programs / name).symlink_to(found)

    def has(self, name: str, script: str) -> None:
        path = self.programs / name
        path.unlink(missing_ok=True)
        path.write_text(f'#!/bin/bash\necho "{name} $*" >>{self.calls}\n{script}\n', encoding="utf-8")
        path.chmod(0o755)

    def set_up(self) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [self.programs / "bash", "scripts/setup"],
            cwd=self.checkout,
            env={"PATH": str(self.programs), "HOME": os.environ.get("HOME", "/")},
            capture_output=True,
            text=True,
            check=False,
        )

    def called(self) -> list[str]:
        return self.calls.read_text(encoding="utf-8").splitlines() if self.calls.is_file() else []


@pytest.fixture
def machine(root: Path, tmp_path: Path) -> Machine:
    return Machine(root, tmp_path)


def test_without_python_a_user_is_told_the_command(machine: Machine) -> None:
    machine.has("id", "echo 1000")
    machine.has("apt-get", "exit 1")
    done = machine.set_up()
    assert done.returncode == 1
    assert "Python 3.11 was not found" in done.stderr
    assert "sudo apt-get update && sudo apt-get install --yes python3.11 python3.11-venv" in done.stderr
    assert not any(call.startswith("apt-get") for call in machine.called())


def test_without_a_library_a_user_is_told_the_command(machine: Machine) -> None:
    machine.has("id", "echo 1000")
    machine.has("python3.11", 'case "$1" in scripts/system_libraries.py) echo "libgl1 libgomp1";; esac')
    done = machine.set_up()
    assert done.returncode == 1
    assert "sudo apt-get install --yes libgl1 libgomp1" in done.stderr


def test_root_gets_the_libraries_installed_after_one_update(machine: Machine) -> None:
    got = machine.checkout / "got"
    machine.has("id", "echo 0")
    machine.has("apt-get", f'if [ "$1" = install ]; then : >{got}; fi')
    machine.has(
        "python3.11",
        f'case "$1" in scripts/system_libraries.py) [ -e {got} ] || echo "libgl1 libx11-6";; -m) exit 7;; esac',
    )
    done = machine.set_up()
    assert done.returncode == 7  # the making of .venv, which this machine refuses
    apt = [call for call in machine.called() if call.startswith("apt-get")]
    assert [call.split()[1] for call in apt] == ["update", "install"]
    assert apt[1].endswith("libgl1 libx11-6")


def test_a_library_still_missing_after_installing_stops_the_work(machine: Machine) -> None:
    machine.has("id", "echo 0")
    machine.has("apt-get", "exit 0")
    machine.has("python3.11", 'case "$1" in scripts/system_libraries.py) echo libgl1;; esac')
    done = machine.set_up()
    assert done.returncode == 1
    assert "still missing after installing: libgl1" in done.stderr


def test_an_environment_made_from_this_lock_file_is_left_alone(machine: Machine) -> None:
    machine.has("python3.11", "exit 0")
    venv = machine.checkout / ".venv"
    (venv / "bin").mkdir(parents=True)
    (venv / "bin" / "python").symlink_to(machine.programs / "python3.11")
    joined = b"".join((machine.checkout / name).read_bytes() for name in ("pyproject.toml", "uv.lock", "scripts/setup"))
    digest = hashlib.sha256(joined).hexdigest()[:16]
    (venv / ".set-up").write_text(digest + "\n", encoding="utf-8")
    done = machine.set_up()
    assert done.returncode == 0, done.stderr
    assert not any(" -m venv" in call for call in machine.called())


def test_postgresql_is_installed_when_root_and_named_otherwise(machine: Machine) -> None:
    """Only the tests need it: for anyone else setting up goes on."""
    script = (machine.checkout / "scripts" / "setup").read_text(encoding="utf-8")
    script = script.replace("/usr/lib/postgresql", str(machine.checkout / "postgresql"))
    (machine.checkout / "scripts" / "setup").write_text(script, encoding="utf-8")
    venv = machine.checkout / ".venv" / "bin"
    venv.mkdir(parents=True)
    machine.has("python3.11", "exit 0")
    (venv / "python").symlink_to(machine.programs / "python3.11")
    (venv / "uv").symlink_to(machine.programs / "uv")
    machine.has("uv", 'echo "uv 0.13.9"')
    machine.has("id", "echo 1000")
    machine.has("apt-get", "exit 0")
    done = machine.set_up()
    assert done.returncode == 0, done.stderr
    assert "sudo apt-get install --yes postgresql" in done.stderr
    assert not any(call.startswith("apt-get") for call in machine.called())
    (machine.checkout / ".venv" / ".set-up").unlink()
    machine.has("id", "echo 0")
    assert machine.set_up().returncode == 0
    assert [call for call in machine.called() if call.startswith("apt-get")][-1].endswith(" postgresql")
