"""What the flows share beside the store of decisions in the conftest above: the invented plan of tests/sheets."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).resolve().parent.parent / "sheets"))
