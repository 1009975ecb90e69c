"""The calendars: what each shows and who fetched it; a new one's address is shown once, as text, link and code."""

from __future__ import annotations

from datetime import time
from typing import TYPE_CHECKING, Any, cast
from zoneinfo import ZoneInfo

import segno
from markupsafe import Markup
from starlette.responses import Response

from carecal.app.actions.care import CARES
from carecal.app.documents import places
from carecal.app.people import accounts
from carecal.app.publish import calendars, drafts, named_calendars, publications, publishing
from carecal.app.setup import plants as setup_plants
from carecal.app.store import zone_of
from carecal.errors import ConfirmationNeeded, Refused
from carecal.web.visit import PRIVATE

if TYPE_CHECKING:
    from carecal.calendars.options import CalendarOptions, Form, Grouping
    from carecal.web.visit import Visit

__all__ = ["act_calendars", "address_of", "code_of", "show_calendars", "shows"]


def show_calendars(visit: Visit, **fresh: Any) -> Response:
    """Show the calendars that live; `fresh` is the one whose address is shown now and never again."""
    zone = ZoneInfo(zone_of(visit.collection.journal.connection))
    names = {number: name for name, number in visit.collection.journal.ids().items()}
    rows = [
        {
            "name": known.name,
            "shows": shows(known.options, names),
            "created": known.created.astimezone(zone).date(),
            "fetched": known.fetched.astimezone(zone) if known.fetched else None,
            "by": known.fetched_by,
            "note": named_calendars.note_of(visit.collection, known),
            "published": publications.places_of(visit.collection, known.id),
        }
        for known in named_calendars.calendars_of(visit.collection)
    ]
    page = visit.page(
        "pages_calendars.html",
        rows=rows,
        fresh=fresh,
        base=drafts.public_address(visit.collection, visit.now.day),
        plants=[(row["id"], row["name"]) for row in setup_plants.plants_of(visit.collection, visit.now)],
        places=[(row["place"], row["name"]) for row in places.places_of(visit.collection, visit.now)],
        cares=CARES,
    )
    if fresh:
        page.headers["Cache-Control"] = "no-store"
    return page


def shows(options: CalendarOptions, names: dict[int, str]) -> str:
    """Return what a calendar shows, in words."""
    parts = ["one event a care day" if options.grouping == "rounds" else "each care by itself"]
    parts += ["as to-dos"] if options.form == "todos" else []
    if options.plant is not None:
        parts.append(f"only {names.get(options.plant, 'a plant that is gone')}")
    parts += [f"only at {options.place}"] if options.place else []
    parts += [f"only {options.care}"] if options.care else []
    parts.append(f"at {options.at:%H:%M}" if options.at else "whole days")
    parts += [f"alarm {options.alarm_minutes} min before"] if options.alarm_minutes is not None else []
    return ", ".join(parts)


def act_calendars(visit: Visit) -> Response:
    """Give a calendar an address, revoke it, or renew it: the old address ends and a new one begins."""
    did = visit.need("do")
    if did == "write":
        return _file(visit)
    name = visit.need("name")
    if did == "revoke" and (account := accounts.account_with(visit.collection, name)) is not None:
        accounts.revoke_account(*visit.here, account.name)
        return visit.say(
            f"The account {account.name} was revoked; who logs in with it is refused", "/calendars"
        )
    if did == "revoke":
        named_calendars.revoke_calendar(*visit.here, name)
        return visit.say(f"{name} was revoked; whoever asks for it is told so", "/calendars")
    if did == "add":
        accounts.check_no_account(visit.collection, name)
        return _add(visit, name, _options(visit, name))
    if did in {"publish", "stop"}:
        return _elsewhere(visit, did, name)
    accounts.check_no_account(visit.collection, name)
    if did == "renew":
        options = named_calendars.calendar_named(visit.collection, name).options
        named_calendars.revoke_calendar(*visit.here, name)
        return _add(visit, name, options)
    raise Refused(f"form '{did[:80]}' is not known; allowed are add, write, revoke, renew, publish, stop")


def _elsewhere(visit: Visit, did: str, name: str) -> Response:
    """Publish a calendar at a store or an account, or take it away from there; folders are the command line's."""
    target, password = visit.need("target"), visit.text("password")
    if "://" not in target or target.startswith(("file:", "local:")):
        raise Refused(
            "a folder of the server is named on its own command line; here a store or an account is"
        )

    def answer(_: str) -> str:
        return password or ""

    ask = answer if password else None
    if did == "stop":
        gone = publishing.stop(visit.collection, name, target, ask=ask)
        return visit.say(f"{name} is taken away from {gone.target}", "/calendars")
    try:
        told = publishing.publish_to(*visit.here, name, target, user=visit.text("user") or "", ask=ask)
    except ConfirmationNeeded as needed:  # asked about with a password in the form it would stand in the page
        raise Refused(f"{needed.question} say so on the command line") from needed
    found = told.publication
    shown = (f"its file there: {found.file_name}",) if told.is_new and found.file_name else ()
    return visit.say(f"{name} is published at {found.target}", "/calendars", (*shown, *told.notes))


def _options(visit: Visit, name: str) -> CalendarOptions:
    return calendars.options_of(
        *visit.here,
        grouping=cast("Grouping | None", visit.text("grouping")),
        form=cast("Form", visit.text("form") or "events"),
        plant=visit.text("plant"),
        place=visit.text("place"),
        care=visit.text("care"),
        at=_time(visit.text("at")),
        alarm_minutes=visit.count("alarm"),
        name=name,
    )


def _file(visit: Visit) -> Response:
    """Answer with the calendar as a file; one of the same options keeps the names of its events."""
    options = _options(visit, visit.text("name") or "")
    found = calendars.render_calendar(visit.collection, options, visit.real)
    headers = PRIVATE | {"Content-Disposition": 'attachment; filename="carecal.ics"'}
    return Response(found.body, headers=headers, media_type="text/calendar; charset=utf-8")


def _time(text: str | None) -> time | None:
    try:
        return time.fromisoformat(text) if text else None
    except ValueError as error:
        raise Refused(f"time '{text}' cannot be read; write it as 08:30") from error


def _add(visit: Visit, name: str, options: CalendarOptions) -> Response:
    path = named_calendars.add_calendar(*visit.here, name, options)
    address = address_of(visit, path)
    return show_calendars(
        visit,
        name=name,
        address=address,
        webcal=f"webcal://{address.split('://', 1)[1]}",
        code=code_of(address),
    )


def address_of(visit: Visit, path: str) -> str:
    """Return a secret path as a whole address: the public one, else the one this page was asked under."""
    base = (
        drafts.public_address(visit.collection, visit.real.day)
        or visit.site.base
        or str(visit.request.base_url)
    )
    return base.rstrip("/") + path


def code_of(address: str) -> Markup:
    """Return an address as a code to scan, dark on a white ground in both themes."""
    drawn = segno.make(address, error="m", micro=False).svg_inline(
        scale=4, omitsize=True, svgclass="qr", lineclass=None, title="The address as a code to scan"
    )
    return Markup(drawn.replace("<svg ", '<svg role="img" ', 1))  # noqa: S704 - made of squares alone
