"""Each side of the trade's conflicts switches what it is said to affect, or the list says that it changes no plan."""

from __future__ import annotations

import re
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

import carecal
from carecal.catalog.tables import Catalog
from carecal.collection.entries import Observed, SideTaken
from carecal.plan.model import Task
from carecal.planning.forecasts.spike import spike_of
from carecal.planning.sides import CHANGES_NO_PLAN
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
