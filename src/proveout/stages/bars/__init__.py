"""Bars: how many, in which bundles, cut how often."""
