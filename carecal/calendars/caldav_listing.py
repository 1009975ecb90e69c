"""Reads what a calendar server lists: the objects of one calendar by UID, each with its ETag.

The answer is somebody else's XML: it is read by the parser itself, a document type (and with it every entity) ends it.

Source: RFC 4918 9.1, 14.16 (multistatus), 15.6 (getetag).
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import unquote
from xml.parsers import expat

from carecal.calendars.web_client import Unreachable

if TYPE_CHECKING:
    from typing import Never

__all__ = ["ASK_LISTING", "etags_in", "plain_etag"]

ASK_LISTING = b'<?xml version="1.0"?><propfind xmlns="DAV:"><prop><getetag/></prop></propfind>'
_END = ".ics"
_RESPONSE, _HREF, _ETAG = "DAV: response", "DAV: href", "DAV: getetag"


def etags_in(body: bytes) -> dict[str, str]:
    """Return the ETag of each object that a multistatus lists, by the UID that names it.

    Raises:
        Unreachable: It is no XML, or one with a document type.
    """
    reader = _Reader()
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler, parser.EndElementHandler = reader.begin, reader.end
    parser.CharacterDataHandler, parser.StartDoctypeDeclHandler = reader.text, reader.doctype
    try:
        parser.Parse(body, True)
    except expat.ExpatError as error:
        raise Unreachable("the server's list of the calendar cannot be read") from error
    return reader.found


def plain_etag(etag: str) -> str:
    """Return an ETag without its mark of weakness, which whatever stands between puts on and takes off."""
    return etag.strip().removeprefix("W/")


class _Reader:
    """Gathers href and ETag of each response."""

    def __init__(self) -> None:
        self.found: dict[str, str] = {}
        self._open: list[str] = []
        self._told: dict[str, str] = {}

    def begin(self, name: str, _: dict[str, str]) -> None:
        """Take an element that begins."""
        self._open.append(name)
        if name == _RESPONSE:
            self._told = {}

    def text(self, text: str) -> None:
        """Take text, which may come in pieces."""
        if self._open[-1] == _ETAG or self._open[-2:] == [_RESPONSE, _HREF]:
            self._told[self._open[-1]] = self._told.get(self._open[-1], "") + text

    def end(self, name: str) -> None:
        """Take the end of an element."""
        self._open.pop()
        if name == _RESPONSE:
            last = unquote(self._told.get(_HREF, "").strip()).rsplit("/", 1)[-1]
            if last.endswith(_END):
                self.found[last.removesuffix(_END)] = self._told.get(_ETAG, "").strip()

    def doctype(self, *_: object) -> Never:
        """Refuse a document type."""
        raise Unreachable("the server's list of the calendar has a document type, which is not read")
