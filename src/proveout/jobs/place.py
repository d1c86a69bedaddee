"""One planned part and where it lies."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from proveout.intake.job_file import read_job
from proveout.intake.shop_file import read_shop
from proveout.model.job import Job
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.quantities.canonical import digest_of


@dataclass(frozen=True)
class Place:
    """One planned part and where it lies. address: the entry's name, and for a part of an order its folder too.

    folder: of the result, which keeps the inputs that it was planned from.   mark: time and size of its plan's file.
    named: the fingerprint that a packet's plan was released by; empty of what was not released.
    """

    address: str
    entry: str
    folder: Path
    plan: Plan
    mark: tuple[int, int] = (0, 0)
    named: str = ""

    @property
    def fingerprint(self) -> str:
        """By which records and papers know the plan: that of its release, whichever version reads it now."""
        return self.named or digest_of(self.plan)

    @property
    def job_file(self) -> Path | None:
        """The job file that it was planned from, as the result keeps it."""
        path = self.folder / "inputs" / "job.toml"
        return path if path.is_file() else None

    @property
    def step(self) -> Path | None:
        """The STEP file that it was planned from, as the result keeps it."""
        return next(iter(sorted((self.folder / "inputs").glob("part.*"))), None)

    @property
    def shop(self) -> Shop:
        """The shop that it was planned for."""
        return read_shop(self.folder / "inputs" / "shop.toml")

    @property
    def job(self) -> Job | None:
        """What was written about the part, None of a bare solid."""
        return read_job(self.job_file) if self.job_file is not None else None
