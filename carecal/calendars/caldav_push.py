"""Writes a calendar into an account on a calendar server (CalDAV): one object a UID, and only objects of our own.

Written here on a plain client and not on a library, because pushing needs four methods (PROPFIND, MKCALENDAR, PUT,
DELETE) and the checks of `web_client` on each of them: no redirect, no private network unless named, limits on size and
time. The kept library follows redirects by itself, and brings a package that writes itself over `urllib3` for the whole
environment. So this road needs no extra. It finds no calendars by itself: the grower gives the calendar's address.

Source: RFC 4791 5.3.1 (MKCALENDAR), 5.3.2 (PUT, preconditions); RFC 9110 13.1.1, 13.1.2 (If-Match, If-None-Match).
"""

from __future__ import annotations

import re
from collections import Counter
from hashlib import sha256
from typing import TYPE_CHECKING, NamedTuple
from xml.sax.saxutils import escape

from carecal.calendars.caldav_listing import ASK_LISTING, etags_in, plain_etag
from carecal.calendars.caldav_objects import is_same, is_ticked, merged, part_of
from carecal.calendars.web_client import Unreachable
from carecal.errors import Refused
from carecal.wording.clean import clean_line

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from carecal.calendars.addresses import Address
    from carecal.calendars.web_client import Answer, Client

__all__ = ["CalendarAccount", "Sent"]

MOST_OBJECTS = 5000  # our choice, because programs that show a calendar fail well before
LEFT = "left"  # instead of an ETag: the object is somebody else's now and is looked at before it is touched
GONE = frozenset({404, 410})
CLASHES = frozenset({404, 409, 410, 412})
_TYPE = "text/calendar; charset=utf-8"
_XML = "application/xml; charset=utf-8"
_ASK = b'<?xml version="1.0"?><propfind xmlns="DAV:"><prop><resourcetype/></prop></propfind>'
_IS_CALENDAR = re.compile(rb"<(?:[\w.-]+:)?calendar(?:\s[^>]*)?/?>")
_SAYS_MISSING = re.compile(rb"HTTP/1\.\d (?:404|410)\b")  # in the answer instead of as its status
_MAKE = (
    '<?xml version="1.0"?><c:mkcalendar xmlns="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav"><set><prop>'
    "<displayname>{name}</displayname><c:supported-calendar-component-set>"
    '<c:comp name="VEVENT"/><c:comp name="VTODO"/></c:supported-calendar-component-set></prop></set></c:mkcalendar>'
)


class Sent(NamedTuple):
    """What was last sent of one UID: the server's ETag, and the digest of our bytes."""

    etag: str
    digest: str


class CalendarAccount:
    """One calendar of an account on a server, and what was sent to it.

    Args:
        client: Sends the requests, with the login.
        address: The calendar's own address; it is made when nothing is there.
        name: Name of a calendar that is made.
        sent: What was last sent, by UID; brought up to date after each answer, so that a break loses nothing.
        heard: ETag of each object whose ticks were taken, by UID: in that state it may be written over.
    """

    def __init__(
        self,
        client: Client,
        address: Address,
        name: str,
        sent: dict[str, Sent],
        heard: Mapping[str, str] | None = None,
    ) -> None:
        self.client, self.name, self.sent, self.heard = client, name, sent, heard or {}
        self.address = address.at(address.path.rstrip("/") + "/")
        self.counts: Counter[str] = Counter()
        self.notes: list[str] = []

    def push(self, objects: Mapping[str, bytes], told: Callable[[int, int], None] | None = None) -> None:
        """Bring the calendar up to the objects; where nothing has changed nothing is sent.

        What is new or changed is written before what has gone is deleted, so that the calendar is never empty between.

        Args:
            objects: Each object by its UID.
            told: Called after each object that was sent, with how many were and how many are to be.

        Raises:
            Refused: There are too many, or the server refuses one.
            Unreachable: The server does not answer; what was done is remembered.
        """
        if len(objects) > MOST_OBJECTS:
            raise Refused(
                f"{len(objects)} events and to-dos are too many; allowed are {MOST_OBJECTS}: show fewer days"
            )
        digests = {uid: sha256(data).hexdigest() for uid, data in objects.items()}
        if {uid: sent.digest for uid, sent in self.sent.items()} == digests:
            return
        self._make_sure()
        wanted = [
            uid for uid in sorted(objects) if uid not in self.sent or self.sent[uid].digest != digests[uid]
        ]
        gone = sorted(self.sent.keys() - objects.keys())
        for count, uid in enumerate([*wanted, *gone], start=1):
            if count <= len(wanted):
                self._put(uid, objects[uid], digests[uid])
            else:
                self._delete(uid)
            if told is not None:
                told(count, len(wanted) + len(gone))

    def listing(self) -> dict[str, str]:
        """Return the ETag of each object that stands in the calendar, by UID; none where there is no calendar.

        Raises:
            Refused: The login is refused.
            Unreachable: The server does not answer, or not with a list.
        """
        answer = self._send("PROPFIND", self.address, ASK_LISTING, {"Depth": "1", "Content-Type": _XML})
        if answer.status in GONE:
            return {}
        if not answer.is_done:
            raise Unreachable(f"{self.address.origin} answers {answer.status} when asked what is there")
        return etags_in(answer.body)

    def _make_sure(self) -> None:
        """Make the calendar where nothing is.

        Raises:
            Refused: Something else is there, or it cannot be made.
        """
        answer = self._send("PROPFIND", self.address, _ASK, {"Depth": "0", "Content-Type": _XML})
        if answer.is_done and _IS_CALENDAR.search(answer.body):
            return
        is_missing = answer.status in GONE or (answer.is_done and _SAYS_MISSING.search(answer.body))
        if answer.is_done and not is_missing:
            raise Refused(
                f"{self.address} is not a calendar; allowed is a calendar's own address, or a new one"
            )
        if not is_missing:
            raise Unreachable(f"{self.address.origin} answers {answer.status} when asked for the calendar")
        self._make()

    def _make(self) -> None:
        headers = {"Content-Type": _XML}
        made = self._send("MKCALENDAR", self.address, _MAKE.format(name=escape(self.name)).encode(), headers)
        if not made.is_done:
            raise Refused(
                f"{self.address} cannot be made ({made.status}); make a calendar there, and give its address"
            )
        self.sent.clear()  # nothing of it is there any more: all of it is sent again

    def _put(self, uid: str, data: bytes, digest: str) -> None:
        known = self.sent.get(uid)
        if known is not None and known.etag == LEFT:
            self._settle(uid, data, digest)
            return
        only_if = {"If-None-Match": "*"} if known is None else {"If-Match": known.etag or "*"}
        answer = self._send("PUT", self._place(uid), data, {"Content-Type": _TYPE, **only_if})
        if answer.status in CLASHES:
            self._settle(uid, data, digest)
        else:
            self._took(uid, digest, answer, "created" if known is None else "changed")

    def _settle(self, uid: str, data: bytes, digest: str) -> None:
        """Load what somebody else has changed, made or deleted, and decide."""
        theirs = self.load(uid)
        if theirs is None:
            answer = self._send("PUT", self._place(uid), data, {"Content-Type": _TYPE, "If-None-Match": "*"})
            if answer.status in CLASHES:
                self._leave(uid, data, digest, "stands at another address there and was left alone")
            else:
                self._took(uid, digest, answer, "created")
            return
        if is_same(data, theirs.body, uid):
            self._took(uid, digest, theirs, "found")
            return
        if self._is_unheard_tick(uid, theirs) and not is_ticked(data, uid):
            self._leave(
                uid, data, digest, "was ticked there and was left alone; enter it here with carecal done"
            )
            return
        headers = {"Content-Type": _TYPE, "If-Match": theirs.headers.get("etag", "*")}
        answer = self._send("PUT", self._place(uid), merged(data, theirs.body, uid), headers)
        self._took(uid, digest, answer, "changed")

    def _delete(self, uid: str) -> None:
        etag = self.sent[uid].etag
        if etag != LEFT:
            answer = self._send("DELETE", self._place(uid), None, {"If-Match": etag or "*"})
            if answer.is_done or answer.status in GONE:
                self._forget(uid, "deleted")
                return
            if answer.status not in CLASHES:
                raise Refused(f"{self.address.origin} does not delete an event ({answer.status})")
        theirs = self.load(uid)
        if theirs is None or self._is_unheard_tick(uid, theirs):
            self._forget(uid, "left")
            return
        answer = self._send("DELETE", self._place(uid), None, {"If-Match": theirs.headers.get("etag", "*")})
        if not answer.is_done and answer.status not in GONE:
            raise Refused(f"{self.address.origin} does not delete an event ({answer.status}); try again")
        self._forget(uid, "deleted")

    def _is_unheard_tick(self, uid: str, theirs: Answer) -> bool:
        """Return whether a to-do is done there in a state that nobody has listened to."""
        etag = plain_etag(theirs.headers.get("etag", ""))
        return is_ticked(theirs.body, uid) and (not etag or self.heard.get(uid) != etag)

    def load(self, uid: str) -> Answer | None:
        """Return an object as it stands there; None where it is gone.

        Raises:
            Refused: The login is refused.
            Unreachable: The server does not answer, or not with the object.
        """
        answer = self._send("GET", self._place(uid), None, {})
        if answer.status in GONE:
            return None
        if not answer.is_done:
            raise Unreachable(f"{self.address.origin} answers {answer.status} when asked for an event")
        return answer

    def _took(self, uid: str, digest: str, answer: Answer, what: str) -> None:
        """Remember what a server took.

        Raises:
            Refused: It did not take it.
        """
        if not answer.is_done:
            raise Refused(
                f"{self.address.origin} does not take an event ({answer.status}); nothing more was sent"
            )
        etag = answer.headers.get("etag", "")
        if not etag:  # it stored other bytes than ours and tells the ETag when asked
            etag = self._send("HEAD", self._place(uid), None, {}).headers.get("etag", "")
        self.sent[uid] = Sent(etag, digest)
        self.counts[what] += 1

    def _leave(self, uid: str, data: bytes, digest: str, why: str) -> None:
        self.sent[uid] = Sent(LEFT, digest)
        self.counts["left"] += 1
        part = part_of(data, uid)
        self.notes.append(f"'{clean_line(str(part['SUMMARY'])) if part else uid}' {why}")

    def _forget(self, uid: str, what: str) -> None:
        del self.sent[uid]
        self.counts[what] += 1

    def _place(self, uid: str) -> Address:
        return self.address.at(f"{self.address.path}{uid}.ics")

    def _send(self, method: str, address: Address, body: bytes | None, headers: Mapping[str, str]) -> Answer:
        """Send one request.

        Raises:
            Refused: The login is refused.
            Unreachable: The server sends on to another address, or does not answer.
        """
        answer = self.client.send(method, address, body, headers)
        if answer.status in {401, 403} and method != "MKCALENDAR":
            raise Refused(
                f"{self.address.origin} refuses the login ({answer.status}); check user and password"
            )
        if 300 <= answer.status < 400:
            raise Unreachable(
                f"{self.address.origin} sends on to another address; give that of the calendar itself"
            )
        return answer
