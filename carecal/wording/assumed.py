"""Sentences on what was taken as done because nobody said otherwise. It decides nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from carecal.wording.dates import day_text, listed
from carecal.wording.tasks import done_word

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

__all__ = ["assumed_lines", "logged_as", "taken_as"]

MOST_NAMED = 6  # our choice, because a command that is typed again stays short


def taken_as(name: str, care: str, on: date) -> str:
    """Return the question after a wetting that nobody spoke of."""
    return f"I took {name} as {done_word(care)} on {day_text(on)}; true?"


def logged_as(care: str) -> str:
    """Return what a log says of such a wetting."""
    return f"taken as {done_word(care)}, nobody said so"


def assumed_lines(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return the questions of a round, a line each, then how they are answered in one word."""
    if not rows:
        return []
    names = " ".join(row["plant"] for row in rows[:MOST_NAMED])
    lines = [f"? {row['text']}" for row in rows[:MOST_NAMED]]
    if len(rows) > MOST_NAMED:
        others = listed([row["name"] for row in rows[MOST_NAMED:]])
        lines.append(f"? And so {others}; true?")
    every = "" if len(rows) > 1 else f" {names}"
    return [*lines, f"  yes: carecal confirm{every}   no: carecal missed {rows[0]['plant']}"]
