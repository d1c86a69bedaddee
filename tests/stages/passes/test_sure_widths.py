"""How wide the window of a hole is sure to be, which decides whether a drill alone may make it."""

from __future__ import annotations

import msgspec
import pytest
from stages.coated_parts import bore, coat, ring_part

from proveout.jobs.rounds import sure_widths_mm
from proveout.model.job import Coat


def width_mm(text: str, some: Coat | None) -> float:
    _, survey = ring_part()
    (found,) = sure_widths_mm(survey, bore(text=text, coat=some).value.finishing.windows).values()
    return found


def test_a_window_that_hangs_on_an_etch_nobody_said_is_sure_of_no_width() -> None:
    """Worked: 20 H9 is 0.052 wide, 0.022 under the coat; an etch that nobody said may take all of that."""
    said, unsaid = coat(), msgspec.structs.replace(coat(), etch_mm=None)
    assert width_mm("H9", None) == pytest.approx(0.052)
    assert width_mm("H9", said) == pytest.approx(0.022)
    assert width_mm("H9", unsaid) == 0.0


def test_an_empty_window_is_sure_of_none_either() -> None:
    assert width_mm("H6", coat()) == 0.0
