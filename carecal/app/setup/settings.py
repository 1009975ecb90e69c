"""Entries that set a collection up: its beginning, supplies, settings. They are checked here, not written."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, available_timezones

from carecal.app.command_context import one_of
from carecal.app.make_entries import make_entry
from carecal.catalog.names import near
from carecal.collection.entries import (
    ClockConfirmed,
    CollectionStarted,
    SettingChanged,
    SupplyFertiliser,
)
from carecal.collection.facts import ASK, CARE_DAYS, FEED_PPM, KEEP, NOTES_SHOWN
from carecal.errors import Refused, UnknownName
from carecal.horticulture.nutrition import oxide_analysis
from carecal.planning.spans import WEEKDAYS
from carecal.planning.wettings.strength import LEAST_PPM

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.entries import Entry

__all__ = [
    "SETTINGS",
    "address_named",
    "fertiliser",
    "setting",
    "setting_doubt",
    "settings_of",
    "started",
    "strength_of",
    "zone_named",
]

SETTINGS = {
    "weekdays": ("wed,sat", "preferred days of care, as wed,sat; or none"),
    "ticking": ("usual", "what happens to care that nobody ticked: usual, careful or none"),
    "units": ("metric", "units shown: metric or imperial"),
    "public-address": (
        "",
        "address under which phones reach the calendars, as https://plants.example; or none",
    ),
    FEED_PPM: (
        "",
        "strength you feed at, if not the one the kinds ask for, in mg/L of nitrogen; or none",
    ),
    CARE_DAYS: (ASK, "whether days that fit together are proposed once: ask, or keep the days as they are"),
    NOTES_SHOWN: ("no", "whether calendars and what is given away carry your notes: yes or no"),
}
CLOCK = "clock"
MOST_PPM = 300.0  # our choice, because stronger burns what any source feeds [mg/L of N]
_ADDRESS = re.compile(r"https?://[A-Za-z0-9.\-\[\]:]+(?:/[A-Za-z0-9._~\-/]*)?", re.ASCII)


def zone_named(name: str) -> str:
    """Return the name of a time zone that exists.

    Raises:
        Refused: There is none of that name; names the near ones.
    """
    known = available_timezones()
    if name not in known:
        raise UnknownName("time zone", name, near(name, known))
    return ZoneInfo(name).key


def started(
    now: Now, name: str, latitude: float, longitude: float, *, elevation_m: float = 0.0, timezone: str = "UTC"
) -> CollectionStarted:
    """Return the first entry of a collection.

    Args:
        now: The moment of the command.
        name: Its name.
        latitude: North positive. [°]
        longitude: East positive. [°]
        elevation_m: Height above the sea. [m]
        timezone: Name of its time zone.

    Raises:
        Refused: A value is out of range, or the zone is unknown.
    """
    return make_entry(
        CollectionStarted,
        on=now.day,
        name=name,
        latitude=latitude,
        longitude=longitude,
        elevation_m=elevation_m,
        timezone=zone_named(timezone),
    )


def setting(now: Now, key: str, value: str) -> Entry:
    """Return the entry of a setting, or of the clock that is right after all.

    Raises:
        Refused: The key is unknown or the value not allowed; names what is.
    """
    if key == CLOCK:
        one_of("clock", value, ("confirmed",))
        return make_entry(ClockConfirmed, on=now.day)
    if key not in SETTINGS:
        raise UnknownName("setting", key, near(key, [*SETTINGS, CLOCK]) or (*SETTINGS, CLOCK))
    return make_entry(SettingChanged, on=now.day, key=key, value=_checked(key, value.strip()))


def setting_doubt(key: str, value: str) -> str:
    """Return why a setting cannot be so, whoever wrote it; '' when it can."""
    if key not in SETTINGS:
        return f"no setting named '{key[:40]}'; known are {', '.join(SETTINGS)}"
    try:
        _checked(key, value or "none")
    except Refused as refusal:
        return str(refusal)
    return ""


def _checked(key: str, value: str) -> str:
    """Return the value as it is kept; an emptied address is ''."""
    if key == "weekdays":
        return _weekdays(value)
    if key == "ticking":
        return one_of(key, value, ("usual", "careful", "none"))
    if key == CARE_DAYS:
        return one_of(key, value, (ASK, KEEP))
    if key == NOTES_SHOWN:
        return one_of(key, value, ("yes", "no"))
    if key == "units":
        return one_of(key, value, ("metric", "imperial"))
    if value == "none":
        return ""
    if key == FEED_PPM:
        return _strength(value)
    return address_named(key, value, or_none=True)


def address_named(key: str, value: str, *, or_none: bool = False) -> str:
    """Return an address under which others reach a server, without a slash at its end.

    Args:
        key: What was given it.
        value: What was given.
        or_none: Whether 'none' would have been allowed, for what is said.

    Raises:
        Refused: It is none.
    """
    if not _ADDRESS.fullmatch(value):
        more = ", or none" if or_none else ""
        raise Refused(f"{key} '{value}' is not an address; write it as https://plants.example{more}")
    return value.rstrip("/")


def _strength(value: str) -> str:
    """Return a strength as it is kept. [mg/L of N]."""
    return f"{strength_of(value):g}"


def strength_of(value: str) -> float:
    """Return a typed strength of feed [mg/L of N].

    Raises:
        Refused: It is no number, or weaker or stronger than anybody feeds.
    """
    try:
        ppm = float(value)
    except ValueError:
        ppm = -1.0
    if not LEAST_PPM <= ppm <= MOST_PPM:
        raise Refused(
            f"feed-ppm '{value[:40]}' is no strength; allowed are {LEAST_PPM:g} to {MOST_PPM:g} mg/L of N, or none"
        )
    return ppm


def _weekdays(value: str) -> str:
    if value.casefold() == "none":
        return "none"
    days = [part.strip().casefold()[:3] for part in value.split(",")]
    wrong = [part for part, day in zip(value.split(","), days, strict=True) if day not in WEEKDAYS]
    if wrong:
        raise Refused(
            f"weekday '{wrong[0].strip()}' is not known; allowed are {', '.join(WEEKDAYS)}, or none"
        )
    return ",".join(sorted(set(days), key=WEEKDAYS.index))


def settings_of(collection: Collection, now: Now) -> dict[str, str]:
    """Return every setting as it stands on the day; 'none' where it is empty."""
    facts = collection.timeline(now.day, plants=set()).facts
    return {key: facts.setting(key, default) or "none" for key, (default, _) in SETTINGS.items()}


def fertiliser(
    now: Now,
    name: str,
    analysis: Sequence[float],
    *,
    label_rate_g_per_l: float | None = None,
    ec_per_100_ppm: float | None = None,
    elemental: bool = False,
) -> Entry:
    """Return the entry of a fertiliser by its label.

    Args:
        now: The moment of the command.
        name: What it is called here.
        analysis: N, P₂O₅ and K₂O of the label. [%]
        label_rate_g_per_l: The label's rate. [g/L]
        ec_per_100_ppm: Conductivity that 100 mg/L of N add. [mS/cm]
        elemental: Whether the label prints P and K as elements, not as oxides.

    Raises:
        Refused: A value is out of range, or the three exceed 100 %.
    """
    if sum(analysis) > 100:
        shown = "-".join(f"{share:g}" for share in analysis)
        raise Refused(f"analysis {shown} makes {sum(analysis):g} %; allowed are 100 % in all")
    n_pct, p2o5_pct, k2o_pct = oxide_analysis(analysis) if elemental else analysis
    return make_entry(
        SupplyFertiliser,
        on=now.day,
        name=name,
        n_pct=n_pct,
        p2o5_pct=p2o5_pct,
        k2o_pct=k2o_pct,
        label_rate_g_per_l=label_rate_g_per_l,
        ec_per_100_ppm=ec_per_100_ppm,
    )
