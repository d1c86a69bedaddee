"""Addresses that take JSON, given bodies made from their own description: never the desk's fault, always as described.

Bodies are drawn with a seed from the OpenAPI description: right ones, right ones with a part of another kind, with a
part left out or one too many, and bytes that are no JSON at all.
"""

from __future__ import annotations

import json
import random
import uuid
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient
from floor_home import floor_home

from proveout.desk.app import desk_app
from proveout.desk.described import JSON

OWN = "http://127.0.0.1:8417"
SEED, BODIES = 20270301, 240
DEEPEST = 6
TEXTS = (
    "", " ", "op1", "B1", "saw", "mill-3", "x" * 3000, "\x00", "\ud800", "é", "=1+1", "'; drop table events; --",
    "../..", "2027-03-01T07:00:00Z", "9999-12-31T23:59:59+23:59", "00000000-0000-4000-8000-000000000000", "ab" * 32,
    "\u202e", "1e999",
)  # fmt: skip
NUMBERS = (0, 1, -1, 8, 2**31, 2**63, 10**30, 0.0, -0.0, 1e-320, 1.5, 1e308, float("nan"), float("inf"), -float("inf"))
ODD: tuple[Any, ...] = (None, True, False, [], {}, [[]], {"what": "started"}, [{"count": 1}], *TEXTS, *NUMBERS)
NO_JSON = (
    b"", b"{", b"null", b"[" * 50_000, b'{"a":' * 20_000, b"\xff\xfe", b"\xef\xbb\xbf{}", b'"' + b"a" * 70_000 + b'"',
    b'{"id": 1, "id": 2}', b"NaN", b"1" * 5000,
)  # fmt: skip


LIKELY = {
    "at": "2027-03-01T07:00:00Z",
    "id": "",
    "person": "Mara",
    "station": "saw",
    "batch": "B1",
    "step": "saw",
    "why": "seen on the floor",
}
"""Words that fit the released batch; an id is drawn anew each time."""


class Drawn:
    """Draws values of a schema."""

    def __init__(self, schemas: dict[str, Any], seed: int) -> None:
        self.schemas, self.draw = schemas, random.Random(seed)  # noqa: S311 - the same every time

    def value(self, schema: dict[str, Any], depth: int = 0) -> Any:
        if "$ref" in schema:
            return self.value(self.schemas[schema["$ref"].rpartition("/")[2]], depth)
        for several in ("anyOf", "oneOf"):
            if several in schema:
                return self.value(self.draw.choice(schema[several]), depth)
        if "const" in schema:
            return schema["const"]
        if "enum" in schema:
            return self.draw.choice(schema["enum"])
        kind = schema.get("type")
        if kind == "object":
            return self._object(schema, depth)
        if kind == "array":
            count = self.draw.choice((0, 1, 2)) if depth < DEEPEST else 0
            return [self.value(schema.get("items") or {}, depth + 1) for _ in range(count)]
        if kind == "string":
            return self.draw.choice(TEXTS) if schema.get("format") != "date-time" else "2027-03-01T07:00:00Z"
        if kind == "integer":
            return self.draw.choice([one for one in NUMBERS if isinstance(one, int)])
        if kind == "number":
            return self.draw.choice(NUMBERS)
        return None if kind == "null" else self.draw.choice(ODD)

    def _object(self, schema: dict[str, Any], depth: int) -> dict[str, Any]:
        needed = set(schema.get("required", ()))
        return {
            name: self._likely(name) if name in LIKELY and self.draw.random() < 0.9 else self.value(one, depth + 1)
            for name, one in schema.get("properties", {}).items()
            if name in needed or self.draw.random() < 0.5
        }

    def _likely(self, name: str) -> Any:
        """What is right in most events, so that some of them are written."""
        return LIKELY[name] or str(uuid.UUID(int=self.draw.getrandbits(128), version=4))

    def spoilt(self, value: Any) -> Any:
        """The same with one part changed, at any depth."""
        if isinstance(value, dict) and value and self.draw.random() < 0.7:
            name = self.draw.choice(sorted(value))
            return value | {name: self.spoilt(value[name])}
        if isinstance(value, dict) and value and self.draw.random() < 0.5:
            gone = self.draw.choice(sorted(value))
            return {name: one for name, one in value.items() if name != gone}
        if isinstance(value, dict) and self.draw.random() < 0.5:
            return value | {self.draw.choice(("more", "", "__class__")): self.draw.choice(ODD)}
        if isinstance(value, list) and value and self.draw.random() < 0.5:
            return [*value[:-1], self.spoilt(value[-1])]
        return self.draw.choice(ODD)


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    app = desk_app(floor_home(tmp_path_factory.mktemp("floor")).home)
    made = TestClient(
        app, base_url=OWN, headers={"origin": OWN}, client=("127.0.0.1", 5), raise_server_exceptions=False
    )  # fmt: skip
    made.cookies.set("proveout-person", "Mara")
    yield made
    app.state.desk.close()


def described(client: TestClient) -> dict[str, Any]:
    return client.app.openapi()  # type: ignore[attr-defined]


def takers(told: dict[str, Any]) -> list[tuple[str, str, dict[str, Any]]]:
    """Method, address and description of everything that takes JSON."""
    return [
        (method, path, one)
        for path, methods in told["paths"].items()
        for method, one in methods.items()
        if JSON in one.get("requestBody", {}).get("content", {})
    ]


def test_whatever_is_posted_is_answered_as_described(client: TestClient) -> None:
    told = described(client)
    schemas = told["components"]["schemas"]
    found = takers(told)
    assert "/floor/events" in [path for _, path, _ in found]
    for method, path, one in found:
        drawn = Drawn(schemas, SEED)
        schema = one["requestBody"]["content"][JSON]["schema"]
        bodies = [_bytes(drawn.value(schema)) for _ in range(BODIES // 2)]
        bodies += [_bytes(drawn.spoilt(drawn.value(schema))) for _ in range(BODIES // 2)]
        seen: set[int] = set()
        for body in (*bodies, *NO_JSON):
            answer = client.request(method, path, content=body, headers={"content-type": JSON})
            assert answer.status_code < 500, (path, body[:300], answer.text)
            seen.add(answer.status_code)
            if answer.status_code == 413:  # refused by its length before anybody reads it
                continue
            assert str(answer.status_code) in one["responses"], (path, body[:300], answer.text)
            wanted = one["responses"][str(answer.status_code)]["content"][JSON]["schema"]["$ref"].rpartition("/")[2]
            assert set(schemas[wanted]["required"]) <= set(answer.json()) <= set(schemas[wanted]["properties"])
        assert {200, 409, 422} <= seen or path != "/floor/events", seen


def test_every_name_in_the_description_is_there(client: TestClient) -> None:
    told = described(client)
    text = json.dumps(told)
    named = {part.partition('"')[0] for part in text.split('"#/components/schemas/')[1:]}
    assert sorted(named - set(told["components"]["schemas"])) == []


def test_the_records_are_whole_after_all_that(client: TestClient) -> None:
    from proveout.records.verifying import verify

    with client.app.state.desk.records.reading() as connection:  # type: ignore[attr-defined] - desk_app sets it
        assert verify(connection).faults == ()


def _bytes(value: Any) -> bytes:
    return json.dumps(value).encode("utf-8", "surrogatepass")


def test_the_draws_are_the_same_every_time() -> None:
    schema = {"type": "object", "properties": {"a": {"type": "string"}, "b": {"type": "number"}}, "required": ["a"]}
    first, again = Drawn({}, SEED), Drawn({}, SEED)
    assert [_bytes(first.value(schema)) for _ in range(20)] == [_bytes(again.value(schema)) for _ in range(20)]
