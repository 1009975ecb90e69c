"""Words about the roads from a calendar to the programs that show it; it sends nothing and looks nothing up."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from carecal.app.publish.drafts import public_address
from carecal.app.setup.settings import address_named
from carecal.calendars.addresses import is_of_own_network
from carecal.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from carecal.app.door import Collection
    from carecal.app.publish.publishing import PublishResult
    from carecal.calendars.options import CalendarOptions
    from carecal.cli.context import Session

__all__ = [
    "LOCAL",
    "NO_BASE",
    "account_lines",
    "base_of",
    "code_of",
    "how_often",
    "published_lines",
    "road_of",
    "sending",
    "sent_words",
    "what_may_not_show",
]


LOCAL = "http://127.0.0.1:8321"  # where carecal serve is heard when nothing else is said

NO_BASE = (
    "a code needs the whole address; set it first: carecal settings public-address https://plants.example"
)


_SENT = (
    ("created", "wrote {}"),
    ("changed", "changed {}"),
    ("deleted", "took {} away"),
    ("found", "found {} in place"),
)


def base_of(session: Session, collection: Collection) -> str:
    """Return the address under which others reach the server: that of `--public-url`, else of the setting; '' for none.

    Raises:
        Refused: What `--public-url` names is no address.
    """
    if session.public_url is not None:
        return address_named("--public-url", session.public_url)
    return public_address(collection, session.now().day)


def road_of(base: str, *, then: str = "") -> str:
    """Return who can reach a calendar under a public address, and the road for all others.

    Args:
        base: The public address; '' for none.
        then: What is to be done once there is one.
    """
    parts = urlsplit(base)
    host = parts.hostname or ""
    if not host:
        return (
            "reached on this machine alone, while carecal serve runs; for a phone say under which name it finds this "
            f"machine: carecal settings public-address http://my-machine.local:8321{then}"
        )
    if host == "localhost" or host == "::1" or host.startswith("127."):
        return (
            "reached on this machine alone; for a phone set the address that it finds this machine by, "
            "or carecal calendar publish"
        )
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


def sent_words(told: PublishResult) -> str:
    """Return what publishing sent: 'wrote 212 events, changed 4, took 3 away'; '' if notes say it all."""
    if not told.is_sent:
        return "nothing has changed, nothing was sent"
    counts = told.counts or {"created": told.publication.events}
    thing = "to-do" if told.form == "todos" else "event"
    said: list[str] = []
    for what, form in _SENT:
        if what in counts:
            noun = "" if said else f" {thing}" + ("" if counts[what] == 1 else "s")
            said.append(form.format(f"{counts[what]}{noun}"))
    return ", ".join(said)


def published_lines(told: PublishResult, *, quiet: bool) -> list[str]:
    """Return what publishing did; the file's name the first time alone."""
    found = told.publication
    lines = [f"{found.target}: {sent_words(told) or 'nothing new was sent'}"]
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
        f"address   {told['address'] or f'{LOCAL}/dav/'}",
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


def code_of(address: str) -> str:
    """Return an address as a code to scan.

    Raises:
        Refused: It is no whole address.
    """
    if "://" not in address:
        raise Refused(NO_BASE)
    import segno  # noqa: PLC0415 - takes 36 ms and is needed for this alone

    out = io.StringIO()
    segno.make(address, error="m", micro=False).terminal(out=out, compact=True)
    return out.getvalue().rstrip("\n")
