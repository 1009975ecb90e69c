"""A window is shaded while the noon sun is high: days by an astronomy library, told once for all who stand there."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import icalendar
import pytest

from tests.cli.cli_run import done, plant, refused, typed
from tests.planning.test_shade import high_days

WINTER = "2026-01-10"
TOLD = typed(
    "--stage established --roots 6 --longest 120 --tips 2 --leaves 4 --came 2025-05-01 "
    "--potted 2025-05-01 --watered 2026-01-08"
)

pytestmark = pytest.mark.usefixtures("home")


def _house() -> None:
    done("init", "Quay", "--latitude", 45, "--longitude", "0", "--timezone", "UTC", as_of=WINTER)
    done("place", "add", "window", "--kind", "warm-sill", "--aspect", "S", as_of=WINTER)


def _steps(as_of: str, *words: object) -> dict[str, dict[str, Any]]:
    rows = done("--json", "steps", *words, as_of=as_of).json["steps"]
    return {row["step"]: row for row in rows if "shade" in row["step"]}


def test_it_is_told_once_for_all_who_stand_there_until_it_is_done() -> None:
    """Two moth orchids and a Cattleya at one window: one line, one event, gone when told; the sun lover wants none."""
    _house()
    for name in ("tide", "winch"):
        plant(name, *TOLD, place="window", as_of=WINTER)
    plant("bell", *TOLD, "--profile", "cattleya", place="window", as_of=WINTER)
    high = high_days(45, 2026)
    first, last = high[0].isoformat(), high[-1]
    said = done("today", as_of=first).out
    assert said.count(f"Put up shade at window until {last.day} October: leaf cool to the hand") == 1
    assert not _steps(WINTER, "bell")
    document = done("--json", "today", as_of=first).json
    assert [row["name"] for row in document["steps"] if row["of_place"]] == ["Tide, Winch"]
    events: list[Any] = icalendar.Calendar.from_ical(done("calendar", "write", as_of=WINTER).out).walk(
        "VEVENT"
    )
    days = {
        str(e["SUMMARY"]).split(" at ")[0]: str(e["DTSTART"].dt)
        for e in events
        if "hade" in str(e["SUMMARY"])
    }
    assert len([e for e in events if "hade" in str(e["SUMMARY"])]) == 2
    assert days == {"Put up shade": first, "Take the shade down": (last + timedelta(days=1)).isoformat()}
    done("place", "shade", "window", "--up", as_of=first)
    assert "shade" not in done("today", as_of=first).out
    assert "Take the shade down at window" in done("today", as_of=(last + timedelta(days=2)).isoformat()).out
    done("place", "shade", "window", "--down", as_of="2026-10-14")
    assert "shade" not in done("today", as_of="2026-10-14").out
    assert {row["opens"][:4] for row in _steps("2026-11-01").values()} == {"2027"}


def test_the_same_word_twice_and_a_day_before_the_window_was_told() -> None:
    """Told up, up again is refused; a day before the place was added too; neither side is a fault of use."""
    _house()
    done("place", "shade", "window", "--up", as_of="2026-04-01")
    assert "is up already" in refused("place", "shade", "window", "--up", as_of="2026-04-02")
    assert "before window was added" in refused(
        "place", "shade", "window", "--down", "--on", "2025-12-01", as_of="2026-04-02"
    )
    done("place", "add", "box", "--kind", "cabinet", "--lamp", "100", "--hours", "12", as_of=WINTER)
    assert "no sun comes to box" in refused("place", "shade", "box", "--up", as_of="2026-04-02")
    assert "say --up or --down" in refused("place", "shade", "window", as_of="2026-04-02", code=2)
