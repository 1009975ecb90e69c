"""An account told whole with real programs: added on the command line, a task ticked by one, read by the others."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import icalendar
import pytest
import uvicorn

from carecal.web.server import application
from tests.cli.cli_run import DAY, done, plant, start
from tests.roads.programs import Syncer
from tests.roads.servers import needs
from tests.stories.quay import moment

pytestmark = [
    pytest.mark.servers,
    pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::DeprecationWarning"),
]


@contextmanager
def _served(folder: Path) -> Iterator[str]:
    """Serve a house on loopback at nine o'clock of the day."""
    day = moment(date.fromisoformat(DAY))
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen()
        app = application(folder, clock=lambda _: day)
        server = uvicorn.Server(uvicorn.Config(app, log_level="error", ws="none"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        try:
            yield f"http://127.0.0.1:{listener.getsockname()[1]}"
        finally:
            server.should_exit = True
            thread.join(timeout=10)


@pytest.fixture
def account(home: Path) -> dict[str, str]:
    """A house with one thirsty plant and an account for a phone."""
    start()
    plant("rose", "--stage", "established", "--came", "2025-06-01", "--watered", "20 days ago")
    plant("dory", "--stage", "established", "--came", "2025-06-01", "--watered", "yesterday")
    told = done("--json", "calendar", "add", "phone", "--account").json
    assert sorted(told) == ["address", "password", "user"]
    return {"user": told["user"], "password": told["password"], "home": str(home)}


def test_a_task_ticked_by_a_task_program_is_in_the_log_and_on_the_next_look_of_all(
    account: dict[str, str], home: Path, tmp_path: Path
) -> None:
    """The caldav library completes "Rose"; log, round, a subscriber and vdirsyncer follow."""
    caldav = needs("caldav")
    address = done("--json", "calendar", "add", "tablet", "--as", "todos", "--grouping", "each").json["path"]
    with _served(home) as base:
        client = caldav.DAVClient(
            f"{base}/.well-known/caldav", username=account["user"], password=account["password"]
        )
        todo = next(c for c in client.principal().calendars() if "VTODO" in c.get_supported_components())
        (rose,) = [
            t
            for t in todo.todos()
            if "Rose" in str(t.icalendar_component["SUMMARY"])
            and "INSPECTION" not in t.icalendar_component["CATEGORIES"].cats
        ]
        uid = str(rose.icalendar_component["UID"])
        syncer = Syncer(tmp_path, f"{base}/dav/", account["user"], account["password"])
        before = syncer.todos()
        assert before[uid]["STATUS"] == "NEEDS-ACTION"
        rose.complete()
        line = done("log", "rose").out.splitlines()[-1]
        assert ("rose" in line, "phone" in line) == (True, True), line
        after = syncer.todos()
        assert (after[uid]["STATUS"], after[uid]["SEQUENCE"] > before[uid]["SEQUENCE"]) == ("COMPLETED", True)
        assert len(after) == len(set(after))
        read = needs("requests").get(f"{base}{address}", timeout=30).content
        stands = [t for t in icalendar.Calendar.from_ical(read).walk("VTODO") if "Rose" in str(t["SUMMARY"])]
        assert any(t.get("STATUS") == "COMPLETED" for t in stands)
        rose.load()
        rose.uncomplete()
    assert "Rose" in done("today").out
    assert not any(line.startswith("done") for line in done("today").out.splitlines() if "Rose" in line)
