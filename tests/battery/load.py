"""Two hundred programs that ask for three calendars while somebody ticks: how long answers take, and whether any fails.

Run by hand: python -m tests.battery.load [SECONDS] [--clients N] [--every SECONDS]

The server is `carecal serve` as anybody starts it, on the example's plants. Everything is held against the same thing
with nobody else there, and against the bare toolkit's empty answer at the same time, which says what the machine and
this client take of it.
"""

from __future__ import annotations

import argparse
import asyncio
import math
import os
import re
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from html import unescape
from pathlib import Path
from random import Random
from urllib.parse import urlencode

from carecal.app import Collection
from carecal.app.people.owner import hasher, one_time_path, set_password
from tests.battery.house import surroundings
from tests.cli.cli_run import done
from tests.roads.servers import free_port
from tests.web.visitors import PASSWORD

__all__ = ["Found", "load"]

CLIENTS, EVERY, TICK_EVERY = 200, 2.0, 2.0
WAY_IN_BEATS = 60  # of half a second; a password takes two cores a tenth of a second on purpose
SOME = 20  # programs that ask the bare toolkit meanwhile
WARM_SECONDS = 5.0  # until each has the bytes: the first ones wait until they are made, as they would alone
ALONE = 40  # requests by which the usual time is known
AIM_ASKED, AIM_TAP, AIM_MEMORY = 10.0, 3.0, 0.10
CALENDARS = (("Phone", ()), ("Desk", ("--grouping", "each")), ("List", ("--as", "todos")))
BARE = """
import sys, uvicorn
from starlette.applications import Starlette
from starlette.responses import Response
from starlette.routing import Route
async def empty(_): return Response(status_code=304)
app = Starlette(routes=[Route("/empty", empty), Route("/healthz", empty)])
uvicorn.run(app, http="h11", port=int(sys.argv[1]), access_log=False, log_level="warning")
"""


class Line:
    """One kept connection to a server on loopback."""

    def __init__(self, port: int) -> None:
        self._port = port
        self._streams: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None

    async def ask(
        self, path: str, method: str = "GET", body: str = "", **headers: str
    ) -> tuple[int, dict[str, str], bytes]:
        """Return status, headers and body of one answer; a connection that the server ended in between is made anew."""
        try:
            return await self._ask(path, method, body, headers)
        except (ConnectionError, asyncio.IncompleteReadError):
            self.close()
            return await self._ask(path, method, body, headers)

    async def _ask(
        self, path: str, method: str, body: str, headers: dict[str, str]
    ) -> tuple[int, dict[str, str], bytes]:
        if self._streams is None:
            self._streams = await asyncio.open_connection("127.0.0.1", self._port)
        reader, writer = self._streams
        if method == "POST":
            headers = {**headers, "content-type": "application/x-www-form-urlencoded"}
        told = "".join(f"{name.replace('_', '-')}: {value}\r\n" for name, value in headers.items())
        first = f"{method} {path} HTTP/1.1\r\nhost: 127.0.0.1:{self._port}\r\ncontent-length: {len(body)}\r\n"
        writer.write(f"{first}{told}\r\n{body}".encode())
        head = (await reader.readuntil(b"\r\n\r\n")).decode("latin-1").split("\r\n")
        found = {name.lower(): value.strip() for name, _, value in (line.partition(":") for line in head[1:])}
        size = int(found.get("content-length", 0))
        return int(head[0].split()[1]), found, await reader.readexactly(size) if size else b""

    def close(self) -> None:
        """End the connection."""
        if self._streams is not None:
            self._streams[1].close()
            self._streams = None


@dataclass
class Times:
    """Seconds that answers took, and what the answers were."""

    seconds: list[float] = field(default_factory=list)
    statuses: Counter[int] = field(default_factory=Counter)

    async def timed(
        self, line: Line, path: str, *words: str, **headers: str
    ) -> tuple[int, dict[str, str], bytes]:
        """Ask, and remember how long it took."""
        began = time.perf_counter()
        answer = await line.ask(path, *words, **headers)
        self.seconds.append(time.perf_counter() - began)
        self.statuses[answer[0]] += 1
        return answer

    def at(self, percent: float) -> float:
        """Return the time within which so many of a hundred answers came. [s]."""
        ordered = sorted(self.seconds)
        return (
            ordered[min(len(ordered) - 1, math.ceil(len(ordered) * percent / 100) - 1)]
            if ordered
            else math.nan
        )


@dataclass
class Found:
    """What one run found; times in milliseconds, memory in MB."""

    seconds: float
    answers: int
    errors: dict[str, int]
    alone_ms: float
    p99_ms: float
    bare_alone_ms: float
    bare_p99_ms: float
    tap_alone_ms: float
    tap_ms: float
    health_p99_ms: float
    way_in_ms: float
    memory_mb: tuple[float, float]
    changed: int

    @property
    def broken(self) -> list[str]:
        """Which aims were missed."""
        found = [f"{count} times {what}" for what, count in self.errors.items()]
        if self.p99_ms > AIM_ASKED * max(self.alone_ms, self.bare_p99_ms):
            found.append(f"p99 {self.p99_ms:.1f} ms is {self.p99_ms / self.alone_ms:.1f} times the usual")
        if self.tap_ms > AIM_TAP * self.tap_alone_ms:
            found.append(
                f"a tap of {self.tap_ms:.0f} ms is {self.tap_ms / self.tap_alone_ms:.1f} times the usual"
            )
        begun, ended = self.memory_mb
        if ended > (1 + AIM_MEMORY) * begun:
            found.append(f"memory grew from {begun:.0f} to {ended:.0f} MB")
        if not self.changed:
            found.append("no calendar got new bytes")
        return found

    def __str__(self) -> str:
        """Return it as a row tells it."""
        return (
            f"{self.answers} answers in {self.seconds:.0f} s, errors {sum(self.errors.values())}; "
            f"p99 {self.p99_ms:.1f} ms, alone {self.alone_ms:.1f} "
            f"(bare toolkit {self.bare_p99_ms:.1f}, alone {self.bare_alone_ms:.1f}); a tap "
            f"{self.tap_ms:.0f} ms, alone {self.tap_alone_ms:.0f}; p99 of /healthz {self.health_p99_ms:.1f} ms, way in "
            f"{self.way_in_ms:.0f} ms; memory {self.memory_mb[0]:.0f} to {self.memory_mb[1]:.0f} MB; "
            f"new bytes {self.changed} times"
        )


def make_house(home: Path) -> list[str]:
    """Make the example's collection with a password and three calendars, and return their paths."""
    done("demo", home, as_of=None)
    done("settings", "weekdays", "none", as_of=None, home=home)
    with Collection.open(home) as collection:
        now = collection.now()
        token = one_time_path(collection, now).rpartition("/")[2]
        set_password(collection, now, token, PASSWORD, hasher())
    said = [done("calendar", "add", name, *words, as_of=None, home=home).out for name, words in CALENDARS]
    return [re.findall(r"/calendar/\S+\.ics", out)[0] for out in said]


@contextmanager
def served(words: list[str], home: Path) -> Iterator[tuple[int, subprocess.Popen[bytes]]]:
    """Run a server whose last word is its port, and yield the port and the program."""
    port = free_port()
    with subprocess.Popen([*words, str(port)], env=surroundings(home), stdout=subprocess.DEVNULL) as running:
        try:
            yield port, running
        finally:
            running.terminate()
            running.wait(60)


async def until_up(port: int) -> None:
    """Wait until a server answers."""
    for _ in range(600):
        line = Line(port)
        with suppress(OSError):
            await line.ask("/healthz")
            line.close()
            return
        await asyncio.sleep(0.05)
    raise RuntimeError("the server did not come up")


def memory_mb(pid: int) -> float:
    """Return what a program and those it has begun hold in memory. [MB]."""
    children = Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii").split()
    for task in Path(f"/proc/{pid}/task").iterdir():
        with suppress(OSError):
            children += (task / "children").read_text(encoding="ascii").split()
    pages = sum(
        int(Path(f"/proc/{one}/statm").read_text(encoding="ascii").split()[1])
        for one in {str(pid), *children}
    )
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


class Hand:
    """The owner, who ticks tasks of the round and takes them back."""

    def __init__(self, port: int) -> None:
        self.line, self.cookie, self.turn = Line(port), "", 0
        self.sent: list[list[tuple[str, str]]] = []

    async def sign_in(self) -> float:
        """Sign in and return how long it took. [s]."""
        began = time.perf_counter()
        status, headers, _ = await self.line.ask(
            "/login", "POST", urlencode({"password": PASSWORD, "next": "/"})
        )
        assert status == 303, status
        self.cookie = headers["set-cookie"].partition(";")[0]
        return time.perf_counter() - began

    async def look(self) -> None:
        """Read the round and the forms on it."""
        _, _, page = await self.line.ask("/", cookie=self.cookie)
        text = unescape(page.decode())
        found = re.search(r'name="form_token" value="([\w.-]+)"', text)
        assert found is not None
        rows = [
            dict_of(form) for form in re.findall(r"<form.*?</form>", text, re.DOTALL) if 'name="task"' in form
        ]
        self.sent = [[*row, ("form_token", found[1])] for row in rows]
        assert self.sent, "the round is empty"

    async def tap(self, times: Times) -> None:
        """Tick the next row, or take it back."""
        row = self.sent[self.turn // 2 % len(self.sent)]
        did = "undo" if self.turn % 2 else "done"
        self.turn += 1
        body = urlencode([*row, ("do", did)])
        status, _, answer = await times.timed(
            self.line, "/", "POST", body, cookie=self.cookie, accept="application/json"
        )
        assert status == 200, (status, answer[:200])


def dict_of(form: str) -> list[tuple[str, str]]:
    """Return the fields that a row of the round sends."""
    return re.findall(r'name="(task|care)" value="([^"]*)"', form)


async def polling(
    port: int,
    path: str,
    chance: Random,
    every: float,
    until: float,
    times: Times,
    errors: Counter[str],
    etags: set[str],
) -> None:
    """Ask for one calendar again and again, as a program does that holds its bytes."""
    line, known = Line(port), dict[str, str]()
    await asyncio.sleep(chance.uniform(0, every))
    counted = time.monotonic() + WARM_SECONDS
    while time.monotonic() < until:
        try:
            now = times if time.monotonic() > counted else Times()
            status, headers, body = await now.timed(line, path, accept_encoding="gzip", **known)
        except OSError as error:
            errors[type(error).__name__] += 1
            continue
        if status not in {200, 304}:
            errors[f"status {status}"] += 1
        elif (status == 200) != bool(body):
            errors["half an answer"] += 1
        if status == 200 and "etag" in headers:
            known = {"if_none_match": headers["etag"]}
            etags.add(path + headers["etag"])
        await asyncio.sleep(every * chance.uniform(0.8, 1.2))
    line.close()


async def alone(port: int, path: str, **headers: str) -> Times:
    """Return how long one asker's answers take while nobody else is there."""
    line, times = Line(port), Times()
    for _ in range(ALONE):
        await times.timed(line, path, accept_encoding="gzip", **headers)
        await asyncio.sleep(0.05)
    line.close()
    return times


async def ticking(hand: Hand, until: float, times: Times) -> None:
    """Tick, as somebody does who goes round in a hurry."""
    while time.monotonic() < until:
        began = time.monotonic()
        await hand.tap(times)
        await asyncio.sleep(max(0.0, TICK_EVERY - (time.monotonic() - began)))


async def health(port: int, until: float, times: Times, way_in: Times) -> None:
    """Ask whether the server answers, and sign in now and then."""
    line, count = Line(port), 0
    while time.monotonic() < until:
        await times.timed(line, "/healthz")
        count += 1
        if count % WAY_IN_BEATS == 1:
            way_in.seconds.append(await Hand(port).sign_in())
        await asyncio.sleep(0.5)
    line.close()


async def under_load(
    port: int,
    paths: list[str],
    clients: int,
    every: float,
    seconds: float,
    *beside: Callable[[float], object],
) -> tuple[Times, Counter[str], set[str]]:
    """Ask with so many programs for so long, while what is `beside` goes on until then."""
    times, errors, etags = Times(), Counter[str](), set[str]()
    until = time.monotonic() + seconds
    askers = [
        polling(port, paths[n % len(paths)], Random(n), every, until, times, errors, etags)  # noqa: S311 - no secret
        for n in range(clients)
    ]
    await asyncio.gather(*askers, *(one(until) for one in beside))
    return times, errors, etags


async def _run(home: Path, seconds: float, clients: int, every: float) -> Found:
    paths = make_house(home)
    words = [sys.executable, "-m", "carecal", "serve", "--port"]
    with served(words, home) as (port, running), served([sys.executable, "-c", BARE], home) as (bare_port, _):
        await until_up(port)
        await until_up(bare_port)
        hand, taps_alone, taps, beats, way_in = Hand(port), Times(), Times(), Times(), Times()
        held = []
        for path in paths:
            _, headers, _ = await Line(port).ask(path, accept_encoding="gzip")
            held.append(headers["etag"])
        await asyncio.sleep(4)  # until what was written counts as settled
        idle, bare_alone = (
            await alone(port, paths[0], if_none_match=held[0]),
            await alone(bare_port, "/empty"),
        )
        await hand.sign_in()
        await hand.look()
        for _ in range(8):
            await hand.tap(taps_alone)
            await asyncio.sleep(0.2)
        memory: list[float] = []

        async def weighing(until: float) -> None:
            while time.monotonic() < until:
                await asyncio.sleep(1)
                memory.append(memory_mb(running.pid))

        async def bare_polling(until: float) -> None:
            some = [
                polling(bare_port, "/empty", Random(n), every, until, bare, Counter(), set())  # noqa: S311 - no secret
                for n in range(SOME)
            ]
            await asyncio.gather(*some)

        bare = Times()
        times, errors, etags = await under_load(
            port, paths, clients, every, seconds, lambda until: ticking(hand, until, taps), weighing, bare_polling,
            lambda until: health(port, until, beats, way_in),
        )  # fmt: skip
        for _ in range(8):
            await hand.tap(taps_alone)
            await asyncio.sleep(0.2)
    third = len(memory) // 3
    return Found(
        seconds, len(times.seconds), dict(errors), 1000 * idle.at(50), 1000 * times.at(99), 1000 * bare_alone.at(50),
        1000 * bare.at(99), 1000 * taps_alone.at(50), 1000 * taps.at(50), 1000 * beats.at(99), 1000 * way_in.at(50),
        (max(memory[third : 2 * third]), max(memory[2 * third :])), len(etags) - len(paths),
    )  # fmt: skip


def load(seconds: float, *, clients: int = CLIENTS, every: float = EVERY) -> Found:
    """Run the server under load and return what was found.

    Args:
        seconds: How long. [s]
        clients: How many programs ask.
        every: How often each asks, about. [s]
    """
    with tempfile.TemporaryDirectory(prefix="load-") as folder:
        return asyncio.run(_run(Path(folder) / "quay", seconds, clients, every))


def main(arguments: list[str]) -> int:
    """Run by hand; return 1 where an aim was missed."""
    parser = argparse.ArgumentParser(prog="python -m tests.battery.load", description=__doc__)
    parser.add_argument("seconds", nargs="?", type=float, default=60.0, help="how long, else a minute")
    parser.add_argument("--clients", type=int, default=CLIENTS)
    parser.add_argument("--every", type=float, default=EVERY, help="how often each client asks")
    asked = parser.parse_args(arguments)
    found = load(asked.seconds, clients=asked.clients, every=asked.every)
    print(found)  # noqa: T201 - what it is for
    for line in found.broken:
        print(f"missed: {line}")  # noqa: T201 - as above
    return 1 if found.broken else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
