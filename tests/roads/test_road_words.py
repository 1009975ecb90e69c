"""What `calendar add` says of the road that fits an address, and of what may not show."""

from __future__ import annotations

import pytest

from carecal.cli.roads import road_of
from tests.cli.cli_run import done, start

pytestmark = pytest.mark.usefixtures("home")


@pytest.mark.parametrize(("base", "expected"), [
    ("", "say under which name it finds this machine"),
    ("http://127.0.0.1:8321", "on this machine alone"),
    ("http://localhost:8321", "on this machine alone"),
    ("http://192.168.1.20:8321", "from the same house alone"),
    ("http://sill.local:8321", "from the same house alone"),
    ("http://sill:8321", "from the same house alone"),
    ("http://plants.example", "not encrypted"),
    ("https://plants.example/orchids", "reached from anywhere"),
])  # fmt: skip
def test_the_road_that_fits_an_address(base: str, expected: str) -> None:
    """Whoever cannot reach an address is told, with the road that they can take."""
    assert expected in road_of(base)


def test_how_often_programs_look_is_said_when_an_address_is_made() -> None:
    """The grower learns at once that a change may take a day to reach a phone."""
    start()
    done("settings", "public-address", "https://plants.example")
    said = done("calendar", "add", "Phone").out
    assert "12 to 24 hours" in said
    assert "reached from anywhere" in said
    assert "to-dos do not show" not in said
    assert "alarms" not in said


def test_what_may_not_show_is_said_when_it_is_asked_for() -> None:
    """To-dos and alarms are warned of at the moment the grower asks for them."""
    start()
    assert "to-dos do not show in the subscriptions" in done("calendar", "add", "A", "--as", "todos").out
    assert "leave alarms out" in done("calendar", "add", "B", "--alarm", "30").out
    told = done("--json", "calendar", "add", "C", "--as", "todos", "--alarm", "30").json
    assert told["may_not_show"][0] == "shown are the next care day, and what was done in the last 60 days"
    assert len(told["may_not_show"]) == 3
