"""How long whoever guesses the password has to wait; it knows no password."""

from __future__ import annotations

import ipaddress
import threading
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

__all__ = ["Guesses"]

FREE_GUESSES, FREE_IN_ALL = 3, 20
FIRST_WAIT_S, LONGEST_WAIT_S = 2, 900
LONGEST_IN_ALL_S, FORGOTTEN_S = 30, 3600
MOST_ADDRESSES = 2000


class Guesses:
    """Wrong passwords by address: after three each further one waits twice as long, up to a quarter of an hour.

    After twenty of all addresses together, none an hour apart, each further one waits too, up to half a minute, whoever
    asks, save where somebody signed in before. Addresses of IPv6 count by their network, which is one house's.

    Source: our choice, because a person mistypes thrice and a program guesses for ever, from many addresses if it can.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._wrong: dict[str, tuple[int, datetime]] = {}
        self._in_all: tuple[int, datetime] | None = None
        self._known: dict[str, None] = {}

    def wait_seconds(self, address: str, now: datetime) -> int:
        """Return how long an address has to wait before its next guess. [s]."""
        house = _house(address)
        with self._lock:
            count, last = self._wrong.get(house, (0, now))
            in_all, newest = self._in_all or (0, now)
            is_known = house in self._known
        own = _wait(count - FREE_GUESSES, LONGEST_WAIT_S) - int((now - last).total_seconds())
        since = int((now - newest).total_seconds())
        shared = (
            0 if is_known or since > FORGOTTEN_S else _wait(in_all - FREE_IN_ALL, LONGEST_IN_ALL_S) - since
        )
        return max(0, own, shared)

    def wrong(self, address: str, now: datetime) -> None:
        """Count a wrong guess."""
        house = _house(address)
        with self._lock:
            if len(self._wrong) >= MOST_ADDRESSES:
                self._wrong.pop(next(iter(self._wrong)))
            self._wrong[house] = (self._wrong.pop(house, (0, now))[0] + 1, now)
            in_all, newest = self._in_all or (0, now)
            is_long_ago = (now - newest).total_seconds() > FORGOTTEN_S
            self._in_all = (1 if is_long_ago else in_all + 1, now)

    def right(self, address: str) -> None:
        """Forget the wrong guesses of an address, and remember it as that of somebody who knows the password."""
        house = _house(address)
        with self._lock:
            self._wrong.pop(house, None)
            if len(self._known) >= MOST_ADDRESSES:
                self._known.pop(next(iter(self._known)))
            self._known[house] = None


def _wait(over: int, longest: int) -> int:
    """Return how long the guess waits that is so many over the free ones. [s]"""
    return 0 if over < 0 else min(FIRST_WAIT_S * int(2 ** min(over, 20)), longest)


def _house(address: str) -> str:
    """Return what an address counts as: itself, or its network of 64 bits by IPv6."""
    try:
        number = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if isinstance(number, ipaddress.IPv4Address):
        return str(number)
    return str(number.ipv4_mapped or ipaddress.ip_network((int(number) >> 64 << 64, 64)))
