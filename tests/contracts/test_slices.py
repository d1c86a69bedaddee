"""What a decision does not receive, it does not read: each slice against the code that could."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

SRC = Path(__file__).resolve().parents[2] / "src" / "proveout"
SLICES = SRC / "jobs" / "slices.py"
# by slice: who may read what it leaves out, as it receives the whole noun there
WHOLE: dict[str, tuple[str, ...]] = {
    "vises_as_bodies": (
        "stages/holding", "stages/stability", "stages/turning_over", "sheets", "intake", "jobs/slices.py",
        "jobs/binding.py",
    ),
    "blank_as_body": ("stages/blank", "stages/bars", "stages/costing", "sheets", "cli/words.py", "jobs/comparing.py"),
    "jaws_as_bodies": ("stages/holding", "stages/stability", "sheets", "intake"),
    "cutters_as_bodies": (
        "stages/costing", "stages/timing", "stages/inspection", "stages/buying", "sheets", "intake", "books",
        "jobs/close_out.py",
    ),
    "machines_as_bodies": (
        "stages/clampings", "stages/costing", "stages/timing", "stages/schedule", "sheets", "intake", "jobs/faces.py",
        "jobs/holding.py", "jobs/close_out.py", "jobs/close_out_money.py", "stages/blank/candidates.py",
    ),
    "without_counts": ("stages/timing", "sheets", "jobs/place_programs.py", "jobs/program_now.py"),
}  # fmt: skip
# fields whose name other nouns have too: code that reads it may mean those
OF_OTHERS = {"torque_n_mm", "bar_length_mm", "mass_kg", "price"}
# by slice: the stages that receive it, and what they read of an order or a job nowhere
STAGES: dict[str, tuple[str, ...]] = {
    "job_of_design": ("finishing", "turning_over"),
    "job_of_pieces": ("timing", "costing"),
    "order_of_pieces": ("blank", "bars", "timing", "costing"),
}  # fmt: skip


def left_out(name: str) -> set[str]:
    """Fields that a slice replaces, as it is written."""
    function = next(n for n in ast.parse(SLICES.read_text("utf-8")).body if getattr(n, "name", "") == name)
    calls = [n for n in ast.walk(function) if isinstance(n, ast.Call)]
    return {word.arg for call in calls for word in call.keywords if word.arg is not None}


@cache
def attributes(path: Path) -> list[ast.Attribute]:
    """Everything that is read of something in a file."""
    nodes = ast.walk(ast.parse(path.read_text("utf-8")))
    return [node for node in nodes if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load)]


def reads(path: Path, fields: set[str], *, of: str = "") -> list[str]:
    """Where a file reads such a field.   of: the last word of what it is read of, empty for anything."""
    found = []
    for node in attributes(path):
        if node.attr in fields:
            owner = node.value.attr if isinstance(node.value, ast.Attribute) else getattr(node.value, "id", "")
            if not of or owner == of:
                found.append(f"{path.relative_to(SRC)}:{node.lineno} {owner}.{node.attr}")
    return found


def test_every_slice_is_looked_at() -> None:
    names = {n.name for n in ast.parse(SLICES.read_text("utf-8")).body if isinstance(n, ast.FunctionDef)}
    assert names == {*WHOLE, *STAGES, "shop_of_bodies"}


@pytest.mark.parametrize("name", sorted(WHOLE))
def test_what_a_slice_leaves_out_is_read_only_where_the_whole_comes(name: str) -> None:
    fields = left_out(name) - OF_OTHERS
    assert fields
    others = [
        place
        for path in sorted(SRC.rglob("*.py"))
        if not path.relative_to(SRC).as_posix().startswith((*WHOLE[name], "model/"))
        for place in reads(path, fields)
    ]
    assert others == [], "hand it the whole noun, or it decides by a value that is not there"


@pytest.mark.parametrize(("name", "stage"), [(name, stage) for name in sorted(STAGES) for stage in STAGES[name]])
def test_no_stage_reads_of_a_job_or_an_order_what_it_does_not_receive(name: str, stage: str) -> None:
    fields, of = left_out(name), "order" if name == "order_of_pieces" else "job"
    if name == "job_of_pieces":
        fields = {"pins"}  # the order is there, without its days
    assert fields
    assert [
        place for path in sorted((SRC / "stages" / stage).rglob("*.py")) for place in reads(path, fields, of=of)
    ] == []
