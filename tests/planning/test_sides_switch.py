"""Each side of the trade's conflicts switches what it is said to affect, or the list says that it changes no plan."""

from __future__ import annotations

import re
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

import carecal
from carecal.catalog.tables import Catalog
from carecal.collection.entries import Done, MonthRow, Observed, PlantAdded, SideTaken, Undone
from carecal.horticulture.climate import MonthlyClimate
from carecal.plan.model import Task
from carecal.planning.forecasts.spike import spike_of
from carecal.planning.places.suits import unsuitable
from carecal.planning.sides import CHANGES_NO_PLAN
from carecal.planning.steps.case import Case
from tests.bench import Bench
from tests.planning.step_situations import START, Climate, build, desk_on

BARK = {"medium": "bark", "container": "plastic", "size_cm": 12, "roots": 5, "longest_mm": 120, "leaves": 5}
MOSS = {**BARK, "medium": "moss"}
WETTINGS = frozenset({"watering", "feeding", "flushing"})
SOURCES = Path(carecal.__file__).parent / "planning"


def tasks_of(bench: Bench, on: date, days: int = 365) -> list[Task]:
    """Return the wettings of a year from a day on."""
    plan = bench.planner(on).plan("each")
    return [task for task in plan.tasks if task.care in WETTINGS and task.on <= on + timedelta(days=days)]


def test_every_side_is_asked_for_by_the_plan_or_is_said_to_change_nothing(catalog: Catalog) -> None:
    """No side stands in the list that does nothing and does not say so; oracle: the code's own questions."""
    text = "\n".join(path.read_text(encoding="utf-8") for path in SOURCES.rglob("*.py"))
    asked = {key for key in re.findall(r'side\("([a-z-]+)"', text) if key in catalog.sides}
    assert asked.isdisjoint(CHANGES_NO_PLAN)
    assert asked | set(CHANGES_NO_PLAN) == set(catalog.sides)


def test_feeding_with_nearly_every_wetting_is_more_often_and_weaker(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """Three fed wettings, one clear, at 50 mg/L at most; oracle: media.csv feed_run_max, trade-facts D19 and L6."""
    bench = build(catalog, demo_climate, BARK, place="living-room")
    usual = [task for task in tasks_of(bench, START) if task.care == "feeding"]
    bench.write(SideTaken(on=START, key="feed-rhythm", side="a"))
    wettings = tasks_of(bench, START)
    dilute = [task for task in wettings if task.care == "feeding"]
    assert len(dilute) > 1.5 * len(usual)
    assert {task.ppm_n for task in dilute} == {50.0}
    runs = re.findall(r"f+", "".join("f" if task.care == "feeding" else "-" for task in wettings))
    assert max(map(len, runs)) == 3


def test_moss_left_until_nearly_dry_is_wetted_half_as_late_again(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """From 0.55 to 0.35 of the water: 0.6825/0.45 as long; oracle: models D4 by hand; bark does not change."""
    days = {}
    for medium, plant in (("moss", MOSS), ("bark", BARK)):
        bench = build(catalog, demo_climate, plant, place="living-room")
        before = bench.planner(START).plan("each").rhythms[0].raw_days
        bench.write(SideTaken(on=START, key="moss-dryness", side="a"))
        days[medium] = bench.planner(START).plan("each").rhythms[0].raw_days / before
    assert days["moss"] == pytest.approx(0.68247 / 0.45, rel=5e-3)
    assert days["bark"] == pytest.approx(1)


@pytest.mark.parametrize(
    ("plant", "shown"),
    [(BARK, False), (MOSS, True), ({**BARK, "roots": 1, "longest_mm": 20}, True)],
    ids=["rooted in bark", "in moss", "new tips"],
)
def test_ice_takes_the_caution_from_rooted_plants_in_bark_alone(
    catalog: Catalog, demo_climate: Climate, plant: dict[str, object], *, shown: bool
) -> None:
    """Ice did no harm to rooted plants in bark, others were not tried; oracle: sides.csv ice-or-tepid, SOUTH2017."""
    bench = build(catalog, demo_climate, plant, place="bedroom-sill")
    assert any("cold-water" in task.cautions for task in tasks_of(bench, START, 30))
    bench.write(SideTaken(on=START, key="ice-or-tepid", side="b"))
    assert any("cold-water" in task.cautions for task in tasks_of(bench, START, 30)) is shown


@pytest.mark.parametrize(("where", "shown"), [("crown", False), ("leaf", False), ("root", True)])
def test_peroxide_is_warned_of_at_roots_whatever_side_is_taken(
    catalog: Catalog, demo_climate: Climate, where: str, *, shown: bool
) -> None:
    """A society accepts it on leaves and crown, never on roots; oracle: trade-facts D3."""
    bench = build(catalog, demo_climate, BARK, place="living-room")
    bench.write(Observed.model_validate({"on": START, "plant": "tide", "seen": "rot", "where": where}))
    assert any("peroxide" in task.cautions for task in bench.planner(START).plan("each").tasks)
    bench.write(SideTaken(on=START, key="peroxide", side="a"))
    assert any("peroxide" in task.cautions for task in bench.planner(START).plan("each").tasks) is shown


def test_what_brings_a_spike_decides_when_one_is_expected(catalog: Catalog, demo_climate: Climate) -> None:
    """Four to eight weeks of cool days, or four to six months after cold nights; oracle: models G3, trade-facts P8b.

    Cool days count where the month up to them had light for a spike, 1.1 mol (PAMAB-LIGHT): the sill has 1.0 in the
    middle of January and 1.8 in that of February, so 1.1 about 19 January and its month's mean half a month later.
    """
    bench = build(catalog, demo_climate, BARK, place="bedroom-sill")
    cool = spike_of(desk_on(bench, START))
    bench.write(SideTaken(on=START, key="spike-trigger", side="a"))
    cold = spike_of(desk_on(bench, START))
    assert cool is not None
    assert cold is not None
    assert cool.early is not None
    first = cool.early - 27
    assert date(2025, 2, 1).toordinal() <= first <= date(2025, 2, 8).toordinal()
    assert (cool.likely, cool.late) == (first + 55, first + 139)
    assert (cold.early, cold.late) == (date(2025, 5, 22).toordinal(), date(2025, 7, 29).toordinal())


def test_no_spike_is_expected_of_a_plant_that_is_not_fit(catalog: Catalog, demo_climate: Climate) -> None:
    """A plant with new tips is to root; oracle: models G7."""
    bench = build(catalog, demo_climate, {**BARK, "roots": 1, "longest_mm": 20}, place="bedroom-sill")
    assert spike_of(desk_on(bench, START)) is None


def test_expanded_clay_is_flushed_twice_a_month_by_the_other_side(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """Bark by every 4th wetting, clay by half a month, in a plain pot too; oracle: trade-facts D7."""
    bench = build(catalog, demo_climate, {**BARK, "medium": "expanded-clay"}, place="living-room")
    usual = [task for task in tasks_of(bench, START, 180) if task.care == "flushing"]
    bench.write(SideTaken(on=START, key="flush-rhythm", side="b"))
    flushes = [task.due for task in tasks_of(bench, START, 180) if task.care == "flushing"]
    assert len(flushes) > len(usual)
    gaps = [(later - former).days for former, later in pairwise(flushes)]
    assert 12 <= sum(gaps) / len(gaps) <= 18


def test_a_flat_mite_is_watched_for_a_month_by_the_one_rule_for_all_mites(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """90 days for flat mites, or 28 for all; oracle: sides.csv mite-watch, trade-facts D31."""
    found = START - timedelta(days=22)
    bench = Bench(catalog, found).place("living-room", demo_climate["living-room"], found)
    bench.write(PlantAdded.model_validate({**BARK, "on": found, "plant": "tide", "place": "living-room"}))
    bench.write(Observed(on=found, plant="tide", seen="flat-mite"))
    for after in (7, 14, 21):
        bench.write(Done(on=found + timedelta(days=after), plant="tide", care="inspection"))
    asked = [task.on for task in looks_for(bench, "flat-mite")]
    bench.write(SideTaken(on=START, key="mite-watch", side="a"))
    fewer = [task.on for task in looks_for(bench, "flat-mite")]
    assert 80 <= (asked[-1] - found).days <= 90
    assert fewer == []  # the next look would be on day 31
    bench.write(Undone(on=START, command=bench.records[-1].command))
    assert [task.on for task in looks_for(bench, "flat-mite")] == asked


def looks_for(bench: Bench, pest: str) -> list[Task]:
    """Return the looks ahead that ask for a pest."""
    return [task for task in bench.planner(START).plan("each").tasks if pest in task.asks]


@pytest.mark.parametrize(("stage", "usual"), [("established", 3), ("rootless", 3)])
def test_a_cut_at_the_crown_is_kept_dry_for_two_days_by_the_other_side(
    catalog: Catalog, demo_climate: Climate, stage: str, usual: int
) -> None:
    """Three days without water, or two; roots keep their own; oracle: sides.csv crown-water-days, D22."""
    told = {**BARK, "stage": stage}
    for where, days in (("crown", (usual, 2)), ("root", (5 if stage == "established" else 2,) * 2)):
        bench = build(catalog, demo_climate, told, place="living-room")
        found = Observed.model_validate({"on": START, "plant": "tide", "seen": "rot", "where": where})
        bench.write(found)
        assert dry_days(bench) == days[0], where
        bench.write(SideTaken(on=START, key="crown-water-days", side="a"))
        assert dry_days(bench) == days[1], where


def dry_days(bench: Bench) -> int:
    """Return the days without water from the first day on."""
    stretches = bench.planner(START).plant_planners[1].stretches
    return sum(s.until - s.start + 1 for s in stretches if s.gap == "rot")


@pytest.mark.parametrize(("latitude", "months"), [(54.3, {11, 12, 1, 2}), (-40.0, {5, 6, 7, 8})])
def test_by_the_calendar_every_second_wetting_of_the_dark_months_is_fed_at_half(
    catalog: Catalog, latitude: float, months: set[int]
) -> None:
    """Half strength at every second wetting of the winter; oracle: sides.csv winter-feed, OCNZ; flushes stand apart."""
    bench = dim_window(catalog, latitude, "phalaenopsis")
    usual = fed(bench, months)
    bench.write(SideTaken(on=START, key="winter-feed", side="a"))
    by_calendar = fed(bench, months)
    tasks = [t for t in tasks_of(bench, START) if t.on.month in months]
    running = [a.on for a, b in pairwise(tasks_of(bench, START)) if a.care == b.care == "feeding"]
    assert usual == {}
    assert set(by_calendar.values()) == {50.0}
    assert not [day for day in running if day.month in months and day.month not in {2, 8}]
    assert len(by_calendar) >= (len(tasks) - len([t for t in tasks if t.care == "flushing"])) // 2 - 1
    bench.write(Undone(on=START, command=bench.records[-1].command))
    assert fed(bench, months) == usual


def test_a_kind_that_is_unfed_in_its_winter_stays_so_by_the_calendar(catalog: Catalog) -> None:
    """A nobile whose rest was told over on 20 January: by light it is fed in February, by the calendar in March."""
    bench = dim_window(catalog, 54.3, "dendrobium-nobile", mol=5.0)
    bench.write(Observed(on=date(2025, 1, 20), plant="tide", rest="over"))
    fed_by = {}
    for side in "ba":
        bench.write(SideTaken.model_validate({"on": START, "key": "winter-feed", "side": side}))
        tasks = bench.planner(date(2025, 1, 20)).plan("each").tasks
        fed_by[side] = {t.on.month for t in tasks if t.care == "feeding" and t.on.year == 2025}
    assert 2 in fed_by["b"]
    assert {1, 2, 11, 12}.isdisjoint(fed_by["a"])
    assert 3 in fed_by["a"]


def test_near_the_equator_no_winter_is_fed_by_a_calendar(catalog: Catalog) -> None:
    """At 3 N the dark corner stays unfed on either side (design section 3 rule 17)."""
    bench = dim_window(catalog, 3.0, "phalaenopsis")
    bench.write(SideTaken(on=START, key="winter-feed", side="a"))
    assert fed(bench, set(range(1, 13))) == {}


def dim_window(catalog: Catalog, latitude: float, profile: str, mol: float = 0.5) -> Bench:
    """Return a plant at a warm window; with half a mole of light all year nothing is fed there by light."""
    rows = [
        MonthRow(month=m, day_c=21, night_c=18, rh_pct=55, air="room", light_mol_m2_d=mol)
        for m in range(1, 13)
    ]
    bench = Bench(catalog, START, latitude=latitude).place("window", rows, START)
    values = {**BARK, "plant": "tide", "place": "window", "profile": profile, "stage": "established"}
    return bench.write(PlantAdded.model_validate({"on": START, **values}))


def fed(bench: Bench, months: set[int]) -> dict[date, float | None]:
    """Return the feeds of a year that fall into some months, with their strengths."""
    return {t.on: t.ppm_n for t in tasks_of(bench, START) if t.care == "feeding" and t.on.month in months}


def test_a_place_is_judged_by_the_noon_of_a_greenhouse_by_the_other_side(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """1,000 fc are 199 µmol, over 12 h 8.6 mol: no home sill has them; oracle: sides.csv light-yardstick, AOS-PHAL."""
    bench = build(catalog, demo_climate, BARK, place="bedroom-sill")
    usual = spike_of(desk_on(bench, START))
    bench.write(SideTaken(on=START, key="light-yardstick", side="a"))
    strict = spike_of(desk_on(bench, START))
    assert usual is not None
    assert strict is not None
    assert usual.likely is not None
    assert (strict.likely, strict.text) == (
        None,
        "no spike is expected: its place gets less than 8.6 mol of light a day",
    )
    bench.write(Undone(on=START, command=bench.records[-1].command))
    assert spike_of(desk_on(bench, START)) == usual


def test_the_yardstick_judges_moth_orchids_alone(catalog: Catalog) -> None:
    """5 mol a day suit a Phalaenopsis by the papers, not by the greenhouse; a Paphiopedilum has numbers of its own."""
    normals = MonthlyClimate(
        day_c=(24.0,) * 12,
        night_c=(17.0,) * 12,
        rh_pct=(60.0,) * 12,
        air=("room",) * 12,
        light_mol=(5.0,) * 12,
        light_source=("daylight",) * 12,
    )
    told = {
        name: [unsuitable(catalog.profiles[name], normals, (), side) for side in "ab"]
        for name in ("phalaenopsis", "paphiopedilum")
    }
    assert told["phalaenopsis"] == [["light under 8.6 mol a day in the best half of the year (5)"], []]
    assert told["paphiopedilum"][0] == told["paphiopedilum"][1]


@pytest.mark.parametrize(("side", "is_fed", "asks"), [("a", True, 14.4), ("b", False, 17.4)])
def test_how_warm_a_miltoniopsis_stands_decides_feed_and_potting(
    catalog: Catalog, side: str, *, is_fed: bool, asks: float
) -> None:
    """16 by day, 13 by night: enough by 13, not by 16; potting asks 17 as far under as 15.6 lies; oracle: D28, W1."""
    rows = [
        MonthRow(month=m, day_c=16, night_c=13, rh_pct=60, air="room", light_mol_m2_d=4) for m in range(1, 13)
    ]
    bench = Bench(catalog, START).place("window", rows, START)
    told = {
        **BARK,
        "plant": "tide",
        "place": "window",
        "profile": "miltoniopsis",
        "stage": "established",
        "tips": 2,
    }
    bench.write(PlantAdded.model_validate({"on": START, **told}))
    bench.write(SideTaken.model_validate({"on": START, "key": "milt-night", "side": side}))
    assert any(t.care == "feeding" for t in tasks_of(bench, START)) == is_fed
    limits = Case(bench.planner(START).plant_planners[1], {}).limits("potting-on")
    assert limits.mean_c == pytest.approx(asks)
