"""A medium or a culture is added by data alone: own files, then a plan through Collection goes by their numbers."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from carecal.app import Collection, Now
from carecal.app.setup.plants import add_plant
from carecal.catalog import data_root
from carecal.collection.entries import (
    AidSet,
    CollectionStarted,
    MonthRow,
    PlaceAdded,
    PlantAdded,
    Potted,
    PottingPlanned,
    SettingChanged,
)
from carecal.errors import Refused
from carecal.plan.model import Plan

DAY = date(2026, 3, 2)
NOW = Now(DAY, datetime(2026, 3, 2, 9, tzinfo=UTC), datetime(2026, 3, 2, 9, tzinfo=UTC), is_given=True)
FILES = {
    "shared/media.toml": """
[gravel-mix]
describes = "two parts river gravel, one part bark"
water_pct_low = 20
water_pct_high = 30
air_pct_low = 45
air_pct_high = 60
life_months_low = 24
life_months_high = 48
min_days = 2
max_days = 10
window_before = 0.5
window_after = 0.25
water_at_fraction = 0.4
tie = "earlier"
technique = "soak"
flush_days = 20
flush_efficiency = 0.6
feed_run_max = 2
cautions = ["dust", "lifting"]
source = "my own pots, weighed for a summer"
""",
    "shared/aids.toml": """
[stake]
describes = "a stake packed with moss"
light_factor = 1
interval_factor = 1
cautions = ["moss-gloves"]
source = "my own pots"
""",
    "shared/pairs.toml": """
[[pairs]]
medium = "gravel-mix"
containers = ["plastic", "net"]
source = "my own pots"
""",
    "shared/reference_intervals.toml": """
[[reference_intervals]]
medium = "gravel-mix"
container = "plastic"
size_cm = [9, 12]
days = [6, 8]
role = "base"
source = "my own pots"
""",
}
REFERENCE = MonthRow(month=1, day_c=21, night_c=21, rh_pct=50, air="room", light_mol_m2_d=2)


@pytest.fixture
def house(tmp_path: Path) -> Iterator[Collection]:
    """Return a collection with the three own files, and a place whose air dries exactly as the reference does."""
    folder = tmp_path / "house"
    with Collection.start(
        folder, CollectionStarted(on=DAY, name="Slipway", latitude=54.3, longitude=10), NOW
    ) as collection:
        for name, text in FILES.items():
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_text(text, encoding="utf-8")
        months = tuple(REFERENCE.model_copy(update={"month": month}) for month in range(1, 13))
        collection.record(
            SettingChanged(on=DAY, key="weekdays", value="none"),
            PlaceAdded(on=DAY, place="bench", place_kind="shelf", climate=months),
            now=NOW,
        )
        yield collection


def added(collection: Collection, container: str, size_cm: float, profile: str = "phalaenopsis") -> Plan:
    """Add an established plant in gravel-mix, watered that day, and return its plan."""
    collection.record(
        PlantAdded(
            on=DAY,
            plant="cleat",
            medium="gravel-mix",
            container=container,
            size_cm=size_cm,
            place="bench",
            stage="established",
            watered=DAY,
            profile=profile,
        ),
        now=NOW,
    )
    return collection.plan(DAY)


@pytest.mark.parametrize(
    ("container", "size_cm", "raw", "days"),
    [
        pytest.param("plastic", 12, 8.0, 8, id="a row of the file"),
        pytest.param("plastic", 10.5, 7.0, 7, id="between rows: the two give a slope of 1 in log-log"),
        pytest.param("net", 12, 4.4, 4, id="not listed: plastic times 0.55"),
        pytest.param("plastic", 18, 12.0, 10, id="12 days, held at the file's ceiling of 10"),
        pytest.param("net", 3, 1.1, 2, id="1.1 days, held at the file's floor of 2"),
    ],
)
def test_a_plant_in_a_new_medium_is_planned_by_its_numbers(
    house: Collection, container: str, size_cm: float, raw: float, days: int
) -> None:
    """Demand is 1 at 21/21 °C, 50 %, room air and 2 mol, so the interval is the file's own days (models D3, I1, I2)."""
    plan = added(house, container, size_cm)
    (rhythm,) = plan.rhythms
    assert (rhythm.days, rhythm.care) == (days, "watering")
    assert rhythm.raw_days == pytest.approx(raw, abs=0.001)
    assert [t.on for t in plan.tasks if t.care != "inspection"][:2] == [
        DAY + timedelta(days=days),
        DAY + timedelta(days=2 * days),
    ]


def test_window_technique_and_flush_are_the_files(house: Collection) -> None:
    """Half of 8 days early, a quarter late, soaked; fed and flushed by the file's own rhythm (models I6, I7).

    By hand: wettings fall on day 8, 16, 24 … A feed is due at once (slot 1) and every 21 days at 2 mol: day 29 lies
    nearer to 32 than to 24 (slot 4), 53 nearer to 56 (slot 7), 77 nearer to 80 (slot 10). The flush is due from day 20,
    but waits for two feeds: slot 5 (day 40). Its next one is due on day 60 and again waits for two: slot 11.
    """
    wettings = [t for t in added(house, "plastic", 12).tasks if t.care != "inspection"]
    first = wettings[0]
    assert (first.earliest, first.latest) == (DAY + timedelta(days=4), DAY + timedelta(days=10))
    assert {t.technique for t in wettings if t.care in {"watering", "feeding"}} == {"soak"}
    slots = {care: [t.slot for t in wettings if t.care == care] for care in ("feeding", "flushing")}
    assert slots["feeding"][:4] == [1, 4, 7, 10]
    assert slots["flushing"][:2] == [5, 11]


def cautions(plan: Plan, care: str) -> set[str]:
    """Return the codes of the cautions of all tasks of a care."""
    return {code for task in (*plan.tasks, *plan.step_tasks) if task.care == care for code in task.cautions}


def test_cautions_of_a_medium_are_told_where_it_is_potted(house: Collection) -> None:
    """'How to add a medium': its cautions come with potting into it and out of it, and with no watering.

    Lifting is otherwise told of pots of 20 cm alone (cautions.csv).
    """
    assert "lifting" not in cautions(added(house, "plastic", 12), "watering")
    for medium in ("bark", "gravel-mix"):
        planned = PottingPlanned(
            on=DAY, plant="cleat", medium=medium, container="plastic", day=DAY + timedelta(days=9)
        )
        house.record(planned, now=NOW)
        assert "lifting" in cautions(house.plan(DAY), "step")
    house.record(Potted(on=DAY, plant="cleat", medium="bark", container="plastic"), now=NOW)
    house.record(planned.model_copy(update={"medium": "bark"}), now=NOW)
    plan = house.plan(DAY)
    assert "dust" in cautions(plan, "step")
    assert "lifting" not in cautions(plan, "step")


def test_cautions_of_an_aid_are_told_with_every_task_of_its_plant(house: Collection) -> None:
    """The moss of an own stake is touched at each wetting and look: gloves, as with a collar of moss."""
    plan = added(house, "plastic", 12)
    assert "moss-gloves" not in cautions(plan, "watering") | cautions(plan, "inspection")
    house.record(AidSet(on=DAY, plant="cleat", aid="stake"), now=NOW)
    plan = house.plan(DAY)
    assert "moss-gloves" in cautions(plan, "watering") & cautions(plan, "inspection")


def test_an_impossible_pair_of_the_new_medium_is_refused(house: Collection) -> None:
    """What pairs.toml does not list cannot be potted: gravel in a closed bag."""
    with pytest.raises(
        Refused, match="gravel-mix does not go into the container bag; allowed are plastic, net"
    ):
        add_plant(house, NOW, "cleat", medium="gravel-mix", container="bag", size_cm=12.0, place="bench")


def test_a_plant_of_an_own_profile_is_planned_by_it(house: Collection) -> None:
    """A copied culture that drinks twice as fast halves the 8 days and feeds at its own strength of 40 mg/L."""
    text = (data_root("profiles") / "phragmipedium.toml").read_text(encoding="utf-8")
    own = text.replace('name = "phragmipedium"', 'name = "quay-slipper"').replace(
        "feed_ppm_n = 50", "feed_ppm_n = 40"
    )
    folder = house.folder / "profiles"
    folder.mkdir(exist_ok=True)
    (folder / "quay-slipper.toml").write_text(own, encoding="utf-8")
    with Collection.open(house.folder) as collection:
        plan = added(collection, "plastic", 12, "quay-slipper")
    assert [(rhythm.days, rhythm.raw_days) for rhythm in plan.rhythms] == [(4, 4.0)]
    assert {t.ppm_n for t in plan.tasks if t.care == "feeding"} == {40.0}
