"""Short plain names of features, for papers."""

from __future__ import annotations

import math

import numpy as np

from proveout.model.solid import Point

ALONG = 1.0 - 1e-9


def size(value_mm: float) -> str:
    """A size to a hundredth, without noughts at its end: 6.6, 12, 0.25."""
    text = f"{value_mm:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text


def degrees(angle_rad: float) -> str:
    """An angle to a tenth of a degree: 20°, 14.5°."""
    return f"{math.degrees(angle_rad):.1f}".rstrip("0").rstrip(".") + "°"


def direction(way: Point) -> str:
    """+z, or the nearest axis and how far the direction leans from it: "+x, leaning 29°"."""
    at = int(np.argmax(np.abs(way)))
    axis = ("+" if way[at] > 0.0 else "−") + "xyz"[at]
    if abs(way[at]) >= ALONG:
        return axis
    return f"{axis}, leaning {degrees(math.acos(min(1.0, abs(way[at]))))}"


def name_of(*, kind: str, form: str, sizes_mm: dict[str, float], opens: Point, angle_rad: float) -> str:
    """The name of one feature."""
    s = {key: size(value) for key, value in sizes_mm.items()}
    way = direction(opens)
    if kind == "hole":
        return _hole(form, s, way, angle_rad)
    if kind == "pocket":
        return _pocket(form, s, way)
    if kind == "window":
        return f"window {s['width_mm']} × {s['length_mm']} through {s['depth_mm']}, along {way.lstrip('+−')}"
    if kind == "slot":
        return _slot(form, s, way)
    if kind == "step":
        return f"step {s['width_mm']} wide, {s['depth_mm']} deep, open to {way}"
    if kind == "boss":
        across = f"Ø{s['diameter_mm']}" if "diameter_mm" in s else f"{s['width_mm']} × {s['length_mm']}"
        return f"boss {across}, {s['height_mm']} high, towards {way}"
    if kind == "chamfer":
        is_even = abs(sizes_mm["leg_mm"] - sizes_mm["other_leg_mm"]) < 5e-3
        return f"chamfer {s['leg_mm']}" if is_even else f"chamfer {s['other_leg_mm']} × {s['leg_mm']}"
    leans = "undercut flank" if form == "undercut" else "flank"
    flank = f"{leans} at {degrees(angle_rad)}, {s.get('width_mm')} × {s.get('length_mm')}"
    return f"{form} fillet R{s['radius_mm']}" if kind == "fillet" else flank


def _pocket(form: str, s: dict[str, str], way: str) -> str:
    if form == "round":
        return f"ball hollow Ø{s['diameter_mm']}, R{s['ball_radius_mm']}, {s['depth_mm']} deep, open to {way}"
    corner = f", corners R{s['corner_radius_mm']}" if "corner_radius_mm" in s else ""
    head = "pocket" if form == "closed" else "open pocket"
    return f"{head} {s['width_mm']} × {s['length_mm']}, {s['depth_mm']} deep{corner}, open to {way}"


def _hole(form: str, s: dict[str, str], way: str, angle_rad: float) -> str:
    text = f"hole Ø{s['diameter_mm']} through {s['depth_mm']}" if form == "through" else (
        f"hole Ø{s['diameter_mm']}, {s['depth_mm']} deep"
    )  # fmt: skip
    if "counterbore_diameter_mm" in s:
        text += f", counterbore Ø{s['counterbore_diameter_mm']} × {s['counterbore_depth_mm']}"
    steps = [key for key in s if key.startswith("step_")]
    if steps:
        text += ", steps " + ", ".join(f"Ø{s[key]}" for key in steps if key.endswith("diameter_mm"))
    if "countersink_diameter_mm" in s:
        text += f", countersink Ø{s['countersink_diameter_mm']} × {degrees(angle_rad)}"
    return f"{text}, from {way}"


def _slot(form: str, s: dict[str, str], way: str) -> str:
    if form == "ring":
        return f"ring groove {s['width_mm']} wide, Ø{s['diameter_mm']}, {s['depth_mm']} deep, open to {way}"
    head = {"round": "round-bottomed slot", "vee": "vee groove"}.get(form, "slot")
    ends = {"ends": ", from end to end", "open": ", open at one end"}.get(form, "")
    if form == "through":
        return f"slot {s['width_mm']} wide, {s['length_mm']} long, through {s['depth_mm']}, along {way.lstrip('+−')}"
    length = f", {s['length_mm']} long"
    return f"{head} {s['width_mm']} wide{length}, {s['depth_mm']} deep{ends}, open to {way}"
