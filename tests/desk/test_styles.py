"""What a page says by a class is styled by the sheets that it loads, and no sheet says anything of what is nowhere."""

from __future__ import annotations

import re

from proveout.desk.page import STATIC, TEMPLATES

SHEETS = {path.name: path.read_text("utf-8") for path in STATIC.glob("*.css")}
CLASS = re.compile(r"\.(-?[A-Za-z_][\w-]*)")
TAKES = re.compile(r'{%-?\s*(?:extends|include|from|import)\s+"([^"]+)"')
WRITTEN = re.compile(r'class="([^"]*)"')
JINJA = re.compile(r"{[%{].*?[%}]}")


def selectors(sheet: str) -> list[str]:
    """Every selector of a sheet, without what stands in braces."""
    bare = re.sub(r"@[^{]*{", "", re.sub(r"{[^{}]*}", "{}", sheet))
    return [one.strip() for part in re.split(r"[{}]", bare) for one in part.split(",") if one.strip()]


def of_itself(sheet: str) -> set[str]:
    """Classes that a sheet styles wherever they stand: those of selectors without a place before them."""
    return {name for one in selectors(sheet) if not re.search(r"[\s>+~]", one) for name in CLASS.findall(one)}


def whole(name: str) -> str:
    """A template with all that it takes in."""
    text = (TEMPLATES / name).read_text("utf-8")
    return text + "".join(whole(one) for one in TAKES.findall(text))


def test_a_page_loads_the_sheets_of_its_classes() -> None:
    """Words that are for screen readers alone were shown to everybody where their sheet was not loaded."""
    everywhere = {name for sheet in SHEETS.values() for name in of_itself(sheet)}
    faults = []
    for path in sorted(TEMPLATES.glob("*.html")):
        text = whole(path.name)
        if "</html>" not in text:
            continue  # a piece of pages
        loaded = re.findall(r"/static/([\w.-]+\.css)", text)
        styled = {name for sheet in loaded for name in CLASS.findall(" ".join(selectors(SHEETS[sheet])))}
        used = {name for given in WRITTEN.findall(text) for name in JINJA.sub(" ", given).split()}
        faults += [f"{path.name}: {name}" for name in sorted((used & everywhere) - styled)]
    assert faults == []


def test_no_sheet_styles_what_is_nowhere() -> None:
    written = "".join(
        path.read_text("utf-8")
        for folder in (TEMPLATES, STATIC, TEMPLATES.parent, TEMPLATES.parent.parent / "sheets")
        for path in sorted(folder.iterdir())
        if path.suffix in (".html", ".py", ".js") and "three" not in path.name
    )
    named = set(re.findall(r"[A-Za-z_][\w-]*", written))
    styled = {name for sheet in SHEETS.values() for name in CLASS.findall(" ".join(selectors(sheet)))}
    assert sorted(styled - named) == []
