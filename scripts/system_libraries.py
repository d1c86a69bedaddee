"""Print the Debian packages of the system libraries that the compiled wheels need and that cannot be loaded here.

Runs on a bare Python 3.11, before anything is installed. Nothing printed means nothing missing. On other systems
than Linux the wheels bring these libraries along, so nothing is asked for there.
"""

from __future__ import annotations

import ctypes
import sys

PACKAGE_FROM_LIBRARY = {
    "libGL.so.1": "libgl1",
    "libX11.so.6": "libx11-6",
    "libexpat.so.1": "libexpat1",
    "libgomp.so.1": "libgomp1",
}


def missing_packages(package_from_library: dict[str, str]) -> list[str]:
    """Packages whose library the loader refuses, in the order given."""
    missing = []
    for library, package in package_from_library.items():
        try:
            ctypes.CDLL(library)
        except OSError:
            missing.append(package)
    return missing


if __name__ == "__main__":
    if sys.platform == "linux":
        print(" ".join(missing_packages(PACKAGE_FROM_LIBRARY)))
