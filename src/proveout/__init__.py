"""Proveout plans the making of machined parts and proves every decision before the first chip."""

__version__ = "0.1.0"
