"""The words of a notebook of care: what was done, felt, weighed and seen, as fields of an entry. It knows no plant."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from carecal.catalog.names import near
from carecal.collection.entries import Observed, Treated, Weighed
from carecal.collection.entries_care import Done, Left
from carecal.errors import Refused

if TYPE_CHECKING:
    from carecal.collection.entry_base import Entry

__all__ = ["FELT", "REPOTTED", "Told", "told_as"]

FELT = ("parched", "right", "damp")
FIRMNESS = ("firm", "soft", "wrinkled", "folded")
REPOTTED = "repotted"
CARES = {
    "watering": ("watered", "water", "watering"),
    "feeding": ("fed", "feed", "feeding", "fertilised", "fertilized"),
    "flushing": ("flushed", "flush", "flushing"),
    "refilling": ("refilled", "refill", "refilling"),
    "moistening": ("moistened", "moisten", "moistening", "misted"),
    "inspection": ("looked", "look", "looked over", "look over", "inspection"),
}
MEASURES = {
    "longest_mm": ("root length", "longest root", "longest", "root"),
    "newest_mm": ("new root", "newest root", "newest"),
    "spike_mm": ("spike length", "spike"),
}
COUNTS = {
    "roots": ("roots",),
    "tips": ("tips", "root tips"),
    "leaves": ("leaves",),
    "growths": ("growths", "new growths", "bulbs"),
}
FLOWERS = {
    "in-spike": ("new spike", "in spike"),
    "in-bloom": ("in bloom", "bloom", "first flower", "flowering"),
    "spent": ("spent", "flowers over", "last flower"),
}
SIGNS = ("new leaf", "new root", "note")
"""What was seen without a number: it is kept as a look with these words."""
OTHERS = ("felt", "weight", "weight full", "weight dry", "leaves feel", "found", "treated", REPOTTED)
ALSO = {"weighed": "weight", "firmness": "leaves feel", "seen": "found", "still damp": "damp", "left": "damp"}
SPOTS = ("crown", "stem", "leaf", "root")
_UNITS = {"g": {"": 1.0, "g": 1.0, "kg": 1000.0}, "mm": {"": 1.0, "mm": 1.0, "cm": 10.0}, "": {"": 1.0}}
_NUMBER = re.compile(r"(\d+(?:[.,]\d+)?) ?([a-z]*)", re.ASCII)
_THOUSANDS = re.compile(r"\d{1,3},\d{3}", re.ASCII)


class Told(NamedTuple):
    """What one row tells: the model and fields of its entry, or one of the words that other rows or plants decide on.

    Attributes:
        word: 'entry', 'felt' or 'repotted'.
        model: Of the entry; None for the other two.
        values: Fields of the entry, or how it felt.
    """

    word: str
    model: type[Entry] | None
    values: dict[str, object]


def told_as(what: str, value: str, note: str) -> Told:
    """Return what a row of a notebook tells.

    Args:
        what: What was done or seen, as 'watered' or 'root length'.
        value: How it felt, a number with or without its unit, or a name; '' where none is needed.
        note: Anything else.

    Raises:
        Refused: A word is not known, or the value is none that it takes; says what is allowed.
    """
    word = re.sub(r"[\s_-]+", " ", what.casefold()).strip(" .:")
    word, said = ALSO.get(word, word), value.strip()
    if word in FELT:
        word, said = "felt", said or word
    for found in (_care(word, said, note), _seen(word, said, note), _other(word, said, note)):
        if found is not None:
            return found
    raise Refused(_unknown(what, word))


def _care(word: str, value: str, note: str) -> Told | None:
    care = next((name for name, words in CARES.items() if word in words), None)
    if care is None:
        return None
    fields: dict[str, object] = {"care": care, "note": note or None}
    if value and care in {"moistening", "inspection"}:
        raise Refused(f"'{value}' is no value of {word}, which takes none; write it as a note")
    if value:
        fields["felt"] = _one_of(value, FELT, f"how it felt before it was {word}")
    return Told("entry", Done, fields)


def _seen(word: str, value: str, note: str) -> Told | None:
    measure = next((name for name, words in MEASURES.items() if word in words), None)
    count = next((name for name, words in COUNTS.items() if word in words), None)
    flower = next((name for name, words in FLOWERS.items() if word in words), None)
    fields: dict[str, object] = {"note": note or None}
    if measure is not None and (value or word not in SIGNS):
        fields[measure] = _number(value, "mm", word)
    elif count is not None:
        number = _number(value, "", word)
        if number != int(number):
            raise Refused(f"'{value}' is no count of {word}; allowed are whole numbers")
        fields[count] = int(number)
    elif flower is not None:
        fields["flowering"] = flower
        if value:
            fields["spike_mm" if flower == "in-spike" else "note"] = (
                _number(value, "mm", word) if flower == "in-spike" else _joined(value, note)
            )
    elif word in SIGNS:
        fields["note"] = _joined("" if word == "note" else word, value, note)
        if not fields["note"]:
            raise Refused("a note without words; write them as its value or note, or leave the row out")
    else:
        return None
    return Told("entry", Observed, fields)


def _other(word: str, value: str, note: str) -> Told | None:
    if word == "felt":
        felt = _one_of(value, FELT, "how the medium felt")
        return Told("felt", Left, {"felt": felt, "note": note or None})
    if word in {"weight", "weight full", "weight dry"}:
        mark = word.partition(" ")[2] or None
        return Told("entry", Weighed, {"weight_g": _number(value, "g", word), "mark": mark})
    if word == "leaves feel":
        firmness = _one_of(value, FIRMNESS, "how the leaves feel")
        return Told("entry", Observed, {"firmness": firmness, "note": note or None})
    if word == "found":
        return Told("entry", Observed, {**_find(value), "note": note or None})
    if word == "treated":
        did, _, against = value.casefold().partition(" against ")
        return Told("entry", Treated, {
            "did": did.strip().replace(" ", "-"), "against": _name(against) or None, "note": note or None,
        })  # fmt: skip
    return Told(REPOTTED, None, {"note": _joined(value, note) or None}) if word == REPOTTED else None


def _find(value: str) -> dict[str, object]:
    """Return what was found and where, from 'mealybugs', 'rot crown' or 'rot on a leaf'."""
    words = [word for word in value.casefold().split() if word not in {"on", "in", "at", "a", "the"}]
    where = words.pop() if len(words) > 1 and words[-1] in SPOTS else None
    if not words:
        raise Refused("nothing stands as what was found; write a pest or rot with its place, as 'rot crown'")
    if words == ["rot"] and where is None:
        raise Refused(f"rot without its place; write {', '.join(f'rot {spot}' for spot in SPOTS)}")
    return {"seen": _name(" ".join(words)), "where": where}


def _name(text: str) -> str:
    """Return a name of a table from how people write it: of several of a pest one."""
    name = text.strip().casefold().replace(" ", "-")
    return name[:-1] if name.endswith("s") and not name.endswith(("ss", "virus", "thrips")) else name


def _number(value: str, unit: str, word: str) -> float:
    shown = f" [{unit}]" if unit else ""
    if not value:
        raise Refused(f"no number for {word}{shown}")
    match = _NUMBER.fullmatch(value.casefold())
    if match is None or match[2] not in _UNITS[unit]:
        raise Refused(f"'{value}' is no number for {word}{shown}; write it as 62, 62.5 or 62,5")
    if _THOUSANDS.fullmatch(match[1]):
        raise Refused(f"'{value}' may be thousands or decimals; write it without a comma")
    return round(float(match[1].replace(",", ".")) * _UNITS[unit][match[2]], 3)


def _one_of(value: str, words: tuple[str, ...], what: str) -> str:
    word = value.casefold().strip()
    if word not in words:
        told = f"'{value}' does not say" if value else "nothing says"
        raise Refused(f"{told} {what}; allowed are {', '.join(words)}")
    return word


def _joined(*parts: str) -> str:
    return ": ".join(part for part in parts if part)


def _unknown(what: str, word: str) -> str:
    cares = [words[0] for words in CARES.values()]
    measured = [words[0] for table in (MEASURES, COUNTS, FLOWERS) for words in table.values()]
    known = list(dict.fromkeys([*cares, *OTHERS, *measured, *SIGNS]))
    alike = near(word, known)
    if not what:
        return f"nothing says what was done or seen; allowed are {', '.join(known)}"
    hint = f"did you mean {' or '.join(alike)}?" if alike else f"allowed are {', '.join(known)}"
    return f"'{what}' is not known; {hint}"
