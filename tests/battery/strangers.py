"""Requests that no browser sends, at a real server: it answers or lets go, never fails, and goes on answering."""

from __future__ import annotations

import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from random import Random

import httpx2

from tests.battery.house import copied, surroundings, unsound, until_up, written
from tests.roads.servers import free_port
from tests.web.visitors import give_password

__all__ = ["strangers"]

PATHS = (
    b"/", b"/plants", b"/plants/tide", b"/login", b"/calendar/x.ics", b"/sitter/x", b"/photos/x.jpg",
    b"/static/style.css", b"/settings", b"/log", b"/healthz",
    b"/set-password/x", b"/ahead", b"/add", b"/calendars", b"/labels", b"/year",
)  # fmt: skip
BODY = b"do=done&task=task/1/1/wetting/1&care=watering&form_token=x&password=x&next=/"
HOSTILE = (
    b"\x00", b"\xff\xfe\xed\xa0\x80", b"%00", b"%ff%fe", b"%2e%2e%2f", b"../../", b"//evil.example/", b"\\..\\", b"?",
    b"#", b"<script>alert(1)</script>", b"{{7*7}}", b"${x}", b"' or 1=1--", b"A" * 9000, b"9" * 400, b"-1", b"\r\n\r\n",
    b"\r\nX-Evil: 1", b"\r\nContent-Length: 5", b"\r\nTransfer-Encoding: chunked", b"\r\nHost: evil.example",
    b"\r\nExpect: 100-continue", b"\r\nCookie: carecal=x.y", b"\r\nRange: bytes=0-1", b"\r\nIf-None-Match: *",
    b"\r\nIf-Modified-Since: Mon, 99 Foo 0000 99:99:99", b"\r\nAccept-Encoding: gzip;q=nan,*;q=-1", b"\r\nUpgrade: h2c",
    b"\r\nContent-Type: multipart/form-data; boundary=x", b"\r\nContent-Type: multipart/form-data", b"\r\nOrigin: null",
    b"\r\nX-Forwarded-For: 127.0.0.1", b"\r\nSec-Fetch-Site: cross-site", b"\r\nAccept: application/json", b"HTTP/9.9",
)  # fmt: skip


def _request(port: int, chance: Random) -> bytes:
    """Return a request with some things wrong."""
    method = chance.choice(
        (b"GET", b"POST", b"POST", b"HEAD", b"PUT", b"OPTIONS", b"TRACE", b"CONNECT", b"G\x00T")
    )
    head = (
        method
        + b" "
        + chance.choice(PATHS)
        + b" HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nConnection: close" % port
        + b"\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: %d" % len(BODY)
    )
    whole = bytearray(head + b"\r\n\r\n" + BODY)
    for _ in range(chance.choice((1, 1, 2, 4))):
        at = chance.randrange(len(whole) + 1)
        ends = [i for i in range(len(whole)) if whole[i : i + 2] == b"\r\n"]
        if ends and chance.random() < 0.6:  # behind a line of the head, where most of these mean something
            at = chance.choice(ends)
        if chance.random() < 0.15:
            del whole[at : at + chance.randint(1, 40)]
        else:
            whole[at:at] = chance.choice(HOSTILE)
    return bytes(whole)


def _sent(port: int, content: bytes) -> bytes:
    """Send a request and return what was answered; b'' where the server let go."""
    answer = b""
    with suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=2) as line:
        line.sendall(content)
        line.shutdown(socket.SHUT_WR)
        while len(answer) < 100_000 and (piece := line.recv(65536)):
            answer += piece
    return answer


def _fault(answer: bytes) -> str:
    """Return what is wrong with an answer; '' where nothing is."""
    if not answer:
        return ""
    status = answer.split(b" ", 2)[1] if answer.startswith(b"HTTP/1.1 ") else b"no answer of HTTP"
    if not status.isdigit() or status >= b"500":
        return f"status {status.decode('latin-1')}"
    return next(
        (
            f"{text!r} came back"
            for text in (b"<script>alert(1)", b"X-Evil: 1\r\n", b"root:")
            if text in answer
        ),
        "",
    )


@contextmanager
def strangers(stands: Path, folder: Path) -> Iterator[Callable[[Path, Path, Random], tuple[str, str]]]:
    """Run a server on a copy of a collection and yield what sends one request to it."""
    home, port = copied(stands, folder), free_port()
    give_password(home)
    before = written(home)
    with subprocess.Popen(
        [sys.executable, "-m", "carecal", "serve", "--port", str(port)],
        env=surroundings(home),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as running:
        with httpx2.Client(base_url=f"http://127.0.0.1:{port}", timeout=20) as client:
            until_up(client, running)

            def one(_: Path, __: Path, chance: Random) -> tuple[str, str]:
                content = _request(port, chance)
                answer = _sent(port, content)
                broken = _fault(answer)
                if client.get("/healthz").status_code != 200:
                    broken = "the server is deaf"
                if written(home) != before:
                    broken = "something was written"
                return (
                    "answered" if answer else "let go"
                ), f"{broken} to {content[:200]!r}" if broken else ""

            yield one
        running.terminate()
        said = running.stdout.read() if running.stdout is not None else ""
    fault = unsound(home) or ("traceback" if "Traceback" in said else "")
    if fault:
        raise AssertionError(f"strangers left {fault}: {said[-2000:]}")
