"""The application of accounts: Radicale's, with writing replaced by what a tick means, mounted under /dav."""

from __future__ import annotations

import logging
from datetime import timedelta
from functools import partial
from http import HTTPStatus
from typing import TYPE_CHECKING, Any

from defusedxml import DefusedXmlException
from radicale import config, httputils, web
from radicale.app import Application

from carecal.app.actions.account_ticks import entries_of, read_todo
from carecal.app.publish.named_calendars import record_fetch
from carecal.app.store import zone_of
from carecal.errors import CarecalError, Refused
from carecal.web.account.mount import MOST_BYTES
from carecal.web.account.store import Auth, Calendar, Opened, Rights, Storage

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.app.people.account_objects import Held

__all__ = ["Speaker", "speaker"]

log = logging.getLogger("carecal.web")
Answer = tuple[int, Any, str | bytes | None, str | None]
DEEPEST = 32  # elements within each other; our choice, because no request of the standards has ten
NOTED_AGAIN = timedelta(minutes=1)  # our choice, because a program asks several times in a row
TEXT = {"Content-Type": "text/plain"}
HERE = "here is a calendar account: put this address, your name and password into a calendar program\n"
NOT_HERE = "this calendar is made by carecal: nothing can be added or taken away here; ticking a task is all"


def speaker(folder: Path, clock: Callable[[Collection], Now]) -> Speaker:
    """Return the application (WSGI) of a folder's accounts."""
    opened = Opened(folder, clock)
    found = config.load()
    found.update(
        {
            "auth": {
                "type": partial(Auth, opened=opened),
                "realm": "carecal",
                "delay": "0",
                "cache_logins": "False",
            },
            "rights": {"type": Rights},
            "storage": {"type": partial(Storage, opened=opened)},
            "web": {"type": Hint},
            "server": {"max_content_length": str(MOST_BYTES), "max_resource_size": str(MOST_BYTES // 2)},
            "logging": {"level": "critical"},
        },
        "carecal",
        privileged=True,
    )
    logging.getLogger("radicale").setLevel(logging.CRITICAL)
    return Speaker(found, opened)


class Hint(web.BaseWeb):
    """What a browser sees where a calendar program is meant."""

    def get(self, *_: Any) -> Answer:
        """Say what this is."""
        return HTTPStatus.OK, TEXT, HERE, None


class Speaker(Application):
    """Radicale's application; what would write is answered by what it means here."""

    def __init__(self, configuration: Any, opened: Opened) -> None:
        super().__init__(configuration)
        self._opened = opened

    def do_REPORT(self, environ: Any, prefix: str, path: str, user: str, *rest: Any) -> Answer:  # noqa: N802 - Radicale's name
        """Answer as Radicale does, and note that a calendar was looked at, and by what program."""
        with self._opened.request() as collection:
            calendar, _ = self._at(path, user)
            if calendar is not None:
                program = str(environ.get("HTTP_USER_AGENT", ""))
                self._note(collection, calendar, program)
            return super().do_REPORT(environ, prefix, path, user, *rest)

    def _note(self, collection: Collection, calendar: Calendar, program: str) -> None:
        """Remember the look; a collection that cannot be written is answered all the same."""
        clock, last = self._opened.now.clock, calendar.calendar.fetched
        if last is not None and clock - last < NOTED_AGAIN:
            return
        try:
            record_fetch(collection, calendar.calendar, clock, program)
        except CarecalError as error:
            log.warning("a look of the account %s was not noted: %s", calendar.account.name, error)

    def do_PUT(self, environ: Any, _: str, path: str, user: str, __: Any, ___: Any) -> Answer:  # noqa: N802 - Radicale's name
        """Take what a program wrote into a to-do: a tick is an entry; all else is let go until the next sync."""
        with self._opened.request() as collection:
            calendar, held = self._at(path, user)
            if calendar is None or held is None:
                return HTTPStatus.FORBIDDEN, TEXT, NOT_HERE, None
            try:
                content = httputils.read_raw_request_body(self.configuration, environ)
            except RuntimeError:
                return httputils.BAD_REQUEST
            written = (
                read_todo(content, held, zone_of(collection.journal.connection))
                if calendar.which == "todo"
                else None
            )
            is_tick = written is not None and written.is_done and not held.is_done
            wanted = environ.get("HTTP_IF_MATCH", "")
            if wanted not in {"", "*", held.etag} and not is_tick:
                return httputils.PRECONDITION_FAILED
            if environ.get("HTTP_IF_NONE_MATCH", "") == "*":
                return httputils.PRECONDITION_FAILED
            if written is not None:
                try:
                    entries = entries_of(collection, self._opened.now, calendar.calendar, held, written)
                    if entries:
                        collection.record(*entries, now=self._opened.now, by=user)
                        self._opened.forget()
                except Refused as refusal:
                    return HTTPStatus.FORBIDDEN, TEXT, f"{refusal}", None
                except CarecalError as error:
                    log.error("a tick of an account could not be written: %s", error)  # noqa: TRY400 - one line tells it
                    return HTTPStatus.SERVICE_UNAVAILABLE, TEXT, "try again later", None
        # No ETag: what stands here is not what was sent, so the program asks for it (RFC 4791 5.3.4).
        return HTTPStatus.NO_CONTENT, {}, None, None

    def do_DELETE(self, _environ: Any, _: str, path: str, user: str, __: Any, ___: Any) -> Answer:  # noqa: N802 - likewise
        """Refuse: what is to do goes when it is done."""
        with self._opened.request():
            calendar, _held = self._at(path, user)
            if calendar is None and path.strip("/") != user:
                return httputils.NOT_FOUND
        return HTTPStatus.FORBIDDEN, TEXT, NOT_HERE, None

    def do_PROPPATCH(self, *_: Any) -> Answer:  # noqa: N802 - likewise
        """Refuse: names and colours are carecal's, and so is what calendars there are."""
        return HTTPStatus.FORBIDDEN, TEXT, NOT_HERE, None

    do_MKCALENDAR = do_MKCOL = do_MOVE = do_PROPPATCH  # type: ignore[assignment]  # noqa: N815 - likewise

    def _read_xml_request_body(self, *request: Any) -> Any:
        """Read XML as Radicale does; what is a bomb or deeper than any request is as broken as what is none.

        Raises:
            RuntimeError: It cannot be read.
        """
        try:
            found = super()._read_xml_request_body(*request)
        except DefusedXmlException as error:
            raise RuntimeError("XML with entities") from error
        level = [] if found is None else [found]
        for _ in range(DEEPEST):
            level = [below for each in level for below in each]
        if level:
            raise RuntimeError("XML within XML")
        return found

    def _at(self, path: str, user: str) -> tuple[Calendar | None, Held | None]:
        """Return the calendar and the object at a path of a user's own; None where there is none."""
        parts = [part for part in path.split("/") if part]
        if len(parts) < 2 or parts[0] != user:
            return None, None
        calendar = next(iter(self._storage.discover("/".join(parts[:2]))), None)
        if not isinstance(calendar, Calendar):
            return None, None
        return calendar, calendar.objects.get("/".join(parts[2:]))
