"""The noon sun at its ends: tropics, poles, both hemispheres, refusals; the days themselves are in tests/published."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from carecal.errors import Refused
from carecal.horticulture.noon_sun import high_sun, noon_altitude, solar_declination


@pytest.mark.parametrize(
    ("on", "declination"), [("2026-06-21", 23.44), ("2026-12-21", -23.44), ("2026-03-20", 0)]
)
def test_the_declination_turns_at_the_solstices(on: str, declination: float) -> None:
    """Tilt of the axis at the solstices, 0 at the equinox within half a day's change; from memory."""
    assert solar_declination(date.fromisoformat(on)) == pytest.approx(declination, abs=0.2)


def test_near_the_equator_the_sun_is_always_high_and_at_the_pole_never() -> None:
    """38 degrees is under the lowest noon at 20 N (46.6) and over the highest at 80 N (33.4); by hand."""
    assert high_sun(20, 2026, 38) == (None, None, True)
    assert high_sun(80, 2026, 38) == (None, None, False)


def test_south_of_the_equator_the_run_crosses_the_turn_of_the_year() -> None:
    """Summer there begins in one year and ends in the next."""
    first, last, always = high_sun(-45, 2026, 38)
    assert first is not None
    assert last is not None
    assert last < first
    assert not always


@pytest.mark.parametrize("year", [2026, 2028])
def test_every_day_of_the_run_is_high_and_the_days_beside_it_are_not(year: int) -> None:
    """Both ends belong to the run, in a leap year too."""
    first, last, _ = high_sun(52, year, 38)
    assert first is not None
    assert last is not None
    assert noon_altitude(52, first) >= 38 > noon_altitude(52, first - timedelta(days=1))
    assert noon_altitude(52, last) >= 38 > noon_altitude(52, last + timedelta(days=1))


@pytest.mark.parametrize("latitude", [-91, 90.5])
def test_a_latitude_off_the_globe_is_refused(latitude: float) -> None:
    """The value and the range are named."""
    with pytest.raises(Refused, match="is outside -90 to 90"):
        noon_altitude(latitude, date(2026, 1, 1))


def test_a_height_off_the_sky_is_refused() -> None:
    """The value and the range are named."""
    with pytest.raises(Refused, match="height 91 is outside 0 to 90"):
        high_sun(52, 2026, 91)
