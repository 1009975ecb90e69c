"""Day length and light: astral as the second engine, polar days and symmetry by hand."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from astral import Observer
from astral.sun import sunrise, sunset
from hypothesis import given
from hypothesis import strategies as st

from carecal.errors import Refused
from carecal.horticulture import daylight


def hours_by_astral(latitude: float, on: date) -> float:
    """Sunrise to sunset at Greenwich's longitude by astral, each taken on the day it belongs to."""
    observer = Observer(latitude=latitude, longitude=0)
    span: timedelta = sunset(observer, date=on, tzinfo=UTC) - sunrise(observer, date=on, tzinfo=UTC)
    return span / timedelta(hours=1)


@pytest.mark.parametrize("latitude", [-60, -35, -10, 0, 25, 54.3, 60])
@pytest.mark.parametrize("month", range(1, 13))
def test_day_length_agrees_with_astral(latitude: float, month: int) -> None:
    """Up to 60° the day length lies within 0.15 h of astral in every month."""
    on = date(2026, month, 17)
    assert daylight.day_length(latitude, on) == pytest.approx(hours_by_astral(latitude, on), abs=0.15)


@pytest.mark.parametrize(("month", "hours"), [(6, 24.0), (12, 0.0)])
def test_polar_days_are_clamped(month: int, hours: float) -> None:
    """Beyond the polar circle the sun stays up at midsummer and down at midwinter, by geometry."""
    assert daylight.day_length(75, date(2026, month, 21)) == hours
    assert daylight.daylight_fao(75, date(2026, month, 21).timetuple().tm_yday) == hours


def test_no_radiation_in_polar_night() -> None:
    """Without a sun above the horizon there is none, by geometry."""
    assert daylight.extraterrestrial_radiation(80, 355) == pytest.approx(0, abs=1e-9)


def test_radiation_agrees_with_the_printed_example() -> None:
    """At 20° south on 3 September FAO56 example 8 prints 32.2 MJ."""
    assert daylight.extraterrestrial_radiation(-20, 246) == pytest.approx(32.2, abs=0.05)


def test_outdoor_light_is_a_share_of_radiation() -> None:
    """0.475 of the radiation at 2.06 mol/MJ, by hand from the printed 32.2 MJ."""
    assert daylight.outdoor_light(-20, 246) == pytest.approx(32.2 * 0.475 * 2.06, abs=0.05)


@given(st.floats(-60, 60), st.integers(1, 365))
def test_geometric_day_is_shorter_than_peoples_day(latitude: float, day: int) -> None:
    """Refraction and the sun's width lengthen the day, by minutes and never beyond an hour up to 60°."""
    assert 0 < daylight.day_length_cbm(latitude, day) - daylight.day_length_cbm(latitude, day, 0.0) < 1


@given(st.floats(0, 90), st.integers(1, 365))
def test_hemispheres_mirror_each_other(latitude: float, day: int) -> None:
    """What one hemisphere has of geometric daylight the other lacks of 24 hours."""
    both = daylight.daylight_fao(latitude, day) + daylight.daylight_fao(-latitude, day)
    assert both == pytest.approx(24, abs=1e-6)


def test_leap_day_has_a_length() -> None:
    """29 February is a day like others: between its neighbours, within 0.15 h of astral."""
    on = date(2028, 2, 29)
    assert daylight.day_length(54, on) == pytest.approx(hours_by_astral(54, on), abs=0.15)


def test_clock_does_not_enter() -> None:
    """A datetime's hour does not change the answer; only the date counts."""
    noon = datetime(2026, 5, 1, 12, tzinfo=UTC)
    assert daylight.day_length(54, noon) == daylight.day_length(54, noon.date())


@pytest.mark.parametrize("latitude", [-90.1, 91, float("nan")])
def test_impossible_latitude_is_refused(latitude: float) -> None:
    """Latitudes beyond the poles are refused with their value."""
    with pytest.raises(Refused, match="outside -90 to 90"):
        daylight.daylight_fao(latitude, 1)


@pytest.mark.parametrize(("ppfd", "hours", "what"), [(100, 25, "outside 0 to 24"), (-1, 5, "negative")])
def test_impossible_lamp_is_refused(ppfd: float, hours: float, what: str) -> None:
    """A day has 24 hours and light is not negative."""
    with pytest.raises(Refused, match=what):
        daylight.daily_light(ppfd, hours)
