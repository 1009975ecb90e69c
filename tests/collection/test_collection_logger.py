"""Loggers' files as devices write them; days, means and units worked out by hand."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from carecal.collection.logger_files import read_logger
from carecal.errors import DataFault, StorageError


def written(folder: Path, text: str, name: str = "sill.csv") -> Path:
    """Return a logger's file with a text."""
    path = folder / name
    path.write_bytes(text.encode())
    return path


PLAIN = "Time,Temperature(°C),Humidity(%)\n2026-11-24 08:00,18.0,50\n2026-11-24 20:00,20.5,60\n2026-11-25 08:00,17,55\n"

SAME_DAYS = [
    ("plain", PLAIN),
    ("byte order mark and CR LF", "\ufeff" + PLAIN.replace("\n", "\r\n")),
    (
        "semicolons, decimal commas, day first",
        "Datum;Temp °C;RH\n24.11.2026 08:00;18,0;50\n24.11.2026 20:00;20,5;60\n25.11.2026 08:00;17,0;55\n",
    ),
    (
        "tabs, month first, am and pm",
        "Timestamp\tTemp C\tRH %\n"
        "11/24/2026 8:00 AM\t18\t50\n"
        "11/24/2026 8:00 PM\t20.5\t60\n"
        "11/25/2026 8:00 AM\t17\t55\n",
    ),
    (
        "degrees Fahrenheit are turned",
        "Date,Temp (°F),RH\n2026-11-24,64.4,50\n2026-11-24,68.9,60\n2026-11-25,62.6,55\n",
    ),
    (
        "settings before the headings",
        "Device;A 7\n"
        "Interval;12 h\n"
        "\n"
        "Time;Temperature;Humidity\n"
        "2026-11-24T08:00:00;18;50\n"
        "2026-11-24T20:00:00;20.5;60\n"
        "2026-11-25T08:00:00;17;55\n",
    ),
    (
        "date and time of day apart, other columns",
        "No,Time,Date,Temp (C),%RH,Dew point (C)\n"
        "1,08:00,2026-11-24,18,50,7\n"
        "2,20:00,2026-11-24,20.5,60,12\n"
        "3,08:00,2026-11-25,17,55,8\n",
    ),
    (
        "quoted decimal commas",
        'Time,Temp °C,RH\n2026-11-24,"18,0",50\n2026-11-24,"20,5",60\n2026-11-25,"17,0",55\n',
    ),
    ("two-digit years", "Date,Temp (°C),RH\n24/11/26,18,50\n24/11/26,20.5,60\n25/11/26,17,55\n"),
    ("gaps are no readings", PLAIN + "2026-11-26 08:00,--,NaN\n\n"),
    (
        "units in the cells",
        "Time,Temperature,Humidity\n2026-11-24,18.0 °C,50 %\n2026-11-24,20.5 °C,60 %\n2026-11-25,17 °C,55%\n",
    ),
]


@pytest.mark.parametrize(("reason", "text"), SAME_DAYS)
def test_the_same_readings_give_the_same_days_however_they_were_written(
    tmp_path: Path, reason: str, text: str
) -> None:
    """24 November: 18 and 20.5 °C, mean 19.25, and 50 and 60 %; 25 November: 17 °C and 55 %."""
    days = read_logger(written(tmp_path, text)).days
    assert [day.day for day in days] == [date(2026, 11, 24), date(2026, 11, 25)], reason
    assert (days[0].temp_min_c, days[0].temp_mean_c, days[0].temp_max_c) == (18.0, 19.25, 20.5), reason
    assert (days[0].rh_min_pct, days[0].rh_mean_pct, days[0].rh_max_pct) == (50.0, 55.0, 60.0), reason
    assert (days[1].temp_mean_c, days[1].rh_mean_pct, days[1].medium_mean_c) == (17.0, 55.0, None), reason


def test_the_mediums_own_temperature_is_told_from_the_airs(tmp_path: Path) -> None:
    """A probe in the bark fills the medium's fields, with its minimum and mean."""
    text = "Time,Air temp (°C),Bark probe temp (°C)\n2026-11-24 08:00,18,14\n2026-11-24 20:00,20,16\n"
    day = read_logger(written(tmp_path, text)).days[0]
    assert (day.temp_mean_c, day.medium_min_c, day.medium_mean_c) == (19.0, 14.0, 15.0)


def test_the_columns_in_use_are_shown(tmp_path: Path) -> None:
    """What was guessed is said in words, a missing unit too."""
    shown = read_logger(written(tmp_path, "When (time),Temperature,Humidity\n2026-11-24,18,50\n")).columns
    assert shown == (
        "time: column 'When (time)'",
        "temperature: column 'Temperature' taken as °C",
        "humidity: column 'Humidity'",
    )


def test_columns_may_be_named(tmp_path: Path) -> None:
    """Headings that say nothing are named by the grower."""
    path = written(tmp_path, "A;B;C\n2026-11-24;18;14\n")
    named = {"time": "A", "temperature": "B", "medium": "C"}
    day = read_logger(path, named).days[0]
    assert (day.temp_mean_c, day.medium_mean_c, day.rh_mean_pct) == (18.0, 14.0, None)
    with pytest.raises(DataFault, match="no line names a time and a temperature or humidity"):
        read_logger(path)
    with pytest.raises(DataFault, match="unknown column; known are time, temperature, humidity, medium"):
        read_logger(path, {"wind": "B"})


def test_an_order_of_day_and_month_is_settled_by_the_whole_column(tmp_path: Path) -> None:
    """3/4 alone may be two days; one 13 in the column settles it, and a wish settles it too."""
    unsettled = written(tmp_path, "Date,Temp °C\n03/04/2026,18\n04/04/2026,19\n")
    with pytest.raises(DataFault, match="day and month cannot be told apart"):
        read_logger(unsettled)
    assert read_logger(unsettled, order="dmy").days[0].day == date(2026, 4, 3)
    assert read_logger(unsettled, order="mdy").days[0].day == date(2026, 3, 4)
    settled = written(tmp_path, "Date,Temp °C\n03/04/2026,18\n13/04/2026,19\n", "b.csv")
    assert [day.day for day in read_logger(settled).days] == [date(2026, 4, 3), date(2026, 4, 13)]
    both = written(tmp_path, "Date,Temp °C\n13/04/2026,18\n04/13/2026,19\n", "c.csv")
    with pytest.raises(DataFault, match="'04/13/2026' is not a date, or not in the order of those before"):
        read_logger(both)


def test_times_with_an_offset_fall_on_the_days_of_the_collections_zone(tmp_path: Path) -> None:
    """23:30 UTC is 00:30 of the next day in Berlin in winter."""
    path = written(tmp_path, "Time,Temp °C\n2026-11-24T23:30:00Z,18\n2026-11-25T08:00:00+01:00,20\n")
    days = read_logger(path, zone=ZoneInfo("Europe/Berlin")).days
    assert [(day.day, day.temp_mean_c) for day in days] == [(date(2026, 11, 25), 19.0)]


ABSURD = [
    (
        "Temp °C",
        ["18", "-40"],
        "-40 °C cannot be, it looks like a broken sensor; allowed are -30 to 55",
        "below",
    ),
    ("Temp °C", ["18", "19", "68"], "68 °C cannot be, it looks like °F or a sensor in the sun", "one above"),
    (
        "Temp °C",
        ["68", "70", "66"],
        "68 °C and the like in most rows cannot be, it looks like °F called °C",
        "°F as °C",
    ),
    (
        "Temperature",
        ["68", "70", "66"],
        "68 and the like in most rows cannot be, it looks like °F;",
        "no unit, °F",
    ),
    (
        "Temp °F",
        ["18", "20", "19"],
        "19 °F and the like in most rows cannot be, it looks like °C called °F",
        "°C as °F",
    ),
    (
        "Temp °F",
        ["64", "900"],
        "900 °F cannot be, it looks like a broken sensor; allowed are -22 to 131",
        "°F",
    ),
    (
        "RH",
        ["50", "900"],
        "900 % RH cannot be, it looks like tenths of a percent or a wet sensor",
        "one above",
    ),
    (
        "RH",
        ["500", "600", "550"],
        "550 % RH and the like in most rows cannot be, it looks like tenths of a percent",
        "all above",
    ),
    ("RH", ["0.5", "0.6"], "it looks like a share of 1", "shares"),
    ("RH", ["50", "0"], "0 % RH cannot be, it looks like a broken sensor", "below"),
    ("RH", ["50", "wet"], "'wet' is not a number in column 'RH'", "words"),
    ("RH", ["50.5", '"50,5"'], "decimal points and commas are mixed", "mixed"),
    ("RH", ["50", "50,5"], "more cells than headings; decimal commas need a semicolon", "unquoted comma"),
]


@pytest.mark.parametrize(("heading", "cells", "message", "reason"), ABSURD)
def test_absurd_values_are_refused_with_the_unit_guess(
    tmp_path: Path, heading: str, cells: list[str], message: str, reason: str
) -> None:
    """Nothing is repaired: the value, its line and what it looks like are named."""
    text = f"Date,{heading}\n" + "".join(f"2026-11-{day},{cell}\n" for day, cell in enumerate(cells, 10))
    with pytest.raises(DataFault, match=re.escape(message)) as caught:
        read_logger(written(tmp_path, text))
    assert message in str(caught.value), reason


def test_all_faults_of_a_file_are_told_at_once_and_many_alike_in_one(tmp_path: Path) -> None:
    """Three broken readings are one fault with its first line; another column's fault stands beside it."""
    rows = "".join(f"2026-11-{day},-40,{rh}\n" for day, rh in ((10, 50), (11, 50), (12, 120)))
    text = "Date,Temp °C,RH\n2026-11-09,18,50\n2026-11-08,18,50\n2026-11-07,18,50\n2026-11-06,18,50\n" + rows
    with pytest.raises(DataFault, match="line 6 and 2 more") as caught:
        read_logger(written(tmp_path, text))
    assert len(caught.value.faults) == 2
    assert "line 8, column 'RH'" in str(caught.value)


def test_two_columns_that_may_both_be_meant_are_refused(tmp_path: Path) -> None:
    """Two temperatures of the air: the grower names one."""
    path = written(tmp_path, "Time,Temp 1 (°C),Temp 2 (°C)\n2026-11-24,18,19\n")
    with pytest.raises(DataFault, match="name one as temperature=HEADING"):
        read_logger(path)
    assert read_logger(path, {"temperature": "Temp 2 (°C)"}).days[0].temp_mean_c == 19.0


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "no line names"),
        (b"Time,Temp\n", "no readings"),
        (b"Time,Temp \xb0C\n", "byte 0xb0 is not UTF-8"),
    ],
)
def test_an_empty_or_foreign_file_is_refused(tmp_path: Path, content: bytes, message: str) -> None:
    """What holds no readings is no readings file."""
    path = tmp_path / "sill.csv"
    path.write_bytes(content)
    with pytest.raises(DataFault, match=message):
        read_logger(path)


def test_a_missing_file_is_told_by_its_name(tmp_path: Path) -> None:
    """The system's own words, on one line."""
    with pytest.raises(StorageError, match=r"gone\.csv: no such file"):
        read_logger(tmp_path / "gone.csv")


def test_days_make_an_entry_about_a_place(tmp_path: Path) -> None:
    """The entry carries the days, and is not written by reading."""
    entry = read_logger(written(tmp_path, PLAIN)).entry("stair-window", date(2026, 11, 25))
    assert (entry.kind, entry.place, len(entry.days)) == ("readings", "stair-window", 2)
