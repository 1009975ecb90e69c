"""Plans as the bytes of one calendar: kept components joined under a fresh head. It opens no transaction."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import partial
from hashlib import sha256
from io import BytesIO
from itertools import chain
from uuid import UUID

from icalendar import Calendar, vDDDTypes, vDuration, vText, vUri

from carecal.calendars.build import component_bytes
from carecal.calendars.components import parts_of, refresh_part
from carecal.calendars.content import Part
from carecal.calendars.ledger import HEAD, Ledger, Wanted
from carecal.calendars.made import MadeParts
from carecal.calendars.options import CalendarOptions
from carecal.calendars.uids import uid
from carecal.calendars.zones import LocalTimes, check_time, local_times, timezone_component, to_bytes
from carecal.plan.model import Plan
from carecal.wording.clean import calendar_name

__all__ = ["PRODID", "Draft", "Rendered", "title_of", "wrap"]

PRODID = "-//carecal//carecal//EN"
"""Without a release number, which would change all bytes at each release. Source: RFC 5545 3.7.3."""
REFRESH_EVERY = timedelta(hours=4)
"""How often subscribers are asked to look. [h] Source: our choice, because care changes once or twice a day."""
COLOUR = "seagreen"
"""Source: RFC 7986 5.9, a CSS3 name."""


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


@dataclass(frozen=True, slots=True)
class _About:
    """What all parts of a calendar share, as its first plan tells it."""

    as_of: date
    times: LocalTimes
    title: str


class Draft:
    """A calendar in the making: plans of its plants are taken up one after another, then its bytes are written.

    Args:
        options: What is shown and how.
        ledger: The rows last published; brought up to the calendar.
        namespace: The collection's random namespace, for UIDs.
        generation: Raised by each restore, for UIDs.
        calendar: Key of a named calendar; None for a nameless one, whose key is that of its options.
        public_url: Address of the page, for links.
        refresh_event: True for named calendars: warns when refreshing stopped.
        cautions: Text of each caution by its code.
        look_for: What to look for at a plant, by its stage.
        made: Parts of care days that were written of the same with these options before.
    """

    def __init__(
        self,
        options: CalendarOptions,
        ledger: Ledger,
        *,
        namespace: UUID,
        generation: int,
        calendar: str | None = None,
        public_url: str = "",
        refresh_event: bool = False,
        cautions: Mapping[str, str] | None = None,
        look_for: Mapping[str, str] | None = None,
        made: MadeParts | None = None,
    ) -> None:
        self._options, self._ledger, self._cautions, self._made = options, ledger, cautions, made
        self._look_for = look_for or {}
        self._public_url, self._refresh_event = public_url, refresh_event
        self._named = partial(uid, namespace, calendar or options.key(), generation)
        self._about: _About | None = None

    def add(self, plan: Plan) -> None:
        """Take up a plan of the options' grouping, of all plants or of some that were not taken up yet.

        Raises:
            Refused: The time of day does not exist, or comes twice, on a day of the calendar.
            ValueError: The plan is of another grouping than the options.
        """
        if self._about is None:
            if self._options.at is not None:
                check_time(plan.timezone, self._options.at, plan.as_of, plan.until)
            self._about = _About(plan.as_of, local_times(plan.timezone), title_of(plan, self._options))
            if self._refresh_event:
                self._settle([refresh_part(plan)], self._about)
        parts = parts_of(
            plan,
            self._options,
            public_url=self._public_url,
            cautions=self._cautions,
            look_for=self._look_for,
            made=self._made,
        )
        self._settle(parts, self._about)

    def is_current(self) -> bool:
        """True while nobody else has published the calendar since; asked in the transaction that finishes."""
        return self._ledger.is_current()

    def finish(self) -> Rendered:
        """Save the ledger and return the calendar; the caller's transaction holds both.

        Raises:
            ValueError: No plan was taken up.
        """
        about = self._about
        if about is None:
            raise ValueError("a calendar of no plan")
        head = _head(about.title, self._public_url)
        needs_zone = self._options.at is not None or not self._ledger.shown
        zone = to_bytes(timezone_component(about.times.zone.key, about.as_of.year)) if needs_zone else b""
        self._ledger.settle([_head_wanted(head, zone)], about.as_of)
        self._ledger.retire(about.as_of)
        changed, shown = len(self._ledger.changed - {HEAD}), self._ledger.shown
        self._ledger.save()
        modified = self._ledger.modified
        head["LAST-MODIFIED"] = vDDDTypes(modified)
        return Rendered(wrap(head, chain([zone], self._ledger.bodies())), modified, shown, changed)

    def _settle(self, parts: Iterable[Part], about: _About) -> None:
        self._ledger.settle(
            (_wanted(part, self._named(part.key), about.times) for part in parts), about.as_of
        )


def wrap(head: Calendar, parts: Iterable[bytes]) -> bytes:
    """Return components' bytes inside a calendar: what the library would write of all of them at once."""
    end = b"END:VCALENDAR\r\n"
    whole = BytesIO()
    whole.write(to_bytes(head).removesuffix(end))
    whole.writelines(parts)
    whole.write(end)
    return whole.getvalue()


def title_of(plan: Plan, options: CalendarOptions) -> str:
    """Return the name people read: the collection's, as a house is called, with what it is narrowed to."""
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

    return Wanted(
        name, part.digest or content.digest(times.zone.key), content.day.isoformat(), part.basis, build
    )
