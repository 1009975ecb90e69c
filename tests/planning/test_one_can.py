"""One strength a round, worked by hand: who is fed, who waits, who is first in line; oracle: the rule in words."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from carecal.collection.entries import Done, MonthRow, PlantAdded, SettingChanged
from carecal.planning.rounds.one_can import Asked, Cans, one_strength
from tests.bench import Bench, demo_climates

if TYPE_CHECKING:
    from carecal.catalog.tables import Catalog
    from carecal.plan.model import Plan

START = date(2026, 4, 1)
MON, THU, SUN = "2026-06-01", "2026-06-04", "2026-06-07"


def ask(on: str, plant: int, ppm: float | None, could: float | None = None, **more: Any) -> Asked:
    """Return what a plant asks for on a day."""
    return Asked(on, f"{plant}@{on}", plant, ppm, could, **more)


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        ({1: 60}, {}),
        ({1: 60, 2: 60}, {}),
        ({1: 60, 2: 100}, {2: 60}),  # within a factor of two: the lowest
        ({1: 50, 2: 100}, {2: 50}),  # just so
        ({1: 35, 2: 60, 3: 100}, {2: 35, 3: None}),  # 100 is more than twice 35
        ({1: 35, 2: 71}, {2: None}),
    ],
)
def test_the_lowest_within_a_factor_of_two_is_mixed(
    asked: dict[int, float], expected: dict[int, float | None]
) -> None:
    """Who asks for more than twice of it takes plain water."""
    found = one_strength(ask(MON, plant, ppm) for plant, ppm in asked.items())
    assert found == {f"{plant}@{MON}": ppm for plant, ppm in expected.items()}


def test_a_feed_that_waited_goes_first() -> None:
    """100 waited since Monday: on Thursday it is mixed, 60 with it as 60 is within two, 35 waits in its turn."""
    waits = ask(THU, 1, 100.0, since=MON)
    assert one_strength([waits, ask(THU, 2, 35.0)]) == {f"2@{THU}": None}
    assert one_strength([waits, ask(THU, 2, 35.0), ask(THU, 3, 60.0)]) == {f"1@{THU}": 60.0, f"2@{THU}": None}


def test_who_has_waited_longer_goes_before_who_waits() -> None:
    """Of two that wait the older one decides."""
    found = one_strength([ask(SUN, 1, 100.0, since=THU), ask(SUN, 2, 35.0, since=MON)])
    assert found == {f"1@{SUN}": None}


def test_a_waiting_feed_takes_the_next_water_that_may_carry_it() -> None:
    """Monday's 100 waits for 35; Thursday's water cannot carry it, Sunday's can and then is fed, at 90 by then."""
    days = [ask(MON, 1, 100.0), ask(MON, 2, 35.0), ask(THU, 1, None), ask(SUN, 1, None, 90.0)]
    assert one_strength(days) == {f"1@{MON}": None, f"1@{SUN}": 90.0}
    assert one_strength([*days, ask(SUN, 2, 35.0)]) == {f"1@{MON}": None, f"1@{SUN}": 90.0, f"2@{SUN}": None}


def test_water_that_could_carry_a_feed_stays_water_where_none_waits() -> None:
    """Only a feed that was held back is given on another day."""
    assert one_strength([ask(MON, 1, 60.0), ask(THU, 1, None, 60.0)]) == {}


def test_the_can_of_a_day_stays_what_it_was_when_some_are_done() -> None:
    """35 was poured this morning: 100 takes plain water also after that, not a second can."""
    given_out = ask(MON, 2, 35.0, is_given=True)
    assert one_strength([ask(MON, 1, 100.0), given_out]) == {f"1@{MON}": None}
    assert one_strength([ask(MON, 1, 60.0), given_out]) == {f"1@{MON}": 35.0}


STRENGTHS = st.sampled_from([20.0, 35.0, 45.0, 60.0, 100.0, None])
ASKS = st.lists(
    st.tuples(st.integers(0, 6), st.integers(1, 5), STRENGTHS, STRENGTHS), unique_by=lambda r: r[:2]
)


@given(ASKS)
def test_no_day_has_two_strengths_and_none_gets_more_than_it_asks(
    rows: list[tuple[int, int, float | None, float | None]],
) -> None:
    """Whatever is asked: one strength a day, half at least and never more than what the plant asks, somebody is fed."""
    asked = [ask(f"2026-06-0{day + 1}", plant, ppm, could) for day, plant, ppm, could in rows]
    found = one_strength(asked)
    for on in {each.on for each in asked}:
        of_day = [each for each in asked if each.on == on]
        given_ppm = {each.task: found.get(each.task, each.ppm_n) for each in of_day}
        assert len({ppm for ppm in given_ppm.values() if ppm is not None}) <= 1
        for each in of_day:
            ppm, own = given_ppm[each.task], each.ppm_n if each.ppm_n is not None else each.could_ppm_n
            assert ppm is None or (own is not None and own / 2 <= ppm <= own)
        assert any(given_ppm.values()) or not any(each.ppm_n for each in of_day)


ROW = st.tuples(st.integers(0, 6), STRENGTHS, STRENGTHS)
TURNS = st.lists(
    st.tuples(st.integers(1, 5), st.lists(ROW, max_size=5, unique_by=lambda r: r[0])), min_size=4, max_size=12
)


@settings(max_examples=200)
@given(TURNS)
def test_cans_of_which_some_plants_ask_for_something_else_are_those_of_all(
    turns: list[tuple[int, list[tuple[int, float | None, float | None]]]],
) -> None:
    """Plant by plant asks for other things: each can is what all of them together give, and who is moved is named."""
    cans, asks = Cans(), {}  # type: Cans, dict[int, list[Asked]]
    before: dict[str, float | None] = {}
    for plant, rows in turns:
        asks[plant] = [ask(f"2026-06-0{day + 1}", plant, ppm, could) for day, ppm, could in rows]
        cans.take(plant, asks[plant])
        moved = {(on, each) for on, plants in cans.settle() for each in plants}
        expected = one_strength(each for of_plant in asks.values() for each in of_plant)
        days = {each.on for of_plant in asks.values() for each in of_plant}
        found = {task: ppm for on in days for task, ppm in cans.of_day(on).items()}
        assert found == expected
        others = [each for number, of_plant in asks.items() if number != plant for each in of_plant]
        changed = [e for e in others if before.get(e.task, e.ppm_n) != found.get(e.task, e.ppm_n)]
        assert {(e.on, e.plant) for e in changed} <= moved
        before = found


def house(catalog: Catalog, plants: list[tuple[str, str, float, str, str]]) -> Bench:
    """Return a household: stage, medium, size, place and flowering of each plant."""
    bench = Bench(catalog, START)
    for place, rows in demo_climates().items():
        bench.place(place, rows, START)
    bench.write(SettingChanged(on=START, key="weekdays", value="wed,sat"))
    for number, (stage, medium, size, place, flowering) in enumerate(plants):
        bench.write(
            PlantAdded.model_validate(
                {
                    "on": START,
                    "plant": f"p{number}",
                    "medium": medium,
                    "container": "plastic",
                    "size_cm": size,
                    "place": place,
                    "stage": stage,
                    "flowering": flowering,
                    "watered": START - timedelta(days=1),
                }
            )
        )
    return bench


def strengths(plan: Plan) -> list[set[float]]:
    """Return the strengths of each round that feeds, by its tasks and by its can."""
    found = []
    for round_ in plan.rounds:
        tasks = {t.ppm_n for t in map(plan.poured, round_.tasks) if t.ppm_n is not None}
        assert tasks == {mix.ppm_n for mix in round_.can.feeds}
        if tasks:
            found.append(tasks)
    return found


PLANT = st.tuples(
    st.sampled_from(["new-tips", "rooting-in", "established"]),
    st.sampled_from(["bark", "moss", "expanded-clay"]),
    st.sampled_from([7.0, 9.0, 12.0, 15.0]),
    st.sampled_from(["bedroom-sill", "living-room"]),
    st.sampled_from(["none", "in-spike"]),
)


@settings(max_examples=4, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.lists(PLANT, min_size=2, max_size=6))
def test_no_round_of_a_household_has_two_strengths(
    catalog: Catalog, plants: list[tuple[str, str, float, str, str]]
) -> None:
    """A year of households of all stages, media and places."""
    plan = house(catalog, plants).planner(START).plan("rounds", with_gates=False)
    assert all(len(mixed) == 1 for mixed in strengths(plan))


def mixed_pair(catalog: Catalog) -> Bench:
    """Return a plant rooting in with a spike and an established one in one even room: fed at 36 and at 100."""
    bench = Bench(catalog, START)
    rows = [
        MonthRow(month=m, day_c=21, night_c=21, rh_pct=50, air="room", light_mol_m2_d=2) for m in range(1, 13)
    ]
    bench.place("room", rows, START)
    bench.write(SettingChanged(on=START, key="weekdays", value="tue"))
    for name, stage, flowering in (("winch", "rooting-in", "in-spike"), ("tide", "established", "none")):
        values = {
            "on": START,
            "plant": name,
            "medium": "bark",
            "container": "plastic",
            "size_cm": 12,
            "place": "room",
            "stage": stage,
            "flowering": flowering,
            "watered": START,
        }
        bench.write(PlantAdded.model_validate(values))
    return bench


def shared_day(plan: Plan) -> date:
    """Return the first day on which the 36 of a spike meets a feed that is held back for it."""
    return next(r.on for r in plan.rounds if any(task.ppm_n is None for task in r.other))


def test_who_took_plain_water_for_its_feed_is_fed_next_and_first(catalog: Catalog) -> None:
    """100 is more than twice 60 × 0.6 (stages.toml, states.toml): it takes plain water, and its own feed next time."""
    bench = mixed_pair(catalog)
    plan = bench.planner(START).plan("rounds")
    on = shared_day(plan)
    of_day = {
        plan.poured(t).plant: plan.poured(t)
        for t in next(r for r in plan.rounds if r.on == on).tasks
        if plan.poured(t).care != "inspection"
    }
    assert (of_day[1].care, of_day[1].ppm_n) == ("feeding", 36.0)
    assert (of_day[2].care, of_day[2].ppm_n, of_day[2].feed_waits) == ("watering", None, True)
    later = next(t for t in plan.tasks if t.plant == 2 and t.on > on and t.care != "inspection")
    following = plan.poured(later.id)
    assert (following.care, following.ppm_n) == ("feeding", 100.0)
    for task in (of_day[1], of_day[2]):
        name = "winch" if task.plant == 1 else "tide"
        bench.write(Done.model_validate({"on": on, "plant": name, "care": task.care, "task": task.id}))
    after = bench.planner(on + timedelta(days=1)).plan("rounds")
    first = next(t for t in after.tasks if t.plant == 2 and t.care != "inspection")
    assert (first.care, first.ppm_n, first.waits_since) == ("feeding", 100.0, on)


def test_a_round_that_is_half_done_mixes_no_second_can(catalog: Catalog) -> None:
    """One was fed at 36: the other still gets plain water the same day."""
    bench = mixed_pair(catalog)
    plan = bench.planner(START).plan("rounds")
    on = shared_day(plan)
    fed = next(t for t in plan.tasks if t.plant == 1 and t.on == on and t.care == "feeding")
    bench.write(Done(on=on, plant="winch", care="feeding", task=fed.id))
    same_day = bench.planner(on).plan("rounds")
    left = same_day.poured(next(t.id for t in same_day.tasks if t.plant == 2 and t.care != "inspection"))
    assert (left.on, left.care, left.feed_waits) == (on, "watering", True)
