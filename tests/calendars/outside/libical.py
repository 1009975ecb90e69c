"""Prints what libical finds in a calendar read from standard input, a line an occurrence or to-do: UID, day or time.

It runs under the system's own Python, for which the bindings are made (Debian: gir1.2-ical-3.0 and python3-gi).
Times are UTC. Arguments: the first instant and the one after the last, as 20260101T000000Z.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import gi

gi.require_version("ICalGLib", "3.0")
from gi.repository import ICalGLib  # noqa: E402 the release is chosen before anything of it is loaded


def show(part: Any, seconds: int, is_date: bool) -> None:
    """Print one line."""
    at = datetime.fromtimestamp(seconds, UTC)
    sys.stdout.write(f"{part.get_uid()} {at.date() if is_date else at.isoformat()}\n")


def parts(whole: Any, kind: Any) -> Iterator[Any]:
    """Yield the components of a kind."""
    part = whole.get_first_component(kind)
    while part is not None:
        yield part
        part = whole.get_next_component(kind)


def main(first: str, last: str) -> None:
    """Print all that lies between two instants, and all to-dos."""
    whole = ICalGLib.Component.new_from_string(sys.stdin.buffer.read().decode())
    span = ICalGLib.Time.new_from_string(first), ICalGLib.Time.new_from_string(last)
    for event in parts(whole, ICalGLib.ComponentKind.VEVENT_COMPONENT):
        is_date = event.get_dtstart().is_date()
        event.foreach_recurrence(*span, lambda part, at, date: show(part, at.get_start(), date), is_date)
    for todo in parts(whole, ICalGLib.ComponentKind.VTODO_COMPONENT):
        due = todo.get_due()
        show(todo, due.as_timet_with_zone(due.get_timezone()), due.is_date())


main(*sys.argv[1:])
