"""What a plant is heading for: by its own measurements, by usual ranges, and the question a look then asks."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from scipy.stats import theilslopes

from carecal.catalog.tables import Catalog
from carecal.collection.entries import Observed
from carecal.planning.forecasts.growth import (
    bloom_of,
    forecasts_of,
    leaf_of,
    next_stage_of,
    root_of,
)
from carecal.planning.forecasts.questions import question_for
from tests.planning.step_situations import Climate, build, desk_on

YOUNG = {
    "medium": "bark",
    "container": "plastic",
    "size_cm": 10,
    "roots": 2,
    "longest_mm": 10,
    "tips": 2,
    "leaves": 3,
}
CLEAR = {**YOUNG, "container": "clear-plastic"}  # its roots are seen, and may be asked for
DAYS, LENGTHS = (0, 12, 20, 31), (10, 22, 27, 41)


def grown(
    catalog: Catalog, climate: Climate, plant: dict[str, Any] = YOUNG, place: str = "living-room"
) -> Any:
    """Return a collection in which the longest root was measured on four days of 2025."""
    later = zip(DAYS[1:], LENGTHS[1:], strict=True)
    then = [
        ["observed", str(date(2025, 1, 1) + timedelta(days=day)), {"longest_mm": mm}] for day, mm in later
    ]
    return build(catalog, climate, plant, then, place=place)


def test_a_length_is_forecast_by_the_plants_own_slope(catalog: Catalog, demo_climate: Climate) -> None:
    """Early by the high slope, late by the low; oracle: scipy's theilslopes, method joint."""
    plant_planner = desk_on(grown(catalog, demo_climate), date(2025, 2, 5))
    found = root_of(plant_planner, 50.0)
    slope, intercept, low, high = theilslopes(LENGTHS, DAYS, 0.8, method="joint")
    missing = 50 - (intercept + slope * DAYS[-1])
    assert found is not None
    assert found.is_own
    for got, rate in ((found.early, high), (found.likely, slope), (found.late, low)):
        assert got is not None
        assert abs(got - date(2025, 1, 1).toordinal() - DAYS[-1] - missing / rate) < 1


def test_inherited_lengths_are_no_measurements(catalog: Catalog, demo_climate: Climate) -> None:
    """Counting tips alone does not flatten the slope; oracle: the same plant without those looks."""
    bench = grown(catalog, demo_climate)
    before = root_of(desk_on(bench, date(2025, 2, 20)), 50.0)
    bench.write(
        Observed(on=date(2025, 2, 10), plant="tide", tips=3),
        Observed(on=date(2025, 2, 15), plant="tide", leaves=3),
    )
    assert root_of(desk_on(bench, date(2025, 2, 20)), 50.0) == before


def test_fewer_than_three_measurements_are_said(catalog: Catalog, demo_climate: Climate) -> None:
    """One measurement gives the usual 1 to 3 mm a day and says so; oracle: models G4, G5, worked by hand."""
    found = root_of(
        desk_on(build(catalog, demo_climate, YOUNG, place="living-room"), date(2025, 1, 10)), 40.0
    )
    assert found is not None
    assert not found.is_own
    assert "one measurement so far" in found.text
    start = date(2025, 1, 1).toordinal()
    assert (found.early, found.likely, found.late) == (start + 10, start + 15, start + 30)


def test_a_lost_root_starts_the_line_anew(catalog: Catalog, demo_climate: Climate) -> None:
    """After a fall to a third only what follows counts; oracle: design, the longest living root."""
    bench = grown(catalog, demo_climate)
    bench.write(Observed(on=date(2025, 2, 10), plant="tide", longest_mm=14))
    found = root_of(desk_on(bench, date(2025, 2, 12)), 50.0)
    assert found is not None
    assert not found.is_own


def test_the_next_stage_waits_for_what_is_not_counted(catalog: Catalog, demo_climate: Climate) -> None:
    """With all but the length it has its date, with a leaf missing it says which; oracle: models G6, stages.csv."""
    ready = next_stage_of(desk_on(grown(catalog, demo_climate), date(2025, 2, 5)))
    assert ready is not None
    assert ready.text.startswith("rooting-in")
    assert ready.likely is not None
    lacking = next_stage_of(desk_on(grown(catalog, demo_climate, {**YOUNG, "roots": 1}), date(2025, 2, 5)))
    assert lacking is not None
    assert lacking.likely is None
    assert "2 roots, 1 now" in lacking.text


@pytest.mark.parametrize(
    ("on", "asks"), [(date(2025, 2, 2), "count tips; longest root ≥ 50 mm?"), (date(2025, 1, 5), "")]
)
def test_a_look_near_a_crossing_asks_the_exact_question(
    catalog: Catalog, demo_climate: Climate, on: date, asks: str
) -> None:
    """The question of the issue, in the week before the earliest day; none before; oracle: issue 4 point 8."""
    bench = (
        grown(catalog, demo_climate, {**CLEAR, "longest_mm": 10})
        if asks
        else build(
            catalog, demo_climate, {**CLEAR, "longest_mm": 85, "roots": 3, "leaves": 2}, place="living-room"
        )
    )
    asked = question_for(desk_on(bench, date(2025, 2, 2)), on.toordinal())
    assert asked == (asks or "count tips; longest root ≥ 100 mm?")


def test_a_look_on_watch_asks_for_what_was_seen(catalog: Catalog, demo_climate: Climate) -> None:
    """After a find it asks for that pest in the words of the table; oracle: pests.csv."""
    then = [["observed", "2025-02-01", {"seen": "mealybug"}]]
    plant_planner = desk_on(build(catalog, demo_climate, YOUNG, then, place="living-room"), date(2025, 2, 3))
    assert question_for(plant_planner).startswith("mealybug again? white cotton in axils")


def test_a_spike_has_its_band_and_learns_from_the_last_one(catalog: Catalog, demo_climate: Climate) -> None:
    """769 °C d above 10.8 and 1365 above 6.5 in a cabinet, by hand; a slower spike before moves it later."""
    plant = {**YOUNG, "stage": "established"}
    spike = [["observed", "2026-01-10", {"flowering": "in-spike"}]]
    bench = build(catalog, demo_climate, plant, spike, place="grow-cabinet")
    seen = date(2026, 1, 12)
    planner = bench.planner(seen)
    found = bloom_of(planner.plant_planners[1])
    air = planner.context.air("grow-cabinet", planner.context.as_of)
    assert found is not None
    assert air is not None

    def reached(base: float, theta: float) -> int:
        total, day = 0.0, date(2026, 1, 10).toordinal()
        while total < theta:
            day += 1
            total += min((air.at("day_c", day) + air.at("night_c", day)) / 2, 26) - base
        return day

    assert (found.early, found.late) == (reached(10.8, 769), reached(6.5, 1365))
    assert found.early is not None
    assert found.late is not None
    asked = [
        "is the first flower open?" in question_for(planner.plant_planners[1], day)
        for day in (found.early - 8, found.early - 7, found.late - 1)
    ]
    assert asked == [False, True, True]  # from the week before the band on
    stages = (("2025-02-01", "in-spike"), ("2025-06-20", "in-bloom"), ("2025-09-01", "none"))
    earlier = [["observed", day, {"flowering": name}] for day, name in stages]
    slow = bloom_of(
        desk_on(build(catalog, demo_climate, plant, earlier + spike, place="grow-cabinet"), date(2026, 1, 12))
    )
    assert slow is not None
    assert slow.is_own
    assert slow.likely is not None
    assert found.likely is not None
    assert slow.likely > found.likely


def test_leaves_are_forecast_by_counts_or_by_warmth(catalog: Catalog, demo_climate: Climate) -> None:
    """Without three counts the greenhouse's pace is the fastest: 830 / (19.5 - 12.8) days; oracle: models G2."""
    found = leaf_of(desk_on(build(catalog, demo_climate, YOUNG, place="living-room"), date(2025, 1, 10)))
    assert found is not None
    assert found.early is not None
    assert abs(found.early - date(2025, 1, 1).toordinal() - 830 / (19.5 - 12.8)) < 3


def test_a_plant_of_which_nothing_is_known_has_no_forecast(catalog: Catalog, demo_climate: Climate) -> None:
    """Nothing is made up; the look asks for counts."""
    plant = {"medium": "bark", "container": "clear-plastic", "size_cm": 10, "stage": "rooting-in"}
    plant_planner = desk_on(build(catalog, demo_climate, plant, place="living-room"), date(2025, 2, 3))
    assert root_of(plant_planner, 50.0) is None
    assert [each.what for each in forecasts_of(plant_planner) if each.likely is not None] == []
    assert question_for(plant_planner).startswith("count roots and tips")
    assert question_for(plant_planner).endswith("how long is the longest root in mm?")
