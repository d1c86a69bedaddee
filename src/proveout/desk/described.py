"""What the desk's addresses that take JSON say of themselves, as OpenAPI: shapes of the very nouns that are read."""

from __future__ import annotations

from typing import Any

import msgspec
from fastapi import FastAPI

from proveout.jobs.floor_taps import Tap
from proveout.model.shop import Noun
from proveout.records.writing import Answer

REF = "#/components/schemas/{name}"
JSON = "application/json"


class RefusedTap(Noun, frozen=True, kw_only=True):
    """Why something was not taken: as an error's own fields."""

    what: str
    where: str = ""
    value: str = ""
    limit: str = ""
    do: str = ""


NOUNS = (Tap, Answer, RefusedTap)


def body_of(noun: type[Any]) -> dict[str, Any]:
    """The body of a request that is read as a noun."""
    return {"requestBody": {"required": True, "content": {JSON: {"schema": _ref(noun)}}}}


def answers(taken: type[Any], refused: dict[int, str]) -> dict[int | str, dict[str, Any]]:
    """What is answered: a noun, or by status why not."""
    found: dict[int | str, dict[str, Any]] = {200: {"description": "taken", "content": {JSON: {"schema": _ref(taken)}}}}
    for status, words in refused.items():
        found[status] = {"description": words, "content": {JSON: {"schema": _ref(RefusedTap)}}}
    return found


def _ref(noun: type[Any]) -> dict[str, str]:
    return {"$ref": REF.format(name=noun.__name__)}


class Described(FastAPI):
    """The application, whose OpenAPI also names the nouns that its bodies are read as."""

    def openapi(self) -> dict[str, Any]:
        """The description of every address."""
        told = super().openapi()
        _, components = msgspec.json.schema_components(NOUNS, ref_template=REF)
        told.setdefault("components", {}).setdefault("schemas", {}).update(components)
        return told
