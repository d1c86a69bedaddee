"""Small pieces of a page: tables, key numbers, proof bars, all escaped."""

from __future__ import annotations

from html import escape
from importlib import resources
from urllib.parse import quote

from proveout.model.proof import Proof
from proveout.sheets.derived import Mark

LIMIT_AT, FULL = 140.0, 204.0


def tag(name: str, inner: str, **attributes: str) -> str:
    """An element around ready HTML; `class_` writes class."""
    shown = "".join(f' {key.rstrip("_").replace("_", "-")}="{escape(value)}"' for key, value in attributes.items())
    return f"<{name}{shown}>{inner}</{name}>"


def text(name: str, words: str, **attributes: str) -> str:
    """An element around words."""
    return tag(name, escape(words), **attributes)


def keys(items: list[tuple[str, str]]) -> str:
    """Key numbers with their labels."""
    return tag("dl", "".join(f"<div>{text('dt', a)}{text('dd', b)}</div>" for a, b in items), class_="keys")


def table(
    caption: str, head: list[str], rows: list[list[str]], *, numeric: set[int], foot: list[str] | None = None
) -> str:
    """A table whose first cell of each row names the row; `numeric` columns stand right."""

    def cell(name: str, words: str, place: int, **more: str) -> str:
        return text(name, words, **({"class_": "n"} if place in numeric else {}), **more)

    top = "".join(cell("th", words, i, scope="col") if words else "<td></td>" for i, words in enumerate(head))
    body = "".join(
        tag(
            "tr",
            "".join(
                cell("th" if i == 0 else "td", words, i, **({"scope": "row"} if i == 0 else {}))
                for i, words in enumerate(row)
            ),
        )
        for row in rows
    )
    last = ""
    if foot:
        cells = "".join(
            cell("th" if i == 0 else "td", words, i, **({"scope": "row"} if i == 0 else {}))
            for i, words in enumerate(foot)
        )
        last = f"<tfoot><tr>{cells}</tr></tfoot>"
    inner = f"{text('caption', caption)}<thead><tr>{top}</tr></thead><tbody>{body}</tbody>{last}"
    return tag("div", tag("table", inner), class_="scroll", tabindex="0", role="region", aria_label=caption)


def points(items: list[str]) -> str:
    """A list of sentences."""
    return tag("ul", "".join(text("li", item) for item in items))


def page(
    *, title: str, heading: str, opening: str, sections: list[tuple[str, str, str]], foot: str, script: str = ""
) -> str:  # fmt: skip
    """A page in sections that needs nothing else; each of those is listed above and left out where it is empty.

    opening: ready HTML between heading and list.   sections: id, title and ready HTML of each.   script: name of a
    file of this package.
    """
    sections = [section for section in sections if section[2]]
    links = "".join(f'<li><a href="#{id}">{escape(words)}</a></li>' for id, words, _ in sections)
    body = "".join(
        f'<section id="{id}" aria-labelledby="h-{id}">{text("h2", words, id=f"h-{id}")}{inner}</section>'
        for id, words, inner in sections
    )
    nav = f'<nav aria-label="Parts of this page"><ul>{links}</ul></nav>'
    end = f"<script>\n{_file(script)}</script>\n" if script else ""
    return frame(title=title, header=f"{text('h1', heading)}{opening}{nav}", main=body, foot=foot, end=end)


def frame(*, title: str, header: str, main: str, foot: str, style: str = "", end: str = "") -> str:
    """A whole page around ready HTML, with its style inside; `end` stands after the foot."""
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>\n{_file('page.css')}{style}</style>\n</head>\n<body>\n"
        f"<header>{header}</header>\n<main>{main}</main>\n{text('footer', foot)}\n{end}</body>\n</html>\n"
    )


def part_links(parts: list[tuple[str, str]]) -> str:
    """A list of plans and papers, from the number of each part and the folder of its pages."""
    return tag(
        "ul",
        "".join(
            f'<li>{escape(number)}: <a href="{quote(folder)}/plan.html">the plan</a>, '
            f'<a href="{quote(folder)}/papers.pdf">the papers</a></li>'
            for number, folder in parts
        ),
    )


def _file(name: str) -> str:
    return resources.files("proveout.sheets").joinpath(name).read_text("utf-8")


def proof_bar(proof: Proof, mark: Mark) -> str:
    """The ruled line with its limit mark; the verdict's word stands beside it, so the picture itself is silent."""
    worst = LIMIT_AT * (1.0 if mark.worst_ratio is None else mark.worst_ratio)
    best = LIMIT_AT * (mark.best_ratio or 0.0)
    if proof.verdict == "not shown":
        bar = f'<rect x="1" y="7" width="{worst:.1f}" height="10" fill="none" stroke="#1b1916" stroke-dasharray="4 3"/>'
    else:
        bar = f'<rect x="1" y="7" width="{worst:.1f}" height="10" fill="none" stroke="#1b1916"/>'
        bar += f'<rect x="1" y="7" width="{best:.1f}" height="10" fill="#1b1916"/>'
    rule = f'<path d="M1 20.5H{FULL - 1:.0f}" stroke="#b9b2a7"/>'
    limit = f'<path d="M{LIMIT_AT + 1:.0f} 1V23" stroke="#9e2b1a" stroke-width="2.5"/>'
    return f'<svg viewBox="0 0 {FULL:.0f} 24" aria-hidden="true">{rule}{bar}{limit}</svg>'
