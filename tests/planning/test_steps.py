"""Steps of plant situations, held against a table whose every row names its source."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import Done, Moved, Observed, PlaceAdded, PlantAdded, ReservoirSet
from carecal.plan.model import Grouping
from carecal.planning.steps.overview import steps_of
from tests.planning.step_situations import PATIO, START, Climate, StepRow, build, step_of, step_rows
from tests.published.published_rows import table
from tests.published.test_published_windows import window

GROUPINGS: tuple[Grouping, ...] = ("rounds", "each")
WETTINGS = {"watering", "refilling", "feeding", "flushing", "moistening"}
ESTABLISHED = {"medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established", "tips": 2,
               "roots": 5, "longest_mm": 120, "leaves": 4}  # fmt: skip
OVER_RESERVOIR = {**ESTABLISHED, "medium": "lava", "container": "reservoir"}


def near(got: date | None, wanted: str, days: int) -> bool:
    """Return whether a date is as near to a table's as it allows; '' stands for none, 'any' for any or none."""
    if wanted == "any":
        return True
    if not wanted:
        return got is None
    return got is not None and abs((got - date.fromisoformat(wanted)).days) <= days


@pytest.mark.parametrize("row", [pytest.param(row, id=row.id) for row in step_rows()])
def test_a_step_says_what_the_table_says(row: StepRow, catalog: Catalog, demo_climate: Climate) -> None:
    """Status, whether it is wanted, opening and last safe start; oracle: rule texts and published windows."""
    bench = build(catalog, demo_climate, row.plant, row.then, place=row.place, latitude=row.latitude)
    step = step_of(bench.planner(row.as_of), row.step)
    if not row.status:
        assert step is None
        return
    assert step is not None
    assert (step.status, step.wanted) == (row.status, row.wanted), step
    assert near(step.opens, row.opens, row.tolerance_days), step
    assert near(step.last_safe, row.last_safe, row.tolerance_days), step
    assert step.because
    if step.last_safe is not None:
        assert step.margin_days == (step.last_safe - row.as_of).days


def test_the_table_of_situations_names_a_source_in_each_row() -> None:
    """No row stands without a reason and a source, and each step of the steps table is covered or tested here."""
    rows = step_rows()
    assert len(rows) >= 40
    assert len({row.id for row in rows}) == len(rows)
    named = {row.step for row in rows}
    elsewhere = {"first-feed", "parting-a-keiki", "moving-out", "hardening", "taking-the-plug-out"}
    assert {row["step"].replace(" ", "-") for row in table("steps")} - named == elsewhere


def test_another_kind_shifts_the_limits_by_its_own_night(catalog: Catalog, demo_climate: Climate) -> None:
    """A Cattleya (13 °C at night) is repotted at 17 - 2.6 °C; oracle: the published function at that limit.

    The dark months end it sooner than the cold: 30 September (repot_holds.toml).
    """
    plant = {**ESTABLISHED, "profile": "cattleya", "potted": "2025-03-01"}
    bench = build(catalog, demo_climate, plant, place="bedroom-sill")
    step = step_of(bench.planner(date(2026, 5, 1)), "potting-on")
    ((first, last),) = window("bedroom-sill", "plastic", "potting on", 14.4, None, 6).runs
    assert step is not None
    assert step.opens is not None
    assert step.last_safe is not None
    assert abs((step.opens - date(2026, 1, 1)).days - first) <= 1
    assert last > 272
    assert step.last_safe == date(2026, 9, 30)
    assert step.opens < date(2026, 5, 9)


def test_an_emptied_reservoir_is_never_refilled_by_the_plan(catalog: Catalog, demo_climate: Climate) -> None:
    """Only the step says when to fill again; no task of a year fills it; oracle: design rule 8."""
    bench = build(catalog, demo_climate, OVER_RESERVOIR, place="living-room")
    bench.write(ReservoirSet(on=date(2025, 10, 1), plant="tide", to="empty"))
    planner = bench.planner(date(2025, 10, 2))
    for grouping in GROUPINGS:
        tasks = planner.plan(grouping).tasks
        assert any(task.care in WETTINGS for task in tasks)
        assert not [t for t in tasks if t.care == "refilling" or t.technique in {"fill-and-drain", "refill"}]
    assert step_of(planner, "filling-the-reservoir") is not None


def test_a_wrapped_plant_is_never_watered_by_the_plan(catalog: Catalog, demo_climate: Climate) -> None:
    """No wetting of any kind stands in a year of a wrapped plant, looks do; oracle: states.csv wrapped."""
    plant = {"medium": "moss", "container": "bag", "size_cm": 10, "stage": "rootless"}
    planner = build(catalog, demo_climate, plant, place="bathroom-shelf").planner(date(2025, 6, 1))
    for grouping in GROUPINGS:
        tasks = planner.plan(grouping).tasks
        assert tasks
        assert not [task for task in tasks if task.care in WETTINGS]


def test_a_keiki_waits_for_50_mm_unless_its_mother_fails(catalog: Catalog, demo_climate: Climate) -> None:
    """50 mm in warmth, 25 mm at once beside a dying mother; oracle: steps.csv parting a keiki."""
    bench = build(catalog, demo_climate, ESTABLISHED, place="bedroom-sill")
    bench.write(PlantAdded(on=START, plant="winch", on_mother="tide", leaves=2, roots=2, longest_mm=30))
    waiting = step_of(bench.planner(date(2026, 1, 10)), "parting-a-keiki", 2)
    assert waiting is not None
    assert (waiting.status, waiting.opens) == ("wait", None)
    bench.write(
        Observed(
            on=date(2026, 1, 11),
            plant="tide",
            roots=0,
            longest_mm=0,
            tips=0,
            firmness="limp",
            stage="rootless",
        )
    )
    failing = step_of(bench.planner(date(2026, 1, 12)), "parting-a-keiki", 2)
    assert failing is not None
    assert failing.status == "now"
    bench.write(Observed(on=date(2026, 1, 13), plant="winch", longest_mm=55))
    bench.write(
        Observed(
            on=date(2026, 1, 13), plant="tide", roots=4, longest_mm=110, firmness="firm", stage="established"
        )
    )
    grown = step_of(bench.planner(date(2026, 6, 1)), "parting-a-keiki", 2)
    assert grown is not None
    assert (grown.status, grown.last_safe) == ("now", date(2026, 8, 28))


def test_a_spike_that_carries_a_keiki_is_not_cut(catalog: Catalog, demo_climate: Climate) -> None:
    """Oracle: models G8, never where an unparted keiki sits."""
    plant = {**ESTABLISHED, "stage": "rootless", "flowering": "spent", "potted": "2024-12-20"}
    bench = build(catalog, demo_climate, plant, place="living-room")
    alone = step_of(bench.planner(date(2025, 2, 1)), "cutting-a-spike")
    bench.write(PlantAdded(on=START, plant="winch", on_mother="tide", leaves=1))
    kept = step_of(bench.planner(date(2025, 2, 1)), "cutting-a-spike")
    assert alone is not None
    assert kept is not None
    assert (alone.status, kept.status, kept.wanted) == ("now", "wait", False)


@pytest.mark.parametrize(
    ("summer_night", "opens"), [(15.0, True), (13.0, False)], ids=["mild nights", "nights under 14"]
)
def test_moving_out_is_offered_only_where_nights_are_mild(
    catalog: Catalog, demo_climate: Climate, summer_night: float, opens: bool
) -> None:
    """A patio whose nights never reach 14 °C never opens the step; oracle: models W3, profiles.csv out_night_c."""
    bench = build(catalog, demo_climate, ESTABLISHED, place="bedroom-sill")
    bench.write(
        PlaceAdded(
            on=START,
            place="patio",
            place_kind="patio",
            winter_day_c=4,
            winter_night_c=-1,
            summer_day_c=22,
            summer_night_c=summer_night,
        )
    )
    planner = bench.planner(date(2026, 4, 1))
    step = step_of(planner, "moving-out")
    assert step is not None
    assert step.status == "wait"
    assert (step.opens is not None) is opens
    if step.opens is not None:
        air = planner.context.air("patio", planner.context.as_of)
        assert air is not None
        nights = [air.at("night_c", step.opens.toordinal() + ahead) for ahead in range(14)]
        assert min(nights) >= 14
        assert air.at("night_c", step.opens.toordinal() - 1) < 14


def test_a_plant_comes_in_a_week_before_the_first_cold_night(catalog: Catalog, demo_climate: Climate) -> None:
    """On a balcony: asked seven days before the last mild day; oracle: steps.csv ok_margin_days 7, in_night_c 13."""
    planner = build(catalog, demo_climate, ESTABLISHED, place="glazed-balcony").planner(date(2026, 8, 20))
    air = planner.context.air("glazed-balcony", planner.context.as_of)
    assert air is not None
    cold = next(
        day for day in range(planner.context.as_of, planner.context.as_of + 60) if air.at("night_c", day) < 13
    )
    step = step_of(planner, "moving-in")
    assert step is not None
    assert step.last_safe == date.fromordinal(cold - 1)
    assert step.opens == date.fromordinal(cold - 8)
    assert step.status == "wait"


def test_light_is_stepped_up_for_a_fortnight_after_moving_out(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """Hardening runs 14 days from the move; oracle: steps.csv hardening, weeks_after 2."""
    bench = build(catalog, demo_climate, ESTABLISHED, place="bedroom-sill")
    bench.write(PATIO)
    bench.write(Moved(on=date(2026, 7, 1), plant="tide", place="patio"))
    first = step_of(bench.planner(date(2026, 7, 1)), "hardening")
    assert first is not None
    assert (first.status, first.opens, first.last_safe) == ("now", date(2026, 7, 1), date(2026, 7, 14))
    assert step_of(bench.planner(date(2026, 7, 15)), "hardening") is None


def test_the_dates_of_a_step_stay_from_day_to_day(catalog: Catalog, demo_climate: Climate) -> None:
    """Opening, last safe start, title and reasons do not move while nothing is written and the window stays."""
    plant = {**ESTABLISHED, "potted": "2025-03-01"}
    bench = build(catalog, demo_climate, plant, place="bedroom-sill")
    seen = set()
    for ahead in range(0, 60, 3):
        step = step_of(bench.planner(date(2026, 4, 1) + timedelta(days=ahead)), "potting-on")
        assert step is not None
        seen.add((step.opens, step.last_safe, step.title, step.because))
    assert len(seen) == 1
    assert seen.pop()[2] == "Repot Tide: warm weeks follow until 28 August"


def test_a_nursery_plug_comes_out_after_bloom_or_at_once(catalog: Catalog, demo_climate: Climate) -> None:
    """Noted plugs wait for tips, failing roots do not; a plant repotted here has none; oracle: trade-facts R2, D18."""
    noted = {**ESTABLISHED, "tips": 0, "plug": True}
    bench = build(catalog, demo_climate, noted, place="living-room")
    waiting = step_of(bench.planner(date(2026, 1, 10)), "taking-the-plug-out")
    assert waiting is not None
    assert (waiting.status, waiting.wanted) == ("wait", True)
    bench.write(Observed(on=date(2026, 1, 11), plant="tide", stage="new-tips", firmness="limp"))
    failing = step_of(bench.planner(date(2026, 1, 12)), "taking-the-plug-out")
    assert failing is not None
    assert failing.status == "now"
    repotted = [["potted", "2026-01-20", {"medium": "bark", "container": "plastic"}]]
    later = build(catalog, demo_climate, noted, repotted, place="living-room")
    assert step_of(later.planner(date(2026, 2, 1)), "taking-the-plug-out") is None


def test_the_first_feed_waits_for_all_gates_and_ends_with_the_first_feed(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """It opens on the day the last gate opens and is gone once fed; oracle: steps.csv first feed, feeding_gates.csv."""
    young = {**ESTABLISHED, "stage": "new-tips", "roots": 2, "longest_mm": 35, "potted": "2026-06-01"}
    bench = build(catalog, demo_climate, young, place="living-room")
    waiting = step_of(bench.planner(date(2026, 6, 10)), "first-feed")
    assert waiting is not None
    assert (waiting.status, waiting.opens) == ("wait", date(2026, 6, 22))
    bench.write(Done(on=date(2026, 6, 25), plant="tide", care="feeding"))
    assert step_of(bench.planner(date(2026, 6, 26)), "first-feed") is None


def test_a_plant_without_a_climate_has_no_window_to_judge(catalog: Catalog, demo_climate: Climate) -> None:
    """Lent away, its step is unknown and says why; nothing is guessed."""
    bench = build(catalog, demo_climate, {**ESTABLISHED, "potted": "2025-03-01"}, place="bedroom-sill")
    bench.write(PlaceAdded(on=START, place="away", place_kind="elsewhere"))
    bench.write(Moved(on=date(2026, 5, 1), plant="tide", place="away"))
    found = step_of(bench.planner(date(2026, 5, 20)), "potting-on")
    assert found is not None
    assert found.status == "unknown"
    assert "climate" in found.because[0].text


def test_only_wanted_steps_are_told_unasked(catalog: Catalog, demo_climate: Climate) -> None:
    """The plan holds the wanted ones, asked for all it holds more, and none of a plant that has left."""
    bench = build(catalog, demo_climate, {**ESTABLISHED, "potted": "2025-03-01"}, place="bedroom-sill")
    planner = bench.planner(date(2026, 5, 20))
    wanted = steps_of(planner.plant_planners[1])
    every = steps_of(planner.plant_planners[1], every=True)
    assert all(step.wanted for step in wanted)
    assert len(every) > len(wanted)
