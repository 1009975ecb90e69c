"""What no entry may say, whichever way it comes in: days too far away, zones that do not exist, names of no name.

It imports no pydantic, so that appending stays cheap.
"""

from __future__ import annotations

import unicodedata
from datetime import date, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, available_timezones

from carecal.catalog.names import near

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.collection.entry_base import Entry, Row

__all__ = [
    "FIRST_YEAR",
    "LAST_YEAR",
    "doubts",
    "instant_doubt",
    "is_zone",
    "misread_days",
    "one_line",
    "signature_doubt",
    "zone_doubt",
]

FIRST_YEAR, LAST_YEAR = 1950, 2150  # our choice, because a plant's entries lie between
_BREAKING = frozenset({"Cc", "Cs", "Zl", "Zp"})  # Unicode categories: controls, lone surrogates, separators
LONGEST_BY = 80  # characters of the name of whoever says so; our choice, because one line of the log holds it


def doubts(entry: Entry) -> Iterator[tuple[str, str]]:
    """Yield what an entry says that its model lets pass, as field and sentence."""
    yield from _far_days(entry, "")
    zone = getattr(entry, "timezone", None)
    if zone is not None and (doubt := zone_doubt(zone)):
        yield "timezone", doubt


def _far_days(row: Row, under: str) -> Iterator[tuple[str, str]]:
    for name in type(row).model_fields:
        value = getattr(row, name)
        if isinstance(value, date):
            if not FIRST_YEAR <= value.year <= LAST_YEAR:
                yield under + name, f"{value} is too far away; allowed are {FIRST_YEAR} to {LAST_YEAR}"
        elif isinstance(value, tuple):
            for number, part in enumerate(value):
                if hasattr(type(part), "model_fields"):
                    yield from _far_days(part, f"{under}{name}.{number}.")


def one_line(text: str) -> str:
    """Return the text if it is printable on one line.

    Raises:
        ValueError: On a control character, a line break or a lone surrogate, or when only blanks are there.
    """
    for sign in text:
        if unicodedata.category(sign) in _BREAKING:
            raise ValueError(f"control character U+{ord(sign):04X} is not allowed; write it on one line")
    if text and not text.strip():
        raise ValueError("only spaces; write a name or leave it out")
    return text


def misread_days(value: object, said: object, name: str = "") -> Iterator[tuple[str, str]]:
    """Yield the days that a model read from what is no ISO date, as '0', which counts seconds, as field and sentence.

    Args:
        value: A row as it was read, or a part of it.
        said: The same as it stands in the journal's line.
        name: Under which name it stands there.
    """
    if isinstance(value, date):
        if said != value.isoformat():
            yield name, f"{str(said)[:40]!a} is not a date as 2026-11-25"
    elif isinstance(value, tuple) and isinstance(said, list):
        for number, (part, told) in enumerate(zip(value, said, strict=False)):
            yield from misread_days(part, told, f"{name}.{number}" if name else str(number))
    elif hasattr(type(value), "model_fields") and isinstance(said, dict):
        for key, told in said.items():
            yield from misread_days(getattr(value, key, None), told, f"{name}.{key}" if name else key)


def is_zone(name: str) -> bool:
    """Return whether times can be reckoned in a zone of this name."""
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return False
    return True


def zone_doubt(name: str) -> str:
    """Return why a time zone cannot be a collection's; '' when it can."""
    known = available_timezones()
    if name in known:
        return ""
    alike = near(name, known)
    return f"no time zone named '{name}'" + (f"; did you mean {' or '.join(alike)}?" if alike else "")


def instant_doubt(text: str) -> str:
    """Return why a text is no instant of the journal, as 2026-11-20T18:03:00Z; '' when it is one."""
    try:
        instant = datetime.strptime(text, "%Y-%m-%dT%H:%M:%SZ")  # noqa: DTZ007 - Z is UTC
    except ValueError:
        return f"{text[:40]!a} is not an instant as 2026-11-20T18:03:00Z"
    if not FIRST_YEAR <= instant.year <= LAST_YEAR:
        return f"{text} is too far away; allowed are {FIRST_YEAR} to {LAST_YEAR}"
    return ""


def signature_doubt(by: str) -> str:
    """Return why a name cannot sign an entry; '' when it can."""
    is_broken = any(unicodedata.category(sign)[0] in "CZ" and sign != " " for sign in by)
    if by.strip() and len(by) <= LONGEST_BY and not is_broken:
        return ""
    return f"{by[: LONGEST_BY + 1]!a} cannot sign an entry; a name of 1 to {LONGEST_BY} characters on one line can"
