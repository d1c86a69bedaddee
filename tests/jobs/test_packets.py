"""The packet of a released batch: frozen, whole, and refused once anything in it is another."""

# pyright: reportMissingImports=false
from __future__ import annotations

from pathlib import Path

import pytest
from example_home import example, write_home

from proveout.jobs.home import Home
from proveout.jobs.packets import MANIFEST, drop_packet, freeze, packet_folder, packet_of
from proveout.quantities.errors import BadInput, Refused

PROGRAM = "programs/op1.nc"


@pytest.fixture
def home(tmp_path: Path) -> Home:
    home = write_home(tmp_path, example())
    result = home.plans / "jaw"
    (result / "programs").mkdir()
    (result / PROGRAM).write_text("%\nO1\nM30\n%\n", encoding="ascii")
    (result / "papers.pdf").write_bytes(b"%PDF-1.7 of the plan")
    return home


def frozen(home: Home) -> dict[str, str]:
    return freeze(home, "B-1", home.place("jaw"), anew={"papers.pdf": b"%PDF-1.7 of the batch"})


def write(path: Path, content: bytes) -> None:
    path.chmod(0o644)
    path.write_bytes(content)


def test_a_packet_is_the_plan_with_its_own_papers_and_is_found_by_its_address(home: Home) -> None:
    papers = frozen(home)
    place = packet_of(home, "B-1", papers=papers)
    assert place == home.place("@B-1")
    assert place.plan == home.place("jaw").plan
    assert (place.folder / "papers.pdf").read_bytes() == b"%PDF-1.7 of the batch"
    assert set(papers) == {"plan.json", PROGRAM, "papers.pdf", MANIFEST}
    assert not any(path.stat().st_mode & 0o222 for path in (place.folder, *place.folder.rglob("*")))


@pytest.mark.parametrize(
    ("name", "words"), [(PROGRAM, "edited program"), ("plan.json", "another plan"), ("papers.pdf", "changed since")]
)
def test_a_file_that_is_another_by_now_is_refused(home: Home, name: str, words: str) -> None:
    frozen(home)
    folder = packet_of(home, "B-1").folder
    write(folder / name, (folder / name).read_bytes() + b" ")
    with pytest.raises(Refused, match=words):
        packet_of(home, "B-1")


def test_a_missing_file_and_a_new_one_are_refused(home: Home) -> None:
    frozen(home)
    folder = packet_folder(home, "B-1")
    (folder / "programs").chmod(0o755)
    (folder / "programs" / "op9.nc").write_text("%\n%\n")
    with pytest.raises(Refused, match=r"op9\.nc; found: a file that it was not released with"):
        packet_of(home, "B-1")
    (folder / "programs" / "op9.nc").rename(folder / "programs" / "op1.nc")
    (folder / PROGRAM).unlink()
    with pytest.raises(Refused, match=r"op1\.nc; found: missing"):
        packet_of(home, "B-1")


def test_a_manifest_changed_with_its_file_is_seen_beside_the_record(home: Home) -> None:
    papers = frozen(home)
    folder = packet_of(home, "B-1").folder
    write(folder / MANIFEST, (folder / MANIFEST).read_bytes().replace(papers["papers.pdf"].encode(), b"0" * 64))
    with pytest.raises(Refused, match="not the one that the batch was released with"):
        packet_of(home, "B-1", papers=papers)


def test_a_packet_is_made_once_and_goes_when_its_release_came_to_nothing(home: Home) -> None:
    frozen(home)
    with pytest.raises(BadInput, match="a packet of this batch already"):
        frozen(home)
    drop_packet(home, "B-1")
    with pytest.raises(BadInput, match="no packet of this batch"):
        packet_of(home, "B-1")
    frozen(home)


@pytest.mark.parametrize("name", ["", "..", "a/b", ".b", "b.", "b" * 61, "a b", "@b", "b\n"])
def test_a_name_that_leads_elsewhere_is_none(home: Home, name: str) -> None:
    with pytest.raises(BadInput, match="plain name"):
        packet_folder(home, name)


def test_no_design_is_planned_into_the_folder_of_packets(home: Home) -> None:
    (home.root / "packets.step").write_text("ISO-10303-21;\n", encoding="ascii")
    assert [entry.result.name for entry in home.entries()] == ["jaw", "packets-2"]
