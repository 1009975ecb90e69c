"""Slow, many and broken-off requests at a real server on loopback: it stays there for others and says little."""

from __future__ import annotations

import http.client
import logging
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from pathlib import Path

import pytest
import uvicorn
from h11 import LocalProtocolError
from starlette.testclient import TestClient
from starlette.types import Receive, Scope, Send

from carecal.web.guard import Guard
from carecal.web.limits import Limits, Sparse, limited
from carecal.web.server import application

HEAD = b"POST /login HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/x-www-form-urlencoded\r\n"
Running = Callable[..., int]


@pytest.fixture
def running(folder: Path) -> Iterator[Running]:
    """Return what runs the server of a house with limits of its own, and gives its port."""
    servers: list[tuple[uvicorn.Server, threading.Thread]] = []

    def run(**limits: float) -> int:
        protocol = limited(Limits(**limits))  # type: ignore[arg-type]  # counts and seconds alike
        protocol.is_trusted = staticmethod(lambda _: False)  # type: ignore[attr-defined]  # this machine is a stranger here
        config = uvicorn.Config(
            application(folder), port=0, http=protocol, log_level="warning", access_log=False, ws="none"
        )
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run)
        thread.start()
        servers.append((server, thread))
        until = time.monotonic() + 20
        while not server.started and time.monotonic() < until:
            threading.Event().wait(0.02)
        return int(server.servers[0].sockets[0].getsockname()[1])

    yield run
    for server, thread in servers:
        server.should_exit = True
        thread.join(20)


def _health(port: int) -> bytes:
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=5)) as connection:
        connection.request("GET", "/healthz", headers={"Connection": "close"})
        return connection.getresponse().read()


def _ended(came: socket.socket, seconds: float = 8.0) -> float:
    """Return after how many seconds the server ended a connection; a test that waits longer has failed."""
    began = time.monotonic()
    came.settimeout(seconds)
    with suppress(ConnectionError):
        while came.recv(1000):
            pass
    return time.monotonic() - began


@pytest.mark.parametrize(
    ("first", "drip", "reason"),
    [
        (b"", b"", "nothing at all"),
        (b"GET / HTTP/1.1\r\nX-A: ", b"", "half a head"),
        (b"GET / HTTP/1.1\r\nX-A: ", b"a", "a head that drips"),
        (HEAD + b"Content-Length: 3000\r\n\r\npassword=", b"", "half a form"),
        (HEAD + b"Content-Length: 3000\r\n\r\npassword=", b"a", "a form that drips"),
    ],
)
def test_a_request_that_takes_too_long_is_let_go_of(
    running: Running, first: bytes, drip: bytes, reason: str
) -> None:
    """The time counts from the first byte, whatever drips in between."""
    port = running(head_seconds=0.4, body_seconds=0.4)
    with socket.create_connection(("127.0.0.1", port)) as slow:
        if first:
            slow.sendall(first)
        stop = threading.Event()

        def dripping() -> None:
            with suppress(OSError):
                while drip and not stop.wait(0.1):
                    slow.sendall(drip)

        thread = threading.Thread(target=dripping)
        thread.start()
        try:
            assert _ended(slow) < 4, reason
        finally:
            stop.set()
            thread.join()
    assert _health(port) == b"ok\n"


def test_one_visitor_cannot_take_all_connections(running: Running) -> None:
    """The one beyond the cap of an address, and the one beyond that of all, is refused at once."""
    port = running(of_one=5)
    held = [socket.create_connection(("127.0.0.1", port)) for _ in range(5)]
    try:
        for came in held:
            came.sendall(b"GET / HTTP/1.1\r\n")
        with socket.create_connection(("127.0.0.1", port)) as sixth:
            assert _ended(sixth) < 3
    finally:
        for came in held:
            came.close()
    until = time.monotonic() + 5
    found = b""
    while found != b"ok\n" and time.monotonic() < until:
        with suppress(OSError, http.client.HTTPException):
            found = _health(port)
    assert found == b"ok\n"


def test_no_more_connections_than_in_all_are_held(running: Running) -> None:
    """The cap of the whole server holds for everybody, proxies too."""
    port = running(in_all=4)
    held = [socket.create_connection(("127.0.0.1", port)) for _ in range(4)]
    try:
        with socket.create_connection(("127.0.0.1", port)) as fifth:
            assert _ended(fifth) < 3
    finally:
        for came in held:
            came.close()


def test_requests_that_break_off_are_a_quiet_line_each(
    running: Running, caplog: pytest.LogCaptureFixture
) -> None:
    """No traceback, which would be a hundred lines each."""
    port = running()
    for _ in range(20):
        with socket.create_connection(("127.0.0.1", port)) as came:
            came.sendall(HEAD + b"Content-Length: 3000\r\n\r\npassword=a")
            # The server must have begun to read the form before it breaks off.
            threading.Event().wait(0.01)
    assert _health(port) == b"ok\n"
    until = time.monotonic() + 5
    while len(caplog.records) < 20 and time.monotonic() < until:
        threading.Event().wait(0.05)
    lines = [record for record in caplog.records if record.levelno >= logging.WARNING]
    assert {record.getMessage() for record in lines} <= {"a request broke off before it was whole"}
    assert not any(record.exc_info for record in lines)


def test_an_answer_that_nobody_takes_any_more_is_quiet_too(caplog: pytest.LogCaptureFixture) -> None:
    """A body made no sense, and the server has said so before the answer was ready."""

    async def late(_scope: Scope, _receive: Receive, _send: Send) -> None:
        raise LocalProtocolError("can't handle event type Response when role=SERVER and state=MUST_CLOSE")

    client = TestClient(
        Guard(late, frozenset({"quay"})), base_url="http://quay", raise_server_exceptions=False
    )
    client.get("/")
    assert [record.getMessage() for record in caplog.records] == ["a request broke off before it was whole"]


def test_a_whole_request_is_answered_within_the_limits(running: Running) -> None:
    """Two requests on one connection, with a pause that is longer than the time for a head."""
    port = running(head_seconds=0.5, body_seconds=0.5)
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=5)) as connection:
        for pause in (0.0, 0.8):
            threading.Event().wait(pause)
            connection.request("GET", "/healthz")
            assert connection.getresponse().read() == b"ok\n"


@pytest.mark.parametrize(("host", "expected"), [
    ("127.0.0.1", True), ("::1", True), ("10.1.2.3", True), ("192.168.0.9", False), ("", False), ("quay", False),
])  # fmt: skip
def test_proxies_and_this_machine_have_no_cap_of_their_own(host: str, expected: bool) -> None:
    """What a proxy passes on comes from many; the cap in all is for it too."""
    assert limited(Limits(), ["10.0.0.0/8"]).is_trusted(host) is expected  # type: ignore[attr-defined]


def _line(text: str) -> logging.LogRecord:
    return logging.LogRecord("carecal.web", logging.WARNING, "", 0, text, (), None)


def test_lines_of_one_kind_are_few_a_minute() -> None:
    """Five a minute come through; the first of the next minute says how many did not."""
    moment = [0.0]
    sparse = Sparse(5, lambda: moment[0])
    assert [sparse.filter(_line("late")) for _ in range(8)] == [True] * 5 + [False] * 3
    assert sparse.filter(_line("other"))
    moment[0] = 61.0
    line = _line("late")
    assert sparse.filter(line)
    assert line.getMessage() == "late (3 more like this a while ago)"
