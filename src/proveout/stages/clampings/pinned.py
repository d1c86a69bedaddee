"""What the owner has fixed of the clampings: one value for all of them, or one a clamping in working order."""

from __future__ import annotations

from dataclasses import dataclass

from proveout.model.job import Pin
from proveout.model.work import Vector
from proveout.quantities.errors import BadInput
from proveout.stages.clampings.looking import Shopfloor
from proveout.stages.clampings.offers import name_of

SIDES = ("+x", "-x", "+y", "-y", "+z", "-z")
NONE = "none"


@dataclass(frozen=True)
class Pinned:
    """ups, machines: by clamping, () leaves them open; where ups name all clampings no further one is added.

    tilts: sides that the cutter may come from beside the way up; None for any, () for none.  vise, jaws: of the first.
    """

    first_up: str = ""
    ups: tuple[str, ...] = ()
    machine: str = ""
    machines: tuple[str, ...] = ()
    vise: str = ""
    jaws: str = ""
    tilts: tuple[str, ...] | None = None

    def allows_up(self, number: int, name: str) -> bool:
        """Whether this way up may be the clamping with this index."""
        if self.ups:
            return number < len(self.ups) and self.ups[number] == name
        return number > 0 or self.first_up in ("", name)

    def allows_machine(self, number: int, machine_id: str) -> bool:
        """Whether this machine may hold the clamping with this index."""
        if self.machines:
            return number < len(self.machines) and self.machines[number] == machine_id
        return self.machine in ("", machine_id)

    def allows_tilt(self, direction: Vector) -> bool:
        """Whether the cutter may come from this side beside the way up."""
        return self.tilts is None or name_of(direction) in self.tilts


def pinned_by(pins: tuple[Pin, ...], floor: Shopfloor) -> Pinned:
    """The pins in one place.

    Raises:   BadInput when one names something that the shop or the part does not have, or two of them disagree.
    """
    fixed = {pin.quantity: pin.value for pin in pins}
    known = {
        "machine": {m.id for m in floor.machines}, "machines": {m.id for m in floor.machines},
        "vise": {v.id for v in floor.vises}, "jaws": {j.id for j in floor.jaws}, "up": set(SIDES), "ups": set(SIDES),
        "tilts": {*SIDES, NONE},
    }  # fmt: skip
    lists = {name: tuple(fixed.get(name, "").splitlines()) for name in ("ups", "machines", "tilts")}
    for name, ids in known.items():
        for value in lists.get(name) or ((fixed[name],) if name in fixed and name not in lists else ()):
            if value not in ids:
                raise BadInput(
                    f"The pinned {name} is not in the shop", where=f"job file, [pins] {name}", value=value,
                    limit=", ".join(sorted(ids)), do="name one of these or drop the pin",
                )  # fmt: skip
    for one, many in (("up", "ups"), ("machine", "machines")):
        if one in fixed and lists[many]:
            raise BadInput(
                f"Both {one} and {many} are pinned", where=f"job file, [pins] {one}", value=fixed[one],
                limit=f"either {one} or {many}", do=f"keep {many} where every clamping is to be fixed",
            )  # fmt: skip
    doubled = next((up for up in lists["ups"] if lists["ups"].count(up) > 1), "")
    if doubled:
        raise BadInput(
            "A way up is pinned twice", where="job file, [pins] ups", value=doubled, limit="each side once",
            do="name every side once, in working order",
        )  # fmt: skip
    tilts = tuple(t for t in lists["tilts"] if t != NONE) if lists["tilts"] else None
    return Pinned(
        first_up=fixed.get("up", ""), ups=lists["ups"], machine=fixed.get("machine", ""), machines=lists["machines"],
        vise=fixed.get("vise", ""), jaws=fixed.get("jaws", ""), tilts=tilts,
    )  # fmt: skip
