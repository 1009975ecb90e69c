"""The salts of a pot through waterings, feeds and flushes, and the flush that they bring forward."""

from __future__ import annotations

from datetime import date, timedelta
from math import exp
from typing import TYPE_CHECKING

import pytest
from scipy.integrate import solve_ivp

from carecal.collection.entries import (
    Done,
    Entry,
    MonthRow,
    Observed,
    PlantAdded,
    Potted,
    SupplyFertiliser,
    SupplyWater,
)
from carecal.planning.wettings.salting import fraction_after

if TYPE_CHECKING:
    from carecal.plan.model import Gate
    from carecal.planning.plant_planner import PlantPlanner
    from tests.bench import Bench

START = date(2025, 1, 1)
HELD_L = 0.0005 * 12**3 * 0.35  # models D5, bark


def potted(bench: Bench, *supplies: Entry) -> Bench:
    """Return a plant potted into fresh bark on the first day in a room without seasons: 6 days between wettings."""
    rows = [
        MonthRow(month=m, day_c=21, night_c=21, rh_pct=50, air="room", light_mol_m2_d=2) for m in range(1, 13)
    ]
    bench.place("room", rows, START)
    bench.write(
        PlantAdded(
            on=START,
            plant="tide",
            medium="bark",
            container="plastic",
            size_cm=12,
            place="room",
            stage="established",
        ),
    )
    bench.write(Potted(on=START, plant="tide", medium="bark", container="plastic", size_cm=12), *supplies)
    return bench


def water(ec: float) -> SupplyWater:
    """Return a water of so many mS/cm."""
    return SupplyWater(on=START, name="tap", ec_ms_cm=ec)


def plant_planner(bench: Bench, as_of: date) -> PlantPlanner:
    """Return the plant's planner on a day."""
    return bench.planner(as_of).plant_planners[1]


def tick(bench: Bench, wettings: int, care: str = "watering", **more: object) -> date:
    """Wet the plant on each due day by the rhythm and return the last day."""
    day = START
    for _ in range(wettings):
        beat = plant_planner(bench, day).beats.at(day.toordinal())
        assert beat is not None
        day += timedelta(days=beat.days)
        bench.write(Done.model_validate({"on": day, "plant": "tide", "care": care, **more}))
    return day


def gate(bench: Bench, as_of: date, name: str = "salts") -> Gate:
    """Return a gate of feeding as it is reported."""
    (found,) = (g for g in plant_planner(bench, as_of).gate_report() if g.gate == name)
    return found


@pytest.mark.parametrize("target", [0.35, 0.55, 0.7])
@pytest.mark.parametrize("share", [0.0, 0.3, 0.8, 1.0, 1.5])
def test_the_water_left_is_that_of_two_stage_drying(target: float, share: float) -> None:
    """Half is lost evenly, the rest in proportion to what can go; oracle: scipy.integrate.solve_ivp."""

    def loss(_: float, water: list[float]) -> list[float]:
        return [-min(1.0, (water[0] - 0.05) / 0.45)]

    def reaches(_: float, water: list[float]) -> float:
        return float(water[0] - target)

    reaches.terminal = True  # type: ignore[attr-defined]
    whole = solve_ivp(loss, (0, 9), [1.0], events=reaches, rtol=1e-9, atol=1e-12, max_step=0.01).t_events[0][
        0
    ]
    left = 1.0 if share == 0 else solve_ivp(loss, (0, share * whole), [1.0], rtol=1e-9, atol=1e-12).y[0][-1]
    assert fraction_after(share, target) == pytest.approx(left, abs=2e-4)


def drenched(start: float, water: float, n: int) -> float:
    """Strength after n drenches, each for 65 % of the water held, 15 % of what is poured drains (models S2)."""
    poured = 0.65 / (1 - 0.15)
    for _ in range(n):
        start = (start + water * poured) / (1 + 0.15 * poured)
    return start


def test_plain_waterings_leave_the_salts_of_the_water(bench: Bench) -> None:
    """Five drenches of 0.4 mS/cm; oracle: models S2 wetting by wetting for 65 % of the water lost each time."""
    potted(bench, water(0.4))
    day = tick(bench, 5)
    by_hand = drenched(0.4, 0.4, 5)
    found = plant_planner(bench, day).chain.tally
    assert found.salt_ms_cm == pytest.approx(by_hand, rel=0.06)  # settling stretches the rhythm to whole days
    assert found.wetted == day.toordinal()


def test_a_feed_brings_more_than_water(bench: Bench) -> None:
    """A feed of 100 mg/L of N at 0.5 mS/cm per 100 in water of 0.2, less 30 % taken up, by hand (models S1, S2, F3)."""
    feed = SupplyFertiliser(on=START, name="Quay feed", n_pct=20, p2o5_pct=20, k2o_pct=20, ec_per_100_ppm=0.5)
    potted(bench, water(0.2), feed)
    day = tick(bench, 1)
    before = plant_planner(bench, day).chain.tally.salt_ms_cm or 0.0
    bench.write(Done(on=day + timedelta(days=7), plant="tide", care="feeding"))
    after = plant_planner(bench, day + timedelta(days=7)).chain.tally.salt_ms_cm
    lost = HELD_L * 0.65
    drained = 0.15 * lost / 0.85
    by_hand = (HELD_L * before + 0.7 * 0.7 * lost / 0.85) / (HELD_L + drained)
    assert after == pytest.approx(by_hand, rel=0.03)


def test_the_drained_water_corrects_the_balance(bench: Bench) -> None:
    """What the meter says of the drained water is what the pot holds (a mixed pot)."""
    potted(bench)
    day = tick(bench, 2)
    bench.write(Done(on=day + timedelta(days=6), plant="tide", care="watering", ec_ms_cm=1.8))
    found = plant_planner(bench, day + timedelta(days=6)).chain.tally
    assert (found.salt_ms_cm, found.is_salt_measured) == (1.8, True)


def test_a_measured_limit_brings_the_flush_forward_and_shuts_the_gate(bench: Bench) -> None:
    """At 1.5 mS/cm the next free wetting is a flush and nothing is fed before it (models S3; feeding_gates.csv)."""
    potted(bench)
    day = tick(bench, 8)  # settled: a flush may come
    bench.write(Done(on=day + timedelta(days=5), plant="tide", care="watering", ec_ms_cm=1.6))
    as_of = day + timedelta(days=5)
    slots = plant_planner(bench, as_of).slots_ahead("each")
    assert (slots[0].care, slots[0].why) == ("flushing", "salts have reached 1.6 mS/cm")
    shut = gate(bench, as_of)
    assert not shut.open
    assert shut.opens == date.fromordinal(slots[0].day + 1)
    flushed = date.fromordinal(slots[0].day)
    bench.write(Done(on=flushed, plant="tide", care="flushing"))
    after = plant_planner(bench, flushed).chain.tally
    assert after.salt_ms_cm == pytest.approx(
        0.3 + 1.3 * exp(-0.6 * 2.4415), rel=0.01
    )  # to 0.6: ln(1.3/0.3)/0.6
    assert gate(bench, flushed).open


def test_salts_never_feed_a_settling_plant_nor_flush_it(bench: Bench) -> None:
    """In the six weeks of settling no flush, and above the limit no feed even if the other gates are held open."""
    potted(bench)
    bench.write(Done(on=START + timedelta(days=7), plant="tide", care="watering", ec_ms_cm=2.0))
    as_of = START + timedelta(days=7)
    settling = [s for s in plant_planner(bench, as_of).slots_ahead("each") if s.due < START.toordinal() + 42]
    assert settling
    assert {s.care for s in settling} == {"watering"}


@pytest.mark.parametrize(("ec", "flushed"), [(1.4, False), (1.5, True)])
def test_the_limit_counts_from_itself_on(bench: Bench, ec: float, flushed: bool) -> None:
    """Flush due at 1.5 mS/cm, not below (models S3)."""
    potted(bench)
    day = tick(bench, 8) + timedelta(days=6)
    bench.write(Done(on=day, plant="tide", care="watering", ec_ms_cm=ec))
    assert (plant_planner(bench, day).slots_ahead("each")[0].why != "") is flushed


def test_hard_water_flushes_sooner_than_soft(bench: Bench) -> None:
    """The balance brings the flush forward where the water is salty; with none named the days alone decide."""
    potted(bench)
    by_days = [s.due for s in plant_planner(bench, START).slots_ahead("each") if s.care == "flushing"]
    bench.write(water(0.1))
    soft = [s.due for s in plant_planner(bench, START).slots_ahead("each") if s.care == "flushing"]
    bench.write(water(0.5))
    hard = [s.due for s in plant_planner(bench, START).slots_ahead("each") if s.care == "flushing"]
    assert soft == by_days
    assert len(hard) > len(soft)


def test_what_is_not_told_is_said(bench: Bench) -> None:
    """Assumed strengths are named until the grower names their own (models F3)."""
    potted(bench)
    assert bench.planner(START).context.supplies.assumed == (
        "assumed: water of 0.3 mS/cm and 0.44 mS/cm for 100 mg/L of N"
    )
    assert not bench.planner(START).context.supplies.is_known
    bench.write(water(0.2))
    assert bench.planner(START).context.supplies.assumed == "assumed: 0.44 mS/cm for 100 mg/L of N"


def test_the_newest_water_counts_even_under_an_old_name(bench: Bench) -> None:
    """A name that is told anew is what is poured now."""
    potted(bench, water(0.2), SupplyWater(on=START, name="rain", ec_ms_cm=0.0), water(0.7))
    assert bench.planner(START).context.supplies.water_ms_cm == 0.7


def test_a_flush_takes_as_much_as_the_salts_ask_for(bench: Bench) -> None:
    """At 2.4 mS/cm ln(2.1/0.3)/0.6 times the water held, at least 2.2 times, by hand (models S5, D6)."""
    potted(bench)
    found = plant_planner(bench, START).salting
    assert found.flush_litres(2.4, START.toordinal()) == pytest.approx(3.2432 * HELD_L, rel=0.005)
    assert found.flush_litres(0.7, START.toordinal()) == pytest.approx(2.2 * HELD_L, rel=0.005)
    assert found.flush_litres(None, START.toordinal()) == pytest.approx(2.2 * HELD_L, rel=0.005)


def test_potting_voids_the_balance(bench: Bench) -> None:
    """A fresh medium holds what the water brings (design §3 rule 6)."""
    potted(bench, water(0.4))
    bench.write(Done(on=START + timedelta(days=7), plant="tide", care="watering", ec_ms_cm=2.0))
    again = START + timedelta(days=14)
    bench.write(Potted(on=again, plant="tide", medium="bark", container="plastic", size_cm=12))
    tally = plant_planner(bench, again).chain.tally
    assert (tally.salt_ms_cm, tally.is_salt_measured) == (None, False)


def test_an_assumed_flush_takes_no_salts(bench: Bench) -> None:
    """Unticked wettings raise the salts; a flush not ticked is the plain water that was perhaps poured (S6)."""
    potted(bench, water(0.4))
    day = tick(bench, 8) + timedelta(days=6)
    bench.write(Done(on=day, plant="tide", care="watering", ec_ms_cm=1.7))
    later = plant_planner(bench, day + timedelta(days=12))
    statuses = [(s.care, s.status) for s in later.chain.slots()]
    assert ("flushing", "assumed") in statuses
    assert (later.chain.tally.salt_ms_cm or 0) > 1.6
    assert later.chain.pending is not None
    assert later.chain.pending.care == "flushing"


def test_wettings_to_the_limit_are_forecast(bench: Bench) -> None:
    """The forecast of S3 agrees with counting on wetting by wetting, first whole one at or above."""
    potted(bench, water(0.5))
    day = tick(bench, 2)
    found = plant_planner(bench, day)
    n = found.salting.wettings_to_limit(found.chain.tally, day.toordinal(), feed_share=0.0)
    assert n is not None
    begun = found.chain.tally.salt_ms_cm or 0.0
    after = [drenched(begun, 0.5, k) for k in (n - 1, n)]
    assert after[0] < 1.5 <= after[1]


@pytest.mark.parametrize(
    ("supplies", "ec", "said"),
    [
        ([], None, "0.44 mS/cm for 100 mg/L of N): a guess, so flushes go by days alone"),
        ([], 1.2, "salts about 1.2 mS/cm, by the drained water: 1.5 in about"),
        ([], 1.6, "salts about 1.6 mS/cm, by the drained water: flush before the next feed"),
        ([0.1], None, "(assumed: 0.44 mS/cm for 100 mg/L of N): they stay below the limit"),
    ],
)
def test_salts_in_words(bench: Bench, supplies: list[float], ec: float | None, said: str) -> None:
    """What is known, what is assumed and when a flush falls due by it."""
    potted(bench, *(water(one) for one in supplies))
    day = START + timedelta(days=7)
    bench.write(Done(on=day, plant="tide", care="watering", ec_ms_cm=ec))
    found = plant_planner(bench, day)
    assert said in found.salting.words(found.chain.tally, day.toordinal())


def test_bare_roots_hold_no_salts(bench: Bench) -> None:
    """A mount without medium is never flushed and has no balance (media.csv none)."""
    potted(bench, water(0.5))
    bench.write(
        Potted(on=START + timedelta(days=1), plant="tide", medium="none", container="mount", size_cm=12)
    )
    bench.write(Observed(on=START + timedelta(days=1), plant="tide", stage="established"))
    day = START + timedelta(days=40)
    assert {s.care for s in plant_planner(bench, day).slots_ahead("each")} <= {"watering", "feeding"}
    assert plant_planner(bench, day).chain.tally.salt_ms_cm is None
