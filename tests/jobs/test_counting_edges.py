"""What the stages that count are asked: edges of all that is cut, and minutes of jaws by their own passes."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import msgspec
from flows.small import SHOP, write_job

from proveout.intake.job_file import read_job
from proveout.intake.shop_file import read_shop
from proveout.jobs.counted import counted
from proveout.model.proof import Decision
from proveout.stages.inspection.decide import Inspection


class Asked:
    """A store that decides nothing: it keeps what each stage is asked, and answers with the plan's own values."""

    def __init__(self, answers: dict[str, Any]) -> None:
        self.asked: dict[str, dict[str, Any]] = {}
        self._answers = answers

    def get(self, name: str, decide: object, **given: Any) -> Decision[Any]:  # noqa: ARG002 - as the store's own
        self.asked[name] = given
        return Decision(value=self._answers.get(name, ()))


def test_trial_blanks_use_edges_too(tmp_path: Any) -> None:
    """worked: 154 pieces with their spares and 3 trial blanks are 157 for every edge, 154 to inspect."""
    asked = asked_of(tmp_path)
    assert asked["edges"]["pieces_count"] == 157
    assert asked["inspection"]["lot_count"] == 154


def test_soft_jaws_are_timed_by_the_passes_of_their_pocket(tmp_path: Any) -> None:
    """Those of a pocket that no cutter reaches have none, and stay with what the owner wrote."""
    forms = (SimpleNamespace(clamping_id="op2", seconds=412.5), SimpleNamespace(clamping_id="op3", seconds=None))
    assert asked_of(tmp_path, forms)["timing"]["pockets_s"] == {"op2": 412.5}
    assert asked_of(tmp_path)["timing"]["pockets_s"] == {}


def asked_of(tmp_path: Any, forms: Any = ()) -> dict[str, dict[str, Any]]:
    """What each stage is asked about the example's plan with these pockets in jaws."""
    from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]

    plan, job, shop = example_plan(), read_job(write_job(tmp_path)), read_shop(SHOP)
    bars = msgspec.structs.replace(plan.bars, pieces_count=154, spare_count=4, trial_count=3)
    store: Any = Asked({
        "timing": plan.time, "costing": plan.cost, "bench": plan.bench, "packing": plan.packing,
        "inspection": Inspection(lines=()),
    })  # fmt: skip
    request: Any = SimpleNamespace(job=job, shop=shop, riders=(), same_load=(), fit_marks=())
    solid: Any = SimpleNamespace(volume_mm3=1000.0)
    passes: Any = SimpleNamespace(passes=plan.passes)
    run: Any = SimpleNamespace()
    counted(
        request, solid=solid, survey=plan.survey, finishing=plan.finishing, blank=plan.blank.chosen,
        clampings=plan.clampings, passes=passes,
        bars=Decision(value=bars), loads=(), forms=forms, lack="", store=store, run=run,
    )  # fmt: skip
    return store.asked
