"""The border for free text: what may stand in a calendar's bytes. It words nothing."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from carecal.errors import Refused

__all__ = ["KEPT_TEXTS", "NAME_MAX", "calendar_name", "check_calendar_name", "clean", "clean_line"]

NAME_MAX = 60
"""Longest calendar name. [characters] Source: our choice, because phones cut names off well before that."""

KEPT_TEXTS = 4096
"""Texts whose cleaned form is kept, since names and places come again with each task of a plant."""

_BREAKS = re.compile("\r\n|[\r\x85\u2028\u2029]")
_DROPPED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufeff\ufffe\uffff]")
_NEWLINE_ESCAPE = re.compile(r"\\(?=[Nn])")
_NAME_UNFIT = re.compile(r"[,;\\\s]+")


def clean(text: str) -> str:
    r"""Return text that every calendar reader takes and gives back unchanged.

    Line breaks of any kind become line feeds; controls but tab and line feed, lone surrogates and byte order
    marks are dropped; a backslash before N or n is parted from it by a space, else readers make a line break of
    the two. Cleaning twice changes nothing more.

    Source: RFC 5545 3.1 (CONTROL) and 3.3.11 (TEXT).
    """
    if "\\" not in text and text.replace("\n", "").isprintable():
        return text  # no control, separator, surrogate or byte order mark is printable
    text = _DROPPED.sub("", _BREAKS.sub("\n", text))
    return _NEWLINE_ESCAPE.sub(r"\\ ", text)


@lru_cache(maxsize=KEPT_TEXTS)
def clean_line(text: str) -> str:
    """Return the text cleaned and on one line, runs of white space as one space."""
    return " ".join(clean(text).split())


def calendar_name(text: str) -> str:
    """Return the text as a calendar's name: no comma, semicolon, backslash or line break, at most `NAME_MAX` long.

    Source: our choice, because some readers show the escapes in names.
    """
    return _NAME_UNFIT.sub(" ", clean_line(text)).strip()[:NAME_MAX].rstrip()


def check_calendar_name(name: str) -> str:
    """Return a name typed by hand if it can stand as it is.

    Raises:
        Refused: It is empty, too long, or holds a comma, semicolon, backslash, line break or control character.
    """
    if not name.strip() or len(name) > NAME_MAX:
        raise Refused(f"calendar name '{_shown(name)}' has {len(name)} characters; allowed: 1 to {NAME_MAX}")
    bad = sorted({c for c in name if c in ",;\\" or clean_line(c) != c != " "})
    if bad:
        found = ", ".join(_describe(c) for c in bad)
        raise Refused(
            f"calendar name '{_shown(name)}' holds {found}; allowed: no comma, semicolon, backslash or control"
        )
    return clean_line(name)


def _shown(text: str) -> str:
    """Return the text as it can be printed on one line."""
    return clean_line(text)[:NAME_MAX]


def _describe(character: str) -> str:
    """Return a character in words."""
    if character.isprintable():
        return f"'{character}'"
    return unicodedata.name(character, f"U+{ord(character):04X}").lower()
