"""Five plants of an invented house by a harbour, in October, for the stories."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

from carecal.app import Collection, Now
from carecal.app.actions.care import done
from carecal.app.actions.whole_round import done_round
from carecal.collection.entries import CollectionStarted, PlaceAdded, PlantAdded

STARTED = date(2026, 9, 1)
TODAY = date(2026, 10, 21)  # a Wednesday
TIDE, GABLE, PEBBLE, WINCH, LANTERN = "tide", "gable", "pebble", "winch", "lantern"


def moment(day: date) -> Now:
    """Return nine o'clock of a day, named for the command."""
    instant = datetime(day.year, day.month, day.day, 7, tzinfo=UTC)
    return Now(day, instant, instant, is_given=True)


def make_quay(folder: Path) -> None:
    """Make the collection in a folder: five plants, a round ticked on most care days since September."""
    first = CollectionStarted(
        on=STARTED, name="Quay house", latitude=54.3, longitude=10.1, elevation_m=8, timezone="Europe/Berlin"
    )
    with Collection.start(folder, first, moment(STARTED)) as collection:
        collection.record(
            PlaceAdded(on=STARTED, place="east-sill", place_kind="warm-sill", name="East sill", aspect="E"),
            PlaceAdded(on=STARTED, place="bathroom", place_kind="bathroom", name="Bathroom shelf"),
            now=moment(STARTED),
        )
        collection.record(*_plants(), now=moment(STARTED))
        for day in (
            date(2026, 9, 2),
            date(2026, 9, 12),
            date(2026, 9, 23),
            date(2026, 10, 3),
            date(2026, 10, 14),
        ):
            collection.record(*done_round(collection, moment(day)), now=moment(day))
        collection.record(*done(collection, moment(TODAY), "inspection", [PEBBLE]), now=moment(TODAY))


def _plants() -> list[PlantAdded]:
    def plant(name: str, medium: str, container: str, size: float, place: str, **more: object) -> PlantAdded:
        return PlantAdded.model_validate(
            {
                "on": STARTED,
                "plant": name,
                "medium": medium,
                "container": container,
                "size_cm": size,
                "place": place,
                "watered": date(2026, 8, 29),
                **more,
            }
        )

    return [
        plant(TIDE, "bark", "plastic", 12, "east-sill", stage="established"),
        plant(
            GABLE,
            "moss",
            "clear-plastic",
            9,
            "bathroom",
            stage="rooting-in",
            roots=4,
            longest_mm=60,
            leaves=4,
        ),
        plant(
            PEBBLE, "expanded-clay", "reservoir", 11, "east-sill", stage="rooting-in", roots=4, longest_mm=70
        ),
        plant(WINCH, "none", "slotted", 9, "bathroom", stage="rootless", aids=("cloth",)),
        plant(LANTERN, "bark-mix", "terracotta", 14, "east-sill", stage="established", flowering="in-spike"),
    ]
