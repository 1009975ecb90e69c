"""Heat and cold by readings, forecasts and normals; oracle: weather_limits.toml, the profiles' limits, by hand."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import (
    Done,
    Entry,
    Forecast,
    MonthRow,
    Observed,
    PlantAdded,
    Readings,
    ReadingsDay,
    SettingChanged,
)
from carecal.plan.model import Plan, Task
from carecal.planning.held import held_back
from carecal.planning.places.tonight import tonight
from carecal.planning.places.weather import spells_of
from carecal.planning.plant_planner import PlantPlanner
from carecal.planning.steps.overview import steps_of
from tests.bench import Bench

START = date(2026, 6, 1)
HOT = date(2026, 7, 1)
WETTINGS = frozenset({"watering", "feeding", "flushing", "refilling"})


def even(day_c: float, night_c: float) -> tuple[MonthRow, ...]:
    """Return a place of the same days and nights all year, damp, so that its medium is as warm as its air."""
    return tuple(
        MonthRow(month=m, day_c=day_c, night_c=night_c, rh_pct=95, air="still", light_mol_m2_d=4)
        for m in range(1, 13)
    )


def bench_of(
    catalog: Catalog,
    *told: Entry,
    day_c: float = 22,
    night_c: float = 18,
    kind: str = "phalaenopsis",
    **plant: Any,
) -> Bench:
    """Return one plant at a place of even air, and what was told; nothing is assumed to be overdue."""
    bench = Bench(catalog, START)
    bench.place("porch", even(day_c, night_c), START)
    bench.write(
        SettingChanged(on=START, key="weekdays", value="none"),
        SettingChanged(on=START, key="ticking", value="none"),
    )
    known: dict[str, Any] = {"medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established"}
    bench.write(
        PlantAdded(on=START, plant="tide", profile=kind, place="porch", watered=START, **{**known, **plant})
    )
    return bench.write(*told) if told else bench


def hot(*days: float, first: date = HOT) -> list[Entry]:
    """Return forecasts of the highest temperatures of some days in a row, all told on the first."""
    return [
        Forecast(on=first, place="porch", day=first + timedelta(days=at), day_c=high)
        for at, high in enumerate(days)
    ]


def desk(bench: Bench, on: date) -> PlantPlanner:
    """Return the plant as planned on a day."""
    return bench.planner(on, date(2027, 6, 1)).plant_planners[1]


def plan_of(bench: Bench, on: date) -> Plan:
    """Return the plan of a day."""
    return bench.planner(on, date(2027, 6, 1)).plan("each")


def wettings(plan: Plan) -> list[Task]:
    """Return the wettings of a plan."""
    return [task for task in plan.tasks if task.care in WETTINGS]


def test_a_forecast_shuts_feed_till_a_week_after_the_third_cool_day(catalog: Catalog) -> None:
    """36 °C on 1 July, then 22: cool on 2, 3 and 4 July, 7 days more; fed again from 12 July at half (AOS-HEAT)."""
    bench = bench_of(catalog, *hot(36.0))
    plan = plan_of(bench, HOT)
    gate = next(g for g in plan.gates if g.gate == "heat")
    assert (gate.open, gate.opens) == (False, date(2026, 7, 12))
    feeds = [t for t in wettings(plan) if t.care == "feeding"]
    assert feeds[0].due >= date(2026, 7, 12)
    assert feeds[0].ppm_n == 50  # half of 100
    assert feeds[1].ppm_n == 100


def test_what_was_fed_before_the_heat_is_flushed_after_it(catalog: Catalog) -> None:
    """The first wetting after the spell is a flush, before the first feed (AOS-HEAT: weak and flushed after it)."""
    bench = bench_of(catalog, Done(on=date(2026, 6, 28), plant="tide", care="feeding"), *hot(36.0))
    after = [t for t in wettings(plan_of(bench, HOT)) if t.due > date(2026, 7, 4)]
    assert (after[0].care, after[0].because) == ("flushing", "a flush after the heat")


@pytest.mark.parametrize(
    ("high", "kind", "limits"),
    [
        (31.9, "phalaenopsis", 0),
        (32.0, "phalaenopsis", 1),  # shade and air
        (33.0, "phalaenopsis", 2),  # no feed
        (35.0, "phalaenopsis", 3),  # to the coolest room
        (31.9, "cymbidium", 0),  # of another kind the most its profile bears: 32
        (32.0, "cymbidium", 1),
        (27.0, "miltoniopsis", 1),
        (34.0, "oncidium", 0),  # 36
    ],
)
def test_each_kind_has_its_own_limit_of_heat(catalog: Catalog, high: float, kind: str, limits: int) -> None:
    """Numbers of weather_limits.toml are those of Phalaenopsis; an outline kind has its profile's day_max_c."""
    plant_planner = desk(bench_of(catalog, *hot(high), kind=kind, day_c=20), HOT)
    assert len(spells_of(plant_planner.line.latest, plant_planner.context)) == limits


def test_a_spell_is_not_over_in_a_day(catalog: Catalog) -> None:
    """Two cooler days between hot ones do not end it; three days under 31 °C do."""
    broken = desk(bench_of(catalog, *hot(33, 30, 30, 33, 30, 30, 30, 22)), HOT)
    spans = {(s.start, s.until) for s in spells_of(broken.line.latest, broken.context)}
    assert spans == {(HOT.toordinal(), HOT.toordinal() + 6)}


def test_a_reading_beats_the_forecast_of_its_day(catalog: Catalog) -> None:
    """A forecast of 36 °C that was 28 in the end is no spell."""
    read = Readings(
        on=date(2026, 7, 2), place="porch", days=(ReadingsDay(day=HOT, temp_min_c=18, temp_max_c=28),)
    )
    gate = next(
        g for g in plan_of(bench_of(catalog, *hot(36.0), read), date(2026, 7, 2)).gates if g.gate == "heat"
    )
    assert gate.open


def test_without_roots_it_is_looked_at_daily_in_the_heat_and_all_for_mites_after_it(catalog: Catalog) -> None:
    """weather_limits.toml: daily looks of the rootless, mites and thrips from seven days after the end."""
    bare = bench_of(catalog, *hot(36, 36, 36), medium="moss", container="plastic", stage="rootless")
    looks = [t.due for t in plan_of(bare, HOT).tasks if t.care == "inspection"]
    assert {date(2026, 7, 2), date(2026, 7, 3), date(2026, 7, 4)} <= set(looks)
    asked = [t for t in plan_of(bench_of(catalog, *hot(36.0)), HOT).tasks if "mites or thrips" in t.asks]
    assert date(2026, 7, 11) <= asked[0].due <= date(2026, 7, 25)


def test_no_potting_in_the_greatest_heat_but_for_rot(catalog: Catalog) -> None:
    """At 35 °C and more the steps of its row wait, whatever is due; at 33 they do not (common practice)."""
    old: dict[str, Any] = {"potted": date(2024, 6, 1), "roots": 5, "longest_mm": 120, "tips": 3, "leaves": 4}
    steps = {
        high: {s.step: s for s in steps_of(desk(bench_of(catalog, *hot(high), **old), HOT))}
        for high in (33.0, 36.0)
    }
    barred = next(r.text for r in steps[36.0]["new-medium-due"].because if r.code == "never")
    assert barred == "days of 35 °C and more: waits until it is cooler, not before 4 July 2026"
    assert "never" not in {r.code for r in steps[33.0]["new-medium-due"].because}


def test_a_forecast_of_a_cold_night_holds_that_days_water_and_calls_it_in(catalog: Catalog) -> None:
    """6 °C forecast for 7 June, the day its water is due; it bears 10: watered the day after, in tonight."""
    told = Forecast(on=date(2026, 6, 6), place="porch", day=date(2026, 6, 7), night_c=6)
    usual, held = bench_of(catalog), bench_of(catalog, told)
    due = wettings(plan_of(usual, date(2026, 6, 6)))[0].due
    night = told.model_copy(update={"day": due})
    held = bench_of(catalog, night)
    assert wettings(plan_of(held, date(2026, 6, 6)))[0].due == due + timedelta(days=1)
    (cold,) = tonight(held.planner(due).plant_planners.values())
    assert (cold.limit, cold.night_c, cold.limit_c) == ("urgent", 6, 10)
    assert tonight(usual.planner(due).plant_planners.values()) == []


@pytest.mark.parametrize(
    ("kind", "day_c", "night_c", "technique"),
    [
        ("phalaenopsis", 16, 14, "a-little"),  # mean 15 under 15.6
        ("phalaenopsis", 18, 15, "drench"),  # mean 16.5
        ("cymbidium", 16, 14, "drench"),  # made for nights of 7
        ("cymbidium", 8, 4, "a-little"),
        ("masdevallia", 12, 10, "drench"),  # made for nights of 10
        ("vanda", 13, 12, "a-little"),  # made for nights of 13
    ],
)
def test_a_medium_under_its_kinds_limit_is_not_drenched(
    catalog: Catalog, kind: str, day_c: float, night_c: float, technique: str
) -> None:
    """The mean of the medium against the night its kind is made for (HACKNEY: the pot decides); no flush either."""
    tasks = wettings(plan_of(bench_of(catalog, day_c=day_c, night_c=night_c, kind=kind), START))
    assert {t.technique for t in tasks if t.care in {"watering", "feeding"}} == {technique}
    assert any(t.care == "flushing" for t in tasks) is (technique == "drench")


def test_a_series_is_done_alike_throughout(catalog: Catalog) -> None:
    """Where one forecast makes one wetting a little one, the recurrence rule holds the drenched ones alone."""
    due = wettings(plan_of(bench_of(catalog), START))[2].due
    told = Forecast(on=START, place="porch", day=due, day_c=14, night_c=12)
    plan = plan_of(bench_of(catalog, told), START)
    little = [t for t in wettings(plan) if t.technique == "a-little"]
    assert [t.due for t in little] == [due]
    assert not [s for s in plan.series if little[0].id in s.tasks]


def test_held_back_water_is_offered_a_little_on_a_mild_day_once_it_has_dried(catalog: Catalog) -> None:
    """Nights of 8 °C hold a Phalaenopsis back; dried and on a day of 16 °C it gets a little, not while damp."""
    bench = bench_of(catalog, day_c=16, night_c=8)
    damp, dried = held_back(desk(bench, date(2026, 6, 3))), held_back(desk(bench, date(2026, 7, 15)))
    assert damp is not None
    assert dried is not None
    assert (damp.why, damp.is_offered, dried.is_offered, dried.limit_c) == ("cold", False, True, 10)
    chilly = held_back(desk(bench_of(catalog, day_c=14, night_c=8), date(2026, 7, 15)))
    assert chilly is not None
    assert not chilly.is_offered
    watered = bench.write(Done(on=date(2026, 7, 15), plant="tide", care="watering"))
    after = held_back(desk(watered, date(2026, 7, 16)))
    assert after is not None
    assert not after.is_offered


def test_a_nobile_in_its_coldest_rest_is_offered_water_only_once_it_shrivels(catalog: Catalog) -> None:
    """YAMA: below 5 °C none; rescue: shrivel seen, one wetting, no feed."""
    bench = bench_of(catalog, kind="dendrobium-nobile", day_c=10, night_c=4)
    dry = held_back(desk(bench, date(2027, 1, 10)))
    assert dry is not None
    assert (dry.why, dry.limit_c, dry.is_offered) == ("rest", 5, False)
    bench.write(Observed(on=date(2027, 1, 10), plant="tide", firmness="wrinkled"))
    shrivelled = held_back(desk(bench, date(2027, 1, 10)))
    assert shrivelled is not None
    assert shrivelled.is_offered


def test_the_cold_of_its_own_rest_is_not_flagged(catalog: Catalog) -> None:
    """Nights of 8 °C are a nobile's rest in January and trouble in July, when it grows at 13 and more."""
    bench = bench_of(catalog, kind="dendrobium-nobile", day_c=15, night_c=8)
    assert [c.limit for c in tonight(bench.planner(HOT).plant_planners.values())] == ["night"]
    assert tonight(bench.planner(date(2027, 1, 10)).plant_planners.values()) == []
