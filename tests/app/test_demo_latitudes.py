"""The example at 54° N, 35° S and 1° N: seasons come from the climate, rests from the profile."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from carecal.plan.model import Plan
from carecal.planning.plant_planner import PlantPlanner
from tests.app.demo_plays import DAY, EQUATOR, NORTH, SOUTH, play

LATITUDES = {"54° N": NORTH, "35° S": SOUTH, "1° N": EQUATOR}
WETTINGS = {"watering", "refilling", "feeding", "flushing", "moistening"}
REST_MONTHS = {
    "54° N": {10, 11, 12, 1, 2},
    "35° S": {4, 5, 6, 7, 8},
    "1° N": set(),
}  # profiles.csv: October to February
JANUARY, JULY = date(2027, 1, 20), date(2027, 7, 20)


class Played:
    """The example at one latitude, with its plans made once."""

    def __init__(self, folder: Path, latitude: float) -> None:
        with play(folder, latitude=latitude) as collection:
            self.catalog = collection.catalog
            self.planner = collection.planner(DAY)
        self.rounds = self.planner.plan("rounds")
        self.each = self.planner.plan("each")
        self._numbers = {view.id: view.number for view in self.rounds.plants}

    def number_of(self, plant: str) -> int:
        """Return the number of a plant."""
        return self._numbers[plant]

    def plant_planner(self, plant: str) -> PlantPlanner:
        """Return the planner of a plant."""
        return self.planner.plant_planners[self._numbers[plant]]


@pytest.fixture(scope="module")
def homes(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Played]:
    """Return the example at each latitude; tests only read it."""
    return {name: Played(tmp_path_factory.mktemp("latitude"), value) for name, value in LATITUDES.items()}


def _days_on(plan: Plan, number: int, day: date) -> int:
    """Return the whole days between wettings that hold on a day."""
    return next(r.days for r in plan.rhythms if r.plant == number and not r.aid and r.start <= day <= r.until)


@pytest.mark.parametrize("where", LATITUDES)
def test_the_rest_stands_in_the_winter_of_the_place(homes: dict[str, Played], where: str) -> None:
    """Six months apart north and south, none near the equator; oracle: the profile's months, shifted by hand.

    The example's grower saw each rest to be over when its months were; of those ahead nobody knows yet.
    """
    collection = homes[where]
    plant_planner = collection.plant_planner("halyard")
    months = {
        date.fromordinal(day).month
        for stretch in plant_planner.stretches
        if stretch.is_resting
        for day in range(stretch.start, min(stretch.until, DAY.toordinal() - 1) + 1)
    }
    assert months == REST_MONTHS[where]


@pytest.mark.parametrize("plant", ["piling", "lantern", "oar"])
def test_the_cool_sill_dries_slower_in_its_winter(homes: dict[str, Played], plant: str) -> None:
    """January is the slow month in the north, July in the south; near the equator the year hardly matters."""
    found = {}
    for where, home in homes.items():
        number = home.number_of(plant)
        found[where] = _days_on(home.each, number, JANUARY), _days_on(home.each, number, JULY)
    assert found["54° N"][0] > found["54° N"][1]
    assert found["35° S"][0] < found["35° S"][1]
    assert abs(found["1° N"][0] - found["1° N"][1]) <= 1


@pytest.mark.parametrize("where", LATITUDES)
def test_nothing_is_fed_where_the_medium_is_cold(homes: dict[str, Played], where: str) -> None:
    """No feed while the medium's mean of the coming 14 days lies below the night limit less its hysteresis."""
    collection = homes[where]
    planner = collection.planner
    fed = 0
    for task in collection.rounds.tasks:
        if task.care != "feeding" or task.status != "planned":
            continue
        plant_planner = planner.plant_planners[task.plant]
        state, profile = (
            plant_planner.line.latest,
            collection.catalog.profiles[plant_planner.line.latest.profile],
        )
        air = planner.context.air(state.place, task.due.toordinal())
        assert air is not None
        means = air.medium(state.container or "")[0]
        first = task.due.toordinal() - air.origin
        ahead = means[first : first + 14]
        assert sum(ahead) / 14 >= round(profile.night_min_c + 0.49) - 1 - 1e-6, (
            plant_planner.line.id,
            task.due,
        )
        fed += 1
    assert fed > 50


def test_feeding_stops_on_the_cold_stairs_in_the_northern_winter_only(homes: dict[str, Played]) -> None:
    """The stair window's medium is under 16 °C from December to February at 54° N, never at 1° N."""
    winter = (date(2026, 12, 10), date(2027, 2, 20))
    fed = {}
    for where, home in homes.items():
        number = home.number_of("jetty")
        fed[where] = sum(
            task.care == "feeding" and task.plant == number and winter[0] <= task.on <= winter[1]
            for task in home.rounds.tasks
        )
    assert fed["54° N"] == 0
    assert fed["1° N"] > 0


@pytest.mark.parametrize("where", LATITUDES)
def test_expanding_the_series_gives_the_tasks_of_all_plants(homes: dict[str, Played], where: str) -> None:
    """No day is lost, none appears twice; oracle: the plan's own tasks, by plain date steps."""
    plan = homes[where].each
    found: Counter[tuple[int, str, date]] = Counter()
    in_series: set[str] = set()
    for series in plan.series:
        day = series.first
        while day <= series.until:
            found[series.plant, series.care, day] += day not in series.skip
            day += timedelta(days=series.every_days)
        in_series.update(series.tasks)
    for task in plan.tasks:
        found[task.plant, task.care, task.on] += task.id not in in_series
    assert +found == Counter((task.plant, task.care, task.on) for task in plan.tasks)
    assert len(plan.series) > 15


@pytest.mark.parametrize("grouping", ["rounds", "each"])
@pytest.mark.parametrize("where", LATITUDES)
def test_no_task_is_nonsense(homes: dict[str, Played], where: str, grouping: str) -> None:
    """Nothing stands in the past, windows hold their due day, wettings of a pot follow each other day by day."""
    plan = homes[where].rounds if grouping == "rounds" else homes[where].each
    assert len({task.id for task in plan.tasks}) == len(plan.tasks)
    for task in plan.tasks:
        assert task.on >= DAY
        assert task.earliest <= task.due <= task.latest
        assert task.status != "planned" or task.on > DAY
    for view in plan.plants:
        days = [t.due for t in plan.tasks if t.plant == view.number and t.care in WETTINGS and not t.aid]
        assert all(a < b for a, b in pairwise(sorted(days)))


@pytest.mark.parametrize("where", LATITUDES)
def test_rhythms_follow_each_other_without_a_hole(homes: dict[str, Played], where: str) -> None:
    """Between two rhythms of a pot no day is missing, but for a gap with a name (cold, wrapped, on its mother)."""
    for plant_planner in homes[where].planner.plant_planners.values():
        beats = plant_planner.beats.all
        gaps = {day for s in plant_planner.stretches if s.gap for day in range(s.start, s.until + 1)}
        for a, b in pairwise(beats):
            assert set(range(a.until + 1, b.start)) <= gaps, plant_planner.line.id


@pytest.mark.parametrize("where", LATITUDES)
def test_wrapped_plants_and_keikis_are_never_watered(homes: dict[str, Played], where: str) -> None:
    """Pebble in its bag, Barnacle in its wrap and Dinghy on its mother are only looked at."""
    collection = homes[where]
    numbers = {collection.number_of(name) for name in ("pebble", "barnacle", "dinghy")}
    cares = {task.care for task in collection.rounds.tasks if task.plant in numbers}
    assert cares <= {"inspection", "step"}
    assert "inspection" in cares


@pytest.mark.parametrize("where", LATITUDES)
def test_an_emptied_reservoir_is_poured_through(homes: dict[str, Played], where: str) -> None:
    """Capstan's reservoir is empty on purpose: no task refills it."""
    collection = homes[where]
    number = collection.number_of("capstan")
    tasks = [task for task in collection.rounds.tasks if task.plant == number]
    assert not [
        task for task in tasks if task.care == "refilling" or task.technique in {"refill", "fill-and-drain"}
    ]
    assert any(task.technique == "pour-through" for task in tasks)


def test_the_small_southern_example_rests_in_july(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Mast's profile rests from October to February in the north, so from April to August at 35° S."""
    with play(tmp_path_factory.mktemp("south"), which="south") as home:
        timeline = home.timeline(DAY)
        plant_planner = home.planner(DAY).plant_planners[home.number_of("mast")]
        resting = [s for s in plant_planner.stretches if s.is_resting and s.start < DAY.toordinal()]
        assert timeline.facts.latitude < -30
        assert len(timeline.living()) == 6
        assert {date.fromordinal(s.start).month for s in resting} & {4}
        assert all(4 <= date.fromordinal(s.start).month <= 8 for s in resting)
