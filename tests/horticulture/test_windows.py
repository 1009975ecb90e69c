"""Windows and gates: brute force over a doubled year as oracle, New Year and hysteresis by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carecal.errors import Refused
from carecal.horticulture import windows

flags = st.lists(st.booleans(), min_size=2, max_size=40)


def year(*stretches: tuple[int, float]) -> list[float]:
    """Days of a year from stretches of equal temperature."""
    return [value for days, value in stretches for _ in range(days)]


@given(flags, st.integers(1, 5))
def test_safe_starts_are_those_of_brute_force(warm: list[bool], weeks: int) -> None:
    """A day is safe if every day of the weeks from it is warm, New Year crossed as often as it takes."""
    values = [20.0 if each else 10.0 for each in warm]
    window = windows.safe_window(values, values, mean_at_least=17, weeks=weeks)
    for index in range(len(warm)):
        brute = all(warm[(index + ahead) % len(warm)] for ahead in range(7 * weeks))
        assert window.is_safe(index) is brute


@given(flags)
def test_runs_are_the_safe_days_and_do_not_touch(warm: list[bool]) -> None:
    """Each safe day lies in one run; the day before a run and the day after it are not safe."""
    values = [20.0 if each else 10.0 for each in warm]
    window = windows.safe_window(values, values, mean_at_least=17)
    for run in window.runs:
        assert not window.is_safe((run.first - 1) % len(warm))
        assert not window.is_safe((run.last + 1) % len(warm))
    assert sum((run.last - run.first) % len(warm) + 1 for run in window.runs) == sum(warm) * (not all(warm))


def test_a_run_may_cross_new_year() -> None:
    """In the south summer does: it opens in the old year and ends in the new."""
    values = year((60, 20.0), (240, 10.0), (65, 20.0))
    window = windows.safe_window(values, values, mean_at_least=17, weeks=2)
    assert window.runs == ((300, 46),)
    assert window.margin_days(350) == 61
    assert window.margin_days(46) == 0
    assert window.margin_days(47) is None
    assert window.next_opening(47) == 253
    assert window.run_of(10) == (300, 46)


def test_a_year_may_have_two_runs() -> None:
    """Spring and autumn with a hot or cold gap between them are two windows."""
    values = year((100, 10.0), (50, 20.0), (20, 10.0), (50, 20.0), (145, 10.0))
    window = windows.safe_window(values, values, mean_at_least=17, weeks=6)
    assert window.runs == ((100, 108), (170, 178))


def test_all_year_and_never_are_answers() -> None:
    """Both have no runs; all year each day is safe and no margin runs out."""
    warm, cold = year((365, 20.0)), year((365, 10.0))
    always = windows.safe_window(warm, warm, mean_at_least=17, weeks=6)
    never = windows.safe_window(cold, cold, mean_at_least=17, weeks=6)
    assert (always.status, always.runs, always.is_safe(3), always.margin_days(3)) == (
        "all year",
        (),
        True,
        None,
    )
    assert (never.status, never.runs, never.is_safe(3), never.next_opening(3)) == ("never", (), False, None)


def test_limits_are_included_and_each_may_be_missing() -> None:
    """Exactly the limit is warm enough; without limits all year is safe."""
    means, nights = year((365, 17.0)), year((365, 14.0))
    assert windows.safe_window(means, nights, mean_at_least=17, night_at_least=14).status == "all year"
    assert windows.safe_window(means, nights, mean_at_least=17, night_at_least=14.1).status == "never"
    assert windows.safe_window(means, nights).status == "all year"


@pytest.mark.parametrize(("means", "nights"), [([], []), ([1.0], [])])
def test_a_year_of_each_is_needed(means: list[float], nights: list[float]) -> None:
    """Lists of different length or of nothing are refused."""
    with pytest.raises(Refused, match="a year of each is needed"):
        windows.safe_window(means, nights)


def test_outdoors_begins_after_two_mild_weeks_and_ends_before_a_cold_night() -> None:
    """Out at 14 reliably, in before 13: a mild week in spring is no season, a night of 13.5 ends none."""
    nights = year((100, 5.0), (7, 15.0), (20, 8.0), (60, 15.0), (20, 13.5), (30, 14.5), (128, 6.0))
    season = windows.outdoor_seasons(nights, 14, 13)
    assert season.runs == ((127, 236),)


def test_no_or_all_nights_are_mild() -> None:
    """Where nights stay cool the season never opens; where they never do it never shuts."""
    assert windows.outdoor_seasons(year((365, 12.0)), 14, 13).status == "never"
    assert windows.outdoor_seasons(year((365, 20.0)), 14, 13).status == "all year"
    assert windows.outdoor_seasons(year((100, 15.0), (265, 13.5)), 14, 13).status == "all year"


def test_limits_of_the_season_must_not_cross() -> None:
    """A plant cannot come in at warmer nights than it goes out."""
    with pytest.raises(Refused, match="must not be above the one to move out"):
        windows.outdoor_seasons(year((365, 15.0)), 13, 14)


def test_means_ahead_cross_new_year() -> None:
    """The mean of a day and those after it, by hand over a year of four days."""
    assert windows.ahead_means([1.0, 2.0, 3.0, 6.0], 2) == pytest.approx([1.5, 2.5, 4.5, 3.5])
    with pytest.raises(Refused, match="allowed are 1 to 4"):
        windows.ahead_means([1.0, 2.0, 3.0, 6.0], 5)


@pytest.mark.parametrize(
    ("before", "first", "reason"),
    [
        ([], True, "nothing decisive: open"),
        ([15.5, 15.5], True, "in the band all along: open"),
        ([17.0, 15.5], True, "last decisive day opened it"),
        ([14.0, 15.5], False, "last decisive day shut it"),
        ([14.0, 17.0, 15.2], True, "the later of two decides"),
    ],
)
def test_a_walk_that_begins_inside_the_band_asks_the_year_before(
    before: list[float], first: bool, reason: str
) -> None:
    """Between 15 and 16 °C only what was before tells how the gate stands (models W4)."""
    assert windows.gate_states([15.5, 15.5], 16, 15, year_before=before) == [first, first], reason


def test_a_gate_does_not_tremble() -> None:
    """It shuts below the lower limit, opens at the upper one and keeps its state between, by hand."""
    values = [16.0, 15.4, 15.0, 14.9, 15.5, 15.99, 16.0, 15.2]
    states = windows.gate_states(values, 16, 15)
    assert states == [True, True, True, False, False, False, True, True]
    assert windows.gate_changes(states) == [(0, True), (3, False), (6, True)]


def test_a_gate_against_heat_works_the_other_way_round() -> None:
    """It opens at 32 °C and below and shuts above 33 °C."""
    values = [32.5, 33.0, 33.1, 32.5, 32.0, 32.9]
    assert windows.gate_states(values, 32, 33, is_upper=True) == [True, True, False, False, True, True]


def test_no_days_have_no_changes() -> None:
    """An empty walk says nothing of a gate."""
    assert windows.gate_changes([]) == []
