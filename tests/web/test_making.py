"""Many ask for a calendar after a tick: it is made once for all of them, and nobody else waits meanwhile.

Oracle: how often a plan was begun, and what the answers say; RFC 5861 for what is said of bytes that are made anew.
"""

from __future__ import annotations

import io
import json
import logging
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from httpx2 import Response
from starlette.testclient import TestClient

from carecal.app import Collection
from carecal.app.publish import calendars, named_calendars
from carecal.collection.entries import Done
from carecal.errors import StorageError
from carecal.web import kept, maker
from carecal.web.making import Apart, Making, make_here
from tests.stories.quay import TODAY, moment
from tests.web.visitors import client_of, form_token, sign_in, task_of

LONG = 20.0  # [s] for what comes at once; a test that waits so long has failed


def _tick(folder: Path, plant: str = "tide") -> None:
    with Collection.open(folder) as collection:
        collection.record(Done(on=TODAY, plant=plant, care="watering"), now=moment(TODAY))


@dataclass
class Plans:
    """The plans of calendars: how many were begun; they wait while the gate is shut."""

    begun: int = 0
    gate: threading.Event = field(default_factory=threading.Event)
    started: threading.Event = field(default_factory=threading.Event)


@pytest.fixture
def plans(monkeypatch: pytest.MonkeyPatch) -> Iterator[Plans]:
    """Return the plans that calendars are made of, with the gate open."""
    found, real = Plans(), Collection.planner
    found.gate.set()

    def planner(collection: Collection, *words: Any, **more: Any) -> Any:
        if threading.current_thread().name == "calendars":
            found.begun += 1
            found.started.set()
            assert found.gate.wait(LONG)
        return real(collection, *words, **more)

    monkeypatch.setattr(Collection, "planner", planner)
    yield found
    found.gate.set()


@pytest.fixture
def path(house: Path) -> str:
    """Return the address of a calendar of the house."""
    with Collection.open(house) as collection:
        options = calendars.options_of(collection, moment(TODAY), name="Phone")
        return named_calendars.add_calendar(collection, moment(TODAY), "Phone", options)


@pytest.fixture
def client(house: Path) -> Iterator[TestClient]:
    """Return a subscriber."""
    with client_of(house) as found:
        yield found


def _ask_often(client: TestClient, path: str) -> str:
    """Ask until the calendar counts as busy, and return the ETag of its bytes."""
    etag = client.get(path).headers["etag"]
    for _ in range(kept.BUSY_ASKS):
        assert client.get(path, headers={"if-none-match": etag}).status_code == 304
    return etag


def test_those_who_ask_at_once_share_one_plan(
    client: TestClient, house: Path, path: str, plans: Plans
) -> None:
    """Ten ask while it is not current: all get the new bytes, of one plan."""
    old = client.get(path).headers["etag"]
    _tick(house)
    before = plans.begun
    with ThreadPoolExecutor(10) as pool:
        answers = list(pool.map(lambda _: client.get(path, headers={"if-none-match": old}), range(10)))
    assert [answer.status_code for answer in answers] == [200] * 10
    assert len({answer.headers["etag"] for answer in answers}) == 1
    assert answers[0].headers["cache-control"] == "private, no-cache"
    assert plans.begun == before + 1


def test_a_busy_calendar_is_answered_at_once(
    client: TestClient, house: Path, path: str, plans: Plans
) -> None:
    """While it is made, whoever asks gets what there is, under its old ETag; afterwards the new bytes."""
    old = _ask_often(client, path)
    _tick(house)
    plans.gate.clear()
    plans.started.clear()
    for _ in range(3):
        answer = client.get(path, headers={"if-none-match": old})
        assert (answer.status_code, answer.headers["etag"]) == (304, old)
        assert "stale-while-revalidate" in answer.headers["cache-control"]
    newcomer = client.get(path)
    assert (newcomer.status_code, newcomer.headers["etag"]) == (200, old)
    assert "stale-while-revalidate" in newcomer.headers["cache-control"]
    plans.gate.set()
    new = _until_new(client, path, old)
    assert new.status_code == 200
    with Collection.open(house) as collection:
        (known,) = named_calendars.calendars_of(collection)
        made = calendars.kept_bytes(collection, known)
    assert made is not None
    assert (new.content, new.headers["content-encoding"]) == (made.body, "gzip")


def _until_new(client: TestClient, path: str, old: str) -> Response:
    until = threading.Event()
    for _ in range(200):
        answer = client.get(path, headers={"if-none-match": old})
        if answer.status_code == 200:
            break
        until.wait(0.05)
    return answer


def test_nobody_else_waits_for_a_plan(client: TestClient, house: Path, path: str, plans: Plans) -> None:
    """While a calendar is planned the way in, a tap and the sign of life are answered, and the file can be written."""
    client.get(path)
    _tick(house)
    plans.gate.clear()
    plans.started.clear()
    with ThreadPoolExecutor(1) as pool:
        waiting = pool.submit(client.get, path)
        assert plans.started.wait(LONG)
        with client_of(house) as owner:
            sign_in(owner)
            fields = {**task_of(owner, "gable"), "form_token": form_token(owner), "do": "done"}
            assert owner.post("/", data=fields).status_code == 303
            assert owner.get("/healthz").text == "ok\n"
        with closing(sqlite3.connect(house / "collection.db", timeout=0)) as other:
            other.execute("begin immediate")
            other.rollback()
        assert not waiting.done()
        plans.gate.set()
        assert waiting.result(LONG).status_code == 200


def test_a_busy_calendar_that_was_revoked_is_gone(client: TestClient, house: Path, path: str) -> None:
    """Within the second in which it is looked at again."""
    old = _ask_often(client, path)
    with Collection.open(house) as collection:
        named_calendars.revoke_calendar(collection, moment(TODAY), "Phone")
    pause = threading.Event()
    for _ in range(100):
        answer = client.get(path, headers={"if-none-match": old})
        if answer.status_code == 410:
            break
        pause.wait(0.05)
    assert answer.status_code == 410


def test_a_plan_that_takes_too_long_leaves_the_old_bytes(
    client: TestClient, house: Path, path: str, plans: Plans, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever holds none is told to come again."""
    old = client.get(path).headers["etag"]
    _tick(house)
    monkeypatch.setattr("carecal.web.calendars.LONGEST_WAIT", 0.05)
    plans.gate.clear()
    answer = client.get(path)
    assert (answer.status_code, answer.headers["etag"]) == (200, old)
    assert "stale-while-revalidate" in answer.headers["cache-control"]
    with Collection.open(house) as collection:
        other = named_calendars.add_calendar(
            collection, moment(TODAY), "New", calendars.options_of(collection, moment(TODAY), name="New")
        )
    assert client.get(other).status_code == 503


def test_the_program_beside_makes_the_same_bytes(house: Path, path: str) -> None:
    """It is begun once, makes what is asked for by its number, and leaves a calendar that is not there alone."""
    apart = Apart(house)
    try:
        with Collection.open(house) as collection:
            (known,) = named_calendars.calendars_of(collection)
            apart(known.id, moment(TODAY))
            made = calendars.kept_bytes(collection, known)
            assert made is not None
            assert calendars.current(collection, known, moment(TODAY)) == made.validators
            apart(known.id + 1, moment(TODAY))
        make_here(house)(known.id, moment(TODAY))
        with Collection.open(house) as collection:
            assert calendars.kept_bytes(collection, known) == made
    finally:
        apart.end()
    assert path.endswith(".ics")


def test_what_cannot_be_made_is_told_in_its_line(
    house: Path, path: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """By a clock that lies before the newest entry nothing is made; the program goes on with the next line."""
    now = moment(TODAY)
    asked = {
        "calendar": 1,
        "day": "2020-01-01",
        "written": "2020-01-01T09:00:00+00:00",
        "is_given": False,
        "clock": "2020-01-01T09:00:00+00:00",
    }
    sound = {
        "calendar": 1,
        "day": now.day.isoformat(),
        "written": now.written.isoformat(),
        "is_given": True,
        "clock": now.clock.isoformat(),
    }
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{json.dumps(asked)}\n{json.dumps(sound)}\n"))
    for name in ("signal.signal", "os.nice"):
        monkeypatch.setattr(name, lambda *_: None)
    maker.main(house)
    first, second = capsys.readouterr().out.splitlines()
    assert "the clock says 2020-01-01" in json.loads(first)["error"]
    assert second == "{}"
    assert path.endswith(".ics")


def test_the_program_ends_with_the_server(house: Path) -> None:
    """When nobody can ask any more, it has nothing to stay for."""
    with subprocess.Popen(
        [sys.executable, "-m", "carecal.web.maker", str(house)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as running:
        said, _ = running.communicate(b"", timeout=LONG)
    assert (running.returncode, said) == (0, b"")


@pytest.mark.parametrize(
    "program", [(sys.executable, "-c", "import sys; sys.stdin.readline()"), ("/nowhere/at/all",)]
)
def test_a_program_that_ends_is_told_in_a_line(
    house: Path, path: str, program: tuple[str, ...], caplog: pytest.LogCaptureFixture
) -> None:
    """Killed, or out of memory, or not there: the turn ends, subscribers keep what they have."""
    assert path
    apart = Apart(house, program)
    with pytest.raises(StorageError, match="has ended; it is begun anew"):
        apart(1, moment(TODAY))
    with Collection.open(house) as collection:
        (known,) = named_calendars.calendars_of(collection)
    told: list[Any] = []
    turn = Making(house, apart, lambda *words: told.append(words)).begin(known, moment(TODAY))
    with caplog.at_level(logging.ERROR):
        assert turn.result(LONG) is None
    assert "Phone could not be made" in caplog.text
    assert told == []
