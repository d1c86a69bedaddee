"""The solvers' library, loaded ahead of need."""

from __future__ import annotations


def load() -> None:
    """Load it now, for whoever forks later and would else load it once a fork."""
    from ortools.sat.python import cp_model  # noqa: F401 - loading it is all that is wanted
