"""Small pieces of a page: tables, key numbers, proof bars, all escaped."""

from __future__ import annotations

from html import escape

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

    top = "".join(cell("th", words, i, scope="col") for i, words in enumerate(head))
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
