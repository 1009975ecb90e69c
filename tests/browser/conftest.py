"""A real browser at phone width before a real server on loopback; skipped, with the reason, where there is none."""

from __future__ import annotations

import os
import shutil
import socket
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from argon2 import PasswordHasher, profiles

from carecal.app import Collection
from carecal.app.people.owner import one_time_path, set_password
from carecal.web.server import application
from tests.stories.quay import TODAY, moment

ROOT = Path(__file__).resolve().parents[2]
PASSWORD = "a long quay by night"  # noqa: S105 - of a collection that lives for one test
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
ARGUMENTS = (
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)
AXE_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test of this folder as one of the browser."""
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker("browser")


@dataclass(frozen=True)
class Served:
    """A server on loopback and the folder it serves."""

    base: str
    folder: Path

    def entries(self) -> list[tuple[str, str, str]]:
        """Return kind, plant and author of each entry written today, in order."""
        with Collection.open(self.folder) as collection:
            names = {number: name for name, number in collection.journal.ids().items()}
            return [
                (r.kind, names.get(r.plant or 0, ""), r.by)
                for r in collection.journal.records()
                if r.on == TODAY
            ]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """Return the running browser."""
    playwright = pytest.importorskip(
        "playwright.sync_api", reason="playwright is not installed (extra 'browser')"
    )
    if CHROMIUM is None:
        pytest.skip("no chromium on this machine")
    root = ("--no-sandbox",) if os.geteuid() == 0 else ()
    with playwright.sync_playwright() as started:
        browser = started.chromium.launch(executable_path=CHROMIUM, args=[*ARGUMENTS, *root])
        yield started, browser
        browser.close()


@pytest.fixture(scope="session")
def _locked_once(quay_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of the house by the harbour with a password, to copy from."""
    folder = tmp_path_factory.mktemp("quay") / "home"
    shutil.copytree(quay_once, folder)
    with Collection.open(folder) as collection:
        token = one_time_path(collection, moment(TODAY)).rpartition("/")[2]
        set_password(
            collection, moment(TODAY), token, PASSWORD, PasswordHasher.from_parameters(profiles.CHEAPEST)
        )
    return folder


class Server:
    """A server of a folder on a port of its own, that can be stopped and started again there."""

    def __init__(self, folder: Path) -> None:
        self._folder, self._port = folder, 0
        self.start()

    @property
    def base(self) -> str:
        """Where it is heard."""
        return f"http://127.0.0.1:{self._port}"

    def start(self) -> None:
        """Listen, and answer at nine o'clock of a care day."""
        self._listener = socket.socket()
        self._listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        self._listener.bind(("127.0.0.1", self._port))
        self._listener.listen()  # whoever asks before the server is up waits in line
        self._port = self._listener.getsockname()[1]
        app = application(self._folder, clock=lambda _: moment(TODAY))
        self._server = uvicorn.Server(
            uvicorn.Config(app, log_level="error", ws="none", timeout_graceful_shutdown=2)
        )
        self._thread = threading.Thread(target=self._server.run, kwargs={"sockets": [self._listener]})
        self._thread.start()

    def stop(self) -> None:
        """Answer nobody any more."""
        self._server.should_exit = True
        self._thread.join(timeout=10)
        self._listener.close()


@pytest.fixture
def server(_locked_once: Path, tmp_path: Path) -> Iterator[Server]:
    """Return a server of a copy of the house."""
    folder = tmp_path / "home"
    shutil.copytree(_locked_once, folder)
    running = Server(folder)
    yield running
    running.stop()


@pytest.fixture
def served(server: Server, tmp_path: Path) -> Served:
    """Return where the copy of the house is heard and where it lies."""
    return Served(server.base, tmp_path / "home")


@pytest.fixture
def phone(chromium: Any, served: Served) -> Iterator[Callable[..., Any]]:
    """Return a function that gives a phone's page, signed in; its arguments go to the browser's context."""
    started, browser = chromium
    contexts = []

    def opened(*, signed_in: bool = True, **options: Any) -> Any:
        device = started.devices["Pixel 7"]
        context = browser.new_context(
            **{**device, "locale": "en-GB", "timezone_id": "Europe/Berlin", **options}
        )
        contexts.append(context)
        context.clock.set_fixed_time(moment(TODAY).clock)
        page = context.new_page()
        page.set_default_timeout(20_000)
        if signed_in:
            page.goto(f"{served.base}/login")
            page.get_by_label("Password").fill(PASSWORD)
            page.get_by_role("button", name="Sign in").click()
            page.wait_for_url(f"{served.base}/")
        return page

    yield opened
    for context in contexts:
        context.close()


@pytest.fixture(scope="session")
def axe() -> str:
    """Return the source of the engine for accessibility rules; CARECAL_AXE names its file."""
    found = Path(os.environ.get("CARECAL_AXE") or ROOT / "node_modules" / "axe-core" / "axe.min.js")
    if not found.is_file():
        pytest.skip("no axe-core: npm install --no-save axe-core, or name its file by CARECAL_AXE")
    return found.read_text(encoding="utf-8")


def violations(page: Any, axe_source: str) -> list[str]:
    """Return what breaks the rules on a page, each with where."""
    page.evaluate(axe_source)
    found = page.evaluate("rules => axe.run(document, {runOnly: rules})", AXE_RULES)
    return [
        f"{broken['id']}: {node['target']} {node.get('failureSummary', '')}"
        for broken in found["violations"]
        for node in broken["nodes"]
    ]
