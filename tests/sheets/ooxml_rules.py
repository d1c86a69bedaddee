"""Rules of a workbook's package (ISO/IEC 29500-1 and -2), read from its own parts; nothing of what wrote it is used."""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
from xml.etree import ElementTree as ET

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
TYPES = "{http://schemas.openxmlformats.org/package/2006/content-types}"
LINKS = "{http://schemas.openxmlformats.org/package/2006/relationships}"
OWN_FORMAT = 164  # number formats below are the standard's own
FAULT = re.compile(r"#(REF|NAME\?|VALUE|DIV/0|NUM|N/A|NULL)!?")


def place_of(reference: str) -> tuple[int, int]:
    """Row and column of a reference such as AB12, both from 1."""
    letters, digits = re.fullmatch(r"([A-Z]+)([0-9]+)", reference).groups()  # type: ignore[union-attr]
    column = 0
    for letter in letters:
        column = 26 * column + ord(letter) - ord("A") + 1
    return int(digits), column


def broken_rules(book: bytes) -> list[str]:
    """What of the rules a workbook breaks; empty when a reader meets nothing to repair."""
    with zipfile.ZipFile(io.BytesIO(book)) as archive:
        if archive.testzip() is not None or len(set(archive.namelist())) != len(archive.namelist()):
            return ["the archive is damaged"]
        parts = {name: archive.read(name) for name in archive.namelist()}
    trees = {name: ET.fromstring(text) for name, text in parts.items()}  # noqa: S314 - made here
    wrong = [*_types(trees), *_links(trees)]
    styles, strings = trees["xl/styles.xml"], trees["xl/sharedStrings.xml"]
    shared = strings.findall(f"{MAIN}si")
    sheets = sorted(name for name in trees if name.startswith("xl/worksheets/") and name.endswith(".xml"))
    cells = [cell for name in sheets for cell in trees[name].iter(f"{MAIN}c")]
    used = [int(c.findtext(f"{MAIN}v") or -1) for c in cells if c.get("t") == "s"]
    if int(strings.get("uniqueCount", -1)) != len(shared) or int(strings.get("count", -1)) != len(used):
        wrong.append("the counts of shared strings are others")
    wrong += [f"shared string {n} is none" for n in used if not 0 <= n < len(shared)]
    wrong += _styles(styles, cells)
    for name in sheets:
        wrong += _sheet(name, trees[name], len(styles.findall(f"{MAIN}dxfs/{MAIN}dxf")))
    return wrong


def _types(trees: dict[str, ET.Element]) -> list[str]:
    types = trees["[Content_Types].xml"]
    named = {one.get("PartName", "").lstrip("/") for one in types.findall(f"{TYPES}Override")}
    ends = {one.get("Extension") for one in types.findall(f"{TYPES}Default")}
    missing = [f"{name} does not exist" for name in named if name not in trees]
    return missing + [
        f"{name} has no type"
        for name in trees
        if name not in named and name.rpartition(".")[2] not in ends and name != "[Content_Types].xml"
    ]


def _links(trees: dict[str, ET.Element]) -> list[str]:
    wrong = []
    for name, tree in trees.items():
        if not name.endswith(".rels"):
            continue
        folder = posixpath.dirname(posixpath.dirname(name))
        for link in tree.findall(f"{LINKS}Relationship"):
            target = posixpath.normpath(posixpath.join(folder, link.get("Target", "")).lstrip("/"))
            if link.get("TargetMode") == "External" or target not in trees:
                wrong.append(f"{name} leads to {link.get('Target')}")
    return wrong


def _styles(styles: ET.Element, cells: list[ET.Element]) -> list[str]:
    forms = styles.findall(f"{MAIN}cellXfs/{MAIN}xf")
    own = {int(one.get("numFmtId", 0)) for one in styles.iter(f"{MAIN}numFmt")}
    wrong = [f"number format {n} is none" for n in {int(f.get("numFmtId", 0)) for f in forms} - own if n >= OWN_FORMAT]
    return wrong + [f"{c.get('r')} has no style {c.get('s')}" for c in cells if int(c.get("s", 0)) >= len(forms)]


def _sheet(name: str, sheet: ET.Element, formats_count: int) -> list[str]:
    """Cells in order, within the dimension that the sheet names and reaching its ends; nothing that is an error."""
    wrong, places, before = [], [], (0, 0)
    for row in sheet.iter(f"{MAIN}row"):
        for cell in row.findall(f"{MAIN}c"):
            place = place_of(cell.get("r", ""))
            if place <= before or place[0] != int(row.get("r", -1)):
                wrong.append(f"{name}: {cell.get('r')} stands out of order")
            before = place
            places.append(place)
            value = cell.findtext(f"{MAIN}v")
            if cell.get("t") == "e" or (cell.get("t") is None and value is not None and not _is_number(value)):
                wrong.append(f"{name}: {cell.get('r')} is {value}")
    first, _, last = sheet.find(f"{MAIN}dimension").get("ref", "").partition(":")  # type: ignore[union-attr]
    ends = (place_of(first), place_of(last or first))
    if places and ends != tuple((end(r for r, _ in places), end(c for _, c in places)) for end in (min, max)):
        wrong.append(f"{name}: the dimension is {first}:{last}")
    formulas = [one.text or "#REF!" for one in (*sheet.iter(f"{MAIN}f"), *sheet.iter(f"{MAIN}formula"))]
    wrong += [f"{name}: formula {text}" for text in formulas if FAULT.search(text)]
    rules = sheet.iter(f"{MAIN}cfRule")
    return wrong + [f"{name}: no format {r.get('dxfId')}" for r in rules if int(r.get("dxfId", 0)) >= formats_count]


def _is_number(text: str) -> bool:
    return re.fullmatch(r"-?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?", text) is not None
