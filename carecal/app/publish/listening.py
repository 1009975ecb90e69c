"""Takes what was ticked in calendars on servers elsewhere as entries, by the rules of an account (`account_ticks`).

What a program did there is read before the calendar is sent again: a to-do that was completed is done, opened again it
is taken back, its note comes along. All else that was changed or deleted is marked, and the next sending restores it.
"""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING

from carecal.app.actions.account_ticks import entries_of, read_todo
from carecal.app.people.account_objects import held_of
from carecal.app.publish import calendars, named_calendars
from carecal.app.publish.passwords import login_of
from carecal.app.publish.publications import account_at, keep_publication, publications
from carecal.app.store import zone_of
from carecal.calendars.caldav_listing import plain_etag
from carecal.calendars.caldav_objects import is_ticked, objects_of, part_of, says_other
from carecal.calendars.caldav_push import LEFT, Sent
from carecal.errors import AlreadyDone, CarecalError, Refused
from carecal.wording.clean import clean_line

if TYPE_CHECKING:
    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.app.people.account_objects import Held
    from carecal.app.publish.publications import Publication
    from carecal.calendars.caldav_push import CalendarAccount
    from carecal.calendars.subscriptions import NamedCalendar

__all__ = ["Heard", "listen"]

TO_RESTORE = ""  # instead of the digest of what was sent: it is sent again


@dataclass(slots=True)
class Heard:
    """What was heard from one calendar on a server.

    Args:
        name: Name of the calendar.
        target: Where it is published.
        entries: How many ticks and taking backs became entries.
        notes: What somebody should know, one line each.
        fault: What went wrong, or ''.
    """

    name: str
    target: str
    entries: int = 0
    notes: tuple[str, ...] = ()
    fault: str = ""


def listen(collection: Collection, now: Now) -> list[Heard]:
    """Take what was ticked wherever to-dos, one for each plant and care, are published on a calendar server.

    Entries are by the calendar's name. One server that does not answer stops none of the others.
    """
    live = {known.id: known for known in named_calendars.calendars_of(collection)}
    told = []
    for each in publications(collection):
        known = live.get(each.calendar)
        if known is None or each.kind != "caldav" or not each.sent or not _has_ticks(known):
            continue
        heard = Heard(known.name, str(each.target))
        told.append(heard)
        try:
            _Listener(collection, now, known, each, heard).listen()
        except CarecalError as error:
            heard.fault = str(error)
    return told


def _has_ticks(calendar: NamedCalendar) -> bool:
    return calendar.options.form == "todos" and calendar.options.grouping == "each"


class _Listener:
    """Listens to one calendar."""

    def __init__(
        self, collection: Collection, now: Now, known: NamedCalendar, published: Publication, heard: Heard
    ) -> None:
        self.collection, self.now, self.known, self.published, self.heard = (
            collection,
            now,
            known,
            published,
            heard,
        )

    def listen(self) -> None:
        """Take each object that is not as it was sent, and remember in what state it was taken.

        Raises:
            CarecalError: The server does not answer, or the calendar cannot be made.
        """
        found = self.published
        account = account_at(found, self.known.name, login_of(found, None))
        listing = {uid: plain_etag(etag) for uid, etag in account.listing().items()}
        deleted = found.sent.keys() - listing.keys()
        changed = [
            uid
            for uid in sorted(found.sent.keys() & listing.keys())
            if listing[uid] not in {plain_etag(found.sent[uid].etag), found.heard.get(uid, LEFT)}
        ]
        found.heard = {uid: etag for uid, etag in found.heard.items() if uid in listing}
        for uid in deleted:
            del found.sent[uid]
        if changed:
            stands = objects_of(calendars.ensure_published(self.collection, self.known, self.now).body)
            for uid in changed:
                self._take(account, uid, stands.get(uid))
        if changed or deleted:
            keep_publication(self.collection, found)

    def _take(self, account: CalendarAccount, uid: str, ours: bytes | None) -> None:
        """Take one object that was changed there.

        Args:
            account: The calendar on the server.
            uid: Its UID.
            ours: The object as it stands here; None where it has gone meanwhile.
        """
        theirs = account.load(uid)
        if theirs is None:
            return  # deleted since it was listed; the next time tells
        sent = self.published.sent[uid]
        if ours is not None:
            is_entered = self._enter(held_of(uid, ours), theirs.body, sent)
            if is_entered or says_other(ours, theirs.body, uid):
                self.published.sent[uid] = Sent(sent.etag, TO_RESTORE)
        elif is_ticked(theirs.body, uid):
            self._note(theirs.body, uid, "was ticked there, is no longer to do and is not entered")
        self.published.heard[uid] = plain_etag(theirs.headers.get("etag", ""))

    def _enter(self, held: Held, theirs: bytes, sent: Sent) -> bool:
        """Write what was said of a to-do into the journal; return whether there was anything."""
        written = read_todo(theirs, held, zone_of(self.collection.journal.connection))
        if written is None:
            return False
        if not written.is_done and held.is_done and sent.digest != sha256(held.content).hexdigest():
            return False  # it was done here meanwhile, and stands open there because nobody has told
        try:
            entries = entries_of(self.collection, self.now, self.known, held, written)
            if entries:
                self.collection.record(*entries, now=self.now, by=self.known.name)
        except AlreadyDone:
            return False  # somebody was first, just now
        except Refused as refusal:
            self._note(held.content, held.uid, f"was ticked there and is not entered: {refusal}")
            return False
        self.heard.entries += bool(entries)
        if not entries and written.is_done and not held.is_done:
            self._note(
                held.content, held.uid, "was ticked there and is open again; enter it here, as today shows it"
            )
        return bool(entries)

    def _note(self, content: bytes, uid: str, what: str) -> None:
        part = part_of(content, uid)
        self.heard.notes += (f"'{clean_line(str(part['SUMMARY'])) if part else uid}' {what}",)
