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
from proveout.intake.shop_file import read_shop
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
    assert door._hint("500 x 400 x 400", "mm; yours in your unit", units="inch") == "500 x 400 x 400 mm; yours in inch"
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


def _typing(monkeypatch: pytest.MonkeyPatch, *typed: str) -> list[str]:
    """Somebody who types these lines and then closes the terminal; what is left of them."""
    left = list(typed)

    def line(_hint: str) -> str:
        if not left:
            raise EOFError
        return left.pop(0)

    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", line)
    return left


def test_a_wrong_answer_is_asked_again_and_the_others_are_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Worked: 24 x 16 x 18 in is 609.6 x 406.4 x 457.2 mm."""
    left = _typing(
        monkeypatch, "feet", "Inch", "USD", "", "24 x 16", "24 X 16 X 18", "12", "12000", "", "15 kN", "15-20", "2", "",
        "",
    )  # fmt: skip
    assert door.main(["new-shop", str(tmp_path / "s.toml"), "--answer", "name=Lamps and more"]) == 0
    assert left == []
    said = capsys.readouterr().err
    assert [said.count(words) for words in ("cannot be read", "one of the choices", "plausible range")] == [3, 1, 1]
    shop = read_shop(tmp_path / "s.toml")
    assert (shop.name, shop.units, shop.currency, shop.people_count) == ("Lamps and more", "inch", "USD", 1)
    assert shop.machines[0].travel_mm == pytest.approx((609.6, 406.4, 457.2))
    assert shop.vises[0].preload_n is not None
    assert shop.vises[0].preload_n.low == 15e3


def test_who_closes_the_terminal_has_written_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    _typing(monkeypatch, "Lamps")
    assert door.main(["new-shop", str(tmp_path / "s.toml")]) == 130
    assert capsys.readouterr().err.splitlines()[-1].startswith("Interrupted; nothing was written")
    assert list(tmp_path.iterdir()) == []


def test_all_wrong_answers_given_beforehand_are_told_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = ("bars=50", "colour=red", "speed=fast", "units=feet", "name=Lamps")
    given = [part for pair in wrong for part in ("--answer", pair)]
    assert door.main(["new-shop", str(tmp_path / "s.toml"), "--yes", *given]) == 2
    said = capsys.readouterr().err.splitlines()
    assert [line.split("; ")[1] for line in said] == [
        "where: question units", "where: question speed", "where: question bars", "where: new shop",
    ]  # fmt: skip
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["there.toml"], "there already"),
        (["no/s.toml"], "no such folder"),
        (["s.toml", "--cutters", "there.toml"], "where: there.toml"),
    ],
)
def test_nobody_is_asked_where_nothing_can_be_written(
    options: list[str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "there.toml").write_text("x", encoding="utf-8")
    left = _typing(monkeypatch, "Lamps")
    assert door.main(["new-shop", *options]) == 2
    assert words in capsys.readouterr().err
    assert left == ["Lamps"]
