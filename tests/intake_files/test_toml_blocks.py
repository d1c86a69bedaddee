"""Several changes of an owner's file at once: only what was asked differs, and nothing else is ever written."""

from __future__ import annotations

import difflib
import tomllib
from pathlib import Path
from typing import Any

import pytest

from proveout.intake.toml_blocks import TOLD, Put, edited
from proveout.intake.toml_lines import Inline, Numeral
from proveout.intake.toml_marks import row_is_marked, without_row_mark
from proveout.quantities.errors import BadInput, InternalError

SHOP_TEXT = (Path(__file__).parents[2] / "examples" / "shop.toml").read_text(encoding="utf-8")
SMALL = """# a shop
name = "x"  # its name

[[a]]
id = "1"
# of the second
[[a]]
id = "2"   # two
size_mm = 0.20
[a.inner]
k = 1

# of b
[b]
list = [
    1, # one
    2, # two
]
row = [
    { id = "r1", p = 1.50 },  # assumed: by hand
    { id = "r2", p = 2 },  # kept
]
"""


def changed(text: str, *puts: Put) -> list[str]:
    """Lines that differ, with their signs."""
    new = edited(text, puts)
    lines = difflib.unified_diff(text.splitlines(), new.splitlines(), lineterm="", n=0)
    return [line for line in lines if line[:1] in "+-" and line[:3] not in ("+++", "---")]


@pytest.mark.parametrize(
    ("puts", "lines"),
    [
        ((Put(("name",), "y"),), ['-name = "x"  # its name', '+name = "y"  # its name']),
        ((Put(("a", 1, "size_mm"), Numeral("0.250")),), ["-size_mm = 0.20", "+size_mm = 0.250"]),
        ((Put(("a", 1, "size_mm"), Numeral("20")),), ["-size_mm = 0.20", "+size_mm = 20"]),
        ((Put(("a", 1, "id"), None),), ['-id = "2"   # two']),
        ((Put(("a", 1, "id_no"), "3", "id"),), ['-id = "2"   # two', '+id_no = "3"   # two']),
        ((Put(path=("a", 0, "new"), value=True),), ["+new = true"]),
        ((Put(("units",), "mm"),), ['+units = "mm"']),
        ((Put(("a", 1, "inner"), None),), ["-[a.inner]", "-k = 1"]),
        ((Put(("a", 0), None),), ["-[[a]]", '-id = "1"']),
        ((Put(("a", 2), {"id": "3", "inner": {"k": Numeral("2.0")}}),),
         ["+", "+[[a]]", '+id = "3"', "+", "+[a.inner]", "+k = 2.0"]),
        ((Put(("b", "list"), [1, 2, 3]),), ["+    3,"]),
        ((Put(("b", "list"), [2]),), ["-    1, # one"]),
        ((Put(("b", "row", 1, "p"), Numeral("2.5")),),
         ['-    { id = "r2", p = 2 },  # kept', '+    { id = "r2", p = 2.5 },  # kept']),
        ((Put(("c", "d"), Inline({"low": Numeral("1")})),), ["+", "+[c]", "+d = { low = 1 }"]),
        ((Put(("c",), {"d": 1}, after="a"),), ["+", "+[c]", "+d = 1"]),
        ((Put(("z", 0), {"id": "q"}),), ["+", "+[[z]]", '+id = "q"']),
        ((Put(("b", "list"), TOLD),), []),
    ],
)  # fmt: skip
def test_only_what_was_asked_differs(puts: tuple[Put, ...], lines: list[str]) -> None:
    assert sorted(changed(SMALL, *puts)) == sorted(lines)


def test_a_new_key_stands_above_comments_that_head_the_next_section() -> None:
    new = edited(SHOP_TEXT, [Put(("saw", "x_y"), "q")])
    lines = new.splitlines()
    at = lines.index('x_y = "q"')
    assert lines[at - 1].startswith("remnant_least_mm")
    assert lines[at + 2].startswith("# What lies in the rack already")


def test_the_last_of_a_kind_leaves_the_comment_of_the_next_kind() -> None:
    new = edited(SHOP_TEXT, [Put(("remnant", 1), None)])
    assert "# Who sells what, in packs of how many" in new
    assert len(tomllib.loads(new)["remnant"]) == 1


def test_line_ends_of_the_file_are_kept() -> None:
    text = SMALL.replace("\n", "\r\n")
    new = edited(text, [Put(("a", 0, "new"), 1), Put(("z", 0), {"id": "q"}), Put(("name",), "y")])
    assert new.count("\n") == new.count("\r\n") == SMALL.count("\n") + 4


@pytest.mark.parametrize(
    "path",
    [("a", 0, "b.c"), ("a", 0, 'x"]'), ("a", 0, "x]\n[y"), ("a", 0, ""), ("q.r", "x"), ("a", 9, "x"), ("a", "1", "x"),
     ("name", "x"), ("a", 0, "id", 1)],
)  # fmt: skip
def test_no_path_but_plain_keys_that_lead_somewhere_is_written(path: Any) -> None:
    with pytest.raises(BadInput):
        edited(SMALL, [Put(path, "1")])


def test_strange_keys_inside_a_value_are_refused_as_well() -> None:
    with pytest.raises(BadInput, match="no key of the file"):
        edited(SMALL, [Put(("a", 2), {'x"\n[y]\nz': 1})])


@pytest.mark.parametrize("value", ['"\n[b]\nx = "', "\x00", "\u2028", "'''", "\\", "# assumed"])
def test_a_text_is_only_ever_a_text(value: str) -> None:
    assert tomllib.loads(edited(SMALL, [Put(("name",), value)]))["name"] == value
    assert tomllib.loads(edited(SMALL, [Put(("a", 2), {"id": value})]))["a"][2]["id"] == value


@pytest.mark.parametrize("inside", ["[[a]]", '[[a]]\nid = "9"\n[c]'])
def test_what_would_touch_something_else_is_not_written(inside: str) -> None:
    """Headers inside a text of several lines mislead whoever counts lines; what is left may even be TOML."""
    text = f'note = """\n{inside}\n"""\n[[a]]\nid = "1"\n[[a]]\nid = "2"\n'
    with pytest.raises(InternalError, match="touched something else"):
        edited(text, [Put(("a", 0), None)])


def test_what_is_told_is_no_longer_marked() -> None:
    text = "a = 1  # assumed\nb = 2  # assumed; so they say\n[c]\nd = true  # assumed\n"
    assert edited(text, [Put((key,), TOLD) for key in "ab"] + [Put(("c", "d"), TOLD)]) == (
        "a = 1\nb = 2  # so they say\n[c]\nd = true\n"
    )
    assert row_is_marked(SMALL, "r1")
    assert not row_is_marked(SMALL, "r2")
    assert without_row_mark(SMALL, "r1") == SMALL.replace("# assumed: by hand", "# by hand")
    assert without_row_mark(SMALL, "r2") == SMALL


def test_a_sign_that_nobody_can_see_is_written_escaped() -> None:
    text = edited("[a]\nx = 1\n", [Put(("a", "l"), ["b\x7f", "c\x00\n"])])
    assert tomllib.loads(text)["a"]["l"] == ["b\x7f", "c\x00\n"]
