"""What holds for every plant, place and day: pauses, warmth, pot size, reservoirs, wraps, bounds, learning."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from typing import Any, NamedTuple

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from carecal.catalog.load import load_catalog
from carecal.catalog.tables import Catalog
from carecal.collection.entries import (
    AidSet,
    Done,
    Left,
    MonthRow,
    Paused,
    PlantAdded,
    ReservoirSet,
    SettingChanged,
)
from carecal.plan.model import Plan, Task
from tests.bench import Bench, demo_climates

START = date(2025, 3, 3)
WETTINGS = frozenset({"watering", "refilling", "feeding", "flushing", "moistening"})
OF_POT = WETTINGS - {"moistening"}
POTS = (("bark", "plastic"), ("moss", "net"), ("lava", "reservoir"), ("bark-mix", "terracotta"), ("none", "mount"),
        ("expanded-clay", "reservoir"), ("pumice", "slotted"))  # fmt: skip
AIRS = ("still", "room", "gentle", "breezy", "windy")


class Air(NamedTuple):
    """The same air all year: day and night [°C], RH [%], class of movement, light [mol m⁻² d⁻¹]."""

    day_c: float
    night_c: float
    rh_pct: float
    air: int
    light: float

    def months(self) -> list[MonthRow]:
        """Return it as twelve months."""
        row: Any = {
            "day_c": self.day_c,
            "night_c": self.night_c,
            "rh_pct": self.rh_pct,
            "air": AIRS[self.air],
        }
        return [MonthRow(month=month, light_mol_m2_d=self.light, **row) for month in range(1, 13)]


airs = st.builds(
    Air, st.integers(17, 32), st.integers(14, 17), st.integers(30, 85), st.integers(0, 3), st.integers(0, 12)
)
pots = st.sampled_from(POTS)
stages = st.sampled_from(["rootless", "new-tips", "rooting-in", "established"])
places = st.sampled_from(["bedroom-sill", "living-room", "grow-cabinet", "stair-window"])
starts = st.integers(0, 364).map(lambda days: START + timedelta(days=days))


@cache
def _catalog() -> Catalog:
    return load_catalog()


def _bench(day: date, months: list[MonthRow], weekdays: str = "none") -> Bench:
    bench = Bench(_catalog(), day)
    bench.place("there", months, day)
    return bench.write(SettingChanged(on=day, key="weekdays", value=weekdays))


def _add(bench: Bench, day: date, pot: tuple[str, str], size: float, stage: Any, **more: Any) -> Bench:
    medium, container = pot
    return bench.write(
        PlantAdded(
            on=day,
            plant="cleat",
            medium=medium,
            container=container,
            size_cm=size,
            stage=stage,
            place="there",
            watered=day,
            **more,
        )
    )


def _plan(bench: Bench, day: date, days: int = 120) -> Plan:
    return bench.planner(day, day + timedelta(days=days)).plan("rounds")


def _days(air: Air, pot: tuple[str, str], size: float, stage: str) -> int:
    """Return the whole days of the rhythm that begins in an air.

    In very dry air an open pot may cool so far that nothing is wetted: no interval to compare (models I2).
    """
    rhythms = _plan(_add(_bench(START, air.months()), START, pot, size, stage), START, 30).rhythms
    assume(rhythms)
    return rhythms[0].days


def _wettings(plan: Plan) -> list[Task]:
    return [task for task in plan.tasks if task.care in WETTINGS]


@settings(max_examples=30)
@given(
    pots, stages, places, starts, st.integers(0, 60), st.integers(1, 90), st.sampled_from(["none", "wed,sat"])
)
def test_pausing_feeding_removes_no_wetting(
    pot: tuple[str, str], stage: str, place: str, day: date, gap: int, length: int, weekdays: str
) -> None:
    """Every wetting keeps its day while feeding is paused, and none within the pause is a feed (design §3, rule 7)."""
    bench = _add(_bench(day, list(demo_climates()[place]), weekdays), day, pot, 12, stage)
    before = _plan(bench, day, 180)
    begin, until = day + timedelta(days=gap), day + timedelta(days=gap + length)
    after = _plan(bench.write(Paused(on=day, care="feeding", start=begin, until=until)), day, 180)
    assert [(t.id, t.on) for t in _wettings(before)] == [(t.id, t.on) for t in _wettings(after)]
    assert not [t for t in after.tasks if t.care == "feeding" and begin <= t.on <= until]


@settings(max_examples=60)
@given(
    airs,
    st.integers(0, 5),
    st.integers(0, 5),
    st.integers(0, 25),
    st.integers(0, 1),
    st.integers(0, 6),
    pots,
    stages,
)
def test_warmer_drier_windier_or_brighter_never_lengthens_an_interval(
    air: Air, day_c: int, night_c: int, rh: int, moved: int, light: int, pot: tuple[str, str], stage: str
) -> None:
    """The days at a place that takes more water from a pot are as many or fewer, all else equal (models I, sense)."""
    harsher = Air(
        air.day_c + day_c, air.night_c + night_c, air.rh_pct - rh, air.air + moved, air.light + light
    )
    assert _days(harsher, pot, 12, stage) <= _days(air, pot, 12, stage)


@settings(max_examples=40)
@given(airs, pots, stages, st.floats(5, 25), st.floats(0, 10))
def test_a_bigger_pot_never_dries_sooner(
    air: Air, pot: tuple[str, str], stage: str, size: float, more: float
) -> None:
    """The days of a pot of more centimetres are as many or more, all else equal (models I, sense)."""
    assert _days(air, pot, size + more, stage) >= _days(air, pot, size, stage)


@settings(max_examples=30)
@given(st.sampled_from(["lava", "expanded-clay", "pumice"]), stages, places, starts, st.integers(0, 200))
def test_an_emptied_reservoir_is_never_refilled_by_the_plan(
    medium: str, stage: str, place: str, day: date, later: int
) -> None:
    """From the day it was emptied on purpose no task fills it, however long it stays so (design §3, rule 8)."""
    bench = _add(_bench(day, list(demo_climates()[place])), day, (medium, "reservoir"), 12, stage)
    bench.write(ReservoirSet(on=day, plant="cleat", to="empty"))
    plan = _plan(bench, day + timedelta(days=later), 200)
    assert not [t for t in plan.tasks if t.care == "refilling" or t.technique in {"fill-and-drain", "refill"}]
    assert plan.plants[0].reservoir == "empty"


@settings(max_examples=30)
@given(st.sampled_from(POTS[:4]), stages, places, starts, st.integers(0, 60), st.integers(0, 60))
def test_a_wrapped_plant_is_never_wetted_by_the_plan(
    pot: tuple[str, str], stage: str, place: str, day: date, gap: int, later: int
) -> None:
    """From the day of the wrap nothing is wetted, and it is opened and looked at instead (design §3, rule 9)."""
    bench = _add(_bench(day, list(demo_climates()[place])), day, pot, 12, stage)
    wrapped = day + timedelta(days=gap)
    bench.write(AidSet(on=wrapped, plant="cleat", aid="wrap"))
    plan = _plan(bench, wrapped + timedelta(days=later))
    assert _wettings(plan) == []
    assert any(t.care == "inspection" for t in plan.tasks)


@settings(max_examples=40)
@given(pots, stages, places, starts, st.sampled_from(sorted(load_catalog().profiles)), st.floats(5, 25))
def test_no_interval_lies_outside_floor_and_ceiling(
    pot: tuple[str, str], stage: str, place: str, day: date, profile: str, size: float
) -> None:
    """Every rhythm of a year keeps to the medium's bounds, the ceiling stretched by nothing but a rest (models I2)."""
    plan = _plan(
        _add(_bench(day, list(demo_climates()[place])), day, pot, size, stage, profile=profile), day, 365
    )
    stretch = _catalog().profiles[profile].rest_interval_factor
    medium = _catalog().media["moss" if stage == "rootless" else pot[0]]
    for rhythm in plan.rhythms:
        in_use = rhythm.care == "refilling" and medium.max_days_in_reservoir is not None
        ceiling = medium.max_days_in_reservoir if in_use else medium.max_days
        resting = any(reason.code in {"resting", "resting-half"} for reason in rhythm.reasons)
        assert max(1, medium.min_days) <= rhythm.days
        assert rhythm.days <= float(ceiling or 0) * (stretch if resting else 1) + 0.5


answers = st.lists(
    st.tuples(st.integers(2, 20), st.sampled_from(["right", "damp", "parched", "left", None])), max_size=8
)


@settings(max_examples=40)
@given(pots, stages, places, starts, answers, st.lists(st.integers(0, 300), min_size=2, max_size=4))
def test_the_learned_factor_is_the_same_on_whatever_day_it_is_asked(
    pot: tuple[str, str], stage: str, place: str, day: date, told: list[tuple[int, Any]], later: list[int]
) -> None:
    """After the last answer what was learned stays as it is, asked on any later day (design §3, rule 4)."""
    bench = _add(_bench(day, list(demo_climates()[place])), day, pot, 12, stage)
    last = day
    care: Any = "moistening" if stage == "rootless" else "watering"
    for gap, felt in told:
        last += timedelta(days=gap)
        bench.write(
            Left(on=last, plant="cleat", care=care)
            if felt == "left"
            else Done(on=last, plant="cleat", care=care, felt=felt)
        )
    planners = [bench.planner(last + timedelta(days=days)) for days in later]
    assert len({tuple(planner.plant_planners[1].estimates) for planner in planners}) == 1
