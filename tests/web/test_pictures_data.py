"""What pictures show, against the plan and the journal that they are made of."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest

from carecal.app import Collection
from carecal.app.actions.care import done
from carecal.app.actions.looks import observe, weigh
from carecal.app.actions.pots import pot
from carecal.app.documents.pictures import care_days, climate_year
from carecal.app.documents.pictures_plants import dry_down, growth
from carecal.collection.entries import AidSet, PlaceChanged
from carecal.errors import UnknownName
from tests.stories.quay import GABLE, TIDE, TODAY, WINCH, moment

NOW = moment(TODAY)


@pytest.fixture
def collection(house: Path) -> Iterator[Collection]:
    """Return the house by the harbour, open."""
    with Collection.open(house) as opened:
        yield opened


def test_climate_is_a_year_from_the_first_of_the_month(collection: Collection) -> None:
    """365 days of air by day and night and of the medium, the night never warmer than the day."""
    year = climate_year(collection, NOW, "east-sill")
    assert year is not None
    assert year.first == date(2026, 10, 1)
    assert {len(part) for part in (year.day_c, year.night_c, year.medium_c)} == {365}
    assert all(night <= day for day, night in zip(year.day_c, year.night_c, strict=True))


def test_climate_marks_the_day_on_which_the_gate_shuts(collection: Collection) -> None:
    """The gate shuts on the day after the last one the plan calls safe (the plan is the oracle)."""
    cold = PlaceChanged(
        on=TODAY, place="east-sill", winter_day_c=15, winter_night_c=12, summer_day_c=25, summer_night_c=20
    )
    collection.record(cold, now=NOW)
    year = climate_year(collection, NOW, "east-sill")
    assert year is not None
    marks = {mark.kind: mark.on for mark in year.marks if mark.on > TODAY}
    usual = next(
        v for v in collection.plan(TODAY).plants if v.place == "east-sill" and v.container == year.container
    )
    gate = next(
        g for g in collection.plan(TODAY).gates if g.plant == usual.number and g.gate == "medium-temperature"
    )
    assert gate.open
    assert gate.last_safe is not None
    assert marks["medium-temperature shuts"] == gate.last_safe + timedelta(days=1)
    assert year.limit_c == gate.because[0].value


def test_climate_of_a_place_that_is_not_there_is_refused(collection: Collection) -> None:
    """An unknown place is named."""
    with pytest.raises(UnknownName, match="attic"):
        climate_year(collection, NOW, "attic")


def test_pot_dries_to_its_target_on_the_due_day(collection: Collection) -> None:
    """Water falls from all of it; the day it reaches the target is the due day to within a day (models K1, I1)."""
    collection.record(*done(collection, NOW, "watering", [TIDE]), now=NOW)
    found = dry_down(collection, NOW, TIDE)
    assert found is not None
    assert (found.wetted, found.is_assumed, found.left[0]) == (TODAY, False, 1.0)
    assert all(later < earlier for earlier, later in zip(found.left, found.left[1:], strict=False))
    assert all(low <= left <= high for low, left, high in zip(found.low, found.left, found.high, strict=True))
    assert found.window is not None
    due = (found.window[1] - found.wetted).days
    assert found.left[due + 1] < found.target < found.left[due - 1]


def test_window_of_the_picture_is_that_of_the_task(collection: Collection) -> None:
    """First, due and last day are those of the plan's next wetting."""
    found = dry_down(collection, NOW, TIDE)
    plan = collection.plan(TODAY)
    number = next(view.number for view in plan.plants if view.id == TIDE)
    task = next(t for t in plan.tasks if t.plant == number and t.id.split("/")[3:4] == ["wetting"])
    assert found is not None
    assert found.window == (task.earliest, task.due, task.latest)


def test_wetting_that_nobody_ticked_is_called_assumed(collection: Collection) -> None:
    """Weeks after the last tick the drying begins at the assumed wetting and says so."""
    later = moment(TODAY + timedelta(days=12))
    found = dry_down(collection, later, TIDE)
    assert found is not None
    assert found.is_assumed
    assert found.wetted > date(2026, 10, 14)


def test_weight_between_its_marks_tells_the_share(collection: Collection) -> None:
    """600 g between 500 dry and 700 full is half of the water (worked by hand)."""
    start = moment(TODAY)
    collection.record(*done(collection, start, "watering", [TIDE]), now=start)
    collection.record(*weigh(collection, start, TIDE, 700, mark="full"), now=start)
    collection.record(*weigh(collection, start, TIDE, 500, mark="dry", sure=True), now=start)
    collection.record(*weigh(collection, start, TIDE, 600), now=start)
    found = dry_down(collection, start, TIDE)
    assert found is not None
    assert [m.value for m in found.marks if m.kind == "weighed"] == [1.0, 0.0, 0.5]


def test_wrapped_plant_has_no_drying(collection: Collection) -> None:
    """In a wrap nothing is wetted by days, so nothing is drawn."""
    collection.record(AidSet(on=TODAY, plant=GABLE, aid="wrap"), now=NOW)
    assert dry_down(collection, NOW, GABLE) is None


def test_growth_is_what_was_counted(collection: Collection) -> None:
    """Counts stand on their days, thresholds in the order of the stages, pottings as marks."""
    day = moment(TODAY)
    collection.record(*observe(collection, day, GABLE, roots=5, longest_mm=75.0), now=day)
    collection.record(*pot(collection, day, [GABLE], "moss", "net", 9), now=day)
    found = growth(collection, NOW, GABLE)
    assert found is not None
    assert found.longest_mm == ((date(2026, 9, 1), 60.0), (TODAY, 75.0))
    assert found.roots == ((date(2026, 9, 1), 4.0), (TODAY, 5.0))
    assert found.leaves == ((date(2026, 9, 1), 4.0),)
    assert [stage for stage, *_ in found.stages] == ["new-tips", "rooting-in", "established"]
    assert [mark.on for mark in found.marks] == [TODAY]


def test_plant_without_a_count_has_no_growth(collection: Collection) -> None:
    """What was never counted is not drawn."""
    assert growth(collection, NOW, WINCH) is None


def test_care_days_are_those_of_journal_and_plan(collection: Collection) -> None:
    """Done are the days of the journal's ticks; planned are the plan's rounds with their tasks."""
    days = {day.on: day for day in care_days(collection, NOW, 2026)}
    assert len(days) == 365
    ticked = {r.on for r in collection.journal.records() if r.kind == "done"}
    assert {on for on, day in days.items() if day.done} == ticked
    plan = collection.plan(TODAY)
    for found in plan.rounds:
        if found.on.year == 2026:
            assert days[found.on].planned == sum(plan.task(name).joined_to is None for name in found.tasks)


def test_year_behind_has_no_plan(collection: Collection) -> None:
    """A year before the collection is empty; a leap year has its day."""
    days = care_days(collection, NOW, 2024)
    assert len(days) == 366
    assert not any(day.done or day.planned for day in days)
