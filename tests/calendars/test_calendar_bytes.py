"""The bytes themselves: golden files, other hash seeds, zones and optimisation. Oracle: files read by hand."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path

import icalendar
import pytest

from carecal.calendars.options import CalendarOptions
from carecal.plan.model import Plan, Step
from tests.calendars.calendar_plans import (
    AS_OF,
    fact,
    look,
    plan_of,
    plant,
    rounds_plan,
    waterings,
    wetting,
    written,
)
from tests.calendars.calendar_readers import components, days_of

GOLDEN = Path(__file__).parent / "golden"
MADE_BY = "7.3.2"
STEP = Step(
    8,
    "ending-quarantine",
    "wait",
    date(2026, 12, 5),
    None,
    None,
    title="End quarantine of Gable; look it over",
)
VIEWS = [
    plant(),
    plant(8, "Gable", states=("quarantine",), on_watch=True),
    plant(9, "Winch", reservoir="empty"),
]


def _golden() -> dict[str, tuple[Plan, CalendarOptions]]:
    """Return the plans of the golden files with their options."""
    series = waterings(date(2026, 11, 26), 9, date(2027, 2, 24), [date(2026, 12, 23), date(2027, 1, 1)])
    soon = AS_OF + timedelta(days=2)
    single = [
        wetting(
            1, AS_OF, 9, technique="pour-through", because="the reservoir stays empty until nights are warmer"
        ),
        wetting(4, soon, 8, "feeding", certain=False),
        look(2, soon, 8, asks="count tips; longest root ≥ 50 mm?"),
    ]
    facts = (fact(17, date(2026, 11, 23), 9, "flushing", "felt right; EC of the drained water 0.6 mS/cm"),)
    each = plan_of(series, tasks=single, plants=VIEWS, steps=(STEP,), facts=facts)
    rounds = rounds_plan([*series[1][:2], *single], VIEWS, steps=(STEP,), facts=facts)
    return {
        "each": (each, CalendarOptions(grouping="each")),
        "rounds": (rounds, CalendarOptions(name="Windowsill east")),
        "todos": (each, CalendarOptions(grouping="each", form="todos", alarm_minutes=0)),
    }


def _body(name: str) -> bytes:
    """Return the bytes of one golden calendar as they are written now."""
    of, options = _golden()[name]
    return written(of, options, public_url="https://plants.example", refresh_event=name == "rounds").body


def _unfolded(body: bytes) -> bytes:
    """Return the lines unfolded: where they are folded is the library's."""
    return body.replace(b"\r\n ", b"")


@pytest.mark.parametrize("name", ["each", "rounds", "todos"])
def test_golden_calendars_are_written_as_they_were(name: str) -> None:
    """Line by line; a changed line is a changed calendar on every phone."""
    assert _unfolded(_body(name)) == _unfolded((GOLDEN / f"{name}.ics").read_bytes())


@pytest.mark.skipif(icalendar.__version__ != MADE_BY, reason="another release of the library folds elsewhere")
@pytest.mark.parametrize("name", ["each", "rounds", "todos"])
def test_golden_calendars_are_folded_as_they_were(name: str) -> None:
    """To the byte, with the release that made the files."""
    assert _body(name) == (GOLDEN / f"{name}.ics").read_bytes()


@pytest.mark.parametrize("name", ["each", "rounds", "todos"])
def test_golden_calendars_are_read_back(name: str) -> None:
    """Every reader parses the files; the days are those worked by hand."""
    body = (GOLDEN / f"{name}.ics").read_bytes()
    days = {
        "each": [
            "2026-11-23", "2026-11-25", "2026-11-26", "2026-11-27", "2026-11-27", "2026-12-05", "2026-12-05",
            "2026-12-14", "2027-01-10", "2027-01-19", "2027-01-28", "2027-02-06", "2027-02-15", "2027-02-24",
        ],
        "rounds": [
            "2026-11-23", "2026-11-25", "2026-11-26", "2026-11-27", "2026-12-05", "2026-12-05", "2027-01-11",
        ],
        "todos": [],
    }  # fmt: skip
    assert days_of(body) == days[name]
    assert len(components(body)) == {"each": 6, "rounds": 7, "todos": 5}[name]


@pytest.mark.parametrize(
    ("variables", "flags"),
    [
        pytest.param({"PYTHONHASHSEED": "1", "TZ": "Pacific/Kiritimati"}, [], id="a zone far east"),
        pytest.param(
            {"PYTHONHASHSEED": "4711", "TZ": "Pacific/Pago_Pago"}, ["-O"], id="a zone far west, optimised"
        ),
        pytest.param(
            {"PYTHONHASHSEED": "0", "LC_ALL": "C"}, ["-OO"], id="a plain locale, without docstrings"
        ),
    ],
)
def test_the_machine_does_not_enter_the_bytes(variables: dict[str, str], flags: list[str]) -> None:
    """Same plan, ledger and date in another process: the same bytes."""
    code = (
        "import sys; from tests.calendars.test_calendar_bytes import _body;"
        "sys.stdout.buffer.write(b''.join(_body(n) for n in ('each', 'rounds', 'todos')))"
    )
    root = Path(__file__).parents[2]
    environment = {**os.environ, **variables, "PYTHONPATH": str(root), "PYTHONIOENCODING": "utf-8"}
    ran = subprocess.run(
        [sys.executable, *flags, "-c", code], env=environment, cwd=root, capture_output=True, check=True
    )
    assert ran.stdout == b"".join(_body(n) for n in ("each", "rounds", "todos"))


@pytest.mark.parametrize("name", ["each", "rounds", "todos"])
def test_no_line_is_too_long_and_no_release_is_named(name: str) -> None:
    """RFC 5545 3.1: 75 octets; PRODID holds no number."""
    body = _body(name)
    assert all(len(line) <= 75 for line in body.split(b"\r\n"))
    assert b"\r\nPRODID:-//carecal//carecal//EN\r\n" in body
    assert icalendar.__version__.encode() not in body
