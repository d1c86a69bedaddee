"""Three fields whose rays meet: for pictures of the metal, where a mesh is wanted and no face is judged."""

from __future__ import annotations

from typing import Any

import numpy as np

from proveout.removal.fields import SPANS_FIRST_COUNT, Fields

SHIFT_RATIO = 0.0137
"""How far every ray runs from the middle of its cell: as far along every axis, so that rays of the three fields meet in
nodes, and not at all in the middle, where faces at round numbers lie."""


class Lattice(Fields):
    """Fields whose rays all run as far from the middles of their cells, so that three of them meet in every node.

    They know the place of a wall along their rays as well as others, and a volume less well: see `fields.py`.
    """

    @classmethod
    def of_box(cls, *, low_mm: np.ndarray, high_mm: np.ndarray, pitch_mm: float) -> Lattice:
        """A full box of metal; low_mm and high_mm are its corners (3,), part frame."""
        return cls(**vars(Fields.from_box(low_mm=low_mm, high_mm=high_mm, pitch_mm=pitch_mm)))

    def copy(self) -> Lattice:
        """Fields of their own arrays with the same content."""
        return Lattice(**vars(super().copy()))

    def ray_shifts_mm(self, k: int) -> tuple[np.ndarray, np.ndarray]:
        """How far the rays of field k run from the middles of their cells along u and v: all as far."""
        rays_u, rays_v = self.rays_uv(k)
        u_axis, v_axis = (k + 1) % 3, (k + 2) % 3
        return (
            np.full(rays_v, SHIFT_RATIO * self.pitch_mm[u_axis]),
            np.full(rays_u, SHIFT_RATIO * self.pitch_mm[v_axis]),
        )

    def __getstate__(self) -> dict[str, Any]:
        """Without the room of lists that nothing lies in: a store keeps a tenth."""
        state = dict(vars(self))
        state["spans"] = [self.spans[k][self._used(k)] for k in range(3)]
        return state

    def __setstate__(self, state: dict[str, Any]) -> None:
        """With that room again."""
        vars(self).update(state)
        kept, self.spans = state["spans"], []
        for k in range(3):
            room = max(SPANS_FIRST_COUNT, int(self.counts[k].max(initial=0)))
            self.spans.append(np.zeros((len(self.counts[k]), room, 2)))
            self.spans[k][self._used(k)] = kept[k]

    @property
    def first_node_mm(self) -> np.ndarray:
        """(3,) mm, the node with the lowest coordinates; the next ones are a pitch apart along each axis."""
        return np.asarray(self.low_mm + (0.5 + SHIFT_RATIO) * self.pitch_mm)
