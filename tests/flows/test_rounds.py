"""The rounds of a plan: what fails tightens, never the other way; the last replay is the fine one; it always ends."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from flows.small import SHOP, plan, write_job

from proveout.jobs import rounds as rounding
from proveout.jobs.store import Store
from proveout.model.job import Pin
from proveout.model.limits import Limits
from proveout.model.loads import Loads
from proveout.model.plan import Plan, Round
from proveout.model.proof import Basis, Proof, Tighten, prove
from proveout.model.run import Run
from proveout.model.work import PassPlan

EMPTY = PassPlan(passes=(), not_cut=(), moves={})


def failing(bound: float, *, quantity: str = "axial_ratio", found: float | None = 2.0, blocks: bool = True) -> Proof:
    return prove(
        id=f"holding:c1:{quantity}", stage="holding", subject="c1", claim="c", sense="at most", found_low=found,
        found_high=found, limit=1.0, unit="N", blocks_release=blocks,
        basis=Basis(formula="a <= b", source="own-algorithm"), decides="measure it",
        tighten=Tighten(subject="c1", quantity=quantity, bound=bound, unit="of the usual"),
    )  # fmt: skip


def iterate(
    monkeypatch: pytest.MonkeyPatch,
    judge: Callable[[Limits], tuple[Proof, ...]],
    *,
    pins: tuple[Pin, ...] = (),
    kept: tuple[Round, ...] = (),
) -> tuple[list[tuple[Limits, float]], tuple[Round, ...]]:
    """The loop with stages that answer at once: every limit and pitch that was judged, and the rounds kept."""
    judged: list[tuple[Limits, float]] = []
    nothing: Any = None

    def made(*_: Any) -> Any:
        return rounding.Made(passes=EMPTY, proofs=())

    def cut(*received: Any) -> Any:
        limits = next(one for one in received if isinstance(one, Limits))
        judged.append((limits, next(one for one in received if isinstance(one, float))))
        return rounding.Cut(
            passes=EMPTY, removal=nothing, loads=Loads(passes=()), clamp_forces=(), proofs=judge(limits)
        )

    monkeypatch.setattr(rounding, "_make", made)
    monkeypatch.setattr(rounding, "_judge", cut)
    request: Any = SimpleNamespace(job=SimpleNamespace(pins=pins), rounds=kept)
    _, rounds = rounding.iterate(request, nothing, nothing, nothing, (), Store(None), Run(), nothing)
    return judged, rounds


def test_limits_only_get_tighter_and_the_plan_that_stands_is_replayed_fine(monkeypatch: pytest.MonkeyPatch) -> None:
    """It fails until 0.3: 0.5 by default, then 0.4, then 0.3; only the last is replayed on the fine grid."""

    def judge(limits: Limits) -> tuple[Proof, ...]:
        now = limits.of("axial_ratio", "c1", 0.5)
        return () if now <= 0.3 else (failing(round(now - 0.1, 3)),)

    judged, rounds = iterate(monkeypatch, judge)
    assert [limits.of("axial_ratio", "c1", 0.5) for limits, _ in judged] == [0.5, 0.4, 0.3, 0.3]
    assert [coarse for _, coarse in judged] == [3.0, 3.0, 3.0, 1.0]
    assert [[t.bound for t in one.tightened] for one in rounds] == [[0.4], [0.3], []]
    assert rounds[-1].failing == ()


def test_a_pinned_torque_is_never_eased_and_other_limits_still_are(monkeypatch: pytest.MonkeyPatch) -> None:
    def judge(limits: Limits) -> tuple[Proof, ...]:
        crushed = failing(0.5, quantity="preload_ratio")
        return (crushed,) if limits.of("axial_ratio", "c1", 0.5) <= 0.4 else (crushed, failing(0.4))

    _, free = iterate(monkeypatch, judge)
    assert {t.quantity for one in free for t in one.tightened} == {"axial_ratio", "preload_ratio"}
    judged, rounds = iterate(monkeypatch, judge, pins=(Pin(quantity="torque", value="90000.0"),))
    assert {t.quantity for one in rounds for t in one.tightened} == {"axial_ratio"}
    assert all(limits.of("preload_ratio", "c1", 1.0) == 1.0 for limits, _ in judged)
    assert rounds[-1].failing == ("holding:c1:preload_ratio",), "what fails still fails"


def test_the_limits_of_earlier_rounds_are_taken_as_they_are(monkeypatch: pytest.MonkeyPatch) -> None:
    earlier = tuple(
        Round(number=k + 1, tightened=bounds, failing=(), piece_s=1.0)
        for k, bounds in enumerate([(Tighten(subject="c1", quantity="axial_ratio", bound=0.4, unit=""),), ()])
    )
    judged, rounds = iterate(monkeypatch, lambda _: (failing(0.1),), kept=earlier)
    assert [(limits.of("axial_ratio", "c1", 0.5), coarse) for limits, coarse in judged] == [(0.4, 1.0)]
    assert [one.number for one in rounds] == [1, 2]
    assert rounds[-1].failing == ("holding:c1:axial_ratio",)


def test_what_only_the_fine_replay_finds_is_tightened_on_it(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[Limits] = []

    def judge(limits: Limits) -> tuple[Proof, ...]:
        seen.append(limits)
        return (failing(0.4),) if len(seen) == 2 else ()

    judged, rounds = iterate(monkeypatch, judge)
    assert [coarse for _, coarse in judged] == [3.0, 1.0, 1.0]
    assert [[t.bound for t in one.tightened] for one in rounds] == [[0.4], []]


@pytest.mark.parametrize(
    "judge",
    [
        lambda limits: (failing(limits.of("axial_ratio", "c1", 0.5) * 0.99),),
        lambda limits: (failing(limits.of("axial_ratio", "c1", 0.5) + 0.1),),
        lambda _: (failing(0.4),),
    ],
    ids=("always another step", "a step back", "the same step again"),
)
def test_it_stops_whatever_the_stages_ask_for(
    monkeypatch: pytest.MonkeyPatch, judge: Callable[[Limits], tuple[Proof, ...]]
) -> None:
    judged, rounds = iterate(monkeypatch, judge)
    bounds = [limits.of("axial_ratio", "c1", 9.0) for limits, _ in judged]
    assert bounds == sorted(bounds, reverse=True)
    assert len(rounds) <= rounding.ROUNDS_MAX + 1
    assert len({str(limits) for limits, _ in judged}) == len(rounds)  # a round that changes nothing is not begun
    assert judged[-1][1] == 1.0
    assert rounds[-1].tightened == ()
    assert rounds[-1].failing


@pytest.mark.parametrize(
    "one",
    [failing(0.4, found=None), failing(0.4, blocks=False)],
    ids=("data are missing", "nothing is blocked"),
)
def test_a_remedy_born_of_missing_data_or_of_what_blocks_nothing_tightens_nothing(
    monkeypatch: pytest.MonkeyPatch, one: Proof
) -> None:
    assert one.tighten is not None
    judged, rounds = iterate(monkeypatch, lambda _: (one,))
    assert {limits for limits, _ in judged if limits != Limits()} == set()
    assert [r.tightened for r in rounds] == [()]


@pytest.fixture(scope="module")
def usual(tmp_path_factory: pytest.TempPathFactory, store: Path) -> Plan:
    folder = tmp_path_factory.mktemp("usual")
    return plan(write_job(folder), folder / "out", store=store).parts[0].plan


@pytest.fixture(scope="module")
def short_grip(tmp_path_factory: pytest.TempPathFactory, store: Path) -> Plan:
    """The small shop with a strip of 3 mm instead of 4 in its toothed jaws."""
    folder = tmp_path_factory.mktemp("short grip")
    text = SHOP.read_text(encoding="utf-8")
    assert text.count("grip_mm = 4.0") == 1
    (folder / "shop.toml").write_text(text.replace("grip_mm = 4.0", "grip_mm = 3.0"), encoding="utf-8")
    return plan(write_job(folder), folder / "out", shop=folder / "shop.toml", store=store).parts[0].plan


def test_a_strip_that_the_vise_would_crush_is_held_softer(usual: Plan, short_grip: Plan) -> None:
    """Worked. 3 - 1 corner - 0.5 burr = 1.5 mm high at least, on 60.5 mm: 20 kN are 220 MPa, 0.92 of 240.

    0.7 240 1.5 60.5 / 20 000 = 0.762, so the vise is closed with 0.75 of 60 N m, and no more of it is asked for.
    """
    first = short_grip.clampings[0]
    patch = first.patch_length_mm.low * first.patch_height_mm.low
    assert patch == pytest.approx(1.5 * 60.5, abs=1e-6)
    assert [(t.subject, t.quantity, t.bound) for t in short_grip.rounds[0].tightened] == [
        (first.id, "preload_ratio", 0.75)
    ]
    assert short_grip.rounds[0].failing == (f"holding:{first.id}:bearing",)
    assert len(short_grip.rounds) >= 2
    bounds: dict[tuple[str, str], float] = {}
    for one in short_grip.rounds:
        for step in one.tightened:
            assert step.bound < bounds.get((step.subject, step.quantity), 99.0)
            bounds[step.subject, step.quantity] = step.bound
    assert short_grip.rounds[-1].tightened == ()
    assert short_grip.ready, [p.id for p in short_grip.proofs if p.blocks_release and p.verdict != "holds"]
    assert short_grip.removal.pitch_mm == usual.removal.pitch_mm
    forces = {one.clamping_id: one for one in short_grip.clamp_forces}
    assert set(forces) == {c.id for c in short_grip.clampings}
    assert (forces[first.id].ratio, forces[first.id].torque_n_mm) == (0.75, 45_000.0)
    force = forces[first.id].force_n
    assert force is not None
    assert (force.low, force.high) == (11_250.0, 15_000.0)
    bearing = next(p for p in short_grip.proofs if p.id == f"holding:{first.id}:bearing")
    assert bearing.basis.inputs["P, jaw force"] == force
    assert {one.ratio for one in usual.clamp_forces} == {1.0}


PRESSED = "preload_kn = { low = 15, nominal = 17.5, high = 20,"


def pressed_by(folder: Path, store: Path, forces: str) -> Plan:
    """The plate in the small shop whose vises press with another force."""
    text = SHOP.read_text(encoding="utf-8")
    assert text.count(PRESSED) == 1
    (folder / "shop.toml").write_text(text.replace(PRESSED, f"preload_kn = {{ {forces},"), encoding="utf-8")
    return plan(write_job(folder), folder / "out", shop=folder / "shop.toml", store=store).parts[0].plan


def test_a_grip_too_weak_on_purpose_is_cut_lighter_names_the_move_and_holds(
    usual: Plan, tmp_path: Path, store: Path
) -> None:
    """7 to 9 kN instead of 15 to 20: some pass would slip, its levels get shallower, and the plan is ready."""
    weak = pressed_by(tmp_path, store, "low = 7, nominal = 8, high = 9")
    first = weak.rounds[0]
    asked = {(t.subject.partition("/")[0], t.quantity) for t in first.tightened}
    assert asked
    assert {quantity for _, quantity in asked} <= {"axial_ratio", "wall_ratio", "wall_feed_ratio", "feed_ratio"}
    assert {f"holding:{clamping}:grip" for clamping, _ in asked} <= {name.partition(" ")[0] for name in first.failing}
    assert weak.rounds[-1].failing == ()
    assert weak.ready
    assert weak.rounds[-1].piece_s > usual.rounds[-1].piece_s  # what it cost is told
    # facing is sized with them: what the grip does not bear in one stage is taken in more, each as shallow as was asked
    (facing,), (before,) = weak.turned.facings, usual.turned.facings
    eased = [t.bound for one in weak.rounds for t in one.tightened if t.subject == f"{facing.clamping_id}/FM50"]
    assert eased
    assert facing.count > before.count
    assert max(stage.depth_mm for stage in facing.stages) <= 1.5 * min(eased) / 0.5 + 1e-6
    assert "min at feed a piece more: " in (tmp_path / "out" / "plan.html").read_text(encoding="utf-8")
    passes = {p.id: p for p in weak.passes}
    for clamping in weak.clampings:
        grip = next(p for p in weak.proofs if p.id == f"holding:{clamping.id}:grip")
        pass_id, _, row = grip.subject.partition(", move ")
        assert 1 <= int(row) < passes[pass_id].moves_count
        assert grip.basis.inputs["move of the pass"].nominal == int(row)
        assert grip.verdict == "holds"
        assert grip.found_low is not None
        assert grip.found_low >= 1.0


def test_every_pass_tells_what_it_pushes_with_and_every_move_is_kept(
    usual: Plan, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Peaks and means of each pass, and a row of loads.csv for each move that meets metal, none above its pass."""
    pushes = {one.pass_id: one for one in usual.pass_pushes}
    assert list(pushes) == [one.id for one in usual.passes]
    assert all(0.0 < one.mean_tangential_n <= one.tangential_n for one in pushes.values() if one.moves_count)
    written = next(path for path in tmp_path_factory.getbasetemp().glob("usual*/out/loads.csv"))
    with written.open(encoding="utf-8", newline="") as text:
        rows = list(csv.DictReader(text))
    assert len(rows) == sum(one.moves_count for one in pushes.values()) > 0
    assert all(float(row["round_peak_n"]) <= pushes[row["pass"]].tangential_n + 0.1 for row in rows)
    for one in pushes.values():
        own = [float(row["round_mean_n"]) for row in rows if row["pass"] == one.pass_id]
        assert max(own) == pytest.approx(one.mean_tangential_n, abs=0.11)


def test_a_vise_closed_by_hand_that_nothing_helps_is_refused_with_the_reason(tmp_path: Path, store: Path) -> None:
    """17.5 kN by hand may be 24.5, the rating is 20: no lighter cut and no softer closing helps; none is tried."""
    text = SHOP.read_text(encoding="utf-8")
    assert text.count("rating_kn = 30\n") == 1
    by_hand = text.replace("rating_kn = 30\n", 'rating_kn = 20\nclosed_by = "hand"\n')
    (tmp_path / "shop.toml").write_text(by_hand, encoding="utf-8")
    found = plan(write_job(tmp_path), tmp_path / "out", shop=tmp_path / "shop.toml", store=store).parts[0].plan
    assert not found.ready
    assert [t for one in found.rounds for t in one.tightened if t.quantity == "preload_ratio"] == []
    assert found.rounds[-1].tightened == ()
    for clamping, force in zip(found.clampings, found.clamp_forces, strict=True):
        rating = next(p for p in found.proofs if p.id == f"holding:{clamping.id}:vise rating")
        assert (rating.verdict, rating.blocks_release) == ("not shown", True)
        assert (rating.found_low, rating.found_high, rating.limit) == pytest.approx((10_500.0, 24_500.0, 20_000.0))
        assert rating.id in found.rounds[-1].failing
        assert rating.remedy == "a lower torque"
        assert force.torque_n_mm is None  # nobody could set it
    from proveout.intake.shop_file import read_shop
    from proveout.sheets.pages_setup import caution_lines
    from proveout.sheets.writer import Writer

    writer = Writer(plan=found, shop=read_shop(tmp_path / "shop.toml"), drawings={}, fingerprint="")
    said = caution_lines(writer, 0)[1].replace("\u202f", " ")
    assert said.startswith("Close the vise by hand as always (10.5 to 24.5 kN at the jaws): without a torque wrench")


def test_the_papers_of_a_softer_vise_say_so(short_grip: Plan) -> None:
    """The setup sheet itself, from the plan as it was made."""
    from proveout.intake.shop_file import read_shop
    from proveout.sheets.pages_setup import caution_lines
    from proveout.sheets.writer import Writer

    shop = read_shop(SHOP)
    writer = Writer(plan=short_grip, shop=shop, drawings={}, fingerprint="")
    said = [caution_lines(writer, i)[1].replace("\u202f", " ") for i in range(len(short_grip.clampings))]
    assert said[0].startswith("Close the vise with 45.0 N m (11.2 to 15.0 kN at the jaws), softer than usual")
    assert said[1].startswith("Close the vise with 60 N m (15.0 to 20.0 kN at the jaws). ")


def test_what_three_tightenings_did_not_move_is_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """The proof stays where it is however shallow the cut: something else is the cause."""

    def judge(limits: Limits) -> tuple[Proof, ...]:
        return (failing(round(limits.of("axial_ratio", "c1", 0.5) - 0.01, 3)),)

    _, rounds = iterate(monkeypatch, judge)
    assert [len(one.tightened) for one in rounds] == [1, 1, 1, 0]
