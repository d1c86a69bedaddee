"""What lies in the folder that a desk shows: designs, orders and their plans."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import msgspec

from proveout.intake.order_file import read_order
from proveout.intake.shop_file import read_shop
from proveout.intake.starting_shop import starting_shop
from proveout.jobs.catalogue import Found, Known, found_in
from proveout.jobs.check_plan import read_plan
from proveout.jobs.held import Held
from proveout.jobs.packets import OF_BATCH, packet_of
from proveout.jobs.place import Place
from proveout.model.catalogue import EntryKind
from proveout.model.order import OrderLoad, OrderMoney
from proveout.model.plan import Plan
from proveout.model.proof import Proof
from proveout.model.purchase import OrderBuying
from proveout.model.sawing import OrderSawing
from proveout.model.shop import Shop
from proveout.quantities.errors import BadInput, ProveoutError

PLAN, ORDER = "plan.json", "order.json"
PLANS_MOST, PLANS_MOST_BYTES = 32, 64 * 1024 * 1024  # that are held in memory, by the bytes of their files
OF_ORDER = ":"  # between an order's name and the folder of one of its parts, in an address


@dataclass(frozen=True)
class PlannedOrder:
    """What order.json says of a planned order. folders: of its parts, inside its own.   sawing: of all together.

    buying, money: None where it was planned before orders told them.
    """

    folder: Path
    name: str
    ready: bool
    folders: tuple[str, ...]
    load: OrderLoad
    fits: tuple[Proof, ...]
    sawing: OrderSawing | None = None
    sawing_proofs: tuple[Proof, ...] = ()
    buying: OrderBuying | None = None
    money: OrderMoney | None = None


@dataclass(frozen=True)
class Entry:
    """One file of the home that is planned by itself. name: its address.   path: of the file.

    result: its result folder, whether or not anything is there yet.   parts: addresses of its planned parts.
    files: all that it is read from.
    """

    name: str
    kind: EntryKind
    path: Path
    result: Path
    parts: tuple[str, ...]
    files: tuple[Path, ...]

    @property
    def is_planned(self) -> bool:
        """True where a plan of it lies in its result folder, made from whatever its files said then."""
        return bool(self.parts)


class _PartOfOrder(msgspec.Struct):
    folder: str


class _OrderResult(msgspec.Struct):
    ready: bool
    parts: list[_PartOfOrder]
    load: OrderLoad
    fits: list[Proof] = []
    sawing: OrderSawing | None = None
    sawing_proofs: list[Proof] = []
    buying: OrderBuying | None = None
    money: OrderMoney | None = None


class Home:
    """A folder with designs and orders, the shop they are planned for, and the folder of their plans.

    Args:     root: with job, order and STEP files, in it or below.   shop_path: None for ROOT/shop.toml, or the
              starting shop where there is none.   plans: None for ROOT-plans beside it, as `plan-all` writes.
    Raises:   BadInput when the root is no folder.
    """

    def __init__(self, root: Path, *, shop_path: Path | None = None, plans: Path | None = None) -> None:
        if not root.is_dir():
            raise BadInput("There is no such folder", where=str(root), do="name a folder for designs and orders")
        self.root = root.resolve()
        self.plans = (plans if plans is not None else self.root.with_name(f"{self.root.name}-plans")).resolve()
        own = self.root / "shop.toml"
        self.shop_path = shop_path.resolve() if shop_path is not None else own
        self._known: Known = {}
        self._plans: Held[Path, tuple[tuple[int, int], Plan]] = Held(
            most_count=PLANS_MOST, most_bytes=PLANS_MOST_BYTES, size=lambda held: held[0][1]
        )

    @property
    def has_shop(self) -> bool:
        """False where no shop file is there, and the starting shop is taken."""
        return self.shop_path.is_file()

    def shop(self) -> Shop:
        """The shop as its file says now.

        Raises:   BadInput for a broken file.
        """
        return read_shop(self.shop_path) if self.has_shop else starting_shop()

    @property
    def is_inch(self) -> bool:
        """The shop reads inches; False of one that cannot be read."""
        try:
            return self.shop().units == "inch"
        except BadInput:
            return False

    def entries(self) -> tuple[Entry, ...]:
        """Everything in the folder that is planned by itself, in order of path; none in an empty folder."""
        try:
            found, _ = found_in(self.root, out=self.plans, known=self._known)
        except BadInput:
            return ()
        return tuple(self._entry(one) for one in found)

    def entry(self, name: str) -> Entry:
        """The entry of that name.

        Raises:   BadInput when there is none.
        """
        for one in self.entries():
            if one.name == name:
                return one
        raise BadInput("There is no such design or order here", where=str(self.root), value=name)

    def place(self, address: str) -> Place:
        """A planned part by its address, or the packet of a released batch by OF_BATCH and the batch's name.

        Raises:   BadInput when there is no such entry, it has no plan, or the plan is of another version; also for a
                  packet that is not as it was released.
        """
        if address.startswith(OF_BATCH):
            return packet_of(self, address.removeprefix(OF_BATCH))
        name, _, sub = address.partition(OF_ORDER)
        entry = self.entry(name)
        if address not in entry.parts:
            raise BadInput("There is no plan of it yet", where=address, do="plan it")
        folder = entry.result / sub
        plan, mark = self._plan(folder)
        return Place(address=address, entry=name, folder=folder, plan=plan, mark=mark)

    def own(self, path: Path) -> Path:
        """The file itself, behind any link; only files of the home are ever written.

        Raises:   BadInput for one that lies elsewhere.
        """
        real = path.resolve()
        if not real.is_relative_to(self.root):
            raise BadInput(
                "This file lies outside the folder of the desk, which writes only inside it", where=str(path),
                limit=str(self.root), do="change the file itself, or open the desk over its folder",
            )  # fmt: skip
        return real

    def order(self, entry: Entry) -> PlannedOrder:
        """What a planned order says.

        Raises:   BadInput when it is not planned, or its order.json cannot be read.
        """
        try:
            read = msgspec.json.decode((entry.result / ORDER).read_bytes(), type=_OrderResult)
        except (OSError, msgspec.DecodeError, ProveoutError) as fault:
            raise BadInput(
                "There is no plan of this order that can be read", where=entry.name, value=str(fault), do="plan it"
            ) from fault
        name = read_order(entry.result / "order.toml").name or entry.name
        return PlannedOrder(
            folder=entry.result, name=name, ready=read.ready, folders=tuple(p.folder for p in read.parts),
            load=read.load, fits=tuple(read.fits), sawing=read.sawing, sawing_proofs=tuple(read.sawing_proofs),
            buying=read.buying, money=read.money,
        )  # fmt: skip

    def _entry(self, found: Found) -> Entry:
        result = self.plans / found.folder
        parts: tuple[str, ...] = ()
        if (result / PLAN).is_file():
            parts = (found.folder,)
        elif (result / ORDER).is_file():
            subs = sorted(p.name for p in result.iterdir() if (p / PLAN).is_file())
            parts = tuple(f"{found.folder}{OF_ORDER}{sub}" for sub in subs)
        return Entry(
            name=found.folder, kind=found.kind, path=self.root / found.path, result=result, parts=parts,
            files=found.files,
        )  # fmt: skip

    def _plan(self, folder: Path) -> tuple[Plan, tuple[int, int]]:
        """The plan and the mark of its file, read anew only when that has changed or others were wanted since."""
        told = (folder / PLAN).stat()
        mark = (told.st_mtime_ns, told.st_size)
        held = self._plans.get(folder)
        if held is None or held[0] != mark:
            held = (mark, read_plan(folder))
            self._plans.put(folder, held)
        return held[1], mark
