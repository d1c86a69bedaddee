"""Features of a solid as a machinist names them: holes, pockets, slots, steps, bosses, edges, fillets, flanks."""

from __future__ import annotations

from typing import Literal

from proveout.model.shop import Noun
from proveout.model.solid import Point

FeatureKind = Literal["hole", "thread", "pocket", "window", "slot", "step", "boss", "chamfer", "fillet", "flank"]
FeatureForm = Literal[
    "through", "blind", "closed", "open", "ends", "round", "vee", "ring", "inside", "outside", "undercut", "leaning",
    "edge",
]  # fmt: skip


class Feature(Noun, frozen=True, kw_only=True):
    """One feature, told by the shape alone.

    form: of a hole through or blind; of a pocket closed, or open at a side; of a slot closed, open at one end, at both
    ends, through the part, round or vee in its section, or a ring;  of a step closed where several walls stand about
    it, else open;  of a fillet inside or outside;  of a flank undercut or leaning.
    id: kind, sizes and place; the same under another export of the same solid.
    sizes_mm: by a name that ends in its unit, such as width_mm;  angle_rad: of a countersink, a chamfer or a flank
    against what it leans from, 0 for none.
    place_mm: middle of its mouth (of an edge: middle of its rims; of a flank: its middle), part frame.
    opens: unit direction out of its mouth; of a boss or flank away from the metal; of an edge between its neighbours.
    within: id of the feature that this one is a part of, empty for none.
    name: short and plain, for papers: "slot 6.6 wide, 12 deep, open to +z".
    """

    id: str
    kind: FeatureKind
    form: FeatureForm
    face_ids: tuple[str, ...]
    sizes_mm: dict[str, float]
    place_mm: Point
    opens: Point
    name: str
    angle_rad: float = 0.0
    hole_id: str = ""
    within: str = ""
