"""Wrong passwords wait, from one address and from all of them together."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from carecal.web.guesses import Guesses

NOW = datetime(2026, 11, 25, 18, 3, tzinfo=UTC)


def _later(seconds: float) -> datetime:
    return NOW + timedelta(seconds=seconds)


def test_an_address_waits_twice_as_long_each_time() -> None:
    """Three are free; then 2, 4, 8 s … up to a quarter of an hour."""
    guesses, waits = Guesses(), []
    for _ in range(14):
        waits.append(guesses.wait_seconds("10.0.0.9", NOW))
        guesses.wrong("10.0.0.9", NOW)
    assert waits == [0, 0, 0, 2, 4, 8, 16, 32, 64, 128, 256, 512, 900, 900]


def test_guesses_from_many_addresses_wait_together() -> None:
    """The twenty-first of all waits, from a new address too; at most half a minute, so that the owner gets in."""
    guesses = Guesses()
    for number in range(20):
        assert guesses.wait_seconds(f"198.51.100.{number}", NOW) == 0
        guesses.wrong(f"198.51.100.{number}", NOW)
    assert guesses.wait_seconds("203.0.113.1", NOW) == 2
    for number in range(20, 60):
        guesses.wrong(f"198.51.100.{number}", NOW)
    assert guesses.wait_seconds("203.0.113.1", NOW) == 30
    assert guesses.wait_seconds("203.0.113.1", _later(31)) == 0


def test_where_somebody_signed_in_the_guesses_of_others_do_not_count() -> None:
    """The owner's own house is not locked out by strangers."""
    guesses = Guesses()
    guesses.right("10.0.0.2")
    for number in range(60):
        guesses.wrong(f"198.51.100.{number}", NOW)
    assert guesses.wait_seconds("10.0.0.2", NOW) == 0
    for _ in range(4):
        guesses.wrong("10.0.0.2", NOW)
    assert guesses.wait_seconds("10.0.0.2", NOW) == 4


def test_guesses_of_long_ago_are_forgotten() -> None:
    """An hour without one begins the count of all anew."""
    guesses = Guesses()
    for number in range(60):
        guesses.wrong(f"198.51.100.{number}", NOW)
    guesses.wrong("198.51.100.99", _later(3700))
    assert guesses.wait_seconds("203.0.113.1", _later(3700)) == 0


@pytest.mark.parametrize(
    ("first", "second", "is_one"),
    [
        ("2001:db8:1:2::1", "2001:db8:1:2:ffff::9", True),
        ("2001:db8:1:2::1", "2001:db8:1:3::1", False),
        ("::ffff:10.0.0.9", "10.0.0.9", True),
        ("fe80::1%eth0", "fe80::2%eth1", True),
        ("", "quay", False),
    ],
)
def test_addresses_of_one_house_count_as_one(first: str, second: str, is_one: bool) -> None:
    """A house has one network of IPv6 with more numbers than anybody could count."""
    guesses = Guesses()
    for _ in range(4):
        guesses.wrong(first, NOW)
    assert (guesses.wait_seconds(second, NOW) > 0) is is_one
