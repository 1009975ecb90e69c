"""Sentences on the sick: what was found, what to do now, how it is wetted meanwhile. It decides nothing."""

from __future__ import annotations

from datetime import date

from carecal.wording.dates import day_text

__all__ = ["rot_head", "rot_text"]


def rot_head(where: str, since: date) -> str:
    """Return what was found, where and when."""
    return f"rot at the {where}, found {day_text(since)}"


def rot_text(does: str, dry_until: date | None, *, from_below: bool) -> str:
    """Return what rot asks for today, in whole sentences.

    Args:
        does: What is to be done now; '' once the days for it are over.
        dry_until: First day on which it may be wetted again, None where it may today.
        from_below: Whether it is wetted from below alone.
    """
    parts = [does] if does else []
    if dry_until is not None:
        parts.append(f"no water before {day_text(dry_until)}" + (", then from below" if from_below else ""))
    elif from_below:
        parts.append("water from below or at the edge, in the morning")
    return " ".join(f"{part[:1].upper()}{part[1:]}." for part in parts)
