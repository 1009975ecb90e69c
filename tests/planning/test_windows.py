"""Safe starts as days of the calendar: every published window again, and what readings may and may not do."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import Readings, ReadingsDay
from carecal.planning.places.safe_starts import (
    Limits,
    Starts,
    cold_runs,
    medium_on,
    mild_starts,
    night_air,
    warm_starts,
)
from tests.bench import Bench
from tests.planning.step_situations import START, Climate
from tests.published.published_rows import Row, checks, labelled

AS_OF = date(2025, 6, 1)
WINDOWS = [row for row in checks("checks_windows") if row.function == "safe_window"]


def places(catalog: Catalog, climate: Climate) -> Bench:
    """Return a collection with the places of the demonstration."""
    bench = Bench(catalog, START)
    for name, rows in climate.items():
        bench.place(name, rows, START)
    return bench


def starts_of(bench: Bench, inputs: dict[str, Any], as_of: date = AS_OF) -> Starts:
    """Return the safe starts of a published row."""
    limits = Limits(inputs["medium_mean_c"], inputs["medium_night_c"], inputs["weeks"])
    found = warm_starts(
        bench.planner(as_of).context, inputs["place"], inputs["container"], limits, as_of.toordinal()
    )
    assert found is not None
    return found


@pytest.mark.parametrize("row", [pytest.param(row, id=row.id) for row in WINDOWS])
def test_a_place_of_the_collection_has_the_published_window(
    row: Row, catalog: Catalog, demo_climate: Climate
) -> None:
    """Each date within a day, in a common year; oracle: checks_windows."""
    starts = starts_of(places(catalog, demo_climate), row.inputs)
    assert starts.is_always is (row.expected == "all year")
    assert starts.is_never is (row.expected == "never")
    if not starts.is_always and not starts.is_never:
        opens, last = (date.fromisoformat(f"2025-{part.split()[-1]}") for part in row.expected.split(", "))
        run = starts.run_of((opens + timedelta(days=3)).toordinal())
        assert run is not None
        assert abs(run[0] - opens.toordinal()) <= 1
        assert abs(run[1] - last.toordinal()) <= 1


def test_all_sixteen_rows_are_used() -> None:
    """Twelve windows here and four temperatures below; oracle: the table as published."""
    assert len(WINDOWS) == 12
    assert len(checks("checks_windows")) == 16


@pytest.mark.parametrize(
    "row", [r for r in checks("checks_windows") if r not in WINDOWS], ids=lambda row: row.id
)
def test_the_medium_of_a_month_has_the_published_temperature(
    row: Row, catalog: Catalog, demo_climate: Climate
) -> None:
    """Mean over the days of the month within 0.05 °C of the normals' value; oracle: checks_windows WIN13-16.

    Daily values keep the month's mean of the air, the medium follows to within a few hundredths.
    """
    context = places(catalog, demo_climate).planner(AS_OF).context
    first = date(2025, row.inputs["month"], 1)
    days = [first + timedelta(days=n) for n in range(31)]
    both = [
        medium_on(context, row.inputs["place"], row.inputs["container"], day.toordinal(), AS_OF.toordinal())
        for day in days
    ]
    means, nights = zip(*[pair for pair in both if pair is not None], strict=True)
    expected = labelled(row.expected)
    wanted_mean, wanted_night = expected["mean"], expected["night"]
    assert wanted_mean is not None
    assert wanted_night is not None
    assert abs(sum(means) / 31 - wanted_mean) <= 0.07
    assert abs(sum(nights) / 31 - wanted_night) <= 0.07


def readings(bench: Bench, place: str, last: date, temp_c: float) -> Bench:
    """Write ten days of one temperature up to a day."""
    days = tuple(ReadingsDay(day=last - timedelta(days=n), temp_mean_c=temp_c) for n in range(10))
    return bench.write(Readings(on=last, place=place, days=days))


INPUTS = {
    "place": "bedroom-sill",
    "container": "plastic",
    "medium_mean_c": 17,
    "medium_night_c": None,
    "weeks": 6,
}


def test_a_cold_spell_narrows_the_window_and_a_warm_one_never_widens_it(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """Cold readings delay the opening, warm ones change nothing; oracle: models W2."""
    plain = starts_of(places(catalog, demo_climate), INPUTS).run_of(date(2025, 6, 15).toordinal())
    cold = readings(places(catalog, demo_climate), "bedroom-sill", date(2025, 5, 31), 14.0)
    warm = readings(places(catalog, demo_climate), "bedroom-sill", date(2025, 5, 31), 27.0)
    narrowed = starts_of(cold, INPUTS).run_of(date(2025, 6, 30).toordinal())
    assert plain is not None
    assert narrowed is not None
    assert narrowed[0] > date(2025, 6, 1).toordinal() > plain[0]
    assert narrowed[1] == plain[1]
    assert starts_of(warm, INPUTS).run_of(date(2025, 6, 15).toordinal()) == plain


def test_what_readings_narrow_does_not_move_from_day_to_day(catalog: Catalog, demo_climate: Climate) -> None:
    """The same readings give the same window on every later day; oracle: design section 2, nothing moves by itself."""
    bench = readings(places(catalog, demo_climate), "bedroom-sill", date(2025, 5, 31), 14.0)
    seen = {
        starts_of(bench, INPUTS, AS_OF + timedelta(days=n)).run_of(date(2025, 6, 30).toordinal())
        for n in range(12)
    }
    assert len(seen) == 1


def test_a_container_or_place_without_data_has_no_window(catalog: Catalog, demo_climate: Climate) -> None:
    """Nothing is guessed where nothing is known."""
    context = places(catalog, demo_climate).planner(AS_OF).context
    limits = Limits(17.0, None, 6)
    assert warm_starts(context, "nowhere", "plastic", limits, AS_OF.toordinal()) is None
    assert warm_starts(context, "bedroom-sill", "bucket", limits, AS_OF.toordinal()) is None
    assert mild_starts(context, "nowhere", 14.0, 2, AS_OF.toordinal()) is None
    assert night_air(context, "nowhere", AS_OF.toordinal(), AS_OF.toordinal()) is None


def test_a_colder_container_never_has_a_longer_window(catalog: Catalog, demo_climate: Climate) -> None:
    """A net pot's starts lie inside a plastic pot's at every place; oracle: models A5, cooling of containers.csv."""
    bench = places(catalog, demo_climate)
    for place in demo_climate:
        plastic = starts_of(bench, {**INPUTS, "place": place})
        net = starts_of(bench, {**INPUTS, "place": place, "container": "net"})
        assert all(any(a <= x and y <= b for a, b in plastic.spans) for x, y in net.spans)


def test_cold_runs_cover_exactly_the_nights_under_a_limit(catalog: Catalog, demo_climate: Climate) -> None:
    """Counted by hand from the normals of the same place."""
    context = places(catalog, demo_climate).planner(AS_OF).context
    air = context.air("glazed-balcony", AS_OF.toordinal())
    assert air is not None
    runs = cold_runs(context, "glazed-balcony", 10.0, AS_OF.toordinal())
    nights = air.values("night_c")
    assert sum(b - a + 1 for a, b in runs) == sum(night < 10.0 for night in nights)
