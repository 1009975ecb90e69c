"""Whether a new collection is asked, once, for days that fit together: when its first twelve waterings are known."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from carecal.collection.facts import ASK, CARE_DAYS, KEEP
from carecal.wording.rounds import FIRST_WETTINGS, twelve_known

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from carecal.collection.facts import CollectionFacts
    from carecal.collection.plants import PlantHistory

__all__ = ["STANDS_DAYS", "asked_once", "first_known", "is_settled"]

STANDS_DAYS = (
    14  # our choice, because who has not answered in two weeks of rounds does not want to be asked [d]
)
WATERINGS = frozenset({"watering", "refilling", "feeding", "flushing"})


def first_known(line: PlantHistory) -> list[str]:
    """Return on which days the first twelve waterings of a plant were written down, in order."""
    wet = (event for event in line.events if event.kind == "wet" and event.care in WATERINGS)
    return sorted(event.written[:10] for event in wet)[:FIRST_WETTINGS]


def is_settled(facts: CollectionFacts) -> bool:
    """Return whether the grower has chosen days already: taken some, set weekdays, or kept things as they are."""
    return bool(facts.care_dates or facts.settings.get("weekdays")) or facts.setting(CARE_DAYS, ASK) == KEEP


def asked_once(
    whole: Mapping[str, Any], rows: Iterable[Mapping[str, Any]], as_of: date
) -> dict[str, str] | None:
    """Return what is asked and until when; None before the twelfth watering, two weeks after it, and once answered.

    Args:
        whole: What is told of the collection.
        rows: What each plant gives.
        as_of: The day.
    """
    known = [row["wetted"] for row in rows if row.get("wetted")]
    days = sorted(day for each in known for day in each)
    if whole["has_days"] or len(known) < 2 or len(days) < FIRST_WETTINGS:  # one plant alone fits itself
        return None
    since = date.fromisoformat(days[FIRST_WETTINGS - 1])
    until = since + timedelta(days=STANDS_DAYS - 1)
    return {"text": twelve_known(), "until": until.isoformat()} if since <= as_of <= until else None
