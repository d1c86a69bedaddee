"""Readings and what they prove: samples of lots, capability, charts, drift, gauge studies, accept limits."""
