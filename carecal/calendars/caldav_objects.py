"""Objects of a calendar server: one event or to-do each, taken from a calendar, held against what stands there."""

from __future__ import annotations

from typing import Any

from icalendar import Calendar

__all__ = ["is_same", "is_ticked", "merged", "objects_of", "part_of", "says_other"]

STAMPS = frozenset({"DTSTAMP", "LAST-MODIFIED", "CREATED", "SEQUENCE"})  # each program writes its own


def objects_of(body: bytes) -> dict[str, bytes]:
    """Return each event and to-do of a calendar as a calendar of its own, by UID, with the time zones it names."""
    product, zones = b"PRODID:-//carecal//carecal//EN", b""
    blocks: list[list[bytes]] = []
    depth = 0
    for line in body.split(b"\r\n"):
        if line.startswith(b"BEGIN:"):
            depth += 1
            if depth == 2:  # a part of the calendar itself
                blocks.append([])
        elif depth == 1 and line.startswith(b"PRODID:"):
            product = line
        if depth >= 2:
            blocks[-1].append(line)
        depth -= line.startswith(b"END:")
    zones = b"".join(b"\r\n".join(block) + b"\r\n" for block in blocks if block[0] == b"BEGIN:VTIMEZONE")
    head = b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\n" + product + b"\r\nCALSCALE:GREGORIAN\r\n"
    found = {}
    for block in blocks:
        uid = next((line[4:].decode() for line in block if line.startswith(b"UID:")), "")
        if uid:
            part = b"\r\n".join(block) + b"\r\n"
            found[uid] = head + (zones if b";TZID=" in part else b"") + part + b"END:VCALENDAR\r\n"
    return found


def part_of(body: bytes, uid: str) -> Any:
    """Return the event or to-do of a UID; None where there is none that can be read."""
    try:
        parts = Calendar.from_ical(body).subcomponents
    except (ValueError, KeyError, IndexError, TypeError, AttributeError):
        return None
    return next((part for part in parts if str(part.get("UID", "")) == uid), None)


def is_ticked(body: bytes, uid: str) -> bool:
    """Whether a to-do is done, by any of the marks that programs set."""
    part = part_of(body, uid)
    if part is None or part.name != "VTODO":
        return False
    return (
        str(part.get("STATUS", "")).upper() == "COMPLETED"
        or "COMPLETED" in part
        or str(part.get("PERCENT-COMPLETE", "")) == "100"
    )


def merged(ours: bytes, theirs: bytes, uid: str) -> bytes:
    """Return our object with what other programs have added to theirs: their own X- properties and alarms."""
    own, other = part_of(ours, uid), part_of(theirs, uid)
    if own is None or other is None:
        return ours
    extra = [
        (name, value)
        for name, value in other.items()
        if name.startswith("X-") and not name.startswith("X-CARECAL") and name not in own
    ]
    alarms = [] if own.walk("VALARM") else other.walk("VALARM")
    if not extra and not alarms:
        return ours
    calendar = Calendar.from_ical(ours)
    target = next(part for part in calendar.subcomponents if str(part.get("UID", "")) == uid)
    for name, value in extra:
        target[name] = value
    target.subcomponents += alarms
    return bytes(calendar.to_ical())


def is_same(ours: bytes, theirs: bytes, uid: str) -> bool:
    """Return whether two objects say the same of a UID, in whatever order and folding."""
    own, other = part_of(ours, uid), part_of(theirs, uid)
    return own is not None and other is not None and _lines(own) == _lines(other)


def says_other(ours: bytes, theirs: bytes, uid: str) -> bool:
    """Return whether theirs says anything of a UID that ours does not, their own X- properties and alarms apart."""
    own, other = part_of(ours, uid), part_of(theirs, uid)
    return own is None or other is None or _said(own) != _said(other)


def _said(part: Any) -> list[str]:
    """Return the properties that carecal answers for."""
    return sorted(
        f"{name}:{_text(value)}"
        for name, value in _properties(part)
        if name not in STAMPS and (not name.startswith("X-") or name.startswith("X-CARECAL"))
    )


def _lines(part: Any) -> list[str]:
    """Return all properties, those of its alarms too."""
    return sorted(
        f"{each.name} {name}:{_text(value)}" for each in part.walk() for name, value in _properties(each)
    )


def _properties(part: Any) -> Any:
    return part.property_items(recursive=False, sorted=False)


def _text(value: Any) -> str:
    content = value.to_ical() if hasattr(value, "to_ical") else value
    return content.decode() if isinstance(content, bytes) else str(content)
