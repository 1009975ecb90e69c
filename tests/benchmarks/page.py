"""How soon the first page is usable: Chromium on a processor slowed six times, against the page to sign in.

Usable is when the rows stand there and the script listens (the end of `DOMContentLoaded`; scripts are deferred). The
clock on the wall is read here, since a browser has no other; both pages are loaded in turns, so that the ratio holds.

Run by hand: python -m tests.benchmarks.page [TURNS]
"""

from __future__ import annotations

import shutil
import socket
import sys
import tempfile
import threading
from pathlib import Path
from statistics import median
from typing import Any

import uvicorn
from argon2 import PasswordHasher, profiles
from playwright.sync_api import sync_playwright

from carecal.app import Collection
from carecal.app.people.owner import one_time_path, set_password
from carecal.web.server import application
from tests.benchmarks.many import make_collection, moment
from tests.benchmarks.measure import Result, number_argument, show

PLANTS = 24
TURNS = 9
SLOWED = 6
AIM_MS = 1000
PASSWORD = "a long quay by night"  # noqa: S105 - of a collection that lives for one run
PHONE = {"width": 360, "height": 740}
USABLE = "performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd"
ROOT = ("--no-sandbox",)


def measure(browser: Any, turns: int = TURNS, plants: int = PLANTS) -> list[Result]:
    """Return how long the first page takes to be usable, nothing kept and with style and script kept. [ms].

    Args:
        browser: A running Chromium.
        turns: How often each page is loaded.
        plants: Plants of the collection.
    """
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder) / "home"
        make_collection(home, plants).close()
        base, server = _serve(home)
        context = browser.new_context(viewport=PHONE, is_mobile=True, service_workers="block")
        page = context.new_page()
        page.goto(f"{base}/login")
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url(f"{base}/")
        found = [_loads(page, base, turns, is_kept=kept) for kept in (False, True)]
        context.close()
        server.should_exit = True
    return [
        Result(name, "the page to sign in", median(first), median(bare), None, (("rows", rows),), "ms")
        for name, (first, bare, rows) in zip(("nothing kept", "style and script kept"), found, strict=True)
    ]


def _serve(home: Path) -> tuple[str, uvicorn.Server]:
    with Collection.open(home) as collection:
        token = one_time_path(collection, moment()).rpartition("/")[2]
        cheap = PasswordHasher.from_parameters(profiles.CHEAPEST)
        set_password(collection, moment(), token, PASSWORD, cheap)
    listener = socket.create_server(("127.0.0.1", 0))
    app = application(home, clock=lambda _: moment())
    server = uvicorn.Server(uvicorn.Config(app, log_level="error", ws="none"))
    threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True).start()
    return f"http://127.0.0.1:{listener.getsockname()[1]}", server


def _loads(page: Any, base: str, turns: int, *, is_kept: bool) -> tuple[list[float], list[float], int]:
    """Load the round and the page to sign in, in turns, and return what each took and the rows seen. [ms]."""
    wire = page.context.new_cdp_session(page)
    wire.send("Network.enable")
    wire.send("Network.setCacheDisabled", {"cacheDisabled": not is_kept})
    wire.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
    took: dict[str, list[float]] = {"/": [], "/login": []}
    rows = 0
    for _ in range(turns):
        for path, times in took.items():
            page.goto(f"{base}{path}", wait_until="load")
            times.append(page.evaluate(USABLE))
            rows = page.locator(".row").count() or rows
    wire.detach()
    return took["/"], took["/login"], rows


def main() -> None:
    """Measure and print, and say where the aim on the wall's clock is missed."""
    with sync_playwright() as started:
        browser = started.chromium.launch(executable_path=shutil.which("chromium"), args=ROOT)
        results = measure(browser, number_argument(TURNS))
        browser.close()
    show(results)
    for result in results:
        word = "within" if result.measured <= AIM_MS else "MISSED, over"
        sys.stdout.write(f"{result.name}: {result.measured:.0f} ms, {word} {AIM_MS} ms\n")


if __name__ == "__main__":
    main()
