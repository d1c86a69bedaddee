"""Answers of a machine's sender: of our own making, whole, broken and hostile; from files and live over HTTP."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest
import run_batches

from proveout.books.cycles import joined
from proveout.cli.main import main
from proveout.intake.machine_stream import DEPTH_MOST, read_stream
from proveout.jobs.close_out import close_out_below
from proveout.jobs.machine_minutes import look_at, recorded_stream, sender_at, whole_cycles
from proveout.quantities.errors import BadInput, Unreadable
from proveout.records.records import Records

STAMP = "2027-03-01T07:{:02d}:{:02d}.5Z"
ROWS = [
    (0, "Execution", "READY"), (1, "Program", "O10.NC"), (2, "PartCount", "4"), (10, "Execution", "ACTIVE"),
    (100, "Execution", "INTERRUPTED"), (120, "Execution", "ACTIVE"), (140, "Execution", "PROGRAM_COMPLETED"),
    (141, "PartCount", "5"), (150, "Execution", "ACTIVE"), (260, "Execution", "READY"), (261, "PartCount", "6"),
]  # fmt: skip
SENDER_ERROR = (
    '<MTConnectError xmlns="urn:mtconnect.org:MTConnectError:1.4"><Header/><Errors>'
    '<Error errorCode="OUT_OF_RANGE">from is too old</Error></Errors></MTConnectError>'
)


def answer(rows: list[tuple[int, str, str]], *, start: int = 1, first: int = 1, last: int = 0) -> bytes:
    """Rows as a sender writes them. last: newest of the buffer, 0 for the last of these."""
    lines = "".join(
        f'<{tag} dataItemId="d" sequence="{start + k}" timestamp="{STAMP.format(*divmod(s, 60))}">{value}</{tag}>'
        for k, (s, tag, value) in enumerate(rows)
    )
    end = start + len(rows)
    return (
        '<?xml version="1.0" encoding="UTF-8"?><MTConnectStreams xmlns="urn:mtconnect.org:MTConnectStreams:1.4">'
        f'<Header instanceId="77" firstSequence="{first}" lastSequence="{last or end - 1}" nextSequence="{end}"/>'
        f'<Streams><DeviceStream name="VM1"><ComponentStream component="Path" name="p"><Events>{lines}</Events>'
        '</ComponentStream><ComponentStream component="Rotary" name="S1"><Samples><Load dataItemId="l" sequence="'
        f'{start}" timestamp="{STAMP.format(0, 0)}">UNAVAILABLE</Load></Samples></ComponentStream></DeviceStream>'
        "</Streams></MTConnectStreams>"
    ).encode()


def test_an_answer_is_read_with_its_times_and_what_is_not_known() -> None:
    part = read_stream(answer(ROWS), where="a.xml")
    assert (part.instance, part.first, part.last, part.next, part.device) == (77, 1, 11, 12, "VM1")
    first = part.observed[0]
    assert (first.what, first.value, first.at) == ("EXECUTION", "READY", datetime(2027, 3, 1, 7, 0, 0, 500_000, UTC))
    assert [one.value for one in part.observed if one.what == "LOAD"] == [None]


@pytest.mark.parametrize(
    "hostile",
    [
        b'<!DOCTYPE a [<!ENTITY b "c">]><MTConnectStreams/>',
        b'<?xml version="1.0"?>\n<!doctype a SYSTEM "file:///etc/passwd"><MTConnectStreams/>',
        b'<?xml version="1.0" encoding="UTF-16"?><MTConnectStreams/>',
        "<!DOCTYPE a>".encode("utf-16"),
        b'<?xml version="1.0" encoding="utf-7"?><MTConnectStreams/>',
    ],
)
def test_entities_are_refused_however_they_are_written(hostile: bytes) -> None:
    with pytest.raises(BadInput, match=r"document type|UTF-8"):
        read_stream(hostile, where="a.xml")


@pytest.mark.parametrize(
    ("broken", "words"),
    [
        (b"", "cannot be read"),
        (b"<MTConnectStreams>", "cannot be read"),
        (b"<MTConnectStreams/>", "no header"),
        (b"<MTConnectDevices/>", "no stream"),
        (answer(ROWS).replace(b'instanceId="77"', b'instanceId="x"'), "lacks a number"),
        (answer(ROWS).replace(b"2027-03", b"2027-13"), "no time"),
        (b"<a>" * (DEPTH_MOST + 1), "too deeply"),
        (SENDER_ERROR.encode(), "from is too old"),
        (answer(ROWS).replace(b"</Streams>", b'<DeviceStream name="VM2"/></Streams>'), "several machines"),
    ],
)
def test_what_is_no_stream_is_refused_in_words(broken: bytes, words: str) -> None:
    with pytest.raises((BadInput, Unreadable), match=words):
        read_stream(broken, where="a.xml")


def test_recorded_answers_are_put_in_order_and_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "b.xml").write_bytes(answer(ROWS[:5], last=11))
    (tmp_path / "a.xml").write_bytes(answer(ROWS[5:], start=6))
    files = [tmp_path / "a.xml", tmp_path / "b.xml"]
    cycles = whole_cycles(recorded_stream(files))
    assert [(one.run_s, one.held_s, one.pieces_count) for one in cycles] == [(110.0, 20.0, 1), (110.0, 0.0, 1)]
    assert whole_cycles(recorded_stream(files), program="C:\\NC\\o10.tap") == cycles
    assert whole_cycles(recorded_stream(files), program="O11") == ()
    assert main(["machine-minutes", *map(str, files)]) == 0
    assert "VM1: 2 cycles from begin to end, 0 not whole" in capsys.readouterr().out
    assert main(["machine-minutes"]) == 2


def test_cycles_go_into_the_batch_once_and_stand_beside_its_taps(tmp_path: Path) -> None:
    plans = run_batches.write_plans(tmp_path / "plans")
    records = tmp_path / "r.sqlite"
    run_batches.run_records(records, [{}]).close()
    (tmp_path / "a.xml").write_bytes(answer(ROWS))
    given = ["machine-minutes", str(tmp_path / "a.xml"), "--records", str(records), "--batch", "B0", "--step", "c1"]
    assert main(given) == 2
    for person in ("mara", "mara", "jon"):  # read by whomever, written once
        assert main([*given, "--machine", "mill-3", "--person", person]) == 0
    assert main([*given, "--machine", "mill-9", "--person", "mara"]) == 2
    with Records(str(records)) as opened:
        told, _ = close_out_below(opened, "B0", plans=plans)
    step = next(one for one in told.steps if one.step == "c1")
    assert (step.cycles_count, step.run_s, step.held_s) == (2, 110.0, 10.0)


def test_a_cycle_that_was_broken_off_tells_nothing_where_the_machine_counts() -> None:
    rows = [*ROWS, (300, "Execution", "ACTIVE"), (305, "Execution", "READY"), (400, "Execution", "ACTIVE")]
    own, never = (joined([read_stream(answer(some), where="x")]) for some in (
        rows, [row for row in rows if row[1] != "PartCount" or row[2] == "4"]
    ))  # fmt: skip
    assert [one.run_s for one in whole_cycles(own)] == [110.0, 110.0]
    assert [one.run_s for one in whole_cycles(never)] == [110.0, 110.0, 5.0]


class _Sender(BaseHTTPRequestHandler):
    """A sender with a buffer: rows of ROWS from `oldest` up to `newest`."""

    oldest, newest, asked = 1, 6, []

    def do_GET(self) -> None:
        kind = type(self)
        kind.asked.append(self.path)
        given = parse_qs(urlsplit(self.path).query)
        start = int(given.get("from", [str(kind.oldest)])[0])
        count = min(3, int(given["count"][0]))  # a sender may give fewer than asked
        content = SENDER_ERROR.encode()
        if kind.oldest <= start <= kind.newest + 1:
            rows = ROWS[start - 1 : min(start - 1 + count, kind.newest)]
            content = answer(rows, start=start, first=kind.oldest, last=kind.newest)
        self.send_response(200)
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, *_args: object) -> None:
        """Say nothing."""


@pytest.fixture
def live() -> Iterator[str]:
    _Sender.oldest, _Sender.newest, _Sender.asked = 1, 6, []
    server = HTTPServer(("127.0.0.1", 0), _Sender)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()
    thread.join()


def test_a_live_sender_is_asked_on_from_where_it_was_left(live: str) -> None:
    sender = sender_at(f"{live}/VM1")
    before = look_at(sender)
    assert before.next == 7
    _Sender.newest = len(ROWS)
    after = look_at(sender, since=before)
    assert after.gaps == ()
    assert [one.run_s for one in whole_cycles(after)] == [110.0, 110.0]
    assert _Sender.asked[0] == "/VM1/sample?count=1000"
    assert "/VM1/sample?from=7&count=1000" in _Sender.asked


def test_a_buffer_that_ran_over_is_told_and_its_cycle_left_out(live: str) -> None:
    sender = sender_at(live)
    before = look_at(sender)
    _Sender.oldest, _Sender.newest = 9, len(ROWS)
    after = look_at(sender, since=before)
    assert [(gap.after, gap.count) for gap in after.gaps] == [(6, 2)]
    assert whole_cycles(after) == ()


@pytest.mark.parametrize(
    "address", ["https://127.0.0.1", "http://8.8.8.8:5000", "file:///etc/passwd", "http://", "http://127.0.0.1/a/b",
                "http://user@127.0.0.1", "http://127.0.0.1?x=1", "http://0.0.0.0", "http://[::1"],
)  # fmt: skip
def test_only_machines_of_the_local_network_are_asked(address: str) -> None:
    with pytest.raises(BadInput):
        sender_at(address)


def test_an_sender_that_does_not_answer_is_said_so() -> None:
    with pytest.raises(Unreadable, match="does not answer"):
        look_at(sender_at("http://127.0.0.1:9"))
