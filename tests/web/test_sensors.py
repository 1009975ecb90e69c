"""Sensors over HTTP: who may tell, what is kept, when a day is written down, what the pages say; days by hand."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from carecal.app import Collection
from carecal.app.sensors import heard
from carecal.app.sensors.addresses import add_sensor, find_sensor, revoke_sensor, sensors_of, silent_since
from carecal.errors import Refused, StorageError, UnknownName
from carecal.web.sensors import Turns
from tests.cli.cli_run import done, refused, start
from tests.stories.quay import TODAY, moment
from tests.web.pages_grower import Grower, text_of
from tests.web.visitors import Clock, client_of

PLACE = "east-sill"
BEFORE = TODAY - timedelta(days=1)


class Sensor:
    """A sensor of a place, and the server it speaks to."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.clock = folder, Clock()
        with Collection.open(folder) as collection:
            self.path = add_sensor(collection, self.clock.now, PLACE)
        self.client = client_of(folder, self.clock)

    def send(self, text: str, **more: Any) -> tuple[int, str]:
        """Send a text and return what it is answered."""
        answer = self.client.post(self.path, content=text, **more)
        return answer.status_code, answer.text

    def next_day(self) -> None:
        """Let it be the same hour of the next day."""
        now = self.clock.now
        on = timedelta(days=1)
        self.clock.now = replace(now, day=now.day + on, written=now.written + on, clock=now.clock + on)

    def readings(self) -> list[dict[str, Any]]:
        """Return the days of readings in the journal that it signed, each with its numbers."""
        with Collection.open(self.folder) as collection:
            told = [r for r in collection.journal.records() if r.by == heard.SENSOR]
        assert all(record.kind == "readings" and record.data["place"] == PLACE for record in told)
        return [dict(row) for record in told for row in record.data["days"]]


@pytest.fixture
def sensor(folder: Path) -> Sensor:
    """Return a sensor at the east sill."""
    return Sensor(folder)


def test_a_day_is_written_down_once_it_is_over(sensor: Sensor) -> None:
    """Two lines of today wait; tomorrow's first one writes them down: 18 and 21 °C, mean 19.5, 50 %."""
    assert sensor.send('{"temperature": 18, "humidity": 50}') == (200, '{"lines":1,"new":1}')
    sensor.clock.later(hours=2)
    sensor.send("temperature=21")
    assert sensor.readings() == []
    sensor.next_day()
    sensor.send("temperature=20")
    assert sensor.readings() == [
        {
            "day": TODAY.isoformat(),
            "temp_min_c": 18,
            "temp_mean_c": 19.5,
            "temp_max_c": 21,
            "rh_min_pct": 50,
            "rh_mean_pct": 50,
            "rh_max_pct": 50,
        }
    ]
    sensor.clock.later(hours=2)
    sensor.send("temperature=20.5")
    assert len(sensor.readings()) == 1


def test_what_arrives_twice_counts_once(sensor: Sensor) -> None:
    """The same lines again are known; a line of the same minute with more adds to it."""
    table = f"time,temperature\n{BEFORE}T08:00,18\n{BEFORE}T20:00,20\n"
    assert sensor.send(table) == (200, '{"lines":2,"new":2}')
    sensor.clock.later(hours=2)
    assert sensor.send(table) == (200, '{"lines":2,"new":0}')
    assert [row["temp_mean_c"] for row in sensor.readings()] == [19]
    sensor.clock.later(hours=2)
    assert sensor.send(f"time={BEFORE}T08:00&humidity=44") == (200, '{"lines":1,"new":1}')
    assert [row.get("rh_mean_pct") for row in sensor.readings()] == [None, 44]
    assert sensor.readings()[1]["temp_mean_c"] == 19


def test_late_lines_join_those_of_their_day_within_an_hour_together(sensor: Sensor) -> None:
    """Lines of yesterday in four bundles of a minute each: one entry at once, one for all others, an hour later."""
    for hour in (8, 9, 10, 11):
        sensor.send(f"time={BEFORE}T{hour:02}:00&temperature={hour}")
        sensor.clock.later(minutes=1)
    assert [row["temp_max_c"] for row in sensor.readings()] == [8]
    sensor.clock.later(hours=1)
    sensor.send("temperature=20")
    assert [(row["temp_min_c"], row["temp_max_c"]) for row in sensor.readings()] == [(8, 8), (8, 11)]


def test_lines_are_forgotten_a_week_after_their_day(sensor: Sensor) -> None:
    """Eight days on nothing of the first day is kept beside the journal; of the day before there is."""
    sensor.send("temperature=18")
    for _ in range(8):
        sensor.next_day()
    yesterday = sensor.clock.now.day - timedelta(days=1)
    sensor.send(f"time={yesterday}T08:00&temperature=17")
    with Collection.open(sensor.folder) as collection:
        days = collection.journal.connection.execute("select day from sensor_line order by day").fetchall()
    assert days == [(yesterday.isoformat(),)]
    assert [row["temp_max_c"] for row in sensor.readings()] == [18, 17]


def test_only_who_holds_the_address_is_heard(sensor: Sensor) -> None:
    """A wrong address is nobody's, a revoked one is gone, and reading is not offered."""
    assert sensor.client.get(sensor.path).status_code == 405
    assert sensor.client.post(sensor.path + "x", content="temperature=18").status_code == 404
    with Collection.open(sensor.folder) as collection:
        revoke_sensor(collection, sensor.clock.now, PLACE)
        with pytest.raises(UnknownName, match="sensor of a place"):
            revoke_sensor(collection, sensor.clock.now, PLACE)
    assert sensor.send("temperature=18")[0] == 410


def test_the_file_keeps_a_digest_alone(sensor: Sensor) -> None:
    """The secret of the address stands nowhere in the collection's file."""
    token = sensor.path.rpartition("/")[2].encode()
    sensor.send("temperature=18")
    assert not any(token in path.read_bytes() for path in sensor.folder.glob("collection.db*"))


def test_a_name_server_cannot_lead_a_browser_here_but_any_name_is_answered(sensor: Sensor) -> None:
    """A sensor may call the machine by any name; a form on another site is refused as elsewhere."""
    named = {"host": "board.local"}
    assert sensor.send("temperature=18", headers=named)[0] == 200
    assert sensor.send("temperature=18", headers={"origin": "https://elsewhere.example"})[0] == 403


def test_what_is_too_much_is_refused(sensor: Sensor) -> None:
    """More than 300 kB: 413; more than thirty at once: 429 with the time to wait, five seconds for one more."""
    assert sensor.send("temperature=18&x=" + "a" * 300_000)[0] == 413
    assert [sensor.send("temperature=18")[0] for _ in range(30)] == [200] * 30
    answer = sensor.client.post(sensor.path, content="temperature=18")
    assert (answer.status_code, answer.headers["retry-after"]) == (429, "6")
    sensor.clock.later(seconds=6)
    assert sensor.send("temperature=18")[0] == 200


def test_turns_of_many_are_forgotten_the_oldest_first() -> None:
    """Who comes once too often waits; what is remembered has a bound."""
    turns, now = Turns(most=1, every_seconds=60), moment(TODAY).clock
    turns.MOST_KNOWN = 2
    assert [turns.wait_seconds(who, now) for who in ("a", "a", "b", "c", "a")] == [0, 61, 0, 0, 0]


def test_what_cannot_be_is_said_to_sensor_and_owner(grower: Grower) -> None:
    """70 degrees are refused with a guess; the place's page says so until something sound comes."""
    with Collection.open(grower.folder) as collection:
        path = add_sensor(collection, moment(TODAY), PLACE)
    answer = grower.client.post(path, content="temperature=70")
    assert answer.status_code == 422
    assert "nothing was kept: what was sent: line 2" in answer.text
    assert "was not taken: what was sent: line 2" in text_of(grower.read(f"/places?place={PLACE}"))
    grower.client.post(path, content="temperature=21")
    page = text_of(grower.read(f"/places?place={PLACE}"))
    assert "Sensor last heard 21 October 2026" in page
    assert "not taken" not in page


def test_the_page_gives_an_address_once_and_ends_it(grower: Grower) -> None:
    """The form shows the address once; the next look does not; ended it answers no more."""
    shown = grower.send(f"/places?place={PLACE}", "sensor")
    found = re.search(r"http://127\.0\.0\.1(/sensor/[\w-]+)", shown.text)
    assert found is not None
    assert "shown this once" in text_of(shown.text)
    assert grower.client.post(found[1], content="temperature=18").status_code == 200
    assert found[1] not in grower.read(f"/places?place={PLACE}")
    assert "is not heard any more" in grower.write(f"/places?place={PLACE}", "sensor-end")
    assert grower.client.post(found[1], content="temperature=18").status_code == 410


def test_light_that_was_measured_is_summed_for_the_place(sensor: Sensor) -> None:
    """5,400 lux at each hour of a day are 100 µmol/m²/s, 8.64 mol: 8.6 on the place's page."""
    rows = "\n".join(f"{BEFORE}T{hour:02}:30,5400" for hour in range(24))
    assert sensor.send(f"time,lux\n{rows}")[0] == 200
    with Collection.open(sensor.folder) as collection:
        from carecal.app.documents.places import place_of  # noqa: PLC0415 - needed here alone

        assert place_of(collection, sensor.clock.now, PLACE)["light_read"] == {"mol_m2_d": 8.6, "days": 1}


def test_silence_for_a_day_is_said(sensor: Sensor) -> None:
    """Heard on the 21st: nothing is said on the 22nd, the sensor is named on the 23rd, and no more once it is heard."""

    def silent(day: date) -> list[dict[str, Any]]:
        with Collection.open(sensor.folder) as collection:
            return silent_since(collection, day)

    sensor.send("temperature=18")
    assert silent(TODAY + timedelta(days=1)) == []
    told = [{"place": PLACE, "since": TODAY.isoformat(), "was_heard": True}]
    assert silent(TODAY + timedelta(days=2)) == told
    sensor.next_day()
    sensor.next_day()
    sensor.send("temperature=18")
    assert silent(TODAY + timedelta(days=2)) == []


def test_a_day_that_cannot_be_written_down_waits(sensor: Sensor, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk is full when the day is over: the sensor is answered, an hour later all stands there."""

    def full(*_: Any, **__: Any) -> None:
        raise StorageError("the disk is full")

    with monkeypatch.context() as broken:
        broken.setattr(Collection, "record", full)
        assert sensor.send(f"time={BEFORE}T08:00&temperature=18")[0] == 200
    assert sensor.readings() == []
    sensor.clock.later(hours=1)
    sensor.send("temperature=18")
    assert len(sensor.readings()) == 1


def test_two_who_gather_at_once_write_one_entry(sensor: Sensor) -> None:
    """The second one comes within the hour, whoever it is; and what stands already is not written again."""
    sensor.send(f"time={BEFORE}T08:00&temperature=18")
    with Collection.open(sensor.folder) as collection:
        known = sensors_of(collection)[0]
        assert heard.gather(collection, sensor.clock.now, known) == ()
        collection.journal.connection.execute("update sensor_line set entered = 0")
        sensor.clock.later(hours=1)
        assert heard.gather(collection, sensor.clock.now, known) == (BEFORE,)
    assert len(sensor.readings()) == 1


def test_a_wrong_clock_takes_nothing(sensor: Sensor) -> None:
    """A board that woke in another century answers 503 and keeps nothing."""
    sensor.clock.now = replace(moment(date(2035, 1, 1)), is_given=False)
    status, text = sensor.send("temperature=18")
    assert (status, "clock" in text) == (503, True)


def test_the_command_gives_lists_and_ends_addresses(home: Path) -> None:
    """Shown once, in JSON with its path; a second one for the same place is refused; refresh writes days down."""
    start()
    made = done("place", "sensor", "sill", "--json").json
    assert (made["place"], made["address"]) == ("sill", None)
    assert "sill has a sensor already" in refused("place", "sensor", "sill")
    assert "sill: not heard yet" in done("place", "sensor", "--list").out
    assert "which place?" in refused("place", "sensor")
    with Collection.open(home) as collection:
        now = moment(date(2026, 11, 25))
        found = find_sensor(collection.journal.connection, made["path"].rpartition("/")[2])
        assert found is not None
        assert heard.hear(collection, now, found, "time=2026-11-24T08:00&temperature=18") == (1, 1)
    assert "last heard 2026-11-25" in done("place", "sensor", "--list").out
    assert "last heard 2026-11-25" in done("place", "show", "sill").out
    assert "The sensor at sill was last heard on 25 November" in done("today", as_of="2026-11-27").out
    assert "not heard any more" in done("place", "sensor", "sill", "--revoke").out
    assert "readings of sill: fresh; 1 day" in done("refresh").out
    assert "Readings of sill, 24 November 2026" in done("log").out
    assert "no place has a sensor" in done("place", "sensor", "--list").out
    done("settings", "public-address", "http://quay.local:8321")
    assert done("place", "sensor", "sill").out.startswith("http://quay.local:8321/sensor/")
    assert "no place" in refused("place", "sensor", "attic", code=3)


def test_a_sensor_needs_a_place(sensor: Sensor) -> None:
    """A place that is not known has no sensor; the near ones are named."""
    with Collection.open(sensor.folder) as collection:
        with pytest.raises(UnknownName, match="east-sill"):
            add_sensor(collection, moment(TODAY), "east-sil")
        with pytest.raises(Refused, match="has a sensor already"):
            add_sensor(collection, moment(TODAY), PLACE)


def test_a_round_says_which_sensor_is_silent(grower: Grower) -> None:
    """On the page of the day the sensor that never spoke is named, two days after it got its address."""
    with Collection.open(grower.folder) as collection:
        add_sensor(collection, moment(TODAY - timedelta(days=2)), PLACE)
    assert "The sensor at east sill has not been heard yet" in text_of(grower.read("/"))
    assert "silent since" in text_of(grower.read(f"/places?place={PLACE}"))


def test_the_address_answers_without_a_password(sensor: Sensor) -> None:
    """A house whose page has no password yet hears its sensors, as it answers calendars."""
    client: TestClient = sensor.client
    assert client.get("/").status_code == 403
    assert sensor.send("temperature=18")[0] == 200


def test_one_place_that_cannot_be_written_down_is_told(
    sensor: Sensor, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`refresh` names the fault of a place; its lines wait."""
    sensor.send("temperature=18")
    sensor.next_day()

    def full(*_: Any, **__: Any) -> None:
        raise StorageError("the disk is full")

    with Collection.open(sensor.folder) as collection:
        with monkeypatch.context() as broken:
            broken.setattr(Collection, "record", full)
            assert heard.gather_all(collection, sensor.clock.now) == [(PLACE, (), "the disk is full")]
        sensor.clock.later(hours=1)
        assert heard.gather_all(collection, sensor.clock.now) == [(PLACE, (TODAY,), "")]
