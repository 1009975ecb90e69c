"""A slow network and a server that is started again: what is tapped is shown at once, is true, and is written once."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from typing import Any

from carecal.app import Collection
from carecal.collection.entries import Retired
from tests.browser.conftest import Served, Server
from tests.browser.test_taps import row_of, settled, state_of, tap
from tests.stories.quay import TODAY, moment

Phone = Callable[..., Any]
SLOW = {  # a phone at the edge of a network: two seconds to an answer, 40 kB a second; our choice
    "offline": False,
    "latency": 2000,
    "downloadThroughput": 40_000,
    "uploadThroughput": 20_000,
}


def _slow(page: Any) -> None:
    wire = page.context.new_cdp_session(page)
    wire.send("Network.enable")
    wire.send("Network.emulateNetworkConditions", SLOW)


def test_on_a_slow_network_a_tap_is_seen_at_once_and_written_once(phone: Phone, served: Served) -> None:
    """Before any answer came the row no longer looks open; tapped again it is taken back, and both are true."""
    page = phone(service_workers="block")
    before = len(served.entries())
    _slow(page)
    tap(page).click()
    assert "open" not in str(row_of(page).get_attribute("class")).split()
    assert len(served.entries()) == before  # nothing has arrived yet
    settled(page)
    assert [entry[:2] for entry in served.entries()[before:]] == [("done", "gable")]
    assert state_of(page) == "done"
    tap(page).click()
    settled(page)
    assert state_of(page) == "open"
    assert [entry[0] for entry in served.entries()[before:]] == ["done", "undone"]


def test_a_tap_while_the_server_starts_again_is_kept_and_sent(
    phone: Phone, served: Served, server: Server
) -> None:
    """Its row waits and says so; once the server is back it is done, once, with the same session."""
    page = phone(service_workers="block")
    before = len(served.entries())
    server.stop()
    tap(page).click()
    page.locator(".row.waiting", has_text="Gable").wait_for()
    page.locator("#waiting").get_by_text("wait").wait_for()
    server.start()
    page.locator(".row.done:not(.waiting)", has_text="Gable").wait_for(timeout=60_000)
    assert [entry[:2] for entry in served.entries()[before:]] == [("done", "gable")]


def test_a_page_opened_while_the_server_is_away_comes_back_by_itself(
    phone: Phone, served: Served, server: Server
) -> None:
    """The round kept on the phone is shown, and after the restart a tick elsewhere arrives on it."""
    first, second = phone(), phone()
    first.wait_for_function("navigator.serviceWorker.controller !== null || navigator.serviceWorker.ready")
    server.stop()
    server.start()
    tap(second).click()
    settled(second)
    first.locator(".row.done", has_text="Gable").wait_for(timeout=60_000)
    assert [entry[:2] for entry in served.entries()].count(("done", "gable")) == 1


def test_a_tap_is_sent_while_no_page_is_open(phone: Phone, served: Served) -> None:
    """Tapped without a network, the page closed: the browser wakes the service worker, which sends it, once."""
    page = phone()
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    page.wait_for_function("navigator.serviceWorker.controller !== null")
    before = len(served.entries())
    context = page.context
    context.set_offline(True)
    tap(page).click()
    page.locator(".row.waiting", has_text="Gable").wait_for()
    page.locator("#waiting").get_by_text("wait").wait_for()
    other = context.new_page()
    page.close()
    assert len(served.entries()) == before
    context.set_offline(False)
    _wakes(other, served.base)
    deadline = time.monotonic() + 20
    while len(served.entries()) == before and time.monotonic() < deadline:
        other.wait_for_timeout(100)
    assert len(served.entries()) == before + 1  # before any page of ours was opened again
    other.goto(f"{served.base}/")
    other.locator(".row.done:not(.waiting)", has_text="Gable").wait_for(state="attached")
    assert [entry[:2] for entry in served.entries()[before:]] == [("done", "gable")]


def _wakes(page: Any, base: str) -> None:
    """Let the browser tell the service worker that there is a network again, as it does on a phone by itself."""
    wire, found = page.context.new_cdp_session(page), []
    wire.on("ServiceWorker.workerRegistrationUpdated", lambda told: found.extend(told["registrations"]))
    page.goto(f"{base}/healthz")
    wire.send("ServiceWorker.enable")
    while not found:
        page.wait_for_timeout(50)
    wire.send(
        "ServiceWorker.dispatchSyncEvent",
        {"origin": base, "registrationId": found[0]["registrationId"], "tag": "taps", "lastChance": False},
    )


def test_what_was_refused_after_a_while_without_a_network_is_said(phone: Phone, served: Served) -> None:
    """Gable was given away meanwhile on the computer: its tap is not written, and the page says so with its name."""
    page = phone(service_workers="block")
    page.context.set_offline(True)
    tap(page).click()
    page.locator(".row.waiting", has_text="Gable").wait_for()
    with Collection.open(served.folder) as collection:
        collection.record(Retired(on=TODAY, plant="gable", because="given-away"), now=moment(TODAY))
    before = len(served.entries())
    page.context.set_offline(False)
    page.locator("#notice").get_by_text(re.compile("Gable: ")).wait_for(timeout=20_000)
    assert len(served.entries()) == before
