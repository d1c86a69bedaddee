"""Holes and threads that are deep for their diameter."""

from __future__ import annotations

from proveout.model.features import Feature
from proveout.stages.concerns.measured import Measured, label, no_more

HOLE_RATIO = 10.0
"""Depth over diameter beyond which a drill needs a long one and wanders. Common practice, no source."""
THREAD_RATIO = 3.0
"""Drilled depth of a thread over its diameter beyond which a tap breaks sooner and holds no more. As above."""


def measure_deep(features: tuple[Feature, ...]) -> list[Measured]:
    """Depth over diameter of each hole, from where its narrowest round begins, and of each thread."""
    out: list[Measured] = []
    for feature in features:
        s = feature.sizes_mm
        if feature.kind == "hole":
            starts = [v for key, v in s.items() if key.endswith("_depth_mm")]
            deep = s["depth_mm"] - max([v for v in starts if v < s["depth_mm"]], default=0.0)
            out.append(
                Measured(
                    kind="deep hole", subject=label(feature), face_ids=feature.face_ids,
                    found=round(deep / s["diameter_mm"], 4), limit=HOLE_RATIO, sense="at most", unit="x its diameter",
                    text=f"{feature.name[:1].upper()}{feature.name[1:]}: Ø{s['diameter_mm']:.4g} runs {deep:.4g} deep.",
                    change=f"make it {no_more(HOLE_RATIO * s['diameter_mm'])} deep or less, or wider, "
                    "or widen its far part",
                )
            )  # fmt: skip
        elif feature.kind == "thread":
            most = THREAD_RATIO * s["thread_mm"]
            out.append(
                Measured(
                    kind="deep thread", subject=label(feature), face_ids=feature.face_ids,
                    found=round(s["depth_mm"] / s["thread_mm"], 4), limit=THREAD_RATIO, sense="at most",
                    unit="x its diameter",
                    text=f"{feature.name[:1].upper()}{feature.name[1:]}: {s['depth_mm']:.4g} of drilled depth.",
                    change=f"drill it {no_more(most)} deep or less",
                )
            )  # fmt: skip
    return out
