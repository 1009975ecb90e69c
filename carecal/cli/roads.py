"""Words about the roads from a calendar to the programs that show it; it sends nothing and looks nothing up."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from carecal.calendars.addresses import is_of_own_network

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from carecal.app.publish.publishing import PublishResult
    from carecal.calendars.options import CalendarOptions
    from carecal.cli.context import Session

__all__ = ["account_lines", "how_often", "published_lines", "road_of", "sending", "what_may_not_show"]


def road_of(base: str) -> str:
    """Return who can reach a calendar under a public address, and the road for all others."""
    parts = urlsplit(base)
    host = parts.hostname or ""
    if not host:
        return (
            "reached on this machine alone, while carecal serve runs; for a phone say under which name it finds this "
            "machine: carecal settings public-address http://my-machine.local:8321, then carecal calendar qr NAME"
        )
    if host == "localhost" or host == "::1" or host.startswith("127."):
        return "reached on this machine alone; for a phone: carecal serve --host 0.0.0.0, or carecal calendar publish"
    if is_of_own_network(host):
        return (
            "reached from the same house alone, which suits programs that fetch on the phone itself; "
            "web calendars fetch from outside: for those use carecal calendar publish NAME TARGET"
        )
    if parts.scheme != "https":
        return (
            "not encrypted: whoever carries it can read it and some programs refuse it; set an https address"
        )
    return "reached from anywhere; any program that subscribes by address will do"


def how_often() -> str:
    """Return how often each kind of program looks for changes.

    Source: common practice (no source): what makers and users of these programs report.
    """
    return (
        "how often a program looks is its own choice: desktop programs every half hour, "
        "phones every quarter of an hour to once a day "
        "by their settings, web calendars every 12 to 24 hours; the page shows changes at once"
    )


def what_may_not_show(options: CalendarOptions) -> list[str]:
    """Return what of a calendar's options many programs leave out of subscriptions, one line each."""
    told = []
    if options.form == "todos":
        shown = (
            "the next open one of each plant and care" if options.grouping == "each" else "the next care day"
        )
        told.append(f"shown are {shown}, and what was done in the last 60 days")
        told.append(
            "to-dos do not show in the subscriptions of most phones and web calendars; as events they do, "
            "and in an account: carecal calendar publish NAME caldav+https://…"
        )
    if options.alarm_minutes is not None:
        told.append(
            "many programs leave alarms out of subscriptions, some by a setting; try it before you rely on one"
        )
    return told


def published_lines(told: PublishResult, *, quiet: bool) -> list[str]:
    """Return what publishing did; the file's name the first time alone."""
    found = told.publication
    what = (
        ", ".join(f"{count} {verb}" for verb, count in sorted(told.counts.items()))
        or f"{found.events} events"
    )
    if not told.is_sent:
        what = "nothing has changed, nothing was sent"
    lines = [f"{found.target}: {what}"]
    if told.is_new and found.file_name:
        lines = [f"{str(found.target).rstrip('/')}/{found.file_name}", *lines]
        lines.append(
            "keep this name: whoever knows the address may read the calendar, and it is not shown again"
        )
    if told.is_new and not quiet:
        lines.append("carecal refresh publishes it again, from a timer once a day")
    return [*lines, *told.notes]


def account_lines(told: Mapping[str, Any], road: str, *, quiet: bool) -> list[str]:
    """Return what a phone is told to log in to an account, the password this once, and how far it reaches."""
    lines = [
        f"address   {told['address'] or 'what carecal serve prints, and /dav/ after it'}",
        f"user      {told['user']}",
        f"password  {told['password']}",
    ]
    if quiet:
        return lines
    return [
        *lines,
        "keep the password: it is not shown again",
        "on the phone: add a CalDAV account with these; care days stand in its calendar, tasks in its reminders",
        "a task ticked there is done here, by this name; where a server is asked for, the name and port will do",
        road,
    ]


def sending(session: Session) -> Callable[[int, int], None]:
    """Return what shows how many objects of how many were sent to a calendar server, on a terminal alone."""
    shown: list[Callable[[int], None]] = []

    def show(count: int, total: int) -> None:
        if not shown:
            shown.append(session.progress("sending", total))
        shown[0](count)

    return show
