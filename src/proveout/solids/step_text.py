"""What the text of a STEP file says by itself: that it is whole, its declared length unit, names not to repeat."""

from __future__ import annotations

import re

from proveout.quantities.errors import Unreadable

END_LENGTH = 65536  # how much of a file is looked at to see how it opens and how it closes

# Nothing here may look back over what it has read (hence the possessive "++" and "*+"): damaged files must be quick.
_STRING = re.compile(r"'([^']*+)'")
_BODY = r"\s*+\((?:[^';]++|'[^']*+')*+;"
_FILE_NAME = re.compile("FILE_NAME" + _BODY)
_FILE_DESCRIPTION = re.compile("FILE_DESCRIPTION" + _BODY)
_OPENING = re.compile(r"\ufeff?\s*+(?:/\*(?:[^*]|\*(?!/))*+\*/\s*+)*+ISO-10303-21\s*+;")
_INSTANCE = re.compile(r"\s*+#(\d++)\s*+=\s*+")
_PREFIXES = {"MILLI": "mm", "CENTI": "cm", "DECI": "dm", "MICRO": "um", "KILO": "km", "": "m"}
_UNIT_NAMES = {
    **dict.fromkeys(("inch", "inches", "in"), "inch"),
    **dict.fromkeys(("foot", "feet", "ft"), "foot"),
    **dict.fromkeys(("millimetre", "millimeter", "mm"), "mm"),
    **dict.fromkeys(("centimetre", "centimeter", "cm"), "cm"),
    **dict.fromkeys(("metre", "meter", "m"), "m"),
}


def is_step(text: str) -> bool:
    """The text opens as ISO 10303-21 (a byte-order mark, blanks or one comment may come before)."""
    return _OPENING.match(text[:END_LENGTH]) is not None


def is_whole(text: str) -> bool:
    """The text closes as ISO 10303-21 does."""
    return "END-ISO-10303-21" in text[-END_LENGTH:]


def check_ends(head: str, tail: str, *, where: str) -> None:
    """Raises Unreadable for a file that is empty, opens as no STEP file does, or stops before its end."""
    if not head.strip():
        raise Unreadable("The file is empty", where=where, do="export the solid again as STEP")
    if not is_step(head):
        raise Unreadable(
            "The file is not STEP: it does not begin with ISO-10303-21",
            where=where,
            do="export the solid as STEP (AP203, AP214 or AP242)",
        )
    if not is_whole(tail):
        raise Unreadable(
            "The STEP file stops before its end: END-ISO-10303-21 is missing",
            where=where,
            do="copy or export the file again",
        )


def private_names(text: str) -> frozenset[str]:
    """Lower-case words of the header that may say who made the file, where and with what (three letters or more)."""
    entry = _FILE_NAME.search(text[:262144])
    if entry is None:
        return frozenset()
    strings = [s.strip().lower() for s in _STRING.findall(entry.group())]
    return frozenset(s for s in strings[2:] if len(s) >= 3)


def declared_length_unit(text: str) -> str:
    """Length unit of the context that the solid bodies refer to: "mm", "inch", "m", ...; "" when none is found."""
    instances = {}
    bodies: list[str] = []
    for statement in text.split(";"):
        number = _INSTANCE.match(statement)
        if number is None:
            continue
        body = statement[number.end() :]
        if "UNIT" in body or "GEOMETRIC_REPRESENTATION_CONTEXT" in body:
            instances[number.group(1)] = body
        if "BREP_SHAPE_REPRESENTATION" in body or "MANIFOLD_SURFACE_SHAPE_REPRESENTATION" in body:
            bodies.append(body)
    contexts = [body for body in instances.values() if "GLOBAL_UNIT_ASSIGNED_CONTEXT" in body]
    for body in bodies:
        used = re.findall(r"#(\d+)", body)
        if used and "GLOBAL_UNIT_ASSIGNED_CONTEXT" in instances.get(used[-1], ""):
            contexts.insert(0, instances[used[-1]])
            break
    for context in contexts:
        group = re.search(r"GLOBAL_UNIT_ASSIGNED_CONTEXT\s*\(\s*\(([^)]*)\)", context)
        for number in re.findall(r"#(\d+)", group.group(1)) if group else []:
            unit = _length_unit(instances.get(number, ""))
            if unit:
                return unit
    return ""


def _length_unit(body: str) -> str:
    if "LENGTH_UNIT" not in body:
        return ""
    named = re.search(r"CONVERSION_BASED_UNIT\s*\(\s*'([^']*)'", body)
    if named:
        name = named.group(1).strip().lower()
        return _UNIT_NAMES.get(name, re.sub(r"[^a-z ]", "", name)[:20])
    si = re.search(r"SI_UNIT\s*\(\s*(?:\.(\w+)\.|\$)\s*,\s*\.METRE\.", body)
    return _PREFIXES.get(si.group(1) or "", "") if si else ""


def without_origin(text: str, *, name: str) -> str:
    """The STEP text with a header that names no person, program, path or time: equal solids give equal bytes."""
    header = f"FILE_NAME('{name}','1970-01-01T00:00:00',(''),(''),'','','');"
    text = _FILE_NAME.sub(lambda _: header, text, count=1)
    text = _FILE_DESCRIPTION.sub("FILE_DESCRIPTION(('solid'),'2;1');", text, count=1)
    text = re.sub(r"'Open CASCADE STEP translator[^']*'", f"'{name}'", text)
    return text.replace("\r\n", "\n")
