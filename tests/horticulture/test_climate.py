"""The days of a place: identities with air and splines, ends of ranges by hand, the kinds of place at latitudes."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from carecal.errors import Refused
from carecal.horticulture import air
from carecal.horticulture.climate import (
    DailyClimate,
    MonthlyClimate,
    daily_climate,
    fade,
    medium_temperatures,
    shifted,
    wet_bulbs,
)
from carecal.horticulture.daylight import outdoor_light
from carecal.horticulture.normals import normals_of_kind, winter_depth

SILL = MonthlyClimate(
    (16, 16, 17, 18, 20, 22, 24, 24, 21, 19, 17, 16),
    (12, 12, 13, 14, 16, 18, 19, 19, 17, 15, 13, 12),
    (54, 53, 52, 52, 54, 56, 57, 58, 59, 58, 56, 55),
    ("still",) * 3 + ("room",) * 6 + ("still",) * 3,
    (1.0, 1.8, 3.2, 4.6, 5.8, 6.3, 6.0, 5.1, 3.7, 2.2, 1.2, 0.8),
)
COOLING = {"still": 0.1, "room": 0.45}
KIND = {
    "day_c": (20.0, 24.0),
    "night_c": (16.0, 20.0),
    "rh_pct": (48.0, 54.0),
    "air": ("room", "gentle"),
    "light_fraction": 0.15,
}


def kind_at(latitude: float, **more: float | bool) -> MonthlyClimate:
    """A warm sill at a latitude."""
    return normals_of_kind(latitude=latitude, **KIND, **more)  # type: ignore[arg-type]  # mixed keyword values


@pytest.mark.parametrize(("year", "days"), [(2025, 365), (2028, 366)])
def test_all_series_are_as_long_as_the_year(year: int, days: int) -> None:
    """A leap year has its own series of 366 days, for names as for numbers."""
    daily = daily_climate(SILL, year)
    assert {len(getattr(daily, name)) for name in daily.__slots__} == {days}
    assert len(daily) == days


def test_air_class_is_that_of_the_month() -> None:
    """31 March is still, 1 April is room: names are not smoothed."""
    daily = daily_climate(SILL, 2025)
    assert (daily.air[89], daily.air[90]) == ("still", "room")


def test_day_s_deficit_is_that_of_its_temperatures_and_humidity() -> None:
    """VPD, RH and ea of a day are the same air, by FAO56 eq. 12 and 19."""
    daily = daily_climate(SILL, 2025)
    for day in (0, 100, 200, 364):
        expected = air.vapour_pressure_deficit_of_day(daily.day_c[day], daily.night_c[day], daily.rh_pct[day])
        assert daily.vpd_kpa[day] == pytest.approx(expected, abs=1e-12)
        assert daily.ea_kpa[day] + daily.vpd_kpa[day] == pytest.approx(
            air.mean_saturation_vapour_pressure(daily.day_c[day], daily.night_c[day]), abs=1e-12
        )


@given(
    st.lists(st.floats(0, 100), min_size=12, max_size=12),
    st.lists(st.floats(0, 30), min_size=12, max_size=12),
)
def test_humidity_and_light_stay_possible(rh_pct: list[float], light: list[float]) -> None:
    """However the months jump, a day has 1 to 100 % and no negative light."""
    daily = DailyClimate.of(replace(SILL, rh_pct=tuple(rh_pct), light_mol=tuple(light)), leap=False)
    assert all(1 <= value <= 100 for value in daily.rh_pct)
    assert all(value >= 0 for value in daily.light_mol)
    assert all(value >= -1e-12 for value in daily.vpd_kpa)


@settings(max_examples=25)  # each is a year of days
@given(
    st.lists(st.floats(1, 100), min_size=12, max_size=12),
    st.lists(st.floats(-5, 35), min_size=12, max_size=12),
)
def test_medium_lies_between_wet_bulb_and_air_all_year(rh_pct: list[float], day_c: list[float]) -> None:
    """T_w ≤ T_medium ≤ T by night and on average, in any year."""
    daily = DailyClimate.of(replace(SILL, rh_pct=tuple(rh_pct), day_c=tuple(day_c)), leap=False)
    means, nights = medium_temperatures(daily, COOLING, 101.3)
    wet_days, wet_nights = wet_bulbs(daily, 101.3)
    for day in range(365):
        assert wet_nights[day] - 1e-9 <= nights[day] <= daily.night_c[day] + 1e-9
        wet_mean = (wet_days[day] + wet_nights[day]) / 2
        assert wet_mean - 1e-9 <= means[day] <= (daily.day_c[day] + daily.night_c[day]) / 2 + 1e-9


def test_night_holds_at_most_what_saturates_it() -> None:
    """Where the day's vapour is more than the night can hold, the medium is as cold as the air."""
    daily = daily_climate(replace(SILL, rh_pct=(98,) * 12), 2025)
    _, nights = medium_temperatures(daily, COOLING, 101.3)
    assert nights[200] == daily.night_c[200]


def test_wet_bulbs_at_hand_change_nothing() -> None:
    """Wet bulbs computed once serve every container of the place."""
    daily = daily_climate(SILL, 2025)
    wet = wet_bulbs(daily, 101.3)
    assert medium_temperatures(daily, COOLING, 101.3, wet) == medium_temperatures(daily, COOLING, 101.3)


def test_a_bag_is_as_warm_as_its_air() -> None:
    """Without cooling the medium has the air's temperatures."""
    daily = daily_climate(SILL, 2025)
    means, nights = medium_temperatures(daily, {"still": 0.0, "room": 0.0}, 101.3)
    assert nights == daily.night_c
    assert means[0] == (daily.day_c[0] + daily.night_c[0]) / 2


@pytest.mark.parametrize(("days", "share"), [(-3, 1), (0, 1), (7, 0.5), (14, 0), (30, 0)])
def test_readings_fade_over_two_weeks(days: int, share: float) -> None:
    """A shift is whole up to the last reading, half after a week, nothing after two."""
    assert fade(days) == share


def test_shift_moves_temperatures_and_vapour() -> None:
    """A colder, moister spell is added to the normals, and the deficit follows, by FAO56 eq. 12."""
    moved = shifted(20, 16, 1.0, -2, -3, 0.1)
    assert (moved.day_c, moved.night_c, moved.ea_kpa) == pytest.approx((18, 13, 1.1))
    assert moved.vpd_kpa == pytest.approx(air.mean_saturation_vapour_pressure(18, 13) - 1.1)
    assert moved.rh_pct == pytest.approx(100 * 1.1 / air.mean_saturation_vapour_pressure(18, 13))


def test_shift_is_cut_to_what_air_can_hold() -> None:
    """More vapour than saturation is cut to 100 %, less than nothing to 1 %."""
    assert shifted(20, 16, 1.5, 0, 0, 5.0).rh_pct == 100
    assert shifted(20, 16, 1.5, 0, 0, 5.0).vpd_kpa == pytest.approx(0, abs=1e-12)
    assert shifted(20, 16, 1.5, 0, 0, -5.0).rh_pct == 1


def test_eleven_months_are_refused() -> None:
    """A place has twelve normals of each quantity, and the one that lacks some is named."""
    with pytest.raises(Refused, match="rh_pct has 11 monthly values"):
        replace(SILL, rh_pct=SILL.rh_pct[1:])


def test_winter_follows_the_hemisphere() -> None:
    """At 54° N January is winter's value and July summer's; at 35° S the other way round."""
    north, south = kind_at(54.3), kind_at(-45)
    assert [north.day_c[0], north.day_c[6]] == pytest.approx([20, 24], abs=0.1)
    assert [south.day_c[6], south.day_c[0]] == pytest.approx([20, 24], abs=0.1)
    assert (north.air[0], north.air[6]) == ("room", "gentle")
    assert (south.air[0], south.air[6]) == ("gentle", "room")


@pytest.mark.parametrize("latitude", [-10, 1, 10])
def test_homes_near_the_equator_have_no_winter(latitude: float) -> None:
    """Within 10° all months have summer's values."""
    collection = kind_at(latitude)
    assert set(collection.day_c) == {24.0}
    assert set(collection.air) == {"gentle"}


@pytest.mark.parametrize(("latitude", "depth"), [(25, 0.5), (40, 1.0), (70, 1.0), (-25, 0.5)])
def test_winter_deepens_up_to_40_degrees(latitude: float, depth: float) -> None:
    """On the coldest day the amplitude is clamp((|latitude|−10)/30, 0, 1)."""
    assert winter_depth(latitude, 20 if latitude > 0 else 202) == pytest.approx(depth)


def test_temperatures_given_are_used_as_they_are() -> None:
    """Two numbers of the grower hold at the equator, too; humidity stays that of the kind."""
    collection = kind_at(1, given=True)
    assert min(collection.day_c) == pytest.approx(20, abs=0.1)
    assert set(collection.rh_pct) == {54.0}


def test_light_is_the_sun_s_share_and_the_lamp_s() -> None:
    """Light at the plant is outdoor light × fraction × aspect, and a lamp adds PPFD·hours·0.0036."""
    dark = kind_at(54.3, aspect_factor=0.6)
    lit = kind_at(54.3, aspect_factor=0.6, lamp_ppfd=100, lamp_hours=10)
    june = sum(outdoor_light(54.3, day) for day in range(152, 182)) / 30
    assert dark.light_mol[5] == pytest.approx(june * 0.15 * 0.6)
    assert lit.light_mol[0] - dark.light_mol[0] == pytest.approx(3.6)
