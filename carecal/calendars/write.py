"""A plan as the bytes of one calendar: kept components joined under a fresh head. It stores nothing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from hashlib import sha256
from uuid import UUID

from icalendar import Calendar, vDDDTypes, vDuration, vText, vUri

from carecal.calendars.build import component_bytes
from carecal.calendars.clean import calendar_name
from carecal.calendars.components import parts_of, refresh_part
from carecal.calendars.content import Part
from carecal.calendars.ledger import Ledger, Wanted
from carecal.calendars.options import CalendarOptions
from carecal.calendars.uids import uid
from carecal.calendars.zones import LocalTimes, check_time, local_times, timezone_component, to_bytes
from carecal.planning.model import Plan

__all__ = ["HEAD", "PRODID", "Rendered", "render", "title_of", "wrap"]

PRODID = "-//carecal//carecal//EN"
"""Without a release number, which would change all bytes at each release. Source: RFC 5545 3.7.3."""
REFRESH_EVERY = timedelta(hours=4)
"""How often subscribers are asked to look. [h] Source: our choice, because care changes once or twice a day."""
COLOUR = "seagreen"
"""Source: RFC 7986 5.9, a CSS3 name."""
HEAD = "VCALENDAR"
"""Where the ledger remembers the head, so that its change is dated too; no component has this UID."""


@dataclass(frozen=True, slots=True)
class Rendered:
    """One calendar, whole.

    Args:
        body: The bytes.
        modified: LAST-MODIFIED of the calendar.
        parts: Number of components.
        changed: Number of components that are new, changed or gone.
    """

    body: bytes
    modified: datetime
    parts: int
    changed: int


def render(
    plan: Plan,
    options: CalendarOptions,
    ledger: Ledger,
    *,
    namespace: UUID,
    generation: int,
    calendar: str | None = None,
    public_url: str | None = None,
    refresh_event: bool = False,
    cautions: Mapping[str, str] | None = None,
) -> Rendered:
    """Return a calendar's bytes and bring its ledger up to them.

    Args:
        plan: The plan, of the options' grouping.
        options: What is shown and how.
        ledger: The rows last published; changed in place.
        namespace: The collection's random namespace, for UIDs.
        generation: Raised by each restore, for UIDs.
        calendar: Key of a named calendar; None for a nameless one, whose key is that of its options.
        public_url: Address of the page, for links.
        refresh_event: True for named calendars: warns when refreshing stopped.
        cautions: Text of each caution by its code.

    Raises:
        Refused: The time of day does not exist, or comes twice, on a day of the calendar.
        ValueError: The plan is of another grouping than the options.
    """
    times = local_times(plan.timezone)
    if options.at is not None:
        check_time(plan.timezone, options.at, plan.as_of, plan.until)
    parts = parts_of(plan, options, public_url=public_url or "", cautions=cautions)
    if refresh_event:
        parts.append(refresh_part(plan))
    head = _head(title_of(plan, options), public_url or "")
    needs_zone = options.at is not None or not parts
    zone_bytes = to_bytes(timezone_component(plan.timezone, plan.as_of.year)) if needs_zone else b""
    named = partial(uid, namespace, calendar or options.key(), generation)
    wanted = [_head_wanted(head, zone_bytes), *(_wanted(part, named(part.key), times) for part in parts)]
    before = dict(ledger.rows)
    shown = ledger.settle(wanted, plan.as_of)
    bodies = [row.body for name, row in shown if name != HEAD]
    modified = ledger.modified or shown[0][1].stamp
    head["LAST-MODIFIED"] = vDDDTypes(modified)
    changed = sum(row is not before.get(name) for name, row in ledger.rows.items() if name != HEAD)
    return Rendered(wrap(head, [zone_bytes, *bodies]), modified, len(bodies), changed)


def wrap(head: Calendar, parts: Iterable[bytes]) -> bytes:
    """Return components' bytes inside a calendar: what the library would write of all of them at once."""
    empty, end = to_bytes(head), b"END:VCALENDAR\r\n"
    return empty.removesuffix(end) + b"".join(parts) + end


def title_of(plan: Plan, options: CalendarOptions) -> str:
    """Return the name people read: the options', else the collection's with what it is narrowed to."""
    if options.name:
        return calendar_name(options.name)
    plant = plan.plant(options.plant).name if options.plant is not None else ""
    return calendar_name(
        " ".join(part for part in (plan.collection_name, plant, options.place, options.care) if part)
    )


def _head(name: str, public_url: str) -> Calendar:
    """Return the calendar without components; it has no UID, which some programs take for a component's."""
    head = Calendar()
    head["VERSION"] = vText("2.0")
    head["PRODID"] = vText(PRODID)
    head["CALSCALE"] = vText("GREGORIAN")
    head["NAME"] = vText(name)
    head["X-WR-CALNAME"] = vText(name)
    head["COLOR"] = vText(COLOUR)
    head["REFRESH-INTERVAL"] = vDuration(REFRESH_EVERY)
    head["REFRESH-INTERVAL"].params["VALUE"] = "DURATION"
    head["X-PUBLISHED-TTL"] = vText("PT4H")
    if public_url:
        head["URL"] = vUri(f"{public_url.rstrip('/')}/")
    return head


def _head_wanted(head: Calendar, zone_bytes: bytes) -> Wanted:
    """Return the head as a row of the ledger; it rests on no entry and keeps no bytes."""
    digest = sha256(to_bytes(head) + zone_bytes).hexdigest()
    return Wanted(HEAD, digest, "", "", lambda _sequence, _stamp: b"")


def _wanted(part: Part, name: str, times: LocalTimes) -> Wanted:
    """Return one part as a row of the ledger, built only if it changed."""
    content = part.content

    def build(sequence: int, stamp: datetime) -> bytes:
        """Return the bytes of the part."""
        return component_bytes(content, name, sequence, stamp, times)

    return Wanted(name, content.digest(times.zone.key), content.day.isoformat(), part.basis, build)
