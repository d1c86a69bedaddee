"""What the command line says, word for word: a proof in a sentence, a cut in a hole, the help of new-shop."""

from __future__ import annotations

import io
import re
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from proveout.cli import main as door
from proveout.cli.face_words import FaceWords
from proveout.cli.words import proof_line
from proveout.intake.cutters_csv import cutter_rows
from proveout.jobs.drafting import shop_questions
from proveout.model.plan import Plan
from proveout.model.proof import Basis, Proof, Verdict
from proveout.quantities.errors import BadInput


def _proof(
    found: tuple[float, float] | None, limit: float | None, unit: str, verdict: Verdict = "not shown", claim: str = "x"
) -> Proof:
    low, high = found or (None, None)
    return Proof(
        id="a:b:c", stage="holding", subject="clamping 1", claim=claim, sense="at most", found_low=low, found_high=high,
        limit=limit, unit=unit, margin=None, verdict=verdict, blocks_release=True,
        basis=Basis(formula="f", source="s"), decides="a measurement",
    )  # fmt: skip


# worked: four digits of what was found, six of a limit, and no power of ten
@pytest.mark.parametrize(
    ("proof", "said"),
    [
        (_proof((15000.0, 20000.0), None, "N"), "15000 to 20000 N, limit unknown"),
        (_proof((12.3456, 12.3456), 1234567.0, "N"), "12.35, at most 1234567 N"),
        (
            _proof((0.80649, 3.373), 1.0, "times the cutting force"),
            "0.8065 to 3.373, at most 1 times the cutting force",
        ),
        (_proof(None, None, "mm"), "unknown"),
        (_proof(None, 0.15, "ratio"), "unknown, at most 15 %"),
        (_proof((0.07, 0.07), 0.15, "ratio"), "7, at most 15 %"),
        (_proof((0.0, 0.0), 1.0, "yes = 1"), "no"),
    ],
)
def test_a_proof_says_its_value_and_limit_in_plain_figures(proof: Proof, said: str) -> None:
    assert proof_line(proof) == f"  not shown: x (clamping 1): {said}. Would decide it: a measurement"


def test_a_cut_in_a_step_of_a_hole_is_said_by_the_number_of_the_hole() -> None:
    holes = [
        SimpleNamespace(id=f"hole +z dia 4.000 at {x}", balloon=n, diameter_mm=4.0, entry_mm=(1.0, 2.0, 3.0))
        for n, x in ((1, "1,2,3"), (2, "1,2,3.5"))
    ]
    cuts = [
        SimpleNamespace(id=f"c1/{h.balloon}", kind="bore", feature=f"{h.id} Ø4.500", cutter_id="EM3", clamping_id="c1")
        for h in holes
    ]
    plan = SimpleNamespace(
        survey=SimpleNamespace(faces=(), holes=holes), clampings=[SimpleNamespace(id="c1", number=1)], passes=cuts
    )
    words = FaceWords(cast("Plan", cast("Any", plan)), {})
    assert words.text("c1/2") == "bore of hole 2 (Ø4 at 1, 2, 3) Ø4.500 with EM3, clamping 1"


def _help(verb: str, capsys: pytest.CaptureFixture[str]) -> str:
    assert door.main([verb, "--help"]) == 0
    return re.sub(r"\s+", " ", capsys.readouterr().out)


def test_help_of_new_shop_names_every_question_and_every_column_needed(capsys: pytest.CaptureFixture[str]) -> None:
    said = _help("new-shop", capsys)
    assert ", ".join(question.id for question in shop_questions()) in said
    row: dict[str, str] = dict(
        zip(door.CUTTER_COLUMNS, ("E6", "end mill", "6", "3", "20", "27", "300", "0.04"), strict=True)
    )
    assert len(cutter_rows(_table(row))) == 1
    for column in door.CUTTER_COLUMNS:
        assert column in said
        with pytest.raises(BadInput, match=column):
            cutter_rows(_table({name: value for name, value in row.items() if name != column}))


def _table(row: dict[str, str]) -> str:
    return ",".join(row) + "\n" + ",".join(row.values()) + "\n"


def test_the_brackets_say_what_return_takes_and_the_unit_of_an_answer() -> None:
    said = {question.id: door._hint(question.default, question.unit) for question in shop_questions()}
    assert said["travels"] == "500 x 400 x 400 mm; yours in your unit"
    assert said["preload"] == "empty, or in kN"
    assert said["units"] == "mm"


def test_without_a_terminal_it_is_said_that_defaults_are_taken(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("My own name\n"))
    assert door.main(["new-shop", str(tmp_path / "s.toml")]) == 0
    assert capsys.readouterr().err.startswith("Nobody can be asked here")
    assert 'name = "My shop"' in (tmp_path / "s.toml").read_text(encoding="utf-8")
    assert door.main(["check-shop", str(tmp_path / "s.toml")]) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0].startswith("My shop: people here use mm; each key of a file ends in its own unit")
    assert max(len(line) for line in said) <= 100


def test_a_wrong_command_is_told_which_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    assert door.main(["plann"]) == 2
    said = capsys.readouterr().err
    assert "argument COMMAND: invalid choice: 'plann'" in said
    assert "check-shop" in said


def test_an_answer_without_its_id_is_told_the_ids(capsys: pytest.CaptureFixture[str]) -> None:
    assert door.main(["new-shop", "--answer", "inch"]) == 2
    assert "limit: name, units, currency" in capsys.readouterr().err
