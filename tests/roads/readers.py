"""Two independent readers of what was published, beside the plan it must say the same as."""

from __future__ import annotations

from datetime import date
from typing import Any, cast

from ical.calendar_stream import IcsCalendarStream
from icalendar import Calendar

from tests.cli.cli_run import done

__all__ = ["days_by_both", "planned_days"]

_BESIDE = {"DONE", "REFRESH", "STEP"}


def days_by_both(body: bytes) -> set[date]:
    """Return the days of rounds as icalendar and ical read them; an AssertionError where they differ."""
    mine = {
        event["DTSTART"].dt
        for event in cast("list[Any]", Calendar.from_ical(body).walk("VEVENT"))
        if not _BESIDE & {str(c) for c in event["CATEGORIES"].cats}
    }
    theirs = {
        cast("date", event.dtstart)
        for event in IcsCalendarStream.calendar_from_ics(body.decode()).events
        if not _BESIDE & set(event.categories)
    }
    assert mine == theirs
    return mine


def planned_days(as_of: str = "2026-11-25", until: str = "2027-11-30") -> set[date]:
    """Return the days of rounds of the plan, up to a last day."""
    plan = done("--json", "plan", "--grouping", "rounds", "--until", until, as_of=as_of).json
    return {date.fromisoformat(round_["on"]) for round_ in plan["rounds"]}
