"""The documents name what exists."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

FRAGMENT = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*\.(?:added|changed|fixed|removed)\.md")
MERGED = re.compile(r"^(?:<{7}|>{7}|\|{7}) ", re.MULTILINE)
"""What a merge leaves where two changes meet, until somebody decides."""
TEXTS = {".html", ".js", ".css", ".svg", ".typ", ".toml", ".md", ".txt", ".json"}
ROOT = Path(__file__).resolve().parent.parent.parent
GUIDE = tuple(f"docs/guide/{path.name}" for path in sorted((ROOT / "docs" / "guide").glob("*.md")))
DOCUMENTS = ("README.md", "ARCHITECTURE.md", "CONTRIBUTING.md", "GLOSSARY.md", "CHANGELOG.md", *GUIDE)


def test_every_change_fragment_is_named_by_slug_and_kind(root: Path) -> None:
    names = {path.name for path in (root / "changes").iterdir()} - {"README.md"}
    assert sorted(name for name in names if not FRAGMENT.fullmatch(name)) == []


@pytest.mark.parametrize("name", ["a.md", "a.better.md", "A.fixed.md", "a b.fixed.md", "a.fixed.txt", "-a.fixed.md"])
def test_another_name_of_a_fragment_is_refused(name: str) -> None:
    assert not FRAGMENT.fullmatch(name)


def test_every_change_fragment_says_something(root: Path) -> None:
    fragments = [path for path in (root / "changes").glob("*.md") if path.name != "README.md"]
    assert [path.name for path in fragments if not path.read_text(encoding="utf-8").strip()] == []


def targets(root: Path) -> set[str]:
    return set(re.findall(r"^([a-z-]+):", (root / "Makefile").read_text(encoding="utf-8"), re.MULTILINE))


@pytest.mark.parametrize("document", DOCUMENTS)
def test_every_make_target_named_in_a_document_exists(root: Path, document: str) -> None:
    named = set(re.findall(r"`make ([a-z-]+)", (root / document).read_text(encoding="utf-8")))
    assert sorted(named - targets(root)) == []


@pytest.mark.parametrize("document", DOCUMENTS)
def test_every_linked_file_exists(root: Path, document: str) -> None:
    links = re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", (root / document).read_text(encoding="utf-8"))
    assert [link for link in links if not ((root / document).parent / link).exists()] == []


def anchors(path: Path) -> set[str]:
    """What the headings of a document are linked by."""
    heads = re.findall(r"(?m)^#+ (.+)$", path.read_text(encoding="utf-8"))
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


@pytest.mark.parametrize("document", DOCUMENTS)
def test_every_linked_heading_exists(root: Path, document: str) -> None:
    here = root / document
    links = re.findall(r"\]\(([^)#:]*)#([^)]+)\)", here.read_text(encoding="utf-8"))
    wrong = [f"{file}#{head}" for file, head in links if head not in anchors(here.parent / file if file else here)]
    assert wrong == []


def test_the_readme_leads_to_every_page_of_the_guide(root: Path) -> None:
    assert GUIDE
    assert [page for page in GUIDE if f"]({page})" not in (root / "README.md").read_text(encoding="utf-8")] == []


def test_the_glossary_has_one_row_a_term_in_order(root: Path) -> None:
    text = (root / "GLOSSARY.md").read_text(encoding="utf-8").split("## ", maxsplit=1)[0]
    rows = [line.strip("| ").split("|") for line in text.splitlines() if line.startswith("| ")][2:]
    terms = [row[0].strip() for row in rows]
    assert len(terms) > 40
    assert terms == sorted(set(terms))
    assert [row[0] for row in rows if not row[3].strip()] == []


def test_every_folder_of_the_package_is_owned_in_the_architecture(root: Path) -> None:
    owned = set(re.findall(r"^\| `(\w+)/`", (root / "ARCHITECTURE.md").read_text(encoding="utf-8"), re.MULTILINE))
    package = root / "src" / "proveout"
    folders = {path.name for path in package.iterdir() if (path / "__init__.py").is_file()}
    assert sorted(folders - owned) == []
    assert sorted(owned - folders) == []


def test_no_code_file_is_above_500_lines_and_no_folder_has_an_empty_name(root: Path) -> None:
    code = [path for folder in ("src", "tests", "scripts", "bench") for path in (root / folder).rglob("*.py")]
    long = {str(path): count for path in code if (count := len(path.read_text(encoding="utf-8").splitlines())) > 500}
    assert long == {}
    vague = {"utils", "helpers", "common", "core"}
    assert [str(path) for path in code if vague & {path.stem, *path.relative_to(root).parts}] == []


def half_merged(folders: list[Path]) -> list[str]:
    """Names of texts that nothing else would refuse with a merge left in them."""
    texts = [path for folder in folders for path in sorted(folder.rglob("*")) if path.suffix in TEXTS]
    return [path.name for path in texts if MERGED.search(path.read_text(encoding="utf-8"))]


def test_no_text_was_left_half_merged(root: Path, tmp_path: Path) -> None:
    """A template says nothing of what stands outside its blocks, and a document nothing at all."""
    assert half_merged([root / "src", root / "changes", root / "docs", root / "examples"]) == []
    assert [name for name in DOCUMENTS if MERGED.search((root / name).read_text(encoding="utf-8"))] == []
    (tmp_path / "a.html").write_text(f"{{% extends 'b' %}}\n{'<' * 7} HEAD\n", encoding="utf-8")
    (tmp_path / "b.md").write_text(f"Title\n{'=' * 7}\n", encoding="utf-8")  # an underlined heading
    assert half_merged([tmp_path]) == ["a.html"]
