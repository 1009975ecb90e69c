"""No output says 'inf days' or a date years away, whatever the kind and however odd its place; oracle: common sense."""

from __future__ import annotations

import re
from datetime import date, timedelta

from tests.cli.cli_run import done, typed

ON = date(2026, 11, 10)
BEGAN = date(2026, 8, 1)
NUMBERS = re.compile(r"\b(?:inf|nan|NaN|None|Infinity)\b")
DATES = re.compile(
    r"\b(\d{4})-\d\d-\d\d\b|\b\d{1,2} (?:January|February|March|April|May|June|July|August|September"
    r"|October|November|December) (\d{4})\b"
)
PLACES = (("frost", "9/4", "9/4"), ("oven", "37/33", "37/33"), ("mild", "16/14", "24/18"))
OUTPUTS = (
    ("today", "--days", "30"),
    ("plan",),
    ("steps",),
    ("year", "2026"),
    ("plant", "list"),
)
OF_PLANT = (("why",),)


def said(*words: str, on: date = ON) -> str:
    """Say a command and return what it prints."""
    return done(*words, as_of=on.isoformat()).out


def faults(text: str) -> list[str]:
    """Return numbers that are none, and dates beyond two years from the day."""
    years = [year for found in DATES.findall(text) for year in found if year]
    return NUMBERS.findall(text) + [year for year in years if not 2020 <= int(year) <= ON.year + 2]


def test_no_kind_at_no_place_is_told_what_cannot_be(home: object) -> None:
    """Kinds of all sorts, counted thrice at a snail's pace and in spike, at odd places: all numbers are sane."""
    assert home
    kinds = ["phalaenopsis"] * 3 + [
        "masdevallia",
        "dendrobium-nobile",
        "vanda",
    ]  # one of each at an odd place
    said("init", "Quay", "--latitude", "54.3", "--longitude", "10", "--timezone", "Europe/Berlin", on=BEGAN)
    for place, winter, summer in PLACES:
        said("place", "add", place, "--kind", "patio", "--winter", winter, "--summer", summer, on=BEGAN)
    for at, kind in enumerate(kinds):
        plant = f"plant-{at}"
        said(
            *typed(
                f"plant add {plant} --profile {kind} --medium bark --container plastic --size 12 "
                f"--place {PLACES[at % 3][0]} --roots 2 --longest 30 --leaves 2"
            ),
            on=BEGAN,
        )
        for weeks in (4, 8):
            grown = f"{30 + weeks / 40:g}"
            said("observe", plant, "--longest", grown, "--leaves", "2", on=BEGAN + timedelta(weeks=weeks))
        said("observe", plant, "--flowering", "in-spike", on=BEGAN + timedelta(weeks=9))
    texts = [said(*words) for words in OUTPUTS]
    for at in range(len(kinds)):
        texts += [said(*words, f"plant-{at}") for words in OF_PLANT]
    texts += [said("pot", f"plant-{at}", "--compare") for at in range(2)]
    assert [fault for text in texts for fault in faults(text)] == []


def test_an_outline_kind_is_told_nothing_of_phalaenopsis(home: object) -> None:
    """A Cymbidium with counts and a spike: no leaf, root or flower date by the numbers of another kind."""
    assert home
    said("init", "Quay", "--latitude", "54.3", "--longitude", "10", "--timezone", "Europe/Berlin", on=BEGAN)
    said("place", "add", "sill", "--kind", "warm-sill", on=BEGAN)
    for plant, kind in (("oar", "cymbidium"), ("tide", "phalaenopsis")):
        said(
            *typed(
                f"plant add {plant} --profile {kind} --medium bark --container plastic --size 12 "
                "--place sill --roots 2 --longest 30 --leaves 3"
            ),
            on=BEGAN,
        )
    own, other = said("why", "oar", on=BEGAN), said("why", "tide", on=BEGAN)
    assert "a leaf in" in other
    assert "mm a day as is usual" in other
    assert "a leaf in" not in own
    assert "as is usual" not in own
    assert "spike" not in own
