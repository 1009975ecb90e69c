"""Subscribing a phone, as a story: a real server, a real subscriber program, and nothing sent the second time."""

from __future__ import annotations

import configparser
import gzip
import shutil
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from typing import Any, cast

import icalendar
import pytest
import uvicorn
from ical.calendar_stream import IcsCalendarStream

from carecal.app import Collection, Now
from carecal.app.publish import named_calendars
from carecal.calendars.options import CalendarOptions
from carecal.collection.entries import CollectionStarted, Done, PlaceAdded, PlantAdded
from carecal.web.server import application

DAY = date(2026, 3, 4)


def _now(day: date = DAY, hour: int = 9) -> Now:
    instant = datetime(day.year, day.month, day.day, hour, tzinfo=UTC)
    return Now(day, instant, instant, is_given=True)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return the folder of a collection of two plants on one sill."""
    home = tmp_path / "home"
    begin = CollectionStarted(on=DAY, name="Quay", latitude=54.3, longitude=10, timezone="Europe/Berlin")
    with Collection.start(home, begin, _now()) as collection:
        collection.record(PlaceAdded(on=DAY, place="sill", place_kind="warm-sill", aspect="E"), now=_now())
        for plant in ("tide", "gable"):
            collection.record(
                PlantAdded(
                    on=DAY,
                    plant=plant,
                    medium="bark",
                    container="plastic",
                    size_cm=12,
                    place="sill",
                    stage="established",
                    watered=DAY - timedelta(days=3),
                ),
                now=_now(),
            )
    return home


@pytest.fixture
def served(folder: Path) -> Iterator[tuple[str, int, str]]:
    """Return host, port and path of a calendar that a real server answers on loopback."""
    with Collection.open(folder) as collection:
        path = named_calendars.add_calendar(collection, _now(), "phone", CalendarOptions(name="phone"))
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    listener.listen()  # whoever asks before the server is up waits in line
    server = uvicorn.Server(uvicorn.Config(application(folder, clock=lambda _: _now()), log_level="error"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    try:
        yield "127.0.0.1", listener.getsockname()[1], path
    finally:
        server.should_exit = True
        thread.join(timeout=10)
        listener.close()


def _get(host: str, port: int, path: str, method: str = "GET", **headers: str) -> tuple[HTTPResponse, bytes]:
    connection = HTTPConnection(host, port, timeout=20)
    connection.request(
        method, path, headers={name.replace("_", "-"): value for name, value in headers.items()}
    )
    answer = connection.getresponse()
    body = answer.read()
    connection.close()
    return answer, body


def _rounds(body: bytes) -> set[date]:
    events = [cast("Any", event) for event in icalendar.Calendar.from_ical(body).walk("VEVENT")]
    return {
        e["DTSTART"].dt for e in events if not {"DONE", "REFRESH"} & {str(c) for c in e["CATEGORIES"].cats}
    }


def test_a_phone_subscribes_and_is_sent_nothing_the_second_time(
    served: tuple[str, int, str], folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two readers see the plan's rounds; asked again with the validator the server sends 304 and plans nothing."""
    answer, body = _get(*served)
    assert (answer.status, answer.getheader("Content-Type")) == (200, "text/calendar; charset=utf-8")
    with Collection.open(folder, readonly=True) as collection:
        plan = collection.plan(DAY)
    assert _rounds(body) == {round_.on for round_ in plan.rounds}
    read_by_ical = IcsCalendarStream.calendar_from_ics(body.decode())
    assert len(read_by_ical.events) == len(icalendar.Calendar.from_ical(body).walk("VEVENT"))

    def no_plan(*_: object, **__: object) -> None:
        raise AssertionError("a 304 was planned")

    monkeypatch.setattr(Collection, "planner", no_plan)
    again, nothing = _get(*served, If_None_Match=answer.getheader("ETag") or "")
    assert (again.status, nothing, again.getheader("ETag")) == (304, b"", answer.getheader("ETag"))
    dated, nothing = _get(*served, If_Modified_Since=answer.getheader("Last-Modified") or "")
    assert (dated.status, nothing) == (304, b"")


def test_a_tick_reaches_the_phone_at_its_next_look(served: tuple[str, int, str], folder: Path) -> None:
    """After a wetting is ticked the same validator brings new bytes, and only that plant's day moves."""
    answer, before = _get(*served)
    with Collection.open(folder) as collection:
        collection.record(Done(on=DAY, plant="tide", care="watering"), now=_now(hour=10))
    later, after = _get(*served, If_None_Match=answer.getheader("ETag") or "")
    assert later.status == 200
    assert after != before
    assert "✓ Watered Tide" in after.decode()


def test_head_and_gzip_are_the_same_calendar(served: tuple[str, int, str]) -> None:
    """HEAD has the headers of GET and no body; gzip has a validator of its own and unpacks to the plain bytes."""
    plain, body = _get(*served)
    head, nothing = _get(*served, method="HEAD")
    assert (head.status, nothing, head.getheader("ETag")) == (200, b"", plain.getheader("ETag"))
    assert head.getheader("Content-Length") == str(len(body))
    packed, small = _get(*served, Accept_Encoding="gzip")
    assert (packed.getheader("Content-Encoding"), gzip.decompress(small)) == ("gzip", body)
    assert packed.getheader("ETag") != plain.getheader("ETag")
    refused, raw = _get(*served, Accept_Encoding="gzip;q=0")
    assert (refused.getheader("Content-Encoding"), raw) == (None, body)


def test_unknown_is_404_and_revoked_is_410_before_any_plan(
    served: tuple[str, int, str], folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A made-up token is unknown, a revoked one gone; neither says more (interface, HTTP)."""
    host, port, path = served
    monkeypatch.setattr(Collection, "planner", None)
    unknown, _ = _get(host, port, "/calendar/" + "x" * 32 + ".ics")
    assert unknown.status == 404
    with Collection.open(folder) as collection:
        named_calendars.revoke_calendar(collection, _now(), "phone")
    gone, _ = _get(host, port, path)
    assert gone.status == 410
    healthy, text = _get(host, port, "/healthz")
    assert (healthy.status, text) == (200, b"ok\n")


@pytest.mark.parametrize(
    "path", ["/calendar/../collection.db", "/calendar/%2e%2e/x.ics", "/", "/photos/a.jpg"]
)
def test_nothing_but_calendars_is_answered(served: tuple[str, int, str], path: str) -> None:
    """Without a password every other address is forbidden or unknown, a path that climbs included."""
    answer, _ = _get(served[0], served[1], path)
    assert answer.status in {403, 404}


def test_a_subscriber_program_stores_every_event(served: tuple[str, int, str], tmp_path: Path) -> None:
    """vdirsyncer, a general synchroniser, fetches the address over HTTP into a folder: one item a UID."""
    host, port, path = served
    program = shutil.which("vdirsyncer", path=str(Path(sys.executable).parent)) or shutil.which("vdirsyncer")
    if program is None:
        pytest.skip("vdirsyncer is not installed")
    config = configparser.ConfigParser()
    config["general"] = {"status_path": f'"{tmp_path / "status"}"'}
    config["pair phone"] = {"a": '"here"', "b": '"there"', "collections": "null"}
    config["storage there"] = {"type": '"http"', "url": f'"http://{host}:{port}{path}"'}
    config["storage here"] = {"type": '"filesystem"', "path": f'"{tmp_path / "items"}"', "fileext": '".ics"'}
    (tmp_path / "items").mkdir()
    with (tmp_path / "config").open("w", encoding="utf-8") as file:
        config.write(file)
    for command in ("discover", "sync"):
        done = subprocess.run(
            [program, "-c", str(tmp_path / "config"), command],
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        assert done.returncode == 0, done.stderr
    _, body = _get(host, port, path)
    events = icalendar.Calendar.from_ical(body).walk("VEVENT")
    assert len(list((tmp_path / "items").glob("*.ics"))) == len(events)
