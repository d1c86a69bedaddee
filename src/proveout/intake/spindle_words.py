"""The torque of a spindle by its speed, from two lists in the shop file."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from proveout.intake.toml_words import Place, plain
from proveout.quantities.errors import BadInput
from proveout.quantities.units import rpm_from_rad_per_s

LEAST_COUNT = 2


def torque_curve_of_words(values: dict[str, Any], place: Place) -> tuple[tuple[float, float], ...]:
    """Speeds and torques of a machine as pairs, taken out of its values; none where neither list is given.

    Raises:   BadInput when one list is missing or shorter, has fewer than two, or the speeds do not rise.
    """
    speeds, torques = values.pop("torque_speeds"), values.pop("torques")
    if speeds is None and torques is None:
        return ()
    if speeds is None or torques is None or len(speeds) != len(torques) or len(speeds) < LEAST_COUNT:
        raise BadInput(
            "A spindle's torque needs a torque for each of at least two speeds", where=place.at("torque_speeds_rpm"),
            value=f"{len(speeds or ())} speeds and {len(torques or ())} torques",
            do="write torque_speeds_rpm and torques_n_m as lists of one length, or leave both out",
        )  # fmt: skip
    for slow, fast in pairwise(speeds):
        if fast <= slow:
            raise BadInput(
                "The speeds of a spindle's torque must rise", where=place.at("torque_speeds_rpm"),
                value=f"{plain(rpm_from_rad_per_s(slow))} before {plain(rpm_from_rad_per_s(fast))} 1/min",
                do="write them slowest first, each once",
            )  # fmt: skip
    return tuple(zip(speeds, torques, strict=True))
