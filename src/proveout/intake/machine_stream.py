"""Read what a machine's sender answers: XML of ANSI/MTC1.4, streams of observations.

A document type is refused before anything of it is read, so that no entity is ever expanded; size and depth have their
limits. What is not known is not shown: UNAVAILABLE is no value, and neither is a number that is none.
"""

from __future__ import annotations

import re
from contextlib import suppress
from datetime import UTC, datetime
from xml.etree import ElementTree as ET

from proveout.model.machine_stream import UNAVAILABLE, Observed, StreamPart
from proveout.quantities.errors import BadInput, Unreadable

BYTES_MOST = 32 * 1024 * 1024
DEPTH_MOST = 40
ROOT, ERRORS = "MTConnectStreams", "MTConnectError"
WANTED = {
    "Execution": "EXECUTION", "Program": "PROGRAM", "PartCount": "PART_COUNT", "Load": "LOAD",
    "ControllerMode": "CONTROLLER_MODE", "Availability": "AVAILABILITY",
}  # fmt: skip
_DOCTYPE = re.compile(rb"<!\s*(DOCTYPE|ENTITY)", re.IGNORECASE)
_UTF8 = re.compile(rb"""^\s*<\?xml[^>]*?encoding\s*=\s*["']([A-Za-z0-9._-]+)["']""")
_STAMP = re.compile(r"(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d)(?:\.(\d{1,9}))?(Z|[+-]\d\d:\d\d)?")


def read_stream(content: bytes, *, where: str) -> StreamPart:
    """One answer.

    Args:     where: file or address, said in messages.
    Raises:   BadInput when it is none, or says that it is an error; Unreadable when it is broken or too large.
    """
    root = _root(content, where)
    name = _plain(root.tag)
    if name == ERRORS:
        faults = [one for one in root.iter() if _plain(one.tag) == "Error"]
        said = "; ".join((one.text or one.get("errorCode", "")).strip() for one in faults)
        raise BadInput("The machine's sender refuses", where=where, value=said[:200], do="ask from another number")
    if name != ROOT:
        raise BadInput("This is no stream of a machine", where=where, value=name[:60], limit=ROOT)
    head = next((one for one in root if _plain(one.tag) == "Header"), None)
    if head is None:
        raise Unreadable("The stream has no header", where=where)
    devices = [one for one in root.iter() if _plain(one.tag) == "DeviceStream"]
    if len(devices) > 1:
        raise BadInput("The stream is of several machines", where=where,
                       value=", ".join(one.get("name", "?") for one in devices)[:200],
                       do="ask for one of them: the address ends in its name")  # fmt: skip
    observed = [one for device in devices for one in _observed(device, where)]
    return StreamPart(
        instance=_number(head, "instanceId", where), first=_number(head, "firstSequence", where),
        last=_number(head, "lastSequence", where), next=_number(head, "nextSequence", where),
        device=devices[0].get("name", "") if devices else "",
        observed=tuple(sorted(observed, key=lambda one: one.sequence)),
    )  # fmt: skip


def _root(content: bytes, where: str) -> ET.Element:
    if len(content) > BYTES_MOST:
        raise Unreadable("This stream is too large", where=where, value=f"{len(content)} bytes",
                         limit=f"{BYTES_MOST} bytes", do="ask for fewer at once")  # fmt: skip
    encoding = _UTF8.match(content.removeprefix(b"\xef\xbb\xbf"))
    if content[:2] in (b"\xff\xfe", b"\xfe\xff") or (encoding and encoding[1].lower() not in (b"utf-8", b"us-ascii")):
        raise BadInput("A stream is written in UTF-8", where=where)  # else a document type could hide from that look
    if _DOCTYPE.search(content):
        raise BadInput("A stream has no document type and no entities", where=where, do="do not trust its sender")
    parser = ET.XMLParser(target=_NotDeep(where))  # noqa: S314 - no document type gets here, so no entity is expanded
    try:
        parser.feed(content)
        root: ET.Element = parser.close()
    except (ET.ParseError, ValueError) as fault:
        raise Unreadable("This stream cannot be read", where=where, value=str(fault)[:200]) from fault
    return root


class _NotDeep(ET.TreeBuilder):
    """Builds a tree that is nested no deeper than a stream is."""

    def __init__(self, where: str) -> None:
        super().__init__()
        self.where, self.depth = where, 0

    def start(self, tag: str, attrs: dict[str, str], /) -> ET.Element:
        self.depth += 1
        if self.depth > DEPTH_MOST:
            raise Unreadable("This stream is nested too deeply", where=self.where, limit=f"{DEPTH_MOST}")
        return super().start(tag, attrs)

    def end(self, tag: str, /) -> ET.Element:
        self.depth -= 1
        return super().end(tag)


def _plain(tag: object) -> str:
    """A name without its namespace."""
    return str(tag).rpartition("}")[2]


def _number(head: ET.Element, key: str, where: str) -> int:
    text = head.get(key, "")
    if not text.isascii() or not text.isdigit() or len(text) > 20:
        raise Unreadable("The stream's header lacks a number", where=where, value=f'{key} = "{text[:30]}"')
    return int(text)


def _observed(device: ET.Element, where: str) -> list[Observed]:
    found: list[Observed] = []
    for component in device.iter():
        if _plain(component.tag) != "ComponentStream":
            continue
        is_spindle = component.get("component", "") in ("Rotary", "Spindle", "Axes") or "spindle" in (
            component.get("name", "").lower()
        )
        for group in component:
            if _plain(group.tag) not in ("Events", "Samples"):
                continue
            for one in group:
                what = WANTED.get(_plain(one.tag))
                if what is None or (what == "LOAD" and not is_spindle):
                    continue
                text = (one.text or "").strip()
                found.append(
                    Observed(
                        sequence=_number(one, "sequence", where), at=_moment(one.get("timestamp", ""), where),
                        what=what, of=one.get("dataItemId", ""),
                        value=None if text in ("", UNAVAILABLE) else text[:200],
                    )
                )  # fmt: skip
    return found


def _moment(text: str, where: str) -> datetime:
    found = _STAMP.fullmatch(text)
    if found is not None:
        zone = "+00:00" if found[3] in (None, "Z") else found[3]
        with suppress(ValueError):  # a thirteenth month
            return datetime.fromisoformat(f"{found[1]}.{(found[2] or '0')[:6]:0<6}{zone}").astimezone(UTC)
    raise Unreadable("An observation has no time", where=where, value=repr(text[:40]))
