"""A slow network and a server that is started again: what is tapped is shown at once, is true, and is written once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.browser.conftest import Served, Server
from tests.browser.test_taps import row_of, settled, state_of, tap

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
