"""Calendars that somebody else wrote: plain ones, and hostile ones."""

from __future__ import annotations

from carecal.app.people.away_child import MOST_OCCURRENCES

__all__ = ["BROKEN", "FINER", "HOSTILE", "calendar", "event"]


def event(*lines: str, uid: str = "a", summary: str = "Voyage") -> str:
    """Return an event with these lines beside its UID and summary."""
    return "\r\n".join(["BEGIN:VEVENT", f"UID:{uid}", f"SUMMARY:{summary}", *lines, "END:VEVENT"])


def calendar(*events: str) -> bytes:
    """Return a calendar of these events."""
    return "\r\n".join(
        ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//x//y//EN", *events, "END:VCALENDAR", ""]
    ).encode()


def _days(start: str, end: str, *more: str) -> str:
    return event(f"DTSTART;VALUE=DATE:{start}", f"DTEND;VALUE=DATE:{end}", *more)


BROKEN = {
    "nothing": b"",
    "no calendar": b"hello\r\n",
    "cut off": calendar(_days("20261220", "20261222"))[:60],
    "binary": bytes(range(256)) * 20,
    "end alone": b"END:VCALENDAR\r\n",
}

FINER = {
    "secondly": calendar(_days("20261220", "20261221", "RRULE:FREQ=SECONDLY")),
    "minutely": calendar(_days("20261220", "20261221", "RRULE:FREQ=MINUTELY;INTERVAL=2880")),
    "hourly": calendar(_days("20261220", "20261221", "RRULE:FREQ=HOURLY;COUNT=2")),
    "many times a day": calendar(_days("20261220", "20261221", "RRULE:FREQ=DAILY;BYHOUR=1,2,3;COUNT=9")),
}

HOSTILE = {
    "no step": (calendar(_days("20261220", "20261221", "RRULE:FREQ=DAILY;INTERVAL=0")), "INTERVAL"),
    "step backwards": (calendar(_days("20261220", "20261221", "RRULE:FREQ=DAILY;INTERVAL=-1")), "INTERVAL"),
    "endless": (
        calendar(_days("20261220", "20261221", "RRULE:FREQ=DAILY")),
        f"more than {MOST_OCCURRENCES} absences",
    ),
    "two rules": (
        calendar(_days("20261220", "20261221", "RRULE:FREQ=DAILY;COUNT=2", "RRULE:FREQ=WEEKLY;COUNT=2")),
        "allowed is one",
    ),
    "a billion": (
        calendar(
            *(
                event("DTSTART;VALUE=DATE:20261201", "RRULE:FREQ=DAILY;COUNT=1000000000", uid=f"u{n}")
                for n in range(50)
            )
        ),
        "more than",
    ),
    "too many events": (
        calendar(*(event("DTSTART;VALUE=DATE:20261201", uid=f"u{n}") for n in range(20_001))),
        "more than",
    ),
}
