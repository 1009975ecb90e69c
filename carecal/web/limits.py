"""What one visitor may take of the server: connections, time for a request, lines of the log. It answers nothing."""

from __future__ import annotations

import ipaddress
import logging
import time
from collections import Counter
from typing import TYPE_CHECKING, Any, NamedTuple

from uvicorn.protocols.http.h11_impl import H11Protocol

if TYPE_CHECKING:
    import asyncio
    from collections.abc import Callable, Sequence

__all__ = ["Limits", "Sparse", "limited"]

log = logging.getLogger("carecal.web")


class Limits(NamedTuple):
    """The limits of one server; all are our choice.

    Args:
        in_all: Connections at once; a house has a dozen devices, a shared server some hundreds.
        of_one: Connections at once of one address; a browser opens six, a family behind one router some dozens.
        head_seconds: Time for the head of a request. [s]
        body_seconds: Time for what is sent with it; a picture of 12 MB takes 100 s at 1 Mbit/s. [s]
        take_seconds: Time to take an answer once it is made. [s]
    """

    in_all: int = 500
    of_one: int = 60
    head_seconds: float = 10.0
    body_seconds: float = 150.0
    take_seconds: float = 60.0


def limited(limits: Limits, proxies: Sequence[str] = ()) -> type[H11Protocol]:
    """Return the protocol of a server with limits that all its connections share.

    Args:
        limits: The limits.
        proxies: Numbers of machines or networks that pass on what others ask: these have no limit of their own, nor has
            this machine itself.
    """
    networks = [ipaddress.ip_network(proxy, strict=False) for proxy in proxies]

    def is_trusted(host: str) -> bool:
        try:
            number = ipaddress.ip_address(host.partition("%")[0])
        except ValueError:
            return False
        return number.is_loopback or any(number in network for network in networks)

    by_host: Counter[str] = Counter()
    return type(
        "Limited", (_Limited,), {"limits": limits, "by_host": by_host, "is_trusted": staticmethod(is_trusted)}
    )


class _Limited(H11Protocol):
    """A connection that is let go of when it takes too long, or when there are too many."""

    limits: Limits
    by_host: Counter[str]
    is_trusted: Callable[[str], bool]
    _deadline: asyncio.TimerHandle | None = None
    _waits_for: str = ""

    def connection_made(self, transport: Any) -> None:
        """Take a connection, or let go of it at once where there are too many."""
        super().connection_made(transport)
        host = self.client[0] if self.client else ""
        self.by_host[host] += 1
        too_many = len(self.connections) > self.limits.in_all
        if too_many or (self.by_host[host] > self.limits.of_one and not self.is_trusted(host)):
            log.warning("too many connections%s; one more was refused", "" if too_many else f" from {host}")
            transport.abort()
            return
        self._wait_for(
            "anything", self.limits.head_seconds
        )  # browsers open some in advance and use them never

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget a connection."""
        self._cancel()
        host = self.client[0] if self.client else ""
        self.by_host[host] -= 1
        if self.by_host[host] <= 0:
            del self.by_host[host]
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take what came, and see what is still waited for."""
        super().data_received(data)
        if self.transport.is_closing():
            self._cancel()
        elif self.cycle is None or self.cycle.response_complete:
            self._wait_for("head", self.limits.head_seconds)
        elif self.cycle.more_body:
            self._wait_for("body", self.limits.body_seconds)
        else:
            self._cancel()

    def on_response_complete(self) -> None:
        """Wait for the next request as the server does; who does not take the answer is let go of."""
        self._cancel()
        super().on_response_complete()
        if self.transport.is_closing():
            self._wait_for("taking", self.limits.take_seconds)

    def timeout_keep_alive_handler(self) -> None:
        """End a connection that nobody uses; who has not taken the answer yet gets some time for it."""
        super().timeout_keep_alive_handler()
        self._wait_for("taking", self.limits.take_seconds)

    def _wait_for(self, what: str, seconds: float) -> None:
        if self._waits_for != what:  # a byte now and then does not begin the time anew
            self._cancel()
            self._waits_for = what
            self._deadline = self.loop.call_later(seconds, self._late)

    def _cancel(self) -> None:
        self._waits_for = ""
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None

    def _late(self) -> None:
        self._deadline = None
        if self._waits_for in {"head", "body"}:
            log.warning("a request took too long and was let go of")
        self.transport.abort()


class Sparse(logging.Filter):
    """Lets a few lines of each kind through a minute, and says afterwards how many were left out.

    Args:
        most: Lines of one kind a minute.
        clock: Seconds that only grow; tests give their own.
    """

    def __init__(self, most: int = 5, clock: Callable[[], float] = time.monotonic) -> None:
        super().__init__()
        self._most, self._clock = most, clock
        self._kinds: dict[str, tuple[float, int]] = {}

    def filter(self, record: logging.LogRecord) -> bool:
        """Return whether a line is written."""
        kind, moment = str(record.msg)[:200], self._clock()
        since, count = self._kinds.get(kind, (moment, 0))
        left_out = 0
        if moment - since >= 60:
            since, left_out, count = moment, max(0, count - self._most), 0
        if len(self._kinds) > 1000:
            self._kinds.clear()
        self._kinds[kind] = (since, count + 1)
        if left_out:
            record.msg, record.args = f"{record.getMessage()} ({left_out} more like this a while ago)", ()
        return count < self._most
