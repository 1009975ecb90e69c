"""Radicale's storage, rights and authentication over a collection: two calendars an account, made and never stored."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from threading import local
from typing import TYPE_CHECKING, Any

from radicale import auth, rights, storage
from radicale.item import Item

from carecal.app.door import Collection
from carecal.app.people.account_objects import Held, changed_since, objects_in
from carecal.app.people.accounts import Account, account_for, accounts_of
from carecal.app.store import zone_of
from carecal.calendars.write import PRODID
from carecal.calendars.zones import timezone_component, to_bytes

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from radicale.config import Configuration

    from carecal.app.now import Now
    from carecal.calendars.subscriptions import NamedCalendar

__all__ = ["Account", "Auth", "Calendar", "Opened", "Rights", "Storage"]

SYNC = "https://carecal.invalid/sync/"  # RFC 6578 4: a token is a URI; a name that leads nowhere (RFC 2606)
COLOURS = {"care": "#2E8B57", "todo": "#B5651D"}  # sea green as in the subscription, and bark
NAMES = {"care": "Care", "todo": "To do"}
KINDS = {"care": "VEVENT", "todo": "VTODO"}


class Opened:
    """The collection as one request sees it: opened when it begins, closed when it ends, a thread at a time.

    Args:
        folder: The collection's folder.
        clock: Gives the moment of a request.
    """

    def __init__(self, folder: Path, clock: Callable[[Collection], Now]) -> None:
        self.folder, self.clock = folder, clock
        self._mine = local()

    @contextmanager
    def request(self) -> Iterator[Collection]:
        """Give the collection, open until the block ends; blocks may lie within each other."""
        held = getattr(self._mine, "collection", None)
        if held is not None:
            yield held
            return
        with Collection.open(self.folder) as collection:
            self._mine.collection, self._mine.now, self._mine.objects = collection, self.clock(collection), {}
            try:
                yield collection
            finally:
                self._mine.collection = None

    @property
    def now(self) -> Now:
        """The moment of the request."""
        return self._mine.now  # type: ignore[no-any-return]  # a local holds anything

    def objects(self, calendar: NamedCalendar) -> dict[str, Held]:
        """Return the objects of a calendar, made once a request."""
        kept = self._mine.objects
        if calendar.id not in kept:
            kept[calendar.id] = objects_in(self._mine.collection, calendar, self.now)
        return kept[calendar.id]  # type: ignore[no-any-return]  # likewise

    def forget(self) -> None:
        """Forget what was made, because an entry was written."""
        self._mine.objects = {}


class Place(storage.BaseCollection):
    """The root, or an account: it holds others."""

    def __init__(self, path: str) -> None:
        self._path = path

    @property
    def path(self) -> str:
        """Its path, without slashes around it."""
        return self._path

    @property
    def etag(self) -> str:
        """It never changes."""
        return '"0"'

    @property
    def last_modified(self) -> str:
        """It was never written."""
        return "Thu, 01 Jan 1970 00:00:00 GMT"

    def get_all(self) -> Iterable[Item]:
        """Return nothing: it holds no objects."""
        return ()

    def get_multi(self, hrefs: Iterable[str]) -> Iterable[tuple[str, Item | None]]:
        """Return nothing for each name."""
        return ((href, None) for href in hrefs)

    def get_meta(self, key: str | None = None) -> Any:
        """Return its properties: none."""
        return {} if key is None else None


class Calendar(Place):
    """One of the two calendars of an account."""

    def __init__(self, opened: Opened, account: Account, which: str) -> None:
        super().__init__(f"{account.name}/{which}")
        self.account, self.which, self._opened = account, which, opened
        self.calendar = account.care if which == "care" else account.todo

    @property
    def objects(self) -> dict[str, Held]:
        """What it holds, by name of the resource."""
        return {f"{uid}.ics": held for uid, held in self._opened.objects(self.calendar).items()}

    @property
    def etag(self) -> str:
        """The digest of all it holds."""
        return f'"{self.sync()[0].removeprefix(SYNC)}"'

    def get_all(self) -> Iterable[Item]:
        """Return each object."""
        return (self._item(href, held) for href, held in self.objects.items())

    def get_multi(self, hrefs: Iterable[str]) -> Iterable[tuple[str, Item | None]]:
        """Return the objects of some names, None for one that is not there."""
        found = self.objects
        return ((href, self._item(href, found[href]) if href in found else None) for href in hrefs)

    def has_uid(self, uid: str) -> bool:
        """Return whether it holds an object."""
        return f"{uid}.ics" in self.objects

    def sync(self, old_token: str = "") -> tuple[str, Iterable[str]]:
        """Return the token of how it stands, and what changed since another (RFC 6578).

        Raises:
            ValueError: The token is not known any more.
        """
        if old_token and not old_token.startswith(SYNC):
            raise ValueError(f"token '{old_token[:80]}' is not of this server")
        with self._opened.request() as collection:
            found, changed = changed_since(
                collection, self.calendar, self._opened.objects(self.calendar), old_token.removeprefix(SYNC)
            )
        return SYNC + found, [f"{uid}.ics" for uid in changed]

    def get_meta(self, key: str | None = None) -> Any:
        """Return its properties, or one of them."""
        found: Mapping[str, str] = {
            "tag": "VCALENDAR",
            "D:displayname": NAMES[self.which],
            "ICAL:calendar-color": COLOURS[self.which],
            "C:supported-calendar-component-set": KINDS[self.which],
        }
        if key == "C:calendar-timezone":
            return self._zone()
        return found if key is None else found.get(key)

    def _zone(self) -> str:
        """Return the house's time zone as a calendar that holds it alone (RFC 4791 5.2.2)."""
        with self._opened.request() as collection:
            zone = zone_of(collection.journal.connection)
        item = to_bytes(timezone_component(zone, self._opened.now.day.year)).decode()
        return f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:{PRODID}\r\n{item}END:VCALENDAR\r\n"

    def _item(self, href: str, held: Held) -> Item:
        return Item(
            collection=self,
            href=href,
            text=held.content.decode(),
            etag=held.etag,
            uid=held.uid,
            last_modified=self.last_modified,
        )


class Storage(storage.BaseStorage):
    """All accounts of a collection; nothing is ever stored here."""

    _is_collision_free = True

    def __init__(self, configuration: Configuration, opened: Opened) -> None:
        super().__init__(configuration)
        self.opened = opened

    def discover(self, path: str, depth: str = "0", *_: Any, **__: Any) -> Iterable[Any]:
        """Yield what stands at a path, and with a depth what it holds."""
        parts = [part for part in path.split("/") if part]
        accounts = {account.name: account for account in self._accounts()}
        if not parts:
            yield Place("")
            return
        account = accounts.get(parts[0])
        if account is None or (len(parts) > 1 and parts[1] not in NAMES):
            return
        if len(parts) == 1:
            yield Place(account.name)
            if depth != "0":
                yield from (Calendar(self.opened, account, which) for which in NAMES)
            return
        calendar = Calendar(self.opened, account, parts[1])
        if len(parts) == 2:
            yield calendar
            if depth != "0":
                yield from calendar.get_all()
            return
        yield from (item for _, item in calendar.get_multi(["/".join(parts[2:])]) if item is not None)

    def _accounts(self) -> list[Account]:
        with self.opened.request() as collection:
            return accounts_of(collection)

    @contextmanager
    def acquire_lock(self, *_: Any, **__: Any) -> Iterator[None]:
        """Hold the collection open for a request; what may be written the journal decides, so nothing is locked."""
        with self.opened.request():
            yield


class Rights(rights.BaseRights):
    """Who holds an account reads it, and may write to-dos; nobody sees another's."""

    def authorization(self, user: str, _groups: set[str], path: str) -> str:
        """Return Radicale's letters for a path: R and r to read, w to write objects."""
        parts = [part for part in path.split("/") if part]
        if not user or (parts and parts[0] != user):
            return ""
        if len(parts) < 2:
            return "R"
        return "rw" if parts[1] == "todo" else "r"


class Auth(auth.BaseAuth):
    """Name and password of an account."""

    def __init__(self, configuration: Configuration, opened: Opened) -> None:
        super().__init__(configuration)
        self.opened = opened

    def _login(self, login: str, password: str) -> str:
        with self.opened.request() as collection:
            account = account_for(collection, login, password)
        return account.name if account is not None else ""
