"""What a calendar shows and how: its options, their stable text for the ledger, their JSON. It builds nothing."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, fields
from datetime import time
from typing import Any, Literal, cast

from carecal.errors import Refused

__all__ = ["ALARM_MINUTES_MAX", "DAYS_MAX", "CalendarOptions", "Form", "Grouping"]

Grouping = Literal["rounds", "each"]
Form = Literal["events", "todos"]

DAYS_MAX = 400
"""Longest span that may be asked for. [days] Source: our choice, because no plan reaches beyond 13 months."""
ALARM_MINUTES_MAX = 7 * 24 * 60
"""Longest lead of an alarm. [min] Source: our choice, because a week ahead is no reminder any more."""


@dataclass(frozen=True, slots=True)
class CalendarOptions:
    """The options of one calendar.

    Args:
        grouping: 'rounds' is one event a care day, 'each' one rule or event a plant and care.
        form: 'events' or 'todos'.
        plant: Number of the only plant shown.
        place: Name of the only place shown.
        care: Name of the only care shown.
        at: Local time of the care; None writes whole days.
        alarm_minutes: Lead of an alarm before `at`, or before 09:00 of a whole day. [min]
        days: Shortest span shown; it runs on to the end of that month. [days]
        name: The name people read; empty takes the collection's.

    Raises:
        Refused: A value is outside what is allowed.
    """

    grouping: Grouping = "rounds"
    form: Form = "events"
    plant: int | None = None
    place: str | None = None
    care: str | None = None
    at: time | None = None
    alarm_minutes: int | None = None
    days: int | None = None
    name: str = ""

    def __post_init__(self) -> None:
        """Refuse what no calendar can be."""
        _require(self.grouping in {"rounds", "each"}, "grouping", self.grouping, "rounds or each")
        _require(self.form in {"events", "todos"}, "form", self.form, "events or todos")
        days, alarm = self.days, self.alarm_minutes
        _require(days is None or 1 <= days <= DAYS_MAX, "days", days, f"1 to {DAYS_MAX} days")
        _require(
            alarm is None or 0 <= alarm <= ALARM_MINUTES_MAX,
            "alarm",
            alarm,
            f"0 to {ALARM_MINUTES_MAX} minutes",
        )
        at = self.at
        _require(at is None or at == time(at.hour, at.minute), "time", at, "hours and minutes without a zone")

    @property
    def is_filtered(self) -> bool:
        """True when the calendar shows one plant, place or care only."""
        return not (self.plant is None and self.place is None and self.care is None)

    def key(self) -> str:
        """Return the stable text that names the ledger of a nameless calendar; the name does not count."""
        return "write/" + json.dumps({k: v for k, v in self._plain().items() if k != "name"}, sort_keys=True)

    def to_json(self) -> str:
        """Return the options as JSON; `from_json` gives them back."""
        return json.dumps(self._plain(), sort_keys=True)

    @classmethod
    def from_json(cls, text: str) -> CalendarOptions:
        """Return the options of a JSON text written by `to_json`.

        Raises:
            Refused: The text holds an unknown key or a value that is not allowed.
        """
        data = cast("dict[str, Any]", json.loads(text))
        unknown = sorted(data.keys() - {field.name for field in fields(cls)})
        _require(not unknown, "calendar options", ", ".join(unknown), "only the keys of CalendarOptions")
        if data.get("at") is not None:
            data["at"] = time.fromisoformat(data["at"])
        return cls(**data)

    def _plain(self) -> dict[str, Any]:
        """Return the options that differ from the defaults, as JSON values."""
        defaults = {field.name: field.default for field in fields(self)}
        plain = {name: value for name, value in asdict(self).items() if value != defaults[name]}
        plain["grouping"] = self.grouping
        if self.at is not None:
            plain["at"] = self.at.isoformat("minutes")
        return plain


def _require(holds: bool, what: str, value: object, allowed: str) -> None:
    """Raise Refused unless the condition holds."""
    if not holds:
        raise Refused(f"{what} is '{value}'; allowed: {allowed}")
