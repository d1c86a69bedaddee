"""Nothing that a person reads calls anything safe: words of the program, templates, scripts and styles."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

SAFE = re.compile(r"\bsafe", re.IGNORECASE)
TEXTS = {".html", ".js", ".css", ".svg", ".typ", ".toml", ".md", ".txt"}
OF_OTHERS = {"three.min.js", "three.LICENSE.txt", "sources.toml"}
# a filter of the template language, and a keyword of a function of the standard library
FILTER = re.compile(r"\|\s*safe\b")


def said_in_code(text: str) -> list[str]:
    """Strings of a module that call something safe; what explains the code to its readers is left out."""
    if not SAFE.search(text):
        return []
    tree = ast.parse(text)
    explained = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef))
        and node.body and isinstance(node.body[0], ast.Expr)
    }  # fmt: skip
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in explained
        and SAFE.search(node.value)
    ]  # fmt: skip


def said_in_text(text: str) -> list[str]:
    """Lines of a template, script or style that call something safe."""
    return [line.strip() for line in text.splitlines() if SAFE.search(FILTER.sub("", line))]


def read(root: Path) -> tuple[dict[str, list[str]], int, int]:
    found, modules, texts = {}, 0, 0
    for path in sorted((root / "src" / "proveout").rglob("*")):
        if path.suffix == ".py":
            modules += 1
            found[path.name] = said_in_code(path.read_text(encoding="utf-8"))
        elif path.suffix in TEXTS and path.name not in OF_OTHERS:
            texts += 1
            found[path.name] = said_in_text(path.read_text(encoding="utf-8"))
    return {name: said for name, said in found.items() if said}, modules, texts


def test_nothing_that_is_shown_calls_anything_safe(root: Path) -> None:
    found, modules, texts = read(root)
    assert found == {}
    assert modules > 500
    assert texts > 55


@pytest.mark.parametrize(
    "text", ["a = 'This set-up is safe.'", 'a = f"{b} Safe to cut"', "def f():\n    '''Doc.'''\n    return 'safely'"]
)
def test_a_string_that_does_is_found(text: str) -> None:
    assert len(said_in_code(text)) == 1


def test_what_only_explains_or_names_a_parameter_is_no_verdict() -> None:
    assert said_in_code("'''On the safe side.'''\nquote(a, safe=':')\ndef f(safe_duals):\n    '''Safe.'''") == []
    assert said_in_text("<td>{{ bar|safe }}</td>\n{{ strip | safe }}") == []


@pytest.mark.parametrize("text", ["<p>It is safe.</p>", "{{ bar|safe }} Safe", 'said.textContent = "safely held";'])
def test_a_line_of_a_page_that_does_is_found(text: str) -> None:
    assert said_in_text(text) == [text]
