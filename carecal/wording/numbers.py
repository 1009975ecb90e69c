"""Small numbers of things in words: 'two tips', 'a root'; it knows no things."""

from __future__ import annotations

__all__ = ["counted", "counted_word"]

_WORDS = {1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}


def counted(number: int, thing: str) -> str:
    """Return so many things in words, figures from seven on: 'two tips'.

    Args:
        number: How many.
        thing: One of them, its plural by an s.
    """
    return f"{_WORDS.get(number, number)} {thing}{'' if number == 1 else 's'}"


def counted_word(number: int) -> str:
    """Return a number at the start of a sentence: 'Two', figures from seven on."""
    return _WORDS.get(number, str(number)).capitalize()
