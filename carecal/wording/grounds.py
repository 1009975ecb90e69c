"""What a rule rests on, in words: our choice and why, practice, sources, where growers differ. It decides nothing."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from carecal.wording.clean import clean_line

__all__ = ["choices_in", "ground_lines", "ground_text", "side_text"]

_OURS = re.compile(r"(?:^|[;,]\s*)(?:([^;:,]{1,60}):\s*)?our choice(?:(?:, because|:)\s+([^;]+))?")

_KEY = re.compile(r"[A-Z][A-Z0-9-]{2,}")  # of a source


def choices_in(source: str) -> list[str]:
    """Return the reasons of what is our own choice in the words of a source, each with what it is about where told.

    An empty list: nothing of it is. A choice without a reason is an empty text.
    """
    found = []
    for about, why in _OURS.findall(source):
        named = about.strip() if about and not _KEY.fullmatch(about.strip()) else ""
        found.append(f"{named}: {why.strip()}" if named and why else why.strip())
    return found


def ground_text(what: str, source: str, keys: Iterable[str]) -> str:
    """Return what a rule rests on: 'Looks of an established plant: our choice, because each wetting is a look too'.

    Args:
        what: The rule, in words.
        source: Where its numbers come from, as its row says.
        keys: Sources that the row cites.
    """
    named, ours = ", ".join(dict.fromkeys(keys)), choices_in(source)
    because = "; ".join(dict.fromkeys(why for why in ours if why))
    tail = f", because {because}" if because else ""
    has_practice = "common practice" in source or "from memory" in source
    if ours and not named and not has_practice:
        return f"{what}: our choice{tail}"
    by = " and ".join(part for part in ("common practice" if has_practice else "", named) if part)
    if ours:
        return f"{what}: in part our choice{tail}; else by {by}"
    return f"{what}: by {by}" if by else f"{what}: {clean_line(source)}"


def side_text(row: Mapping[str, Any], plant: str) -> str:
    """Return where growers differ: the question, what is taken and why, what others do, and how to change it."""
    taken, other = row["side"], "a" if row["side"] == "b" else "b"
    because = f", because {row['because']}" if taken == row["default"] else " (you chose it)"
    return (
        f"{row['question']} Growers differ. Here: {row[taken]}{because}. Others: {row[other]}. "
        f"To change it: carecal side {row['key']} {other} --plant {plant}"
    )


def ground_lines(grounds: Mapping[str, Any]) -> Iterator[str]:
    """Yield what a plant's plan rests on: our own choices first, then the rest, then where growers differ."""
    for head, kind in (
        ("Our choice alone:", "ours"),
        ("In part our choice:", "part"),
        ("By others:", "others"),
    ):
        rows = [row["text"] for row in grounds["rules"] if row["kind"] == kind]
        if rows:
            yield head
            yield from (f"  {text}" for text in rows)
    if grounds["sides"]:
        yield "Where growers differ:"
        yield from (f"  {row['text']}" for row in grounds["sides"])
