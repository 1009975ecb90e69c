"""Numbers for whoever watches, and a log: what stands in them, and what never does."""

from __future__ import annotations

import logging
import re
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from carecal.app import Collection
from carecal.app.people.accounts import add_account
from carecal.app.people.owner import one_time_path
from carecal.app.people.sitters import add_sitter
from carecal.app.publish.named_calendars import add_calendar
from carecal.app.sensors.addresses import add_sensor, silent_since
from carecal.calendars.options import CalendarOptions
from carecal.web.metrics import Counts
from carecal.web.server import application
from tests.stories.quay import TODAY, moment
from tests.web.visitors import CHEAP, HOST, Clock, sign_in

# The text format 0.0.4: comment lines HELP and TYPE, then a name, perhaps labels, and a number.
NAME = r"[a-zA-Z_:][a-zA-Z0-9_:]*"
SAMPLE = re.compile(rf'({NAME})(\{{{NAME}="[^"\\\n]*"(?:,{NAME}="[^"\\\n]*")*\}})? (-?\d+(?:\.\d+)?)')
COMMENT = re.compile(rf"# (HELP) ({NAME}) \S.*|# (TYPE) ({NAME}) (?:counter|gauge|summary)")


class Seconds:
    """A clock that goes on by a quarter of a second each time it is looked at."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        """Return the seconds."""
        self.now += 0.25
        return self.now


def watched(folder: Path, *, asker: str = "127.0.0.1", is_counted: bool = True) -> TestClient:
    """Return a client of a server, by the number it asks from."""
    app = application(folder, clock=Clock(), crypt=CHEAP, is_counted=is_counted)
    return TestClient(app, base_url=f"http://{HOST}", client=(asker, 5000), follow_redirects=False)


def samples(text: str) -> dict[str, float]:
    """Return each number by its name and labels; every line must be one of the format, each name told of once."""
    found: dict[str, float] = {}
    types: set[str] = set()
    for line in text.removesuffix("\n").split("\n"):
        comment, sample = COMMENT.fullmatch(line), SAMPLE.fullmatch(line)
        if comment is not None and comment[3]:
            assert comment[4] not in types, line
            types.add(comment[4])
        elif comment is None:
            assert sample is not None, line
            assert sample[1].removesuffix("_sum").removesuffix("_count") in types, line
            found[sample[1] + (sample[2] or "")] = float(sample[3])
    assert text.endswith("\n")
    return found


def test_nothing_is_told_unless_it_was_asked_for(folder: Path) -> None:
    """Without --metrics there is no such page."""
    assert watched(folder, is_counted=False).get("/metrics").status_code == 404


def test_answers_are_counted_by_part_and_status(folder: Path) -> None:
    """Two looks at healthz, one unknown calendar, the page without a password; then the numbers say so."""
    client = watched(folder)
    for path in ("/healthz", "/healthz", "/calendar/no-such-token.ics", "/"):
        client.get(path)
    answer = client.get("/metrics")
    assert answer.headers["content-type"] == "text/plain; version=0.0.4; charset=utf-8"
    found = samples(answer.text)
    assert {key: value for key, value in found.items() if key.startswith("carecal_answers_total")} == {
        'carecal_answers_total{part="watch",status="2xx"}': 2,
        'carecal_answers_total{part="calendar",status="4xx"}': 1,
        'carecal_answers_total{part="page",status="4xx"}': 1,
    }
    assert found['carecal_answer_seconds_count{part="watch"}'] == 2


def test_the_collection_is_told_in_numbers(folder: Path) -> None:
    """Plants, entries, calendars, sensors as they are; a sensor that is silent; no name of a plant or a place."""
    with Collection.open(folder) as collection:
        plants, entries = list(collection.journal.ids()), collection.journal.head()
        add_sensor(collection, moment(TODAY.replace(day=1)), "east-sill")
        add_calendar(collection, moment(TODAY), "Phone", CalendarOptions(name="Phone"))
        assert silent_since(collection, TODAY) != []
    text = watched(folder).get("/metrics").text
    found = samples(text)
    wanted = {
        "plants": len(plants),
        "entries": entries,
        "calendars": 1,
        "calendars_stale": 0,
        "sensors": 1,
        "sensors_silent": 1,
        "collection_readable": 1,
    }
    assert {name: found[f"carecal_{name}"] for name in wanted} == wanted
    assert not [name for name in (*plants, "east-sill", "Phone", "Quay") if name in text]


def test_a_damaged_collection_is_told(folder: Path) -> None:
    """The numbers of the server stand; of the collection that it cannot be read."""
    (folder / "collection.db").write_bytes(b"damaged" * 1000)
    found = samples(watched(folder).get("/metrics").text)
    assert found["carecal_collection_readable"] == 0
    assert "carecal_plants" not in found


@pytest.mark.parametrize(
    ("asker", "status"),
    [("127.0.0.1", 200), ("192.168.1.7", 200), ("fd00::7", 200), ("::ffff:10.0.0.7", 200), ("8.8.8.8", 404),
     ("2606:4700::7", 404), ("testclient", 404)],
)  # fmt: skip
def test_only_who_is_near_may_ask(folder: Path, asker: str, status: int) -> None:
    """This machine and private networks (RFC 1918, 4193), whoever passes it on; nobody else."""
    assert watched(folder, asker=asker).get("/metrics").status_code == status


def test_time_is_summed(folder: Path) -> None:
    """Three answers of a quarter of a second each are 0.75 s."""
    assert folder.is_dir()
    counts = Counts(Seconds())
    for _ in range(3):
        began = counts.clock()
        counts.add("/plants/tide", 200, counts.clock() - began)
    text = "\n".join(counts.lines()) + "\n"
    assert samples(text)['carecal_answer_seconds_sum{part="page"}'] == 0.75
    assert samples(text)['carecal_answers_total{part="page",status="2xx"}'] == 3


def secrets_of(folder: Path) -> dict[str, str]:
    """Return every kind of secret that a server is asked with, made in a collection."""
    now = moment(TODAY)
    with Collection.open(folder) as collection:
        return {
            "calendar": add_calendar(collection, now, "Phone", CalendarOptions(name="Phone")),
            "sensor": add_sensor(collection, now, "east-sill"),
            "sitter": add_sitter(collection, now, "Robin", TODAY, TODAY),
            "account": add_account(collection, now, "kitchen-phone"),
            "one time": one_time_path(collection, now),
        }


def test_no_secret_reaches_the_log(
    house: Path, caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    """Right and wrong ways with every secret, on a sound and on a damaged file: each is answered, none is named."""
    secrets = secrets_of(house)
    caplog.set_level(logging.DEBUG, "carecal")
    caplog.set_level(logging.DEBUG, "uvicorn")
    client = TestClient(
        application(house, clock=Clock(), crypt=CHEAP),
        base_url=f"http://{HOST}",
        follow_redirects=False,
        raise_server_exceptions=False,
    )
    password = secrets["account"]

    def ask_all() -> set[int]:
        told: list[Any] = [client.get(secrets[kind]) for kind in ("calendar", "sitter", "one time")]
        told += [client.get(secrets[kind] + "x") for kind in ("calendar", "sitter", "one time")]
        told += [
            client.post(secrets["sensor"], content=text) for text in ("temperature=20", "temperature=99")
        ]
        told += [client.post(secrets["sitter"], data={"do": "done"}), client.put(secrets["calendar"])]
        told += [
            client.request("PROPFIND", "/dav/", auth=("kitchen-phone", word))
            for word in (password, password[:-1])
        ]
        told += [client.post("/login", data={"password": password})]
        return {answer.status_code for answer in told}

    assert {200, 401, 404, 422} <= ask_all()
    (house / "collection.db").write_bytes(b"damaged" * 1000)
    for left in house.glob("collection.db-*"):
        left.unlink()
    assert 503 in ask_all()
    said = caplog.text + "".join(capfd.readouterr())
    assert "could not be" in caplog.text  # something was logged at all
    for kind, secret in secrets.items():
        assert secret.rpartition("/")[2].removesuffix(".ics") not in said, kind
    token = re.search(r"/calendar/([^/]+)/", secrets["calendar"])
    assert token is not None
    assert token[1] not in said


def test_one_who_signed_in_is_not_named_either(house: Path, caplog: pytest.LogCaptureFixture) -> None:
    """The cookie of a session stands in no line."""
    caplog.set_level(logging.DEBUG, "carecal")
    client = TestClient(application(house, clock=Clock(), crypt=CHEAP), base_url=f"http://{HOST}")
    sign_in_and_break(client, house)
    assert "could not be" in caplog.text
    assert client.cookies["carecal"].split(".")[0] not in caplog.text


def sign_in_and_break(client: TestClient, folder: Path) -> None:
    """Sign in, then ask for a page of a file that is damaged."""
    client.follow_redirects = False
    sign_in(client)
    (folder / "collection.db").write_bytes(b"damaged" * 1000)
    assert client.get("/plants").status_code == 503
