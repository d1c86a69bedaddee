"""Words of the gauges, and what a gauge file says that cannot be."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from proveout.intake.sections import Section
from proveout.intake.toml_words import Place, Word, plain, read_words
from proveout.model.gauge import Gauge, GaugeKind
from proveout.model.size_text import named_thread, read_size
from proveout.quantities.errors import BadInput, OutOfRange

GAUGE_KINDS: tuple[str, ...] = get_args(GaugeKind)
OF_THREADS = ("thread plug", "thread ring")


def _length(stem: str, text: str, high: float, **more: Any) -> Word:
    return Word(stem=stem, text=text, measure="length", low=0.0, high=high, field=f"{stem}_mm", **more)


GAUGE = Section(
    name="gauge",
    text="a gauge",
    is_list=True,
    words=(
        Word(stem="id", text="short name, never changed once used", kind="id", must=True),
        Word(stem="name", text="name said on the floor", kind="text", default="", quiet=True),
        Word(stem="kind", text="kind of gauge", kind="choice", choices=GAUGE_KINDS, must=True),
        _length("low", "smallest size it measures", 5000.0, must=True),
        _length("high", "largest size it measures", 5000.0, must=True),
        _length("uncertainty", "half-width of its uncertainty, k = 2", 1.0, must=True),
        Word(
            stem="angle_uncertainty", text="half-width of its uncertainty of angles, k = 2", measure="angle", low=0.0,
            high=10.0, field="uncertainty_rad", default=None, quiet=True,
        ),
        Word(
            stem="thread", text="thread that it is for, such as M6 6H or 1/4-20 UNC-2B", kind="text", default="",
            quiet=True,
        ),
        _length(
            "go_pitch_diameter", "pitch diameter of its GO as calibrated, where it is not the standard one", 500.0,
            default=None, quiet=True,
        ),
        _length("no_go_pitch_diameter", "pitch diameter of its NO-GO likewise", 500.0, default=None, quiet=True),
    ),
)  # fmt: skip


def gauge_of_words(raw: Mapping[str, Any], place: Place, assumed: list[str]) -> Gauge:
    """The gauge of a table.

    Raises: BadInput or OutOfRange for a range that is upside down, a thread that no gauge of its kind is for, one end
            of a pair alone, or ends that let nothing through.
    """
    gauge = Gauge(**read_words(raw, GAUGE.words, place, assumed))
    if gauge.low_mm > gauge.high_mm:
        raise OutOfRange(
            "The range of this gauge is upside down", where=place.at(), value=f"low {plain(gauge.low_mm)} mm",
            limit=f"high {plain(gauge.high_mm)} mm or less", do="swap the two",
        )  # fmt: skip
    if gauge.thread or gauge.go_pitch_diameter_mm is not None or gauge.no_go_pitch_diameter_mm is not None:
        _check_thread(gauge, place)
    return gauge


def _check_thread(gauge: Gauge, place: Place) -> None:
    if gauge.kind not in OF_THREADS:
        raise BadInput(
            "Only a gauge of threads is for a thread", where=place.at("kind"), value=gauge.kind,
            do='write kind = "thread plug" or "thread ring", or leave thread and pitch diameters out',
        )  # fmt: skip
    is_plug = gauge.kind == "thread plug"
    like = "M6 6H or 1/4-20 UNC-2B" if is_plug else "M30x2 6g or 1/4-20 UNC-2A"
    thread = read_size(gauge.thread) if gauge.thread else named_thread(gauge.name)
    if thread is None or thread.manner != "thread" or thread.letter.isupper() != is_plug:
        raise BadInput(
            f"This {gauge.kind} is for no thread that can be told", where=place.at("thread"),
            value=gauge.thread or gauge.name, do=f"write it with its class, such as {like}",
        )  # fmt: skip
    go, no_go = gauge.go_pitch_diameter_mm, gauge.no_go_pitch_diameter_mm
    if (go is None) != (no_go is None):
        raise BadInput(
            "One end of this pair is missing", where=place.at(), value="GO" if go is None else "NO-GO",
            do="write go_pitch_diameter and no_go_pitch_diameter, or neither for the standard pair",
        )  # fmt: skip
    if go is not None and no_go is not None and (no_go <= go if is_plug else no_go >= go):
        raise OutOfRange(
            "No piece passes this pair", where=place.at(), value=f"GO {plain(go)} mm, NO-GO {plain(no_go)} mm",
            limit="a plug's NO-GO above its GO, a ring's below", do="swap the two",
        )  # fmt: skip
