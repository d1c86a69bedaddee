"""The edge map: the part in the views that show its edges best, edges by hand and by machine told by their line."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.model.bench import BenchPlan, EdgeRun
from proveout.model.solid import Edge
from proveout.sheets.few_views import few_views
from proveout.sheets.numbered import (
    BARE_MM,
    CLOSE_MM,
    NUMBERED_VIEWS,
    PartViews,
    around,
    draw_balloon,
    draw_leader,
    room_around,
    spread_balloons,
)
from proveout.sheets.svg import Fit, Paper
from proveout.sheets.two_columns import two_columns
from proveout.sheets.visible import FACING, Sight, facing_ratios, look

Array = NDArray[np.float64]
COLUMN_MM = 90.0  # of one view, two side by side
ROW_MM = 66.0  # at most
NAME_MM = 6.0
STEP_MM = 0.5  # along an edge, where it is asked whether it shows
HAIR_MM = 0.15
STYLES = {"hand": (0.95, ""), "machine": (0.5, "2.0 1.1")}
KEY = "thick: by hand; dashed: by machine"


@dataclass(frozen=True)
class _Shown:
    """Pieces of one run that show in a view, on its page, and how long they are together."""

    lines: list[Array]
    length_mm: float

    def middle(self) -> Array:
        """A place on the longest piece, half-way along."""
        longest = max(self.lines, key=_length)
        steps = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(longest, axis=0), axis=1))])
        at = steps[-1] / 2.0
        return np.array([np.interp(at, steps, longest[:, k]) for k in (0, 1)])


def edge_map_svg(bench: BenchPlan, views: PartViews) -> tuple[str, float, tuple[str, ...]]:
    """The SVG, its height in mm, and the letters of runs that show in none of its views."""
    solid = views.solid
    edges = {edge.id: edge for edge in solid.edges}
    seen: list[dict[str, _Shown]] = []
    for view in NUMBERED_VIEWS:
        sight = look(solid, view_direction=view.view_direction, up=view.up)
        facing = facing_ratios(solid, sight)
        # an edge seen only through a hole, from behind, would mislead
        near = {e.id: e for e in edges.values() if max(facing[list(e.faces)]) > FACING}
        shown = {run.letter: _shown(run, near, sight) for run in bench.edges}
        seen.append({letter: one for letter, one in shown.items() if one.lines})
    chosen = few_views([{letter: one.length_mm for letter, one in view.items()} for view in seen])
    fits = {i: _fit(views, i, has_letters=bool(seen[i])) for i in chosen}
    panels: list[tuple[int, set[str]]] = []
    named: set[str] = set()
    for index in chosen:
        fresh = {letter for letter in seen[index] if letter not in named}
        panels += [(index, share) for share in _shares(seen[index], fresh, fits[index])]
        named |= fresh
    spots, end = two_columns([fits[index] for index, _ in panels], column_mm=COLUMN_MM, name_mm=NAME_MM)
    paper = Paper(width_mm=2.0 * COLUMN_MM, height_mm=end + 1.0)
    for (index, share), spot in zip(panels, spots, strict=True):
        _draw(paper, views, index, seen[index], share, fits[index], spot.shift_mm, bench)
        paper.words(NUMBERED_VIEWS[index].name, spot.middle_mm, spot.foot_mm + 3.6)
    missing = tuple(run.letter for run in bench.edges if run.letter not in named)
    alt = f"Edge map of the part in {len(panels)} views; {KEY}; each run of edges carries its letter once."
    return paper.text(alt=alt, ids="e"), paper.height_mm, missing


def _shares(seen: dict[str, _Shown], fresh: set[str], fit: Fit) -> list[set[str]]:
    """Letters of a view, in as many shares as it takes for those of each to stand around it: it is drawn for each."""
    most = sum(room_around(around(fit, np.zeros(2))).values())
    count = max(1, math.ceil(len(fresh) / most))
    each = math.ceil(len(fresh) / count)
    in_order = sorted(fresh, key=lambda letter: (tuple(seen[letter].middle()), letter))
    return [set(in_order[k * each : (k + 1) * each]) for k in range(count)]


def _shown(run: EdgeRun, edges: dict[str, Edge], sight: Sight) -> _Shown:
    lines: list[Array] = []
    for edge_id in run.edge_ids:
        edge = edges.get(edge_id)
        if edge is not None:
            lines += _pieces(_stepped(edge.points_mm), sight)
    return _Shown(lines, sum(_length(line) for line in lines))


def _stepped(points: Array) -> Array:
    """The polyline with no step longer than STEP_MM."""
    rows: list[Array] = [points[:1]]
    for a, b in itertools.pairwise(points):
        count = max(1, int(np.ceil(float(np.linalg.norm(b - a)) / STEP_MM)))
        share = np.linspace(0.0, 1.0, count + 1)[1:, None]
        rows.append(a + share * (b - a))
    return np.vstack(rows)


def _pieces(points: Array, sight: Sight) -> list[Array]:
    """The stretches of a line of the part that show, as lines of the page."""
    clear = np.array([sight.shows((float(x), float(y), float(z)), hair_mm=HAIR_MM) for x, y, z in points])
    page = sight.page(points)
    found: list[Array] = []
    start: int | None = None
    for k in range(len(points) + 1):
        if k < len(points) and clear[k]:
            start = k if start is None else start
        elif start is not None:
            if k - start >= 2 and _length(page[start:k]) > STEP_MM:
                found.append(page[start:k])
            start = None
    return found


def _length(line: Array) -> float:
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())


def _fit(views: PartViews, index: int, *, has_letters: bool) -> Fit:
    points = np.vstack(views.drawings[index].visible_mm)
    margin = CLOSE_MM if has_letters else BARE_MM
    return Fit(points, width_mm=COLUMN_MM, height_mm=ROW_MM, margin_mm=margin, largest=6.0)


def _draw(
    paper: Paper, views: PartViews, index: int, seen: dict[str, _Shown], fresh: set[str], fit: Fit, shift: Array,
    bench: BenchPlan,
) -> None:  # fmt: skip
    paper.strokes([fit.to_paper(line) + shift for line in views.drawings[index].visible_mm], width_mm=0.15)
    ends: dict[int, Array] = {}
    for place, run in enumerate(bench.edges):
        if run.letter not in seen:
            continue
        width, dash = STYLES[run.manner]
        paper.strokes([fit.to_paper(line) + shift for line in seen[run.letter].lines], width_mm=width, dash=dash)
        if run.letter in fresh:
            ends[place] = fit.to_paper(seen[run.letter].middle()[None])[0] + shift
    centres = spread_balloons(ends, around(fit, shift))
    for place, centre in sorted(centres.items()):
        draw_leader(paper, ends[place], centre)
    for place, centre in sorted(centres.items()):
        draw_balloon(paper, bench.edges[place].letter, centre)
