"""The three uses on a phone: subscribe by an address, repot and see the round change, pause feeding."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit
from urllib.request import urlopen

import icalendar
import pytest

from tests.browser.conftest import Served

Phone = Callable[..., Any]


@pytest.mark.parametrize("scripted", [True, False])
def test_the_address_is_copied_and_fetched(phone: Phone, served: Served, scripted: bool) -> None:
    """A new calendar shows its address once; whoever fetches it gets the round as an event (read by icalendar)."""
    page = phone(java_script_enabled=scripted)
    page.goto(f"{served.base}/calendars")
    page.get_by_label("Name").fill("Phone in the kitchen")
    page.get_by_role("button", name="Give it an address").click()
    address = page.locator(".address").inner_text()
    path = urlsplit(address).path
    assert path.startswith("/calendar/")
    with urlopen(f"{served.base}{path}", timeout=20) as answer:  # noqa: S310 - of the server of this test
        events = icalendar.Calendar.from_ical(answer.read()).walk("VEVENT")
    assert [e for e in events if "Gable" in str(e.get("DESCRIPTION", ""))]
    page.goto(f"{served.base}/calendars")
    assert page.locator(".address").count() == 0
    page.locator("b", has_text="Phone in the kitchen").wait_for()


def test_a_repotted_plant_changes_the_round(phone: Phone, served: Served) -> None:
    """Gable is to be fed; repotted today, it settles: the feed is gone from today's list, and the page said so."""
    page = phone()
    row = page.locator(".row", has_text="Gable")
    assert "feed" in row.inner_text().lower()
    page.goto(f"{served.base}/plants/gable#pot")
    form = page.locator("details:has(> #pot)")
    if not form.evaluate("d => d.open"):
        form.locator("summary").click()
    form.get_by_label("Medium").select_option("bark")
    form.get_by_label("Pot", exact=True).select_option("clear-plastic")
    form.get_by_label("Top diameter [cm]").fill("11")
    form.get_by_role("button", name="Write it down").click()
    page.get_by_role("status", name="What changed").wait_for()
    assert served.entries()[-1][:2] == ("potted", "gable")
    page.goto(f"{served.base}/")
    page.get_by_role("heading", level=1).wait_for()
    assert "feed" not in " ".join(page.locator(".row").all_inner_texts()).lower()


def test_paused_feeding_waters_instead(phone: Phone, served: Served) -> None:
    """The wetting stays in the round as plain water: a pause of feeding never takes a wetting away (design rule 7)."""
    page = phone()
    page.goto(f"{served.base}/plants/gable")
    form = page.locator("details:has(> #pause)")
    form.locator("summary").click()
    form.get_by_label("Pause", exact=True).select_option("feeding")
    form.get_by_role("button", name="Pause it").click()
    page.get_by_role("status", name="What changed").wait_for()
    assert served.entries()[-1][0] == "paused"
    page.goto(f"{served.base}/")
    text = page.locator(".row", has_text="Gable").inner_text().lower()
    assert "feed" not in text
    assert "water" in text
