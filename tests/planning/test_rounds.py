"""The can of a round and the order to go round: plain first, then feeds, what stands apart last."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from carecal.collection.entries import MonthRow, PlantAdded, SettingChanged, SupplyFertiliser, SupplyWater
from carecal.plan.model import Can, FeedMix
from carecal.wording.tasks import can_line

if TYPE_CHECKING:
    from carecal.plan.model import Plan
    from tests.bench import Bench

START = date(2025, 1, 1)
VOLUME_L = 0.0005 * 12**3  # models D5


def fed_round(bench: Bench, *, grams: float | None = 1.0) -> Plan:
    """Return the plan of three plants that are all fed on one day: established, rooting-in, newly come."""
    rows = [
        MonthRow(month=m, day_c=21, night_c=21, rh_pct=50, air="room", light_mol_m2_d=2) for m in range(1, 13)
    ]
    bench.place("room", rows, START)
    bench.write(SettingChanged(on=START, key="weekdays", value="none"))
    bench.write(
        SupplyWater(on=START, name="tap", ec_ms_cm=0.2),
        SupplyFertiliser(
            on=START,
            name="Quay feed",
            n_pct=20,
            p2o5_pct=10,
            k2o_pct=20,
            label_rate_g_per_l=grams,
            ec_per_100_ppm=0.45,
        ),
    )
    kinds = {
        "winch": ("established", date(2024, 12, 10)),
        "tide": ("established", None),
        "gable": ("rooting-in", None),
    }
    for name, (stage, came) in kinds.items():
        values = {
            "on": START,
            "plant": name,
            "medium": "bark",
            "container": "plastic",
            "size_cm": 12,
            "place": "room",
            "stage": stage,
            "watered": START,
            "came": came,
        }
        bench.write(PlantAdded.model_validate(values))
    return bench.planner(START).plan("rounds")


def first_fed(plan: Plan, plant: int) -> tuple[date, str]:
    """Return day and id of a plant's first feed."""
    task = next(t for t in plan.tasks if t.plant == plant and t.care == "feeding")
    return task.on, task.id


def test_each_strength_is_a_can_and_what_stands_apart_comes_last(bench: Bench) -> None:
    """60 and 100 mg/L of N of 20 % are 0.3 and 0.5 g/L (models F1, F2); quarantine mixes its own, the same strength."""
    plan = fed_round(bench)
    on, apart = first_fed(plan, 1)
    can = next(r for r in plan.rounds if r.on == on).can
    assert [(m.ppm_n, m.g_per_l, m.apart) for m in can.feeds if m.apart] == [(100.0, 0.5, True)]
    assert can.feeds[-1].tasks == (apart,)
    assert can.feeds[-1].litres == pytest.approx(0.5 * VOLUME_L, rel=0.01)
    assert can.feeds[-1].ec_ms_cm == pytest.approx(0.2 + 0.45)  # models F3


def test_feeds_run_from_weak_to_strong(bench: Bench) -> None:
    """Plants of one strength are poured together, the weaker can before the stronger."""
    plan = fed_round(bench)
    for found in plan.rounds:
        strengths = [(m.apart, m.ppm_n) for m in found.can.feeds]
        assert strengths == sorted(strengths)
        in_order = [plan.task(t) for t in found.tasks if plan.task(t).care == "feeding"]
        assert [t.id for t in in_order] == [t for mix in found.can.feeds for t in sorted(mix.tasks)]


def test_healthy_plants_come_before_those_set_apart(bench: Bench) -> None:
    """Blade and hands go from the healthy to the quarantined, whatever is done to them (design §3 rule 12)."""
    plan = fed_round(bench)
    shared = [r for r in plan.rounds if {plan.task(t).plant for t in r.tasks} >= {1, 2}]
    assert shared
    for found in shared:
        apart = [plan.task(t).plant == 1 for t in found.tasks]
        assert apart == sorted(apart)


def test_litres_of_the_can_are_those_of_its_tasks(bench: Bench) -> None:
    """Plain and fed water add up to what the tasks take, plain apart is part of plain."""
    plan = fed_round(bench)
    for found in plan.rounds:
        tasks = [plan.task(t) for t in found.tasks]
        plain = sum(t.litres or 0 for t in tasks if t.care != "feeding")
        assert found.can.plain_l == pytest.approx(plain, rel=0.01)
        assert found.can.plain_apart_l <= found.can.plain_l
        assert sum(m.litres for m in found.can.feeds) == pytest.approx(
            sum(t.litres or 0 for t in tasks if t.care == "feeding"), rel=0.01
        )


def test_the_label_caps_grams_and_strength_alike(bench: Bench) -> None:
    """A label of 0.2 g/L of 20 % allows 40 mg/L of N to all of them, by hand (models F2)."""
    plan = fed_round(bench, grams=0.2)
    mixes = {(m.ppm_n, m.g_per_l) for r in plan.rounds for m in r.can.feeds}
    assert mixes == {(40.0, 0.2)}


def test_what_is_poured_apart_is_said() -> None:
    """What plants set apart get is mixed with the rest, named and poured last; their plain water is counted once.

    By hand: 1.5 and 0.5 L of 0.3 g/L are 0.6 g; of 2.4 L plain 0.4 L are theirs (states.csv: sharing a can is blocked).
    """
    mixes = (FeedMix(60, 0.3, 1.5, ("a",)), FeedMix(60, 0.3, 0.5, ("b",), apart=True))
    said = can_line(Can(2.4, mixes, 0.4))
    assert said == (
        "Can: 2.0 L plain, then 2.0 L feed at 60 ppm N (0.6 g), 0.5 L of it apart and last, "
        "then 0.4 L plain, apart and last"
    )
    assert can_line(Can(0.4, (FeedMix(60, 0.3, 2, ("a",), apart=True),), 0.4)) == (
        "Can: 2.0 L feed at 60 ppm N (0.6 g), apart and last, then 0.4 L plain, apart and last"
    )
