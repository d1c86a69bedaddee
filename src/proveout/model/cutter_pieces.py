"""The pieces of a cutter by its sizes: those with edges, and neck, shank and holder behind them."""

from __future__ import annotations

import math
from typing import Protocol

from proveout.model.cutter import CutterKind, Piece


class _Sizes(Protocol):
    """What the pieces of a cutter are told by, as the shop file has it."""

    @property
    def kind(self) -> CutterKind: ...
    @property
    def diameter_mm(self) -> float: ...
    @property
    def corner_radius_mm(self) -> float: ...
    @property
    def flute_length_mm(self) -> float: ...
    @property
    def stick_out_mm(self) -> float: ...
    @property
    def shank_diameter_mm(self) -> float: ...
    @property
    def shank_from_mm(self) -> float: ...
    @property
    def holder_diameter_mm(self) -> float: ...
    @property
    def holder_length_mm(self) -> float: ...
    @property
    def tip_angle_rad(self) -> float: ...
    @property
    def tip_diameter_mm(self) -> float: ...
    @property
    def neck_diameter_mm(self) -> float | None: ...


def cutting_pieces(cutter: _Sizes) -> tuple[Piece, ...]:
    """Pieces with edges: tip outward, then the fluted length. A corner radius of a mill is its true torus."""
    radius = cutter.diameter_mm / 2.0
    top = max(cutter.flute_length_mm, 1e-3)
    if cutter.kind == "ball":
        ball = Piece(kind="ball", z_low_mm=0.0, z_high_mm=cutter.diameter_mm, r_low_mm=radius, r_high_mm=radius)
        if top <= radius:
            return (ball,)
        return (ball, Piece(kind="frustum", z_low_mm=radius, z_high_mm=top, r_low_mm=radius, r_high_mm=radius))
    if cutter.kind in ("drill", "spot", "edge break"):
        tip_r = cutter.tip_diameter_mm / 2.0
        cone = (radius - tip_r) / math.tan(cutter.tip_angle_rad / 2.0)
        pieces = [Piece(kind="frustum", z_low_mm=0.0, z_high_mm=cone, r_low_mm=tip_r, r_high_mm=radius)]
        if top > cone + 1e-9:
            pieces.append(Piece(kind="frustum", z_low_mm=cone, z_high_mm=top, r_low_mm=radius, r_high_mm=radius))
        return tuple(pieces)
    if cutter.kind == "undercut":
        # widest at the tip, narrowing towards the neck; tip_angle_rad is the flank's angle to the axis
        neck = radius - top * math.tan(cutter.tip_angle_rad)
        return (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=top, r_low_mm=radius, r_high_mm=max(neck, 0.0)),)
    corner = min(cutter.corner_radius_mm, radius) if cutter.kind in ("end mill", "face mill") else 0.0
    if corner > 0.0:
        tip = Piece(
            kind="round corner", z_low_mm=0.0, z_high_mm=2.0 * corner, r_low_mm=radius - corner, r_high_mm=radius
        )
        if top <= corner:
            return (tip,)
        return (tip, Piece(kind="frustum", z_low_mm=corner, z_high_mm=top, r_low_mm=radius, r_high_mm=radius))
    return (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=top, r_low_mm=radius, r_high_mm=radius),)


def body_pieces(cutter: _Sizes) -> tuple[Piece, ...]:
    """Neck and shank from the end of the flutes to the holder, then the holder."""
    pieces: list[Piece] = []
    shank_r, low, out = cutter.shank_diameter_mm / 2.0, cutter.shank_from_mm, cutter.stick_out_mm
    if cutter.neck_diameter_mm is not None and low > cutter.flute_length_mm + 1e-9:
        neck_r = cutter.neck_diameter_mm / 2.0
        pieces.append(
            Piece(kind="frustum", z_low_mm=cutter.flute_length_mm, z_high_mm=low, r_low_mm=neck_r, r_high_mm=neck_r)
        )
    if out > low + 1e-9 and shank_r > 0.0:
        pieces.append(Piece(kind="frustum", z_low_mm=low, z_high_mm=out, r_low_mm=shank_r, r_high_mm=shank_r))
    if cutter.holder_length_mm > 0.0:
        holder_r = cutter.holder_diameter_mm / 2.0
        pieces.append(
            Piece(
                kind="frustum",
                z_low_mm=cutter.stick_out_mm,
                z_high_mm=cutter.stick_out_mm + cutter.holder_length_mm,
                r_low_mm=holder_r,
                r_high_mm=holder_r,
            )
        )
    return tuple(pieces)
