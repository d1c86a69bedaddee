"""Files that belong together are changed all or not at all, whatever is cut short in between."""

from __future__ import annotations

import errno
import hashlib
import io
import shutil
from pathlib import Path
from typing import Any

import msgspec
import pytest

from proveout.jobs import changed_together, taking_in
from proveout.jobs.changed_files import OwnFile, write_for_good
from proveout.jobs.changed_together import JOURNAL, Journal, Replacing, Row, finish_changes, replace_together
from proveout.jobs.home import Home
from proveout.jobs.owner_file import NewText, put_back, replace_texts, show
from proveout.model.changes import ChangedFile
from proveout.quantities.errors import BadInput, Unfinished

SHOP = Path(__file__).parents[1] / "flows" / "small_shop.toml"
OLD = {"a.toml": "a = 1\n", "b/b.toml": "b = 1\n"}
NEW = {"a.toml": "a = 2\n", "b/b.toml": "b = 2\n"}


class CutShort(BaseException):
    """The process is gone: nothing after it is done."""


@pytest.fixture
def root(tmp_path: Path) -> Path:
    (tmp_path / "b").mkdir()
    for name, text in OLD.items():
        (tmp_path / name).write_text(text)
    return tmp_path


def told(root: Path) -> dict[str, str]:
    """Every file below a folder, by its name from there."""
    return {path.relative_to(root).as_posix(): path.read_text() for path in root.rglob("*") if path.is_file()}


def change(root: Path) -> None:
    replace_together([Replacing(root / name, text.encode(), root / name) for name, text in NEW.items()])


def test_all_are_changed_and_nothing_else_is_left(root: Path) -> None:
    (root / "a.toml").chmod(0o640)
    change(root)
    assert told(root) == NEW
    assert (root / "a.toml").stat().st_mode & 0o777 == 0o640
    assert finish_changes(root) == ()
    assert told(root) == NEW


@pytest.mark.parametrize("at", range(4))
def test_a_full_disk_at_any_write_leaves_everything_as_it_was(
    root: Path, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    """worked: four writes: the journal that is begun, two contents, the journal that is whole."""
    done, write = [], changed_together.write_whole

    def full(path: Path, content: bytes, **how: Any) -> None:
        if len(done) == at:
            raise OSError(errno.ENOSPC, "No space left on device")
        done.append(path)
        write(path, content, **how)

    monkeypatch.setattr(changed_together, "write_whole", full)
    with pytest.raises(BadInput, match="every file is as it was"):
        change(root)
    assert told(root) == OLD


@pytest.mark.parametrize("at", range(4))
def test_what_is_cut_short_before_the_journal_is_whole_is_undone(
    root: Path, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    done, write = [], changed_together.write_whole

    def cut(path: Path, content: bytes, **how: Any) -> None:
        if len(done) == at:
            raise CutShort
        done.append(path)
        write(path, content, **how)

    monkeypatch.setattr(changed_together, "write_whole", cut)
    with pytest.raises(CutShort):
        change(root)
    assert {name: told(root)[name] for name in OLD} == OLD
    assert finish_changes(root) == ()
    assert told(root) == OLD


@pytest.mark.parametrize("at", range(2))
def test_what_is_cut_short_between_two_files_is_finished_by_the_next_start(
    root: Path, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    done, rename = [], changed_together._rename

    def cut(staged: Path, target: Path) -> None:
        if len(done) == at:
            raise CutShort
        done.append(target)
        rename(staged, target)

    monkeypatch.setattr(changed_together, "_rename", cut)
    with pytest.raises(CutShort):
        change(root)
    assert [told(root)[name] == NEW[name] for name in NEW] == [at == 1, False]
    monkeypatch.setattr(changed_together, "_rename", rename)
    assert finish_changes(root) == ()
    assert told(root) == NEW


def test_a_disk_that_refuses_between_two_files_is_told_truly(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    rename = changed_together._rename

    def refuse(staged: Path, target: Path) -> None:
        if target.name == "b.toml":
            raise OSError(errno.EIO, "Input/output error")
        rename(staged, target)

    monkeypatch.setattr(changed_together, "_rename", refuse)
    for again in (change, finish_changes):  # and by the next start too, which finds the disk no better
        with pytest.raises(Unfinished, match="some of these files are new"):
            again(root)
    monkeypatch.setattr(changed_together, "_rename", rename)
    assert finish_changes(root) == ()
    assert told(root) == NEW


def test_a_file_that_somebody_changed_in_between_is_left_alone_and_told(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rename = changed_together._rename
    monkeypatch.setattr(changed_together, "_rename", lambda *_: (_ for _ in ()).throw(CutShort))
    with pytest.raises(CutShort):
        change(root)
    (root / "b" / "b.toml").write_text("b = 3  # by hand\n")
    monkeypatch.setattr(changed_together, "_rename", rename)
    assert finish_changes(root) == (root / "b" / "b.toml",)
    assert told(root) == {"a.toml": NEW["a.toml"], "b/b.toml": "b = 3  # by hand\n"}


def test_a_journal_from_elsewhere_has_no_other_file_written(tmp_path: Path) -> None:
    """A home that somebody sent may hold anything: only files below it, and beside the shop file, are finished."""
    root, other = tmp_path / "home", tmp_path / "other"
    for folder in (root, other):
        folder.mkdir()
    target, staged = other / "rc", other / ".rc-1"
    target.write_text("old")
    staged.write_text("new")
    before, after = (hashlib.sha256(text).hexdigest() for text in (b"old", b"new"))
    row = Row(target=str(target), staged=str(staged), before=before, after=after)
    (root / f"{JOURNAL}1.json").write_bytes(msgspec.json.encode(Journal(is_whole=True, rows=(row,))))
    (root / f"{JOURNAL}2.json").write_text("{}")
    assert finish_changes(root) == ()
    assert (target.read_text(), staged.read_text()) == ("old", "new")
    assert finish_changes(root, beside=other) == ()
    assert target.read_text() == "new"


def test_of_a_link_what_it_leads_to_is_changed(root: Path) -> None:
    (root / "link.toml").symlink_to(root / "b" / "b.toml")
    replace_together([Replacing(root / "link.toml", b"b = 2\n"), Replacing(root / "a.toml", b"a = 2\n")])
    assert (root / "link.toml").is_symlink()
    assert told(root) == NEW | {"link.toml": NEW["b/b.toml"]}


def test_of_several_texts_one_that_changed_meanwhile_stops_all(root: Path) -> None:
    new = [NewText(root / name, text, show(root / name).digest, lambda _: None) for name, text in NEW.items()]
    (root / "b" / "b.toml").write_text("b = 3\n")
    with pytest.raises(BadInput, match="nothing was written"):
        replace_texts(new)
    assert told(root) == OLD | {"b/b.toml": "b = 3\n"}


def test_putting_back_that_is_cut_short_loses_no_text(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = root / "a.toml"
    replace_texts([NewText(path, "a = 2\n", show(path).digest, lambda _: None)])
    rename = changed_together._rename

    def cut(staged: Path, target: Path) -> None:
        if target.name != "a.toml":
            raise CutShort
        rename(staged, target)

    monkeypatch.setattr(changed_together, "_rename", cut)
    with pytest.raises(CutShort):
        put_back(path, shown_digest=show(path).digest, check=lambda _: None)
    monkeypatch.setattr(changed_together, "_rename", rename)
    finish_changes(root)
    assert (path.read_text(), (root / "a.toml.before").read_text()) == ("a = 1\n", "a = 2\n")


def test_the_files_of_a_try_are_kept_together_or_not_at_all(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk is full when the shop file is written: the job file, which came first, is as it was."""
    shutil.copyfile(SHOP, root / "shop.toml")
    shop = show(root / "shop.toml")
    job = show(root / "a.toml")
    files: dict[ChangedFile, OwnFile] = {
        "job": OwnFile("job", job.path, job.text, job.digest),
        "shop": OwnFile("shop", shop.path, shop.text, shop.digest),
    }  # fmt: skip
    texts: dict[ChangedFile, str] = {"job": "a = 2\n", "shop": shop.text + "# 2\n"}
    before, write = told(root), changed_together.write_whole

    def full(path: Path, content: bytes, **how: Any) -> None:
        if path.name.startswith(".shop.toml-"):
            raise OSError(errno.ENOSPC, "No space left on device")
        write(path, content, **how)

    monkeypatch.setattr(changed_together, "write_whole", full)
    with pytest.raises(BadInput, match="every file is as it was"):
        write_for_good(Home(root), files, texts)
    assert told(root) == before
    monkeypatch.setattr(changed_together, "write_whole", write)
    assert write_for_good(Home(root), files, texts) == (job.path, shop.path)
    assert [path.read_text() for path in (job.path, shop.path)] == [texts["job"], texts["shop"]]


def test_a_shop_file_and_its_table_are_taken_in_together_or_not_at_all(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, link = told(root), taking_in._link

    def taken(copied: Path, place: Path) -> None:
        if place.name == "shop.toml":
            raise BadInput("A file of that name is there already; nothing was changed")
        link(copied, place)

    monkeypatch.setattr(taking_in, "new_shop", lambda path, **_: path.write_text("x"))
    monkeypatch.setattr(taking_in, "_link", taken)
    with pytest.raises(BadInput, match="nothing was changed"):
        taking_in.take_cutters(Home(root), "cutters.csv", io.BytesIO(b"id,name\n"))
    assert told(root) == before
