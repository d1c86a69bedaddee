"""No number of a plan claims to be known better than where it comes from allows, and every source is listed."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import msgspec
import pytest
from flows.small import JOB, plan, write_job

from proveout.jobs.questions import PROOFS_OF_A_SIZE
from proveout.model.fact import OWNER_FILES, Strength
from proveout.model.plan import Plan

ORDER: tuple[str, ...] = get_args(Strength)
FACT_FIELDS = {"low", "nominal", "high", "unit", "source", "strength"}
COATED = (
    JOB
    + """1 = "6.6 ±0.1"
2 = "6.6 ±0.15"
[coat]
process = "black hard coat"
thickness_mm = { low = 0.020, nominal = 0.025, high = 0.030, source = "the finisher's own word" }
build_up_share = 0.5
finisher = "hard-coat"
"""
)
STAGES = {
    "survey", "finishing", "blank", "clampings", "passes", "removal check", "loads", "stability", "holding",
    "inspection", "bars", "timing", "costing",
}  # fmt: skip


@pytest.fixture(scope="module")
def coated(tmp_path_factory: pytest.TempPathFactory, store: Path) -> Plan:
    """The small plate with two written sizes under a coat, so that no stage is left out."""
    folder = tmp_path_factory.mktemp("coated")
    return plan(write_job(folder, job=COATED), folder / "out", store=store).parts[0].plan


@pytest.fixture(scope="module")
def ceilings(root: Path) -> dict[str, str]:
    listed = tomllib.loads((root / "docs" / "sources.toml").read_text(encoding="utf-8"))
    return {key: entry["strength"] for key, entry in listed.items()}


def facts_of(thing: Any, where: str = "plan") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every fact anywhere in what a plan becomes in plan.json, with its place."""
    if isinstance(thing, dict):
        if set(thing) == FACT_FIELDS:
            yield where, thing
            return
        for key, inner in thing.items():
            yield from facts_of(inner, f"{where} {key}")
    elif isinstance(thing, list | tuple):
        for number, inner in enumerate(thing):
            name = inner.get("id", number) if isinstance(inner, dict) else number
            yield from facts_of(inner, f"{where} {name}")


def overclaim(fact: dict[str, Any], ceilings: dict[str, str]) -> str:
    """What a fact claims beyond its source; empty when nothing. An owner who names a listed source is held to it."""
    key, _, said = fact["source"].partition(":")
    if key not in ceilings:
        return f"{fact['source']!r} is not listed"
    keys = [key] + ([said.strip()] if key in OWNER_FILES and said.strip() in ceilings else [])
    for one in keys:
        if ORDER.index(fact["strength"]) < ORDER.index(ceilings[one]):
            return f"{fact['strength']} is more than {one} allows: {ceilings[one]}"
    if fact["strength"] == "measured here" and key not in OWNER_FILES:
        return f"measured here, by {fact['source']}"
    return ""


def test_no_fact_of_a_plan_claims_more_than_its_source(coated: Plan, ceilings: dict[str, str]) -> None:
    whole = msgspec.to_builtins(coated)
    found = dict(facts_of(whole))
    assert len(found) > 100
    wrong = {
        where: fact | {"wrong": overclaim(fact, ceilings)} for where, fact in found.items() if overclaim(fact, ceilings)
    }
    assert not wrong, "\n".join(f"{where}: {fact['wrong']}" for where, fact in wrong.items())
    assert any(fact["strength"] == "measured here" for fact in found.values())


def test_every_proof_rests_on_a_listed_source_and_every_stage_speaks(coated: Plan, ceilings: dict[str, str]) -> None:
    assert not {(p.id, p.basis.source) for p in coated.proofs if p.basis.source not in ceilings}
    spoken = {p.stage for p in coated.proofs}
    assert spoken >= STAGES, STAGES - spoken


def test_a_written_size_adds_as_many_proofs_as_its_question_weighs(coated: Plan) -> None:
    blocking = [p.id for p in coated.proofs if p.blocks_release and p.id.startswith("finishing:1:")]
    assert len(blocking) == PROOFS_OF_A_SIZE


def test_an_owners_words_are_marked_as_the_owners(coated: Plan) -> None:
    facts = [fact for _, fact in facts_of(msgspec.to_builtins(coated))]
    sources = {fact["source"] for fact in facts}
    assert "shop-file: load cell between the jaws, ten closings" in sources
    assert "job-file: the finisher's own word" in sources
    assert "job-file" in sources  # the share that builds up, a lone number without a source


@pytest.mark.parametrize(
    ("source", "strength", "says"),
    [
        ("shop-file: load cell", "measured here", ""),
        ("own-algorithm", "assumed", ""),
        ("shop-file: extrusion_minima", "from memory", ""),
        ("own-algorithm", "published as quoted", "more than own-algorithm allows"),
        ("shop-file: extrusion_minima", "published and seen", "more than extrusion_minima allows"),
        ("load cell", "measured here", "not listed"),
        ("", "assumed", "not listed"),
    ],
)
def test_an_overclaim_is_seen(source: str, strength: str, says: str, ceilings: dict[str, str]) -> None:
    found = overclaim({"source": source, "strength": strength}, ceilings)
    assert (says in found) if says else (found == "")
