"""Names that files and folders can have on every system: the one place where that is decided."""

from __future__ import annotations

RESERVED = {"con", "prn", "aux", "nul", "conin$", "conout$", "clock$"} | {
    f"{device}{number}" for device in ("com", "lpt") for number in (*range(10), "¹", "²", "³")
}
"""Names that Windows keeps for devices, in any case and with any ending behind them. Source: from memory."""
PREFIX = "part-"


def is_for_a_device(name: str) -> bool:
    """True for a name that Windows keeps for a device, whatever stands behind its first dot."""
    return name.split(".", 1)[0].rstrip(" ").lower() in RESERVED


def takes_every_system(name: str) -> bool:
    """Whether every system keeps a file of this name under this very name: no device, no dot or blank at its end."""
    return not is_for_a_device(name) and name.rstrip(". ") == name


def for_every_system(name: str) -> str:
    """The name as every system takes it: without dots and blanks at its end, and with PREFIX where it is a device's."""
    bare = name.rstrip(". ")
    return f"{PREFIX}{bare}" if is_for_a_device(bare) else bare
