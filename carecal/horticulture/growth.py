"""Growth and flowering by temperature: leaves, spikes and flowers; a plant's own roots are in `roots`."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import islice
from math import inf
from typing import NamedTuple

from carecal.horticulture.rounding import half_up

__all__ = [
    "BloomForecast",
    "BloomLimits",
    "SpikeForecast",
    "ThermalTime",
    "bloom_forecast",
    "days_per_leaf",
    "is_inductive",
    "spike_forecast",
    "thermal_time_date_offset",
    "thermal_time_days",
]

EPSILON = 1e-9
FORECAST_DAYS = 730  # our choice, because no spike lasts two years


class ThermalTime(NamedTuple):
    """A thermal time and the temperature above which it is counted."""

    base_c: float  # [°C]
    theta_c_d: float  # [°C d]


class BloomLimits(NamedTuple):
    """What a kind of orchid asks of warmth from its spike to its first flower."""

    early: ThermalTime  # one end of the band
    late: ThermalTime  # the other
    cap_c: float  # above it the rate is held [°C]
    abort_c: float  # at it most buds abort [°C]


class BloomForecast(NamedTuple):
    """Days from the spike to its first open flower, the day of the spike being 0; None is beyond the forecast."""

    earliest: int | None  # [d]
    likely: int | None  # [d]
    latest: int | None  # [d]
    held_days: int  # days above the cap until the latest, on which the rate is held [d]
    abort_days: int  # days hot enough until the latest, on which buds may abort [d]


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
    limits: BloomLimits, daily_mean_c: Sequence[float] | Callable[[int], float], factor: float = 1.0
) -> BloomForecast:
    """Return when a spike seen on day 0 opens its first flower: the two printed thermal times and their middle.

    Args:
        limits: Those of the kind.
        daily_mean_c: Means of day 1, 2 and so on, or a function from the day's number to its mean. [°C]
        factor: The plant's own: how its earlier spikes went against this forecast, 1 without any. [-]

    Source: ROBINSON2003 prints a thermal time and a range in weeks that disagree: both ends are shown.
    """
    means = (
        [daily_mean_c(day) for day in range(1, FORECAST_DAYS + 1)] if callable(daily_mean_c) else daily_mean_c
    )
    days = list(islice(means, FORECAST_DAYS))
    ends = [thermal_time_date_offset(time.theta_c_d, time.base_c, limits.cap_c, days) for time in limits[:2]]
    known = sorted(end for end in ends if end is not None)
    seen = days[: known[-1]] if len(known) == len(ends) else days
    hot = (sum(mean > limits.cap_c for mean in seen), sum(mean >= limits.abort_c for mean in seen))
    early = half_up(known[0] * factor) if known else None
    if len(known) < len(ends):
        return BloomForecast(early, None, None, *hot)
    return BloomForecast(early, half_up(sum(known) / 2 * factor), half_up(known[-1] * factor), *hot)


def days_per_leaf(mean_c: float, theta_c_d: float, base_c: float) -> float:
    """Return the days between two new leaves; infinite at or below the base [d].

    A home plant is slower than a greenhouse's: with published values this is the fastest sensible rate.

    Args:
        mean_c: Mean temperature. [°C]
        theta_c_d: Thermal time of a leaf. [°C d]
        base_c: Temperature at which growth stands. [°C]

    Source: WANGDIF, two points; LOPEZ2004 for another kind.
    """
    return thermal_time_days(theta_c_d, base_c, mean_c)


def is_inductive(day_mean_c: float, hot_hours: float, most_mean_c: float, most_hot_hours: float) -> bool:
    """Return whether a day helps to bring a spike.

    Args:
        day_mean_c: Mean of the day. [°C]
        hot_hours: Hours of it that are too hot for its kind. [h]
        most_mean_c: Highest mean that still helps. [°C]
        most_hot_hours: So many hot hours undo a day. [h]

    Source: BLANCHARD2006, NEWTON2009.
    """
    return day_mean_c <= most_mean_c + EPSILON and hot_hours < most_hot_hours


def spike_forecast(asked_days: tuple[int, int, int], inductive: Iterable[bool]) -> SpikeForecast:
    """Return the days on which three numbers of inductive days are full [d].

    Args:
        asked_days: The numbers: until a spike is expected, from and to, and the far end of the band. [d]
        inductive: Whether each day is inductive; the first is day 1.

    Source: BLANCHARD2006 (within 20 weeks); 4 to 8 weeks: common practice (no source).
    """
    reached: list[int] = []
    count = 0
    for day, helps in enumerate(inductive, start=1):
        count += helps
        if helps and count == asked_days[len(reached)]:
            reached.append(day)
            if len(reached) == len(asked_days):
                break
    return SpikeForecast(*reached, *[None] * (len(asked_days) - len(reached)))
