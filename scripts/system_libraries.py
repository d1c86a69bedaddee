"""Print the Debian packages that a development environment needs and that this machine lacks.

They are the system libraries of the compiled wheels, and what the browser tests of the desk look with: a browser and
letters. Runs on a bare Python 3.11, before anything is installed. Nothing printed means nothing missing. On other
systems than Linux the wheels bring their libraries along, so nothing is asked for there.
"""

from __future__ import annotations

import ctypes
import shutil
import sys
from pathlib import Path

PACKAGE_FROM_LIBRARY = {
    "libGL.so.1": "libgl1",
    "libX11.so.6": "libx11-6",
    "libexpat.so.1": "libexpat1",
    "libgomp.so.1": "libgomp1",
}
PACKAGE_FROM_PROGRAM = {"chromium": "chromium"}
FONTS, FONTS_PACKAGE = Path("/usr/share/fonts"), "fonts-dejavu-core"
BROWSER_PACKAGES = (*PACKAGE_FROM_PROGRAM.values(), FONTS_PACKAGE)


def missing_packages(package_from_library: dict[str, str]) -> list[str]:
    """Packages whose library the loader refuses, in the order given."""
    missing = []
    for library, package in package_from_library.items():
        try:
            ctypes.CDLL(library)
        except OSError:
            missing.append(package)
    return missing


def missing_for_browser(package_from_program: dict[str, str], fonts: Path) -> list[str]:
    """Packages of programs that are not found, and of letters where no font that scales lies under `fonts`."""
    missing = [package for program, package in package_from_program.items() if shutil.which(program) is None]
    has_font = any(next(fonts.rglob(f"*.{kind}"), None) is not None for kind in ("ttf", "otf", "ttc"))
    return missing if has_font else [*missing, FONTS_PACKAGE]


if __name__ == "__main__":
    if sys.platform == "linux":
        print(" ".join(missing_packages(PACKAGE_FROM_LIBRARY) + missing_for_browser(PACKAGE_FROM_PROGRAM, FONTS)))
