"""What is kept of rounds equals what is worked out anew, whatever was written and however the days went by."""

from __future__ import annotations

from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any, cast

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from carecal.app import Collection, Now
from carecal.app.documents.today_fresh import fresh_today
from carecal.app.near import kept_making
from carecal.app.near import make as near_make
from carecal.app.near import shelf as near
from carecal.app.near.shelf import near_round
from carecal.app.near.source import WHOLE
from carecal.collection.entries import (
    AidSet,
    Amended,
    AwayAdded,
    CollectionStarted,
    Done,
    Entry,
    Left,
    Moved,
    MovePlanned,
    Observed,
    Parted,
    Paused,
    PlaceAdded,
    PlantAdded,
    Potted,
    QuarantineSet,
    Renamed,
    Retired,
    SettingChanged,
    Undone,
)
from carecal.errors import Refused
from tests.bench import demo_climates

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

START = date(2026, 2, 20)
CAME = START - timedelta(days=40)  # of one plant, so that notes from before its entry come too
PLACES = ("bedroom-sill", "living-room")
POTS = (("bark", "plastic"), ("moss", "clear-plastic"), ("lava", "net"), ("expanded-clay", "reservoir"))
PLANTS = ("tide", "gable", "winch", "spar")
KINDS = 21


class House:
    """A collection in a folder whose rounds are looked at day by day."""

    def __init__(self, folder: Path) -> None:
        self.day = START
        self._minute = 0
        started = CollectionStarted(
            on=START, name="House", latitude=54.3, longitude=10, timezone="Europe/Berlin"
        )
        self.collection = Collection.start(folder, started, self.moment())
        climates = demo_climates()
        self.write(
            *(PlaceAdded(on=START, place=p, place_kind="warm-sill", climate=climates[p]) for p in PLACES)
        )
        for number, plant in enumerate(PLANTS):
            medium, container = POTS[number]
            stage = cast("Any", ("established", "rooting-in", "new-tips", "established")[number])
            self.write(
                PlantAdded(
                    on=START,
                    plant=plant,
                    medium=medium,
                    container=container,
                    size_cm=9 + 2 * number,
                    place=PLACES[number % 2],
                    stage=stage,
                    watered=START - timedelta(days=2),
                    tips=number,
                    came=CAME if plant == "spar" else None,
                )
            )
        self.write(PlantAdded(on=START, plant="fender", on_mother="tide", leaves=2, roots=1, longest_mm=30))

    def moment(self) -> Now:
        """Return the next minute of the day."""
        self._minute += 1
        instant = datetime(self.day.year, self.day.month, self.day.day, 9, 0, tzinfo=UTC)
        instant += timedelta(minutes=self._minute)
        return Now(self.day, instant, instant, is_given=True)

    def write(self, *entries: Entry) -> None:
        """Write entries; what is refused is not written."""
        try:
            self.collection.record(*entries, now=self.moment())
        except Refused:
            return

    def says(self, kind: int, plant: str, spice: int) -> None:
        """Write one of the things that a grower says on a day."""
        day = self.day
        medium, container = POTS[spice % 4]
        cares = ("watering", "feeding", "flushing", "inspection")
        told: tuple[Callable[[], Entry], ...] = (
            lambda: Done(
                on=day, plant=plant, care=cast("Any", cares[spice % 4]), felt="right" if spice % 3 else None
            ),
            lambda: Left(on=day, plant=plant, care="watering"),
            lambda: Observed(on=day, plant=plant, roots=spice % 7, longest_mm=9.0 * spice, tips=spice % 3),
            lambda: Observed(on=day, plant=plant, seen="scale" if spice % 2 else "rot", flowering="in-spike"),
            lambda: Potted(
                on=day, plant=plant, medium=medium, container=container, size_cm=9, watered=spice % 2 == 0
            ),
            lambda: Moved(on=day, plant=plant, place=PLACES[spice % 2]),
            lambda: AidSet(on=day, plant=plant, aid="cloth", off=spice % 2 == 0),
            lambda: Paused(
                on=day,
                care="feeding" if spice % 2 else "watering",
                plants=(plant,),
                start=day,
                until=day + timedelta(days=2 + spice),
            ),
            lambda: Paused(
                on=day, care="watering", place=PLACES[spice % 2], start=day, until=day + timedelta(days=spice)
            ),
            lambda: AwayAdded(
                on=day, start=day + timedelta(days=spice % 4), until=day + timedelta(days=3 + spice)
            ),
            lambda: SettingChanged(on=day, key="ticking", value=("usual", "careful", "none")[spice % 3]),
            lambda: Undone(on=day, command=max(1, self.collection.journal.last_command() or 1)),
            lambda: Amended(
                on=day,
                entry=max(8, self.collection.journal.head() - spice),
                on_day=day - timedelta(days=1),
                changes={},
            ),
            lambda: QuarantineSet(on=day, plant=plant, end=spice % 2 == 0),
            lambda: Renamed(on=day, plant=plant, name=f"{plant} {spice}"),
            lambda: Retired(on=day, plant=plant, because="lost"),
            lambda: MovePlanned(
                on=day, plant=plant, place=PLACES[spice % 2], day=day + timedelta(days=spice)
            ),
            lambda: Parted(
                on=day,
                plant="fender",
                medium="moss",
                container="clear-plastic",
                size_cm=7,
                place=PLACES[0],
                watered=True,
            ),
            lambda: Done(on=day + timedelta(days=2), plant=plant, care="watering"),
            lambda: PlantAdded(
                on=day, plant=f"mast-{self.collection.journal.head()}", on_mother=plant, leaves=1
            ),
            lambda: Done(on=CAME + timedelta(days=spice), plant="spar", care="watering", felt="damp"),
        )
        try:
            entry = told[kind]()
        except ValueError:
            return
        self.write(entry)


STEP = st.tuples(
    st.integers(0, KINDS - 1), st.sampled_from((*PLANTS, "fender")), st.integers(0, 9), st.integers(0, 9)
)
STEPS = st.lists(STEP, max_size=9)


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(STEPS, st.sampled_from([1, 1, 5]))
def test_kept_rows_give_the_round_that_is_worked_out_anew(
    tmp_path_factory: pytest.TempPathFactory, story: list[tuple[int, str, int, int]], days: int
) -> None:
    """Entries of all kinds, undone and amended ones, keikis and mothers, jumps of days there and back."""
    house = House(tmp_path_factory.mktemp("house") / "home")
    with closing(house.collection) as collection:
        for kind, plant, gap, spice in story:
            near_round(collection, house.day, days)  # something is kept when the entry comes
            house.says(kind, plant, spice)
            assert near_round(collection, house.day, days) == fresh_today(collection, house.day, days)
            house.day += timedelta(days=gap)
            assert near_round(collection, house.day, days) == fresh_today(collection, house.day, days)
        for ahead in range(1, 10):  # a strip is used up and a new one begun
            day = house.day + timedelta(days=ahead)
            assert near_round(collection, day, days) == fresh_today(collection, day, days)


@pytest.fixture
def planned(monkeypatch: pytest.MonkeyPatch) -> list[set[int]]:
    """Return what plants rows were made of, one set for each making."""
    made: list[set[int]] = []
    real = kept_making.rows_of

    def seen(home: Any, recipe: Any, wanted: Any, *rest: Any) -> Any:
        made.append(set(wanted.plants) - {WHOLE})
        return real(home, recipe, wanted, *rest)

    monkeypatch.setattr(kept_making, "rows_of", seen)
    return made


def test_an_entry_about_one_plant_plans_that_plant_alone(tmp_path: Path, planned: list[set[int]]) -> None:
    """The writing command brings the plant's rows up with what it planned; the round after it plans nothing."""
    house = House(tmp_path / "home")
    with closing(house.collection) as collection:
        near_round(collection, house.day)
        assert planned == [{1, 2, 3, 4, 5}]
        house.write(Done(on=house.day, plant="gable", care="watering"))
        assert planned[1:] == [{2}]
        near_round(collection, house.day)
        assert len(planned) == 2


def test_a_plant_and_its_mother_are_planned_together(tmp_path: Path, planned: list[set[int]]) -> None:
    """Fender sits on Tide: a step of either rests on both."""
    house = House(tmp_path / "home")
    with closing(house.collection) as collection:
        near_round(collection, house.day)
        house.write(Observed(on=house.day, plant="fender", longest_mm=60))
        near_round(collection, house.day)
        assert planned[1:] == [{1, 5}]


def test_a_new_day_finds_its_rows(tmp_path: Path, planned: list[set[int]]) -> None:
    """For the days of a strip nothing is planned again; after it everything is."""
    house = House(tmp_path / "home")
    with closing(house.collection) as collection:
        for ahead in range(near_make.STRIP_DAYS):
            near_round(collection, house.day + timedelta(days=ahead))
        assert len(planned) == 1
        near_round(collection, house.day + timedelta(days=near_make.STRIP_DAYS))
        assert len(planned) == 2


def test_rows_of_another_version_are_never_read(
    tmp_path: Path, planned: list[set[int]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The format is part of the stamp."""
    house = House(tmp_path / "home")
    with closing(house.collection) as collection:
        near_round(collection, house.day)
        monkeypatch.setattr(near, "FORMAT", -1)
        near_round(collection, house.day)
        assert len(planned) == 2


def test_rows_of_a_program_that_was_slower_are_not_kept(tmp_path: Path) -> None:
    """Who has read before another one wrote keeps nothing: the turn that was read has passed."""
    house = House(tmp_path / "home")
    with closing(house.collection) as collection:
        slow = near.kept_rounds(collection)
        near_round(collection, house.day)
        house.write(Done(on=house.day, plant="gable", care="watering"))
        kept = near_round(collection, house.day)
        slow.brought_up(house.day)
        assert near_round(collection, house.day) == kept == fresh_today(collection, house.day)
