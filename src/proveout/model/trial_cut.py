"""A short cut in scrap that tells by ear and eye whether a cutter chatters."""

from __future__ import annotations

from proveout.model.shop import Noun


class TrialCut(Noun, frozen=True, kw_only=True):
    """A straight cut in scrap that gets evenly deeper, at speed, feed and width of a pass.

    proof_id: the proof that it decides, as far as scrap can.   clamping_id: whose vise, jaws and torque hold the scrap.
    bar_id: the bar that the scrap is of.   scrap_mm: its length along X, length_off_mm more or less, lying in the
    middle of the jaws, middle_off_mm off it at most.   grip_mm: how deep it lies in them.   top_mm: how far its top may
    at most stand above them.   reserve_low: how many times the force of the cut may at least grow before the scrap
    moves.   The cutter's axis starts at start_mm, at the height of
    the top; from ramp_mm on it goes down evenly and reaches depths_mm at x_mm, then goes on level to end_mm.
    X 0 is the left end of the scrap.   y_mm: of the axis; Y 0 is the front side, or the middle where is_slot.
    tooth_hz: how often a tooth passes.   cut_s: seconds at feed.   pass_mm: how deep the pass goes.   is_narrow: the
    front side must be cut clean first.   is_whole: the cut ends as deep as the pass goes.
    """

    proof_id: str
    machine_id: str
    cutter_id: str
    pass_id: str
    clamping_id: str
    bar_id: str
    scrap_mm: float
    grip_mm: float
    top_mm: float
    length_off_mm: float
    middle_off_mm: float
    reserve_low: float
    speed_rad_per_s: float
    feed_mm_per_s: float
    radial_mm: float
    start_mm: float
    ramp_mm: float
    x_mm: tuple[float, ...]
    depths_mm: tuple[float, ...]
    end_mm: float
    y_mm: float
    pass_mm: float
    tooth_hz: float
    cut_s: float
    is_slot: bool
    is_narrow: bool
    is_whole: bool
