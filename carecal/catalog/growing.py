"""Rows on what a plant stands in and where: media, containers, places, reference intervals; data only."""

from typing import Literal, NamedTuple

from carecal.catalog.ranges import (
    Centimetres,
    Count,
    Days,
    Factor,
    Months,
    PartDays,
    Percent,
    Share,
    Speed,
    Temperature,
)

__all__ = ["AirClass", "Aspect", "Container", "Medium", "PlaceKind", "ReferenceRow"]

_ROTS_NEVER = 999  # life_months_high of a medium that does not rot, as media.toml says [months]


class Medium(NamedTuple):
    """A medium: how it holds water, how long it lasts, when it is wetted, fed and flushed."""

    medium: str
    describes: str
    water_pct_low: Percent  # water held after draining [% of the volume]
    water_pct_high: Percent
    air_pct_low: Percent  # air left after draining [% of the volume]
    air_pct_high: Percent
    life_months_low: Months  # look at it from; 999 = does not rot
    life_months_high: Months
    min_days: Days  # floor of every interval
    max_days: Days  # ceiling of every interval
    max_days_in_reservoir: Days | None  # ceiling over a filled reservoir
    wet_too_long_days: Days | None  # still wet after so long: an emergency; none = by intervals alone
    window_before: Share  # of the interval
    window_after: Share
    water_at_fraction: Share  # of the water held
    tie: Literal["earlier", "later"]
    technique: str
    flush_days: Days  # 0 = never
    flush_efficiency: Share
    feed_run_max: Count  # fed wettings in a row
    cautions: tuple[str, ...]  # shown where it is potted into or out of
    source: str
    also: tuple[str, ...]  # what the trade calls it too

    @property
    def rots(self) -> bool:
        """Whether it has to be replaced one day."""
        return self.life_months_high < _ROTS_NEVER


class Container(NamedTuple):
    """A container: how fast it dries against a plastic pot and how far it cools in moving air."""

    container: str
    describes: str
    interval_factor: Factor
    wind_sensitivity: Share
    cooling_still: Share  # of the wet-bulb depression
    cooling_room: Share
    cooling_gentle: Share
    cooling_breezy: Share
    cooling_windy: Share
    has_reservoir: bool
    see_roots: bool  # roots are seen through it
    source: str
    also: tuple[str, ...]  # what the trade calls it too

    @property
    def cooling(self) -> dict[str, float]:
        """Cooling of the medium by air class [share of the wet-bulb depression]."""
        return {
            "still": self.cooling_still,
            "room": self.cooling_room,
            "gentle": self.cooling_gentle,
            "breezy": self.cooling_breezy,
            "windy": self.cooling_windy,
        }


class AirClass(NamedTuple):
    """A class of air movement at the plant."""

    air_class: str
    speed_m_s: Speed
    describes: str
    source: str


class PlaceKind(NamedTuple):
    """A kind of place with its usual climate; a blank is never guessed."""

    kind: str
    describes: str
    day_winter_c: Temperature | None
    day_summer_c: Temperature | None
    night_winter_c: Temperature | None
    night_summer_c: Temperature | None
    rh_winter_pct: Percent | None
    rh_summer_pct: Percent | None
    air_winter: str | None
    air_summer: str | None
    light_fraction: Share | None  # of the daylight outdoors
    light_source: Literal["daylight", "lamp"] | None
    heated: bool | None
    outdoors: bool
    source: str


class Aspect(NamedTuple):
    """Which way a window looks, by hemisphere, and what that is worth in light."""

    aspect: str
    compass_north: tuple[str, ...]
    compass_south: tuple[str, ...]
    light_factor: Factor
    source: str


class ReferenceRow(NamedTuple):
    """Days between wettings under reference conditions; size 0 holds for every size."""

    medium: str
    container: str
    size_cm: Centimetres
    days: PartDays
    role: Literal["base", "reservoir", "fixed", "moistening"]
    source: str
