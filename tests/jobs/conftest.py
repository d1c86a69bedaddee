"""The invented plan of the sheets serves here too, and the small plate of the flows."""

from __future__ import annotations

import sys
from pathlib import Path

TESTS = Path(__file__).resolve().parent.parent
sys.path += [str(TESTS / "sheets"), str(TESTS / "flows")]
