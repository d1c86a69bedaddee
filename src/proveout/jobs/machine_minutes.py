"""Minutes of machines from their own streams: recorded ones, or live from a sender in the local network."""

from __future__ import annotations

import http.client
import ipaddress
import re
import socket
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from proveout.books.cycles import cycles_of, joined
from proveout.intake.machine_stream import BYTES_MOST, read_stream
from proveout.jobs.shop_day import shop_day
from proveout.model.batch_events import Ran
from proveout.model.events import Event
from proveout.model.machine_stream import Cycle, Stream, StreamPart
from proveout.quantities.errors import BadInput, Unreadable
from proveout.records.records import Records

COUNT = 1000
"""Observations that are asked for at once."""
ANSWERS_MOST = 400
"""Answers that one look at a sender takes: more than the largest buffer that is usual."""
TIMEOUT_S = 10.0
PORT = 5000
"""Where senders usually answer: from memory, no source."""
OF_CYCLES = uuid.UUID("5f1e0ad0-37a5-4e0e-9f0e-1c7c5a40f2b1")
"""Below it lie the ids of cycles: one that is read twice is the same event."""
_DEVICE = re.compile(r"[A-Za-z0-9._-]{1,80}")


@dataclass(frozen=True, kw_only=True)
class Sender:
    """Where a machine's sender answers. address: of a network of its own, as it was resolved once."""

    host: str
    address: str
    port: int
    device: str


def recorded_stream(paths: Sequence[Path]) -> Stream:
    """What was recorded of one machine, from files in any order.

    Raises:   BadInput, Unreadable for what is no stream.
    """
    parts = [read_stream(path.read_bytes(), where=path.name) for path in paths]
    return joined(sorted(parts, key=lambda part: (part.instance, part.next)))


def sender_at(address: str) -> Sender:
    """A sender by its address: http://host:port, with the machine's name behind it where it has several.

    Raises:   BadInput for anything but a machine of the local network.
    """
    try:
        told = urlsplit(address)
    except ValueError as fault:
        raise BadInput("This is no address", where=address[:80], value=str(fault)[:80]) from fault
    device = told.path.strip("/")
    if told.scheme != "http" or not told.hostname or told.query or told.username or told.fragment:
        raise BadInput("A sender has an address", where=address[:80], limit="http://host:port or http://host:port/name")
    if device and not _DEVICE.fullmatch(device):
        raise BadInput("This is no name of a machine", where=address[:80], value=device[:80])
    try:
        port = told.port or PORT
        found = socket.getaddrinfo(told.hostname, port, type=socket.SOCK_STREAM)[0][4][0]
    except (OSError, ValueError) as fault:
        raise BadInput("There is no such machine in the network", where=told.hostname, value=str(fault)[:80]) from fault
    ip = ipaddress.ip_address(str(found).partition("%")[0])
    if not (ip.is_private or ip.is_loopback or ip.is_link_local) or ip.is_multicast or ip.is_unspecified:
        raise BadInput("Only machines of the local network are asked", where=told.hostname, value=str(ip),
                       do="record the stream there, and read the file")  # fmt: skip
    return Sender(host=told.hostname, address=str(found), port=port, device=device)


def look_at(sender: Sender, *, since: Stream | None = None) -> Stream:
    """All that a sender has, or has got since; what fell out of its buffer meanwhile is told as a gap.

    Raises:   BadInput, Unreadable when it does not answer with a stream.
    """
    parts: list[StreamPart] = []
    following = since.next if since is not None and since.next else None
    for _ in range(ANSWERS_MOST):
        try:
            part = _asked(sender, following)
        except BadInput:
            if following is None:
                raise
            part = _asked(sender, None)  # that number is no longer there: from the oldest on, and the gap is told
        parts.append(part)
        is_end = part.next > part.last or (following is not None and part.next <= following)
        following = part.next
        if is_end:
            break
    return joined(parts, since=since)


def _asked(sender: Sender, following: int | None) -> StreamPart:
    where = f"http://{sender.host}:{sender.port}"
    path = f"/{sender.device}/sample" if sender.device else "/sample"
    query = f"?count={COUNT}" if following is None else f"?from={following}&count={COUNT}"
    # to the address that was looked at, whatever its name leads to by now; no way elsewhere is followed
    line = http.client.HTTPConnection(sender.address, sender.port, timeout=TIMEOUT_S)
    try:
        line.request("GET", path + query, headers={"Host": f"{sender.host}:{sender.port}", "Accept": "text/xml"})
        content = line.getresponse().read(BYTES_MOST + 1)
    except (OSError, http.client.HTTPException) as fault:
        raise Unreadable("The machine's sender does not answer", where=where, value=str(fault)[:120]) from fault
    finally:
        line.close()
    return read_stream(content, where=where)


def whole_cycles(stream: Stream, *, program: str = "") -> tuple[Cycle, ...]:
    """Cycles that were seen from begin to end; of one program where it is named.

    Where the machine counts pieces, one that made none was broken off, and tells nothing of a piece.
    """
    every = cycles_of(stream)
    does_count = any(one.pieces_count for one in every)
    return tuple(
        one for one in every
        if one.is_whole and not (does_count and one.pieces_count == 0)
        and (not program or (one.program is not None and _same(one.program, program)))
    )  # fmt: skip


def _same(one: str, other: str) -> bool:
    """Programs by the names of their files, whatever folder and ending the control shows."""
    return Path(one.replace("\\", "/")).stem.casefold() == Path(other.replace("\\", "/")).stem.casefold()


def post_cycles(
    records: Records, cycles: Sequence[Cycle], *, batch: str, step: str, machine: str, person: str
) -> int:  # fmt: skip
    """Write cycles into the records of a batch; how many lie there now. A cycle that is there already stays as it is.

    Raises:   BadInput when there is no such batch; Refused when the step is not started or another machine's.
    """
    if records.batch(batch) is None:
        raise BadInput("There is no such batch", where=records.name, value=batch)
    for one in cycles:
        begun = one.begun.isoformat()
        of = Ran(
            step=step, program=one.program or "", begun=begun, run_s=one.run_s, held_s=one.held_s,
            held_count=one.held_count, pieces_count=max(1, one.pieces_count or 1),
        )  # fmt: skip
        id = str(uuid.uuid5(OF_CYCLES, f"{machine}\n{begun}"))
        if records.holds(id):  # by whomever, and though more is known of it by now
            continue
        records.post(Event(id=id, at=one.ended, person=person, station=machine, batch=batch, of=of,
                           day=shop_day(one.ended).isoformat()))  # fmt: skip
    return len(cycles)
