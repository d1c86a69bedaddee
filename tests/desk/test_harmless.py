"""Pages of the desk run nobody else's script, load nothing from elsewhere and change nothing when they are read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient

from proveout.desk.app import ROUTERS, desk_app
from proveout.desk.guard import FORBIDDEN, POLICY
from proveout.desk.page import TEMPLATES
from proveout.jobs.home import Home

OWN = "http://127.0.0.1:8417"
STATIC = TEMPLATES.parent / "static"
NAMES_ONLY = ("http://www.w3.org/",)
"""Addresses that name a language, and at which nothing is ever asked for."""
VENDORED = ("three.min.js",)
"""Cites papers in the comments of its shaders; what it asks for is held by the policy and seen in the browser tests."""
ADDRESS = re.compile(r"(?:https?|wss?|ftp):/{2}[^\s\"'`)>\\]+|[\"'(]//[a-z0-9.-]+\.[a-z]{2,}", re.IGNORECASE)
TAG = re.compile(r"<[a-zA-Z!/][^>]*>", re.DOTALL)
PLACED = re.compile(r"\{\{.*?\}\}|\{%.*?%\}", re.DOTALL)


def routes() -> list[APIRoute]:
    return [route for router in ROUTERS for route in router.routes if isinstance(route, APIRoute)]


def faults_of(template: str) -> list[str]:
    """What a template has that the policy would refuse, or that would run what somebody else wrote."""
    found = []
    for tag in TAG.findall(PLACED.sub("", template)):
        if re.search(r"\son[a-z]+\s*=", tag, re.IGNORECASE):
            found.append(f"event: {tag}")
        if re.search(r"\sstyle\s*=", tag, re.IGNORECASE) or re.match(r"<style\b", tag, re.IGNORECASE):
            found.append(f"style: {tag}")
        if re.match(r"<script\b", tag, re.IGNORECASE) and " src=" not in tag and "application/json" not in tag:
            found.append(f"script: {tag}")
        if "javascript:" in tag.lower():
            found.append(f"address: {tag}")
    return found + [f"from outside: {one}" for one in ADDRESS.findall(template) if not one.startswith(NAMES_ONLY)]


def test_every_address_is_read_by_get_or_written_by_post() -> None:
    methods = {method for route in routes() for method in route.methods or ()}
    assert methods <= {"GET", "POST"}
    assert len(routes()) > 20
    both = [route.path for route in routes() if {"GET", "POST"} <= set(route.methods or ())]
    assert both == []


def test_nothing_is_written_without_a_page_of_the_desk_asking(tmp_path: Path) -> None:
    client = TestClient(desk_app(Home(tmp_path)), base_url=OWN, raise_server_exceptions=False)
    posts = [route.path for route in routes() if "POST" in (route.methods or ())]
    assert posts
    for path in posts:
        address = re.sub(r"\{[^}]+\}", "1", path)
        assert client.post(address).status_code == FORBIDDEN, path
        assert client.post(address, headers={"origin": "http://other.example"}).status_code == FORBIDDEN, path


@pytest.mark.parametrize("path", sorted(TEMPLATES.rglob("*.html")), ids=lambda path: path.name)
def test_a_template_holds_no_script_and_no_style_of_its_own(path: Path) -> None:
    assert faults_of(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("template", "fault"),
    [
        ('<p onclick="go()">', "event"),
        ("<p\n  onload = go>", "event"),
        ("<script>go()</script>", "script"),
        ('<script type="module">go()</script>', "script"),
        ("<p style='color: red'>", "style"),
        ("<style>p {}</style>", "style"),
        ('<a href="javascript:go()">', "address"),
        ('<img src="https://other.example/x.png">', "from outside"),
        ('<link href="//other.example/x.css">', "from outside"),
    ],
)
def test_what_a_template_may_not_hold_is_seen(template: str, fault: str) -> None:
    assert [one.split(":")[0] for one in faults_of(template)] == [fault]


def test_data_and_files_of_our_own_are_let_through() -> None:
    fine = (
        '<script type="module" src="/static/a.js"></script><script type="application/json">{"a": 1}</script>'
        '<svg xmlns="http://www.w3.org/2000/svg"></svg><a href="/one">only = this</a>{{ a if b > 1 else "on" }}'
    )
    assert faults_of(fine) == []


def test_static_files_name_no_address_outside() -> None:
    files = [path for path in STATIC.rglob("*") if path.suffix in (".js", ".css", ".svg", ".html", ".json")]
    files = [path for path in files if path.name not in VENDORED]
    assert len(files) > 3
    found = {
        path.name: [one for one in ADDRESS.findall(path.read_text(encoding="utf-8")) if not one.startswith(NAMES_ONLY)]
        for path in files
    }
    assert {name: those for name, those in found.items() if those} == {}


def test_the_policy_lets_only_this_desk_in() -> None:
    rules = {name: said.split() for name, _, said in (rule.strip().partition(" ") for rule in POLICY.split(";"))}
    assert rules["default-src"] == ["'none'"]
    assert {one for said in rules.values() for one in said} <= {"'none'", "'self'", "data:", "blob:"}
    assert rules["script-src"] == rules["style-src"] == ["'self'"]
