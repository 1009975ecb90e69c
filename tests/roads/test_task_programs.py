"""From nothing to a ticked task with real programs: `carecal serve`, vdirsyncer, todoman and khal on loopback."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest

from carecal.app import Collection
from carecal.app.people.owner import one_time_path
from tests.cli.cli_run import done, plant, start
from tests.roads.programs import Khal, Syncer, Todoman, serving
from tests.roads.servers import needs

pytestmark = [
    pytest.mark.servers,
    pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::DeprecationWarning"),
]
WORDS = "a long quay by night"
WETTINGS = {"WATERING", "FEEDING", "FLUSHING"}


def _sign_in(page: Any, base: str, folder: Path) -> None:
    """Sign the owner's browser in by the address that sets the password."""
    with Collection.open(folder) as collection:
        path = one_time_path(collection, collection.now())
    told = page.post(f"{base}{path}", data={"password": WORDS, "again": WORDS}, timeout=30)
    assert told.status_code == 200


def _row(page: str) -> str:
    """Return how a plant's row of the round stands."""
    found = re.search(r'<li class="row (\w+)" id="at-rose"', page)
    return found[1] if found else "not there"


def test_a_task_program_completes_a_task_and_everybody_follows(home: Path, tmp_path: Path) -> None:
    """Serve, an account, todoman completes "Water Rose": it is in the log by that account; the others follow."""
    needs("todoman")
    needs("khal")
    requests = needs("requests")
    start(None)
    plant("rose", "--stage", "established", "--came", "2025-06-01", "--watered", "20 days ago", as_of=None)
    account = done("--json", "calendar", "add", "phone", "--account", as_of=None).json
    calendar = done("--json", "calendar", "add", "tablet", as_of=None).json["path"]
    today = datetime.now(UTC).astimezone(ZoneInfo("Europe/Berlin")).date()
    with serving(home) as base, requests.Session() as page:
        phone = Syncer(tmp_path, base, account["user"], account["password"])
        phone.sync()
        todoman, khal = Todoman(tmp_path, phone.store), Khal(tmp_path, phone.store)
        wettings = [t for t in todoman.tasks() if WETTINGS & set(t["categories"]) and not t["completed"]]
        task = min(wettings, key=lambda task: task["due"])
        assert "Rose" in task["summary"]
        _sign_in(page, base, home)
        assert _row(page.get(f"{base}/", timeout=30).text) != "done"
        before = khal.titles(f"{today}", 1)
        todoman.done(task["id"])
        phone.sync()
        line = done("log", "rose", as_of=None).out.splitlines()[-1]
        assert re.search(rf"{today}\s+rose\s+\w+\s+by phone$", line), line
        phone.sync()
        (now,) = [t for t in todoman.tasks() if t["completed"]]
        assert ("DONE" in now["categories"], "✓" in now["summary"]) == (True, True)
        after = khal.titles(f"{today}", 1)
        assert (before != after, any("Rose" in each and "✓" in each for each in after)) == (True, True), after
        read = icalendar.Calendar.from_ical(page.get(f"{base}{calendar}", timeout=30).content)
        assert _row(page.get(f"{base}/", timeout=30).text) == "done"
        shown = {str(e["SUMMARY"]) for e in read.walk("VEVENT") if e["DTSTART"].dt == today}
        assert {title[11:] for title in after} <= shown
        assert min(
            e["DTSTART"].dt for e in read.walk("VEVENT") if "✓" not in e["SUMMARY"]
        ) > today + timedelta(days=1)
    assert "nothing to do" in done("today", as_of=None).out
