"""One request of one person: the collection, the moment, the form that was sent, and the answers it can get."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from math import nan
from secrets import token_hex
from typing import TYPE_CHECKING, Any
from urllib.parse import quote
from zoneinfo import ZoneInfo

from starlette.datastructures import UploadFile
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from carecal.app.command_context import check_clock
from carecal.app.setup.settings import settings_of
from carecal.app.store import zone_of
from carecal.collection.dates import parse_day
from carecal.errors import Refused
from carecal.web.refill import refilled

if TYPE_CHECKING:
    from datetime import date

    from starlette.datastructures import FormData
    from starlette.requests import Request

    from carecal.app.door import Collection, Outcome
    from carecal.app.now import Now
    from carecal.collection.entries import Entry
    from carecal.collection.timeline import Timeline
    from carecal.web.refill import Again
    from carecal.web.site import Site

__all__ = ["PRIVATE", "Visit", "plain_text"]


PRIVATE = {"Cache-Control": "private, no-cache", "X-Robots-Tag": "noindex"}
MOST_FIELD = 4000  # characters of one field; our choice, because a note has at most 2000
MOST_NUMBER = 1e9  # our choice, because no weight, count or entry of a collection comes near it
_TOKENS = frozenset({"form_token", "sure", "dry", "password"})


def plain_text(text: str) -> str:
    """Return a refusal as a page says it, with a capital at its start."""
    return text[:1].upper() + text[1:]


@dataclass
class Visit:
    """One request.

    Args:
        site: The server.
        collection: The collection, open for this request alone.
        real: The moment by the clock.
        now: The moment to read by: the newest entry's day while the clock cannot be believed.
        request: The request.
        form: What was sent; None: nothing.
        by: Who asks.
        session: Id of the session; '' for a sitter.
        doubt: Why the clock cannot be believed, or ''.
        kept_photo: Name of a picture that came with a form which is asked about once more.
        again: A form that was refused and is shown once more.
    """

    site: Site
    collection: Collection
    real: Now
    now: Now
    request: Request
    form: FormData | None = None
    by: str = "owner"
    session: str = ""
    doubt: str = ""
    kept_photo: str = ""
    again: Again | None = None
    _nonce: str = field(default_factory=lambda: token_hex(8))
    _units: list[str] = field(default_factory=list)

    @cached_property
    def timeline(self) -> Timeline:
        """The plants as they stand on the day that is read, flowers over that nobody spoke of; once for a page."""
        return self.collection.planner(self.now.day).timeline

    @property
    def here(self) -> tuple[Collection, Now]:
        """The collection and the moment, with which every action begins."""
        return self.collection, self.real

    @property
    def units(self) -> str:
        """Units shown: metric or imperial."""
        if not self._units:
            self._units.append(settings_of(self.collection, self.now)["units"])
        return self._units[0]

    @property
    def clock_time(self) -> str:
        """Time of day in the collection's zone, as '08:10'."""
        return f"{self.real.written.astimezone(ZoneInfo(self.zone)):%H:%M}"

    @property
    def zone(self) -> str:
        """Name of the collection's time zone."""
        return zone_of(self.collection.journal.connection)

    @property
    def wants_json(self) -> bool:
        """Whether a script asks, not a person's browser."""
        return "application/json" in self.request.headers.get("accept", "")

    @property
    def is_sure(self) -> bool:
        """Whether what is unusual was confirmed."""
        return self.text("sure") == "1"

    @property
    def is_trial(self) -> bool:
        """Whether only the consequences are asked for."""
        return self.text("dry") == "1"

    def text(self, name: str) -> str | None:
        """Return a field of the form without blanks around it; None where it is empty or was not sent."""
        value = self.form.get(name) if self.form is not None else None
        if not isinstance(value, str) or not value.strip():
            return None
        if len(value) > MOST_FIELD:
            raise Refused(
                f"{name.replace('_', ' ')} has {len(value)} characters; at most {MOST_FIELD} are allowed"
            )
        return value.strip()

    def texts(self, name: str) -> list[str]:
        """Return every value of a field that was sent."""
        values = self.form.getlist(name) if self.form is not None else []
        return [value.strip() for value in values if isinstance(value, str) and value.strip()]

    def need(self, name: str) -> str:
        """Return a field that must be there.

        Raises:
            Refused: It is empty.
        """
        found = self.text(name)
        if found is None:
            raise Refused(f"{name.replace('_', ' ')} is missing; give it")
        return found

    def number(self, name: str) -> float | None:
        """Return a number of the form; a decimal comma is taken too.

        Raises:
            Refused: It is no number.
        """
        found = self.text(name)
        if found is None:
            return None
        try:
            value = float(found.replace(",", "."))
        except ValueError:
            value = nan
        if not -MOST_NUMBER <= value <= MOST_NUMBER:
            raise Refused(f"{name.replace('_', ' ')} '{found[:40]}' is not a number that fits here")
        return value

    def count(self, name: str) -> int | None:
        """Return a whole number of the form.

        Raises:
            Refused: It is none.
        """
        found = self.number(name)
        if found is None:
            return None
        if found != int(found):
            raise Refused(f"{name.replace('_', ' ')} {found:g} is not a whole number")
        return int(found)

    def day(self, name: str) -> date | None:
        """Return a day of the form.

        Raises:
            Refused: It cannot be read.
        """
        found = self.text(name)
        return None if found is None else parse_day(found, today=self.real.day)

    def flag(self, name: str) -> bool:
        """Return whether a box was ticked."""
        return self.text(name) is not None

    def upload(self, name: str) -> bytes | None:
        """Return a file that was sent; None: there is none."""
        value = self.form.get(name) if self.form is not None else None
        if not isinstance(value, UploadFile) or not value.filename:
            return None
        return value.file.read() or None

    def sent(self) -> list[tuple[str, str]]:
        """Return the fields that were sent, to send them once more; files and tokens left out."""
        items = self.form.multi_items() if self.form is not None else []
        kept = [("photo_kept", self.kept_photo)] if self.kept_photo else []
        return [
            (name, value) for name, value in items if isinstance(value, str) and name not in _TOKENS
        ] + kept

    def asked(self, name: str) -> str:
        """Return a word of the address, or of the form that is shown once more; '' for none."""
        found = self.request.query_params.get(name, "")
        return found or next(iter(self.again.values(name) if self.again else ()), "")

    def token(self) -> str:
        """Return the token that the forms of this page carry: the session's, and what tells this page from others."""
        return self.site.form_token(self.collection, self.session, self._nonce) if self.session else ""

    def write(self, *entries: Entry, by: str | None = None, apart: bool = False) -> Outcome:
        """Write entries as one command, or each as its own, or only try.

        Raises:
            ClockError: The clock cannot be believed; nothing was written.
            Refused: An entry does not fit; nothing was written.
            StorageError: The file cannot be written.
        """
        if any(entry.kind != "clock-confirmed" for entry in entries):
            check_clock(self.collection, self.real)
        return self.collection.record(
            *entries, now=self.real, by=by or self.by, dry=self.is_trial, apart=apart
        )

    def page(self, template: str, status: int = 200, **values: Any) -> HTMLResponse:
        """Return a page."""
        told = self.site.told(self.session) if self.session and self.request.method == "GET" else {}
        body = self.site.env.get_template(template).render(
            token=self.token(),
            path=self.request.url.path,
            now=self.now,
            doubt=plain_text(self.doubt),
            told=told,
            units=self.units,
            is_owner=bool(self.session),
            **values,
        )
        again = told.get("again")
        return HTMLResponse((again and refilled(body, again)) or body, status, headers=PRIVATE)

    def part(self, template: str, **values: Any) -> str:
        """Return a part of a page, as a script puts it into one."""
        return self.site.env.get_template(template).render(token=self.token(), units=self.units, **values)

    def written(
        self, outcome: Outcome, title: str, to: str, remarks: tuple[str, ...] = (), *, loud: bool = False
    ) -> Response:
        """Return the answer to a writing form: back to a page that says what changed, or what would, at its top."""
        lines = [*remarks, *outcome.following]
        if not outcome.is_written:
            return self.page("trial.html", title=title, lines=lines, sent=self.sent(), back=to)
        self.site.tell(
            self.session, title=title, lines=lines, entry=outcome.records[0].n, is_loud=loud and bool(remarks)
        )
        return self.go(to.partition("#")[0])  # the top of the page: what was done stands there, in view

    def say(self, title: str, to: str, lines: tuple[str, ...] = ()) -> Response:
        """Return the answer that leads to a page which says something."""
        self.site.tell(self.session, title=title, lines=list(lines), entry=None)
        return self.go(to.partition("#")[0])

    def go(self, to: str) -> Response:
        """Return the answer that leads to a page of ours."""
        return RedirectResponse(quote(to, safe="/?&=#%:"), 303, headers=PRIVATE)

    def json(self, status: int = 200, **values: Any) -> Response:
        """Return an answer for a script."""
        return JSONResponse(values, status, headers=PRIVATE)
