"""A plan put together from what plants gave before equals the one that is worked out anew, and so do its bytes."""

from __future__ import annotations

from contextlib import closing
from copy import copy as shallow
from datetime import timedelta
from pathlib import Path
from shutil import copy, copytree
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from carecal.app import Collection
from carecal.app.publish import calendars, named_calendars
from carecal.app.publish import kept_plans as module
from carecal.app.publish.kept_plans import KeptPlans
from carecal.calendars import components
from carecal.collection.entries import Amended, Done, PlaceAdded, SettingChanged
from carecal.plan.model import Grouping
from carecal.planning.planner import Planner
from tests.properties.test_kept_rounds import STEP, House

TABLE = Path(__file__).parents[2] / "shared" / "techniques.toml"


def _anew(house: House, grouping: Grouping) -> Any:
    return house.collection.planner(house.day).plan(grouping, with_gates=False)


@settings(max_examples=1, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.lists(STEP, min_size=2, max_size=5))
@example(
    [(19, "tide", 0, 3), (15, "tide", 0, 1), (11, "tide", 0, 1), (16, "fender", 0, 2), (0, "tide", 1, 3)]
)
def test_kept_plans_equal_those_worked_out_anew(
    tmp_path_factory: pytest.TempPathFactory, story: list[tuple[int, str, int, int]]
) -> None:
    """Entries of all kinds, undone and amended ones, keikis and mothers, days on."""
    house, kept = House(tmp_path_factory.mktemp("house") / "home"), KeptPlans()
    with closing(house.collection) as collection:
        for number, (kind, plant, gap, spice) in enumerate(story):
            grouping: Grouping = "each" if number % 3 == 2 else "rounds"
            kept.plan(collection, house.day, grouping)  # something is kept when the entry comes
            house.says(kind, plant, spice)
            assert kept.plan(collection, house.day, grouping) == _anew(house, grouping)
            if gap > 6:
                house.day += timedelta(days=gap - 6)
                assert kept.plan(collection, house.day, grouping) == _anew(house, grouping)


@pytest.fixture
def planned(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Return the plants that were planned, in turn."""
    found: list[int] = []
    real = Planner.piece

    def piece(planner: Planner, plant_planner: Any, *words: Any, **more: Any) -> Any:
        found.append(plant_planner.line.number)
        return real(planner, plant_planner, *words, **more)

    monkeypatch.setattr(Planner, "piece", piece)
    return found


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> House:
    """Return a house with five plants, of which Fender sits on Tide, to copy from."""
    made = House(tmp_path_factory.mktemp("first") / "home")
    made.collection.close()
    return made


@pytest.fixture
def house(first: House, tmp_path: Path) -> House:
    """Return a house of its own."""
    found = shallow(first)
    copytree(first.collection.folder, tmp_path / "home")
    found.collection = Collection.open(tmp_path / "home")
    return found


def _moved(house: House, kept: KeptPlans, planned: list[int]) -> list[int]:
    """Return which plants are planned for a plan that is asked for now."""
    planned.clear()
    assert kept.plan(house.collection, house.day, "rounds") is not None
    return sorted(planned)


def test_only_what_an_entry_concerns_is_planned(house: House, planned: list[int]) -> None:
    """A plant alone, a mother with its keiki, nobody where nothing was written, all where all may differ."""
    kept = KeptPlans()
    with closing(house.collection):
        assert _moved(house, kept, planned) == [1, 2, 3, 4, 5]
        house.write(Done(on=house.day, plant="gable", care="watering"))
        assert _moved(house, kept, planned) == [2]
        assert _moved(house, kept, planned) == []
        house.write(Done(on=house.day, plant="tide", care="watering"))
        assert _moved(house, kept, planned) == [1, 5]
        house.write(Amended(on=house.day, entry=house.collection.journal.head(), changes={"felt": "right"}))
        assert _moved(house, kept, planned) == [1, 5]
        house.write(SettingChanged(on=house.day, key="ticking", value="careful"))
        assert _moved(house, kept, planned) == [1, 2, 3, 4, 5]
        house.day += timedelta(days=1)
        assert _moved(house, kept, planned) == [1, 2, 3, 4, 5]


def test_another_journal_or_table_begins_anew(house: House, tmp_path: Path, planned: list[int]) -> None:
    """A collection put back under the server, one of one's own tables: nothing of before is believed."""
    kept, other = KeptPlans(), House(tmp_path / "other")
    with closing(house.collection), closing(other.collection):
        _moved(house, kept, planned)
        assert _moved(other, kept, planned) == [1, 2, 3, 4, 5]
        (other.collection.folder / "shared").mkdir(exist_ok=True)
        copy(TABLE, other.collection.folder / "shared")
        with Collection.open(other.collection.folder) as again:
            other.collection = again
            assert _moved(other, kept, planned) == [1, 2, 3, 4, 5]


def test_a_file_put_back_by_hand_begins_anew(house: House, tmp_path: Path) -> None:
    """The same collection, the same number of entries, and another newest one."""
    kept, folder = KeptPlans(), house.collection.folder
    house.collection.close()
    copytree(folder, tmp_path / "copy")
    for home, plant in ((folder, "gable"), (tmp_path / "copy", "spar")):
        with Collection.open(home) as collection:
            house.collection = collection
            house.write(Done(on=house.day, plant=plant, care="watering"))
            assert kept.plan(collection, house.day, "rounds") == _anew(house, "rounds")


def test_a_large_collection_is_not_kept(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is planned some plants at a time, as before."""
    monkeypatch.setattr(module, "MOST_PLANTS", 4)
    with closing(house.collection) as collection:
        assert KeptPlans().plan(collection, house.day, "rounds") is None


@pytest.mark.parametrize("more", [{"grouping": "rounds"}, {"grouping": "each"}, {"form": "todos"}])
def test_the_bytes_are_the_same(house: House, more: dict[str, Any]) -> None:
    """Two calendars of the same options, one made with what was kept: the same but for their own names."""
    kept = KeptPlans()
    with closing(house.collection) as collection:
        now = house.moment()
        for name in ("Aaa", "Bbb"):
            options = calendars.options_of(collection, now, name=name, **more)
            named_calendars.add_calendar(collection, now, name, options)
        first, second = named_calendars.calendars_of(collection)
        for plant in ("gable", "tide"):
            house.write(Done(on=house.day, plant=plant, care="watering"))
            now = house.moment()
            anew = calendars.published(collection, first, now)
            with_kept = calendars.published(collection, second, now, kept=kept)
            assert _unnamed(anew.body) == _unnamed(with_kept.body)
            assert anew.body.count(b"DTSTAMP") > 1


def test_a_caution_that_was_read_goes_from_all_rounds(house: House) -> None:
    """Who has fed a plant knows the caution: it goes from the days of other plants too, as in a calendar made anew."""
    kept = KeptPlans()
    with closing(house.collection) as collection:
        named_calendars.add_calendar(
            collection, house.moment(), "All", calendars.options_of(collection, house.moment(), name="All")
        )
        (known,) = named_calendars.calendars_of(collection)
        warned = []
        for entry in (None, Done(on=house.day, plant="gable", care="watering")):
            if entry is not None:
                house.write(entry)
            calendars.published(collection, known, house.moment(), kept=kept)
            plan = kept.plan(collection, house.day, "rounds")
            assert plan is not None
            warned.append(plan.warned)
            words: dict[str, Any] = {
                "cautions": {code: row.text for code, row in collection.catalog.cautions.items()},
                "look_for": {stage: row.look_for for stage, row in collection.catalog.stage_looks.items()},
            }
            parts = components.parts_of(plan, known.options, made=kept.parts(known.options, ""), **words)
            assert list(parts) == list(components.parts_of(plan, known.options, **words))
        assert warned[0] < warned[1]


def _unnamed(body: bytes) -> list[bytes]:
    """Return the lines of a calendar sorted, without its names."""
    lines = body.replace(b"\r\n ", b"").split(b"\r\n")
    return sorted(line for line in lines if not line.startswith((b"UID", b"NAME", b"X-WR-CALNAME")))


def test_a_new_place_is_known(house: House) -> None:
    """An entry of the collection moves everything, so that nothing of before is taken."""
    kept = KeptPlans()
    with closing(house.collection) as collection:
        kept.plan(collection, house.day, "rounds")
        house.write(PlaceAdded(on=house.day, place="shed", place_kind="stair"))
        assert kept.plan(collection, house.day, "rounds") == _anew(house, "rounds")
