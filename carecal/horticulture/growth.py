"""Growth and flowering by temperature: leaves, spikes and flowers; a plant's own roots are in `roots`."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import islice
from math import inf
from typing import NamedTuple

from carecal.errors import Refused
from carecal.horticulture.rounding import half_up

__all__ = [
    "ABORT_C",
    "CAP_C",
    "BloomForecast",
    "SpikeForecast",
    "ThermalTime",
    "bloom_forecast",
    "days_per_leaf",
    "inductive_days",
    "is_inductive",
    "spike_forecast",
    "thermal_time_date_offset",
    "thermal_time_days",
    "thermal_time_fit",
]

EPSILON = 1e-9
CAP_C = 26.0  # ROBINSON2003: above it the rate is held [°C]
ABORT_C = 29.0  # ROBINSON2003: at it most buds abort [°C]
INDUCTIVE_MEAN_C = 26.0  # BLANCHARD2006, NEWTON2009 [°C]
HOT_HOURS = 8.0  # NEWTON2009: hours above 28 °C that stop induction [h]
SPIKE_DAYS = (28, 56, 140)  # BLANCHARD2006: 80 % within 20 weeks; 4 to 8 weeks: common practice (no source)
LEAF_THETA_C_D, LEAF_BASE_C = 830.0, 12.8  # WANGDIF, two points, greenhouse
FORECAST_DAYS = 730  # our choice, because no spike lasts two years


class ThermalTime(NamedTuple):
    """A thermal time and the temperature above which it is counted."""

    base_c: float  # [°C]
    theta_c_d: float  # [°C d]


SPIKE_TO_FLOWER = (ThermalTime(10.8, 769.0), ThermalTime(6.5, 1365.0))  # ROBINSON2003, the ends of the band


class BloomForecast(NamedTuple):
    """Days from the spike to its first open flower, the day of the spike being 0; None is beyond the forecast."""

    earliest: int | None  # [d]
    likely: int | None  # [d]
    latest: int | None  # [d]
    held_days: int  # days above 26 °C until the latest, on which the rate is held [d]
    abort_days: int  # days of 29 °C and more until the latest, on which buds may abort [d]


class SpikeForecast(NamedTuple):
    """Days until a spike may show; None is beyond the days given."""

    earliest: int | None  # [d]
    likely: int | None  # by then most have shown [d]
    latest: int | None  # [d]


def thermal_time_days(theta_c_d: float, base_c: float, mean_c: float, cap_c: float = inf) -> float:
    """Return the days a thermal time takes at a constant temperature; infinite at or below the base [d].

    Args:
        theta_c_d: Thermal time. [°C d]
        base_c: Temperature at which growth stands. [°C]
        mean_c: Mean temperature. [°C]
        cap_c: Temperature above which the rate is held. [°C]

    Source: ROBINSON2003.
    """
    rate = min(mean_c, cap_c) - base_c
    return theta_c_d / rate if rate > 0 else inf


def thermal_time_date_offset(
    theta_c_d: float, base_c: float, cap_c: float, daily_mean_c: Iterable[float]
) -> int | None:
    """Return the day on which a thermal time is reached, counted from day 0, or None if the days run out [d].

    Args:
        theta_c_d: Thermal time. [°C d]
        base_c: Temperature at which growth stands. [°C]
        cap_c: Temperature above which the rate is held. [°C]
        daily_mean_c: Daily means; the first is that of day 1, the day after the start. [°C]

    Source: ROBINSON2003.
    """
    total = 0.0
    for day, mean in enumerate(daily_mean_c, start=1):
        total += max(0.0, min(mean, cap_c) - base_c)
        if total >= theta_c_d - EPSILON:
            return day
    return None


def bloom_forecast(
    daily_mean_c: Sequence[float] | Callable[[int], float], factor: float = 1.0
) -> BloomForecast:
    """Return when a spike seen on day 0 opens its first flower: the two printed thermal times and their middle.

    Args:
        daily_mean_c: Means of day 1, 2 and so on, or a function from the day's number to its mean. [°C]
        factor: The plant's own: how its earlier spikes went against this forecast, 1 without any. [-]

    Source: ROBINSON2003 prints a thermal time and a range in weeks that disagree: both ends are shown.
    """
    means = (
        [daily_mean_c(day) for day in range(1, FORECAST_DAYS + 1)] if callable(daily_mean_c) else daily_mean_c
    )
    days = list(islice(means, FORECAST_DAYS))
    ends = [thermal_time_date_offset(time.theta_c_d, time.base_c, CAP_C, days) for time in SPIKE_TO_FLOWER]
    known = sorted(end for end in ends if end is not None)
    seen = days[: known[-1]] if len(known) == len(ends) else days
    hot = (sum(mean > CAP_C for mean in seen), sum(mean >= ABORT_C for mean in seen))
    early = half_up(known[0] * factor) if known else None
    if len(known) < len(ends):
        return BloomForecast(early, None, None, *hot)
    return BloomForecast(early, half_up(sum(known) / 2 * factor), half_up(known[-1] * factor), *hot)


def days_per_leaf(mean_c: float, theta_c_d: float = LEAF_THETA_C_D, base_c: float = LEAF_BASE_C) -> float:
    """Return the days between two new leaves; infinite at or below the base [d].

    A home plant is slower than a greenhouse's: with the defaults this is the fastest sensible rate.

    Args:
        mean_c: Mean temperature. [°C]
        theta_c_d: Thermal time of a leaf. [°C d]
        base_c: Temperature at which growth stands. [°C]

    Source: WANGDIF, two points; LOPEZ2004 for another kind.
    """
    return thermal_time_days(theta_c_d, base_c, mean_c)


def is_inductive(day_mean_c: float, hours_above_28: float = 0.0) -> bool:
    """Return whether a day helps to bring a spike.

    Args:
        day_mean_c: Mean of the day. [°C]
        hours_above_28: Hours above 28 °C. [h]

    Source: BLANCHARD2006, NEWTON2009.
    """
    return day_mean_c <= INDUCTIVE_MEAN_C + EPSILON and hours_above_28 < HOT_HOURS


def inductive_days(day_mean_c: Sequence[float], hours_above_28: Sequence[float] | None = None) -> int:
    """Return how many days help to bring a spike [d].

    Args:
        day_mean_c: Means of the days. [°C]
        hours_above_28: Hours above 28 °C of the same days, none where left out. [h]

    Raises:
        Refused: the two lists differ in length.

    Source: BLANCHARD2006, NEWTON2009.
    """
    hours = [0.0] * len(day_mean_c) if hours_above_28 is None else hours_above_28
    if len(hours) != len(day_mean_c):
        raise Refused(f"{len(day_mean_c)} means and {len(hours)} hours; as many of each are needed")
    return sum(map(is_inductive, day_mean_c, hours))


def spike_forecast(inductive: Iterable[bool]) -> SpikeForecast:
    """Return the days on which 4, 8 and 20 weeks of inductive days are full [d].

    Args:
        inductive: Whether each day is inductive; the first is day 1.

    Source: BLANCHARD2006 (within 20 weeks); 4 to 8 weeks: common practice (no source).
    """
    reached: list[int] = []
    count = 0
    for day, helps in enumerate(inductive, start=1):
        count += helps
        if helps and count == SPIKE_DAYS[len(reached)]:
            reached.append(day)
            if len(reached) == len(SPIKE_DAYS):
                break
    return SpikeForecast(*reached, *[None] * (len(SPIKE_DAYS) - len(reached)))


def thermal_time_fit(mean_c: Sequence[float], days: Sequence[float]) -> ThermalTime:
    """Return base and thermal time from a straight line through the rates, 1/days, over temperature.

    Args:
        mean_c: Temperatures, two different ones at least. [°C]
        days: Days taken at each, above 0. [d]

    Raises:
        Refused: there are too few points, or the rate does not rise with temperature.

    Source: LOPEZ2008 for the data; SCIPY's linregress agrees.
    """
    if len(mean_c) != len(days) or len(set(mean_c)) < 2:
        raise Refused(f"{len(mean_c)} temperatures and {len(days)} durations; two different pairs are needed")
    rates = [1 / duration for duration in days]
    centre, middle = sum(mean_c) / len(mean_c), sum(rates) / len(rates)
    spread = sum((t - centre) ** 2 for t in mean_c)
    slope = sum((t - centre) * (rate - middle) for t, rate in zip(mean_c, rates, strict=True)) / spread
    if not slope > 0:
        raise Refused(f"rate changes by {slope:g} per °C; it must rise with temperature")
    return ThermalTime(centre - middle / slope, 1 / slope)
