"""What sensors send, as people write it; instants, units and days worked out by hand."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from carecal.collection.sensor_lines import SensorLine, days_of, read_lines
from carecal.errors import DataFault

BERLIN = ZoneInfo("Europe/Berlin")  # one hour before UTC in November
CLOCK = datetime(2026, 11, 25, 8, 10, 30, tzinfo=UTC)
NOON = SensorLine(datetime(2026, 11, 24, 11, 0, tzinfo=UTC), date(2026, 11, 24), temp_c=20.0, rh_pct=50.0)


def read(text: str) -> tuple[SensorLine, ...]:
    """Return what is read of a text at ten past nine in Berlin."""
    return read_lines(text, clock=CLOCK, zone=BERLIN)


@pytest.mark.parametrize(
    "text",
    [
        '{"time": "2026-11-24T12:00:59", "temperature": 20, "humidity": 50.0, "battery": 81, "on": true}',
        '[{"time": "2026-11-24T11:00Z", "temperature_f": 68, "humidity": "50 %"}]',
        '[{"time": 1795518000, "temperature": 20}, {"time": 1795518030000, "humidity": 50}]',
        "time=2026-11-24T12%3A00&temp=20&rh=50",
        "Time;Temp °C;RH\n2026-11-24T12:00;20,0;50",
        "date,time,temp,rh\n2026-11-24,12:00,20,50\n\n",
    ],
    ids=["json", "list, fahrenheit", "seconds and milliseconds", "form", "csv", "date and time apart"],
)
def test_the_same_reading_is_read_however_it_is_sent(text: str) -> None:
    """Noon of 24 November in Berlin is 11 o'clock UTC, 1,795,518,000 s after 1970: 20 °C (68 °F) and 50 %."""
    found = read(text)
    assert {line.at for line in found} == {NOON.at}
    assert {line.day for line in found} == {NOON.day}
    assert {line.temp_c for line in found} - {None} == {20.0}
    assert {line.rh_pct for line in found} - {None} == {50.0}


def test_a_line_without_a_time_is_of_now() -> None:
    """A sensor without a clock: the minute of arrival, and the day it is in the house's zone."""
    assert read("temperature=21.4") == (
        SensorLine(datetime(2026, 11, 25, 8, 10, tzinfo=UTC), date(2026, 11, 25), temp_c=21.4),
    )
    late = read_lines('{"temp": 18}', clock=datetime(2026, 11, 25, 23, 30, tzinfo=UTC), zone=BERLIN)
    assert late[0].day == date(2026, 11, 26)


def test_light_is_read_in_lux_or_as_that_of_plants() -> None:
    """54 lux of sunlight are 1 µmol m⁻² s⁻¹ (Thimijan and Heins 1983)."""
    assert read('{"light": 5400}')[0].ppfd == pytest.approx(100)
    assert read('{"light_lux": 540}')[0].ppfd == pytest.approx(10)
    assert read('{"ppfd": 120}')[0].ppfd == 120


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "no line names a time"),
        ('{"battery": 3}', "no line names a time"),
        ("{", "cannot be read"),
        ("[" * 100_000, "cannot be read"),
        ("[1, 2]", "allowed is an object"),
        ("[]", "allowed is an object"),
        ('{"temp": "warm"}', "'warm' is not a number"),
        ('{"temp": {"value": 3}}', "is not a number"),
        ('{"temp": 1e999}', "'inf' is not a number"),
        ('{"temperature": 70}', "70 and the like in most rows cannot be, it looks like °F"),
        ('{"humidity": 0.5}', "a share of 1"),
        ('{"light": -1}', "-1 lux cannot be"),
        ('{"ppfd": 9000}', "another unit"),
        ('{"time": "soon", "temp": 20}', "'soon' is no time"),
        ('{"time": 99999999999999999, "temp": 20}', "is no time"),
        ('{"time": "2026-11-25T10:00+01:00", "temp": 20}', "lies ahead; is the sensor's clock right"),
        ('{"time": "2026-11-18T08:00Z", "temp": 20}', "more than 7 days past"),
        ('{"temp": 20, "temperature": 20}', "may both be meant"),
        ("time,temp\n", "no readings below"),
        ("time,temp\n" + "2026-11-24T12:00,20\n" * 3001, "3001 are too many"),
    ],
)
def test_what_cannot_be_is_refused_whole(text: str, told: str) -> None:
    """The checks are those of a logger's file, and of the time."""
    with pytest.raises(DataFault, match=told):
        read(text)


def test_one_bad_line_keeps_all_out() -> None:
    """A sound line beside one that cannot be: nothing is taken, the bad line is named."""
    with pytest.raises(DataFault, match="line 3, column 'temp': 99 °C cannot be"):
        read("time,temp\n2026-11-24T12:00,20\n2026-11-24T12:10,99\n2026-11-24T12:20,20")


def test_what_was_kept_too_long_is_left_out() -> None:
    """A sensor that kept nine days brings the last week; its older lines are a file's."""
    found = read("time,temp\n2026-11-16T12:00,17\n2026-11-24T12:00,20\n")
    assert [line.temp_c for line in found] == [20]


def test_nothing_measured_is_no_line() -> None:
    """A sensor that says it does not know said nothing."""
    assert read('[{"temperature": null}, {"temperature": NaN}, {"temperature": 20}]')[0].temp_c == 20
    assert read('{"temperature": null, "humidity": "n/a"}') == ()


def hourly(day: date, ppfd: float, hours: range = range(24)) -> list[SensorLine]:
    """Return a line for each hour of a day in Berlin."""
    start = datetime(day.year, day.month, day.day, tzinfo=BERLIN)
    return [SensorLine(start.replace(hour=hour).astimezone(UTC), day, ppfd=ppfd) for hour in hours]


def test_a_day_has_its_least_mean_and_highest() -> None:
    """18, 20 and 25 °C: the mean is 21; 40 and 60 %: 50."""
    day = date(2026, 11, 24)
    at = datetime(2026, 11, 24, 8, tzinfo=UTC)
    lines = [
        SensorLine(at, day, temp_c=18, rh_pct=40),
        SensorLine(at.replace(hour=9), day, temp_c=20, medium_c=17),
        SensorLine(at.replace(hour=10), day, temp_c=25, rh_pct=60),
    ]
    found = days_of(lines, BERLIN)
    assert [row.model_dump(exclude_none=True) for row in found] == [
        {
            "day": day,
            "temp_min_c": 18,
            "temp_mean_c": 21,
            "temp_max_c": 25,
            "rh_min_pct": 40,
            "rh_mean_pct": 50,
            "rh_max_pct": 60,
            "medium_min_c": 17,
            "medium_mean_c": 17,
        }
    ]


def test_light_is_summed_over_whole_days_alone() -> None:
    """100 µmol/m²/s for 24 hours are 8.64 mol; of a day with gaps nobody knows; 29 March 2026 has 23 hours."""
    whole, spring = date(2026, 11, 23), date(2026, 3, 29)
    assert days_of(hourly(whole, 100), BERLIN)[0].light_mol_m2_d == pytest.approx(8.64)
    assert days_of(hourly(whole, 100, range(6, 20)), BERLIN) == ()
    assert days_of(hourly(spring, 100, range(1)) + hourly(spring, 100, range(3, 24)), BERLIN) == ()
    known = [*hourly(spring, 100, range(2)), *hourly(spring, 100, range(3, 24))]
    assert days_of(known, BERLIN)[0].light_mol_m2_d == pytest.approx(8.28)
