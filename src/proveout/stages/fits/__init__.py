"""Fits: whether two parts of an order still go together once both are coated."""

from proveout.stages.fits.decide import decide, fit_part

__all__ = ["decide", "fit_part"]
