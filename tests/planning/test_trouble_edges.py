"""Orders that would harm or contradict each other, at their edges; oracle: the tables, and what a grower would do."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest

from carecal.catalog.tables import Catalog
from carecal.collection.entries import (
    Done,
    Entry,
    Left,
    MonthRow,
    Observed,
    PlantAdded,
    QuarantineSet,
    SettingChanged,
    SideTaken,
    StoodBeside,
    Treated,
)
from carecal.planning.sick.beside import beside_days, beside_questions
from tests.planning.step_situations import build, step_of

FIRST = date(2025, 1, 1)
GROWN: dict[str, Any] = {
    "medium": "bark", "container": "plastic", "size_cm": 12, "stage": "established", "roots": 5,
    "longest_mm": 120, "tips": 2, "leaves": 5, "came": "2023-01-01", "potted": "2024-09-01",
}  # fmt: skip
WETTINGS = frozenset({"watering", "refilling", "feeding", "flushing"})


def year(cold: int = 0, **values: float) -> dict[str, Any]:
    """Return one place, warm all year, but in its first months as cold as 12 °C by day and 8 at night."""
    rows = (
        MonthRow(
            month=m,
            rh_pct=50,
            air="room",
            light_mol_m2_d=values.get("light", 4),
            day_c=12 if m <= cold else 24,
            night_c=8 if m <= cold else 20,
        )
        for m in range(1, 13)
    )
    return {"room": tuple(rows)}


def on(days: int) -> date:
    """Return a day so long after the first."""
    return FIRST + timedelta(days=days)


def test_who_takes_the_shorter_side_waters_after_two_days(catalog: Catalog) -> None:
    """D22: two days by one side, three by the other."""
    sides: tuple[tuple[Any, int], ...] = (("a", 2), ("b", 3))
    for side, days in sides:
        bench = build(catalog, year(), GROWN, place="room")
        bench.write(
            SideTaken(on=FIRST, key="crown-water-days", side=side),
            Observed(on=on(9), plant="tide", seen="rot", where="crown"),
        )
        first = min(t.on for t in bench.planner(on(9)).plan("each").tasks if t.care in WETTINGS)
        assert first >= on(9 + days)
        assert ("rot" in bench.planner(on(9)).plant_planners[1].stretches[-1].gap) is False
        gaps = [s for s in bench.planner(on(9)).plant_planners[1].stretches if s.gap == "rot"]
        assert sum(s.until - s.start + 1 for s in gaps) == days


def test_what_stands_open_is_watered_as_the_day_allows(catalog: Catalog) -> None:
    """Due in a cold month and still open in a warm one: a drench, not the little that was right then."""
    bench = build(catalog, year(cold=4), {**GROWN, "watered": "2024-12-25"}, place="room")
    bench.write(SettingChanged(on=FIRST, key="ticking", value="careful"))
    cold = [t for t in bench.planner(on(110)).plan("each").tasks if t.care == "watering" and t.on <= on(112)]
    warm = [t for t in bench.planner(on(160)).plan("each").tasks if t.care == "watering" and t.on == on(160)]
    assert warm
    assert {t.technique for t in warm} == {"drench"}
    assert "drench" not in {t.technique for t in cold}


def test_a_newcomer_of_whom_little_is_known_is_asked_for_pests_all_the_same(catalog: Catalog) -> None:
    """Its missing stage does not hide the quarantine's question, nor the find's."""
    bench = build(catalog, year(), {"medium": "bark", "container": "plastic", "size_cm": 12}, place="room")
    bench.write(QuarantineSet(on=FIRST, plant="tide"))
    asks = [t.asks for t in bench.planner(FIRST).plan("each").tasks if t.care == "inspection"]
    assert "any pest, on both sides of the leaves" in asks[0]
    assert "say its stage" in asks[0]
    bench.write(Observed(on=on(3), plant="tide", seen="mealybug"))
    asks = [
        t.asks for t in bench.planner(on(3)).plan("each").tasks if t.care == "inspection" and t.on > on(3)
    ]
    assert "mealybug again?" in asks[0]
    assert "look over the others" in asks[0]


def test_a_quarantine_ends_no_sooner_than_its_pest(catalog: Catalog) -> None:
    """Mealybug at 22 °C: 667 day-degrees above 8.5 are 50 days, and a week (KARACA2017); 28 alone would free it."""
    bench = build(catalog, year(), GROWN, place="room")
    bench.write(QuarantineSet(on=FIRST, plant="tide"), Observed(on=on(3), plant="tide", seen="mealybug"))
    step = step_of(bench.planner(on(4)), "ending-quarantine")
    assert step is not None
    assert step.opens is not None
    assert abs((step.opens - on(3)).days - 57) <= 1


def test_a_keiki_is_asked_for_its_roots(catalog: Catalog) -> None:
    """Its roots hang in the air, and parting it asks for their length: models G8."""
    bench = build(catalog, year(), GROWN, place="room")
    bench.write(
        PlantAdded(on=FIRST, plant="pip", on_mother="tide", place="room", leaves=2, roots=1, longest_mm=10)
    )
    tasks = bench.planner(on(30)).plan("each").tasks
    asks = [t.asks for t in tasks if t.plant == 2 and t.care == "inspection"]
    assert "count its roots; how long is the longest in mm?" in asks[0]


def test_a_cold_reservoir_is_poured_through_and_never_filled(catalog: Catalog) -> None:
    """On a day on which a step says 'empty it' no task says 'refill' (steps.toml emptying-the-reservoir)."""
    wet = {**GROWN, "medium": "expanded-clay", "container": "reservoir", "reservoir": "filled"}
    chill = {
        "room": tuple(
            MonthRow(
                month=m,
                rh_pct=50,
                air="room",
                light_mol_m2_d=4,
                day_c=17 if m in {12, 1, 2} else 24,
                night_c=13 if m in {12, 1, 2} else 20,
            )
            for m in range(1, 13)
        )
    }
    bench = build(catalog, chill, wet, place="room")
    planner = bench.planner(on(15))
    step = step_of(planner, "emptying-the-reservoir")
    assert step is not None
    assert step.status == "now"
    tasks = [t for t in planner.plan("each").tasks if t.care in WETTINGS]
    winter = [t for t in tasks if t.due <= on(31)]
    assert winter
    assert {t.technique for t in winter} <= {"pour-through", "a-little"}
    assert "refilling" not in {t.care for t in winter}
    assert "refilling" in {t.care for t in tasks if date(2025, 6, 1) < t.due < date(2025, 8, 1)}


def test_leaves_that_come_soft_are_watered_and_not_fed(catalog: Catalog) -> None:
    """Limp at the first look: plain water for four weeks, or until firm; wrinkles that stay bar no feed for ever."""
    bench = build(catalog, year(), {**GROWN, "watered": "2024-12-15"}, place="room")
    bench.write(Observed(on=on(2), plant="tide", firmness="limp"))
    gates = bench.planner(on(2)).plant_planners[1].gates
    shut = [n for n in range(60) if "losing-ground" in gates.shut_on(on(n).toordinal())]
    assert shut == list(range(2, 31))
    fed = [t.on for t in bench.planner(on(2)).plan("each").tasks if t.care == "feeding"]
    assert min(fed) > on(30)
    bench.write(
        Observed(on=on(20), plant="tide", firmness="limp"), Observed(on=on(40), plant="tide", firmness="limp")
    )
    later = bench.planner(on(40)).plant_planners[1].gates
    assert "losing-ground" not in later.shut_on(on(45).toordinal())


def test_one_visit_wipes_and_looks(catalog: Catalog) -> None:
    """Looks weekly, wiping every 10 days when cool: no look three days before the wiping (our choice)."""
    cool = {
        "room": tuple(
            MonthRow(month=m, rh_pct=50, air="room", light_mol_m2_d=4, day_c=20, night_c=18)
            for m in range(1, 13)
        )
    }
    bench = build(catalog, cool, GROWN, place="room")
    bench.write(
        Observed(on=on(10), plant="tide", seen="mealybug"),
        Treated(on=on(10), plant="tide", did="wiped", against="mealybug"),
    )
    looks = [t for t in bench.planner(on(10)).plan("each").tasks if t.care == "inspection" and t.due > on(10)]
    days = [(t.due - on(10)).days for t in looks if t.due <= on(70)]
    assert all(after - before > 3 for before, after in pairwise(days))
    wiped = [(t.due - on(10)).days for t in looks if t.due <= on(70) and "again, as last time" in t.asks]
    assert wiped == [10, 20, 30, 40, 50, 60]


OLD: dict[str, Any] = {**GROWN, "medium": "moss", "container": "clear-plastic", "potted": "2022-03-01"}


def test_old_moss_in_november_is_bridged(catalog: Catalog) -> None:
    """Half the feed, a look a fortnight at the wall, no potting; spring ends it (repot_holds.toml dark-months)."""
    dim = year(light=1.6)
    bench = build(catalog, dim, OLD, place="room")
    autumn, spring = date(2025, 11, 3), date(2025, 4, 1)
    tasks = bench.planner(autumn).plan("each").tasks
    looks = [t for t in tasks if t.care == "inspection" and autumn < t.due < date(2026, 1, 20)]
    assert all(14 - 3 <= (b.due - a.due).days <= 14 + 3 for a, b in pairwise(looks))
    assert all("brown roots at the wall, a sour smell, wet after 28 days?" in t.asks for t in looks)
    fed = [t for t in tasks if t.care == "feeding" and t.due < date(2026, 1, 31)]
    plain = (
        build(catalog, dim, {**OLD, "potted": "2024-09-01"}, place="room").planner(autumn).plan("each").tasks
    )
    fresh = [t for t in plain if t.care == "feeding" and t.due < date(2026, 1, 31)]
    assert fed
    assert {t.ppm_n for t in fed} == {(t.ppm_n or 0) / 2 for t in fresh}
    step = step_of(bench.planner(autumn), "new-medium-due")
    assert step is not None
    assert step.status == "wait"
    assert not [
        t
        for t in bench.planner(spring).plan("each").tasks
        if "old medium" in t.asks and t.due < date(2025, 9, 1)
    ]


def test_old_moss_that_stays_wet_is_changed_whatever_the_season(catalog: Catalog) -> None:
    """Damp 28 days after water and more: an emergency; at 20 days, or in fresh moss, it is none."""
    for potted, damp, status in (
        ("2022-03-01", 40, "now"),
        ("2022-03-01", 20, "wait"),
        ("2024-09-01", 40, "wait"),
    ):
        bench = build(catalog, year(light=1.6), {**OLD, "potted": potted}, place="room")
        watered = date(2025, 11, 1)
        bench.write(Done(on=watered, plant="tide", care="watering"))
        bench.write(Left(on=watered + timedelta(days=damp), plant="tide", care="watering"))
        step = step_of(bench.planner(watered + timedelta(days=damp)), "potting-on")
        assert step is not None
        assert step.status == status
        assert ("still damp 40 days after water" in step.because[0].text) is (status == "now")


@pytest.mark.parametrize(
    ("own", "pest", "looked", "asked_to"),
    [
        (None, "mealybug", [20, 27], 30),
        (19, "mealybug", [20, 27], 30),
        (20, "mealybug", [], None),
        (23, "mealybug", [], None),
        (23, "scale", [20, 27], 30),
    ],
)
def test_who_has_the_pest_itself_is_no_neighbour_of_it(
    catalog: Catalog, own: int | None, pest: str, looked: list[int], asked_to: int | None
) -> None:
    """Two looks a week apart, asked for half a week longer; from its own find on that rules; rule 26, by hand."""
    bench = build(catalog, year(), GROWN, place="room")
    told: list[Entry] = [StoodBeside(on=on(20), plant="tide", pest="mealybug")]
    if own is not None:
        told.append(Observed(on=on(own), plant="tide", seen=pest))
    bench.write(*sorted(told, key=lambda each: each.on))
    planner = bench.planner(on(24))
    line, context = planner.plant_planners[1].line, planner.context
    first = FIRST.toordinal()
    assert [day - first for day in beside_days(line, context)] == looked
    asks = [day for day in range(15, 45) if beside_questions(line, first + day, context)]
    assert asks == ([] if asked_to is None else list(range(20, asked_to + 1)))
