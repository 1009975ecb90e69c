"""Steps as tasks of rounds: when they stand open, for how long, and under which id."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import PottingPlanned
from carecal.plan.model import Task
from carecal.planning.steps.overview import steps_of
from carecal.planning.steps.tasks import step_tasks
from tests.bench import Bench
from tests.planning.step_situations import Climate, build, step_of

PLANT = {"medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established", "tips": 2, "roots": 5,
         "longest_mm": 120, "leaves": 4, "potted": "2025-03-01"}  # fmt: skip


def tasks_on(bench: Bench, as_of: date, step: str = "potting-on") -> list[Task]:
    """Return the tasks of one step on a day."""
    planner = bench.planner(as_of)
    found = step_tasks(
        planner.plant_planners[1], steps_of(planner.plant_planners[1], planner.timeline.plants)
    )
    return [task for task in found if task.step == step]


def at(
    catalog: Catalog, climate: Climate, plant: dict[str, Any] = PLANT, place: str = "bedroom-sill"
) -> Bench:
    """Return a collection with one plant."""
    return build(catalog, climate, plant, place=place)


def test_a_step_is_asked_for_on_the_care_day_after_it_opens_and_before_it_closes(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """Wednesday 13 May after Sunday 10 May, and from 14 August; oracle: checks_windows WIN01, weekdays wed,sat."""
    opening, closing = tasks_on(at(catalog, demo_climate), date(2026, 4, 1))
    assert (opening.due, opening.on, opening.status) == (date(2026, 5, 10), date(2026, 5, 13), "planned")
    assert opening.id == "step/1/potting-on/2026-05-10"
    assert (closing.id, closing.due) == ("step/1/potting-on/2026-05-10/closes", date(2026, 8, 14))
    assert (opening.care, opening.minutes) == ("step", 5)
    assert {"clean-blade", "dust", "disinfect"} <= set(opening.cautions)


def test_a_step_that_may_wait_is_open_for_a_fortnight_only(catalog: Catalog, demo_climate: Climate) -> None:
    """It does not nag until August: open on 13 and 23 May, not on 24 May, again on 15 August."""
    bench = at(catalog, demo_climate)

    def is_open(day: date) -> bool:
        return any(task.status == "open" for task in tasks_on(bench, day))

    assert [is_open(date(2026, 5, day)) for day in (12, 13, 23, 24)] == [False, True, True, False]
    assert [is_open(date(2026, 8, day)) for day in (14, 15, 28, 29)] == [False, True, True, False]


def test_ids_and_days_of_planned_steps_stay_from_day_to_day(catalog: Catalog, demo_climate: Climate) -> None:
    """Nothing moves while nothing is written; oracle: design section 2."""
    bench = at(catalog, demo_climate)
    seen = {
        tuple(
            (task.id, task.on, task.asks, task.because)
            for task in tasks_on(bench, date(2026, 4, 1) + timedelta(days=n))
        )
        for n in range(0, 35, 2)
    }
    assert len(seen) == 1


def test_the_end_of_a_quarantine_is_asked_until_it_is_answered(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """Open on the 28th day and a month later, carried, under one id; oracle: states.csv quarantine."""
    looks = [["done", day, {"care": "inspection"}] for day in ("2025-01-10", "2025-01-17", "2025-01-24")]
    bench = build(
        catalog, demo_climate, {**PLANT, "potted": None, "came": "2025-01-01"}, looks, place="living-room"
    )
    ids = set()
    for day in (date(2025, 1, 29), date(2025, 2, 28)):
        (task,) = tasks_on(bench, day, "ending-quarantine")
        assert (task.status, task.on) == ("open", day)
        ids.add(task.id)
    assert ids == {"step/1/ending-quarantine/2025-01-29"}


def test_a_planned_potting_is_confirmed_on_its_very_day_and_stones_are_soaked_the_day_before(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """On a Monday and a Sunday, though care days are Wednesday and Saturday; oracle: design rule 14, steps.csv."""
    bench = at(catalog, demo_climate)
    bench.write(
        PottingPlanned(
            on=date(2026, 5, 20),
            plant="tide",
            medium="lava",
            container="net",
            size_cm=12,
            day=date(2026, 6, 8),
        )
    )
    (confirm,) = tasks_on(bench, date(2026, 5, 21), "confirming-a-potting")
    (soak,) = tasks_on(bench, date(2026, 5, 21), "soaking-clay")
    assert (confirm.on, soak.on) == (date(2026, 6, 8), date(2026, 6, 7))
    assert "dust" in soak.cautions


def test_an_emergency_stands_on_today_at_once(catalog: Catalog, demo_climate: Climate) -> None:
    """Rot at the roots is asked for today, on any weekday, until it is repotted; oracle: steps.csv emergency."""
    rot = [["observed", "2026-01-05", {"seen": "rot", "where": "root"}]]
    bench = build(catalog, demo_climate, PLANT, rot, place="bedroom-sill")
    for day in (date(2026, 1, 5), date(2026, 2, 20)):
        (task,) = tasks_on(bench, day)
        assert (task.on, task.status) == (day, "open")
    repotted = [*rot, ["potted", "2026-02-21", {"medium": "bark", "container": "plastic", "size_cm": 11}]]
    assert (
        tasks_on(build(catalog, demo_climate, PLANT, repotted, place="bedroom-sill"), date(2026, 2, 22)) == []
    )


def test_a_planned_potting_into_moss_asks_for_gloves_and_a_clean_blade(
    catalog: Catalog, demo_climate: Climate
) -> None:
    """The medium to come decides, not the one it stands in; oracle: cautions.csv moss-gloves, clean-blade, dust."""
    bench = at(catalog, demo_climate)
    bench.write(
        PottingPlanned(
            on=date(2026, 5, 20),
            plant="tide",
            medium="moss",
            container="plastic",
            size_cm=12,
            day=date(2026, 6, 8),
        )
    )
    (confirm,) = tasks_on(bench, date(2026, 5, 21), "confirming-a-potting")
    assert {"moss-gloves", "clean-blade", "dust"} <= set(confirm.cautions)


@pytest.mark.parametrize(
    ("day", "medium", "container", "last"),
    [
        ("2026-08-15", "bark", "plastic", None),
        ("2026-09-15", "bark", "plastic", "28 August"),
        ("2026-07-01", "lava", "reservoir", None),
        ("2026-08-15", "lava", "reservoir", "12 July"),
    ],
)
def test_a_potting_planned_for_no_safe_start_says_when_the_last_one_was(
    catalog: Catalog, demo_climate: Climate, day: str, medium: str, container: str, last: str | None
) -> None:
    """Potting on is safe to 28 August, converting to 12 July; oracle: checks_windows WIN01, WIN08."""
    plan = [
        "potting-planned",
        "2026-06-20",
        {"day": day, "medium": medium, "container": container, "size_cm": 12},
    ]
    plant = {"medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established", "tips": 2}
    bench = build(catalog, demo_climate, plant, [plan], place="bedroom-sill")
    step = step_of(bench.planner(date(2026, 6, 21)), "confirming-a-potting")
    assert step is not None
    warned = [reason.text for reason in step.because if reason.code == "not-safe"]
    assert len(warned) == (last is not None)
    assert all(f"the last one before it was {last} 2026" in text for text in warned)
