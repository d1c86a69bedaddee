"""An owner's file is changed whole or not at all, only as it was shown, and can be put back."""

from __future__ import annotations

from pathlib import Path

import pytest

from proveout.jobs.owner_file import BEFORE, ChangedMeanwhile, put_back, replace_text, show
from proveout.quantities.errors import BadInput


def nothing(_text: str) -> None:
    """Anything may be written."""


def refuse(_text: str) -> None:
    raise BadInput("no")


def test_a_file_that_changed_meanwhile_is_not_written(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text("a = 1\n", encoding="utf-8")
    shown = show(path)
    path.write_text("a = 2\n", encoding="utf-8")
    with pytest.raises(ChangedMeanwhile):
        replace_text(path, "a = 3\n", shown_digest=shown.digest, check=nothing)
    with pytest.raises(ChangedMeanwhile):
        replace_text(path, "a = 3\n", shown_digest="", check=nothing)
    assert path.read_text(encoding="utf-8") == "a = 2\n"
    assert [one.name for one in tmp_path.iterdir()] == ["a.toml"]


def test_a_refused_text_leaves_everything(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text("a = 1\n", encoding="utf-8")
    with pytest.raises(BadInput, match="no"):
        replace_text(path, "a = 3\n", shown_digest=show(path).digest, check=refuse)
    assert [one.read_text(encoding="utf-8") for one in tmp_path.iterdir()] == ["a = 1\n"]


def test_the_text_before_comes_back_and_goes_again(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    first = "\ufeffa = 1\r\n".encode()
    path.write_bytes(first)
    path.chmod(0o640)
    replace_text(path, show(path).text.replace("1", "2"), shown_digest=show(path).digest, check=nothing)
    assert path.read_bytes() == first.replace(b"1", b"2")  # with its mark and its line ends
    assert path.stat().st_mode & 0o777 == 0o640
    assert show(path).has_before
    for _ in range(2):
        now = path.read_bytes()
        put_back(path, shown_digest=show(path).digest, check=nothing)
        assert path.with_name("a.toml" + BEFORE).read_bytes() == now
        assert path.read_bytes() != now
    with pytest.raises(ChangedMeanwhile):
        put_back(path, shown_digest="0", check=nothing)
    with pytest.raises(BadInput, match="no"):
        put_back(path, shown_digest=show(path).digest, check=refuse)


def test_a_first_file_is_written_where_none_was(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    assert show(path).digest == ""
    replace_text(path, "a = 1\n", shown_digest="", check=nothing)
    assert not show(path).has_before
    with pytest.raises(BadInput, match="no earlier text"):
        put_back(path, shown_digest=show(path).digest, check=nothing)


def test_a_link_stays_a_link_and_what_it_leads_to_is_written(tmp_path: Path) -> None:
    real, link = tmp_path / "kept" / "shop.toml", tmp_path / "shop.toml"
    real.parent.mkdir()
    real.write_text("a = 1\n")
    link.symlink_to(real)
    replace_text(link, "a = 2\n", shown_digest=show(link).digest, check=str)
    assert link.is_symlink()
    assert real.read_text() == "a = 2\n"
    put_back(link, shown_digest=show(link).digest, check=str)
    assert link.is_symlink()
    assert real.read_text() == "a = 1\n"
