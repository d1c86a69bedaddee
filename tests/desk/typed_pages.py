"""Pages with forms: a client that may write to the desk, and what a browser would send of a form."""

from __future__ import annotations

import html
import re
import sys
from pathlib import Path

from fastapi.testclient import TestClient

from proveout.desk.app import desk_app
from proveout.jobs.home import Home

for folder in ("sheets", "flows"):
    sys.path.append(str(Path(__file__).parents[1] / folder))  # their invented plan and small part serve here too

OWN = "http://127.0.0.1:8417"


def client_of(folder: Path) -> TestClient:
    return TestClient(desk_app(Home(folder)), base_url=OWN, headers={"origin": OWN}, follow_redirects=False)


def form_of(text: str) -> dict[str, list[str]]:
    """What a browser would send of the page's longest form, as it was loaded."""
    form = max(re.findall(r"<form.*?</form>", text, re.DOTALL), key=len)
    found: dict[str, list[str]] = {}
    for tag in re.findall(r"<input[^>]*>", form):
        name, value = re.search(r' name="([^"]*)"', tag), re.search(r' value="([^"]*)"', tag)
        if name and ('type="checkbox"' not in tag or " checked" in tag):
            found.setdefault(html.unescape(name[1]), []).append(html.unescape(value[1]) if value else "")
    for name, inner in re.findall(r'<select[^>]* name="([^"]*)"[^>]*>(.*?)</select>', form, re.DOTALL):
        options = re.findall(r"<option([^>]*)>([^<]*)", inner)
        chosen = next((one for one in options if " selected" in one[0]), options[0])
        value = re.search(r'value="([^"]*)"', chosen[0])
        found[name] = [html.unescape(value[1] if value else chosen[1])]
    for name, inner in re.findall(r'<textarea[^>]* name="([^"]*)"[^>]*>\n(.*?)</textarea>', form, re.DOTALL):
        found[name] = [html.unescape(inner)]
    return found
