"""Readings over HTTP: whoever holds a sensor's address may tell what it measured, and sees nothing."""

from __future__ import annotations

import logging
import threading
from hashlib import sha256
from typing import TYPE_CHECKING

from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, PlainTextResponse
from starlette.routing import Route

from carecal.app.command_context import check_clock
from carecal.app.door import Collection
from carecal.app.sensors.addresses import find_sensor
from carecal.app.sensors.heard import gather, hear
from carecal.errors import CarecalError, DataFault

if TYPE_CHECKING:
    from datetime import datetime

    from starlette.requests import Request
    from starlette.responses import Response

    from carecal.app.sensors.addresses import Sensor
    from carecal.web.site import Site

__all__ = ["Turns", "sensor_route"]

BODY_BYTES = 300_000  # our choice, because a week by five minutes as JSON has some 200,000
NOTHING_KEPT = {"Cache-Control": "no-store"}

log = logging.getLogger("carecal.web")


class Turns:
    """How often one may come: some times at once, then one by one.

    Args:
        most: How often at once.
        every_seconds: Time after which one more is allowed. [s]

    Source: our choice, because a sensor speaks once a minute at most, and after a pause sends what it kept.
    """

    MOST_KNOWN = 2000

    def __init__(self, most: int = 30, every_seconds: float = 5.0) -> None:
        self._most, self._every = most, every_seconds
        self._lock = threading.Lock()
        self._used: dict[str, tuple[float, datetime]] = {}

    def wait_seconds(self, who: str, now: datetime) -> int:
        """Take a turn and return 0, or return how long to wait for one. [s]"""
        with self._lock:
            used, last = self._used.pop(who, (0.0, now))
            used = max(0.0, used - max(0.0, (now - last).total_seconds()) / self._every)
            wait = 0 if used + 1 <= self._most else int((used + 1 - self._most) * self._every) + 1
            if len(self._used) >= self.MOST_KNOWN:
                self._used.pop(next(iter(self._used)))
            self._used[who] = (used + (wait == 0), now)
        return wait


def sensor_route(site: Site) -> Route:
    """Return the route on which sensors tell what they measured."""
    turns = Turns()

    async def endpoint(request: Request) -> Response:
        """Take what one sensor sent."""
        address = request.client.host if request.client is not None else ""
        body = await request.body()
        return await run_in_threadpool(_heard, site, turns, str(request.path_params["token"]), address, body)

    return Route("/sensor/{token}", endpoint, methods=["POST"], max_body_size=BODY_BYTES)


def _heard(site: Site, turns: Turns, token: str, address: str, body: bytes) -> Response:
    try:
        with Collection.open(site.folder) as collection:
            now = site.clock(collection)
            sensor = find_sensor(collection.journal.connection, token)
            who = f"from {address}" if sensor is None else sha256(token.encode()).hexdigest()
            wait = turns.wait_seconds(who, now.clock)
            if wait:
                return _refused(f"too often; wait {wait} seconds", 429, {"Retry-After": str(wait)})
            if sensor is None:
                return _refused("no sensor has this address", 404)
            if sensor.revoked is not None:
                return _refused("this address was revoked", 410)
            check_clock(collection, now)
            count, new = hear(collection, now, sensor, body.decode("utf-8-sig", "replace"))
            after = BackgroundTask(run_in_threadpool, _gather_days, site, sensor)
            return JSONResponse({"lines": count, "new": new}, headers=NOTHING_KEPT, background=after)
    except DataFault as fault:
        return _refused(f"nothing was kept: {fault}", 422)
    except CarecalError as error:
        log.error("a sensor could not be heard: %s", error)  # noqa: TRY400 - one line tells all of it
        return _refused(str(error), 503)


def _gather_days(site: Site, sensor: Sensor) -> None:
    """Write down the days that are over, once the sensor has its answer: plants are planned anew for it."""
    try:
        with Collection.open(site.folder) as collection:
            gather(collection, site.clock(collection), sensor)
    except CarecalError as error:
        log.error("readings of %s could not be written down: %s", sensor.place, error)  # noqa: TRY400 - as above


def _refused(text: str, status: int, headers: dict[str, str] | None = None) -> Response:
    return PlainTextResponse(f"{text}\n", status, headers=NOTHING_KEPT | (headers or {}))
