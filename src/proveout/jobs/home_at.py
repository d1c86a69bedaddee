"""Where a home lies, for a process of its own that opens it anew."""

from __future__ import annotations

from pathlib import Path

import msgspec

from proveout.jobs.home import Home


class HomeAt(msgspec.Struct, frozen=True, kw_only=True):
    """The paths of a home."""

    root: str
    shop: str
    plans: str

    @classmethod
    def of(cls, home: Home) -> HomeAt:
        """Where this one lies."""
        return cls(root=str(home.root), shop=str(home.shop_path), plans=str(home.plans))

    def opened(self) -> Home:
        """The home.

        Raises:   BadInput when it is gone.
        """
        return Home(Path(self.root), shop_path=Path(self.shop), plans=Path(self.plans))
