"""The three uses on a phone: subscribe by an address, repot and see the round change, pause feeding."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from urllib.request import urlopen

import icalendar
import pytest
from PIL import Image

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
    """Gable is to be fed; repotted today with the pot that was compared, it settles: in at most five taps."""
    page = phone()
    assert "feed" in page.locator(".row", has_text="Gable").inner_text().lower()
    page.goto(f"{served.base}/plants/gable")
    page.get_by_role("link", name="Repotted").first.click()  # 1
    page.get_by_role("link", name="Which medium, which pot?").click()  # 2
    page.locator(".pairs li", has_text="bark").get_by_role("link").first.click()  # 3
    assert page.locator("[name=medium]:checked").get_attribute("value") != "moss"
    page.get_by_role("button", name="Write it down").click()  # 4
    page.get_by_text("out of season").wait_for()  # October: it asks first
    page.get_by_role("button", name="Yes, it is right").click()  # 5
    page.get_by_role("status", name="What changed").wait_for()
    assert served.entries()[-1][:2] == ("potted", "gable")
    page.goto(f"{served.base}/")
    page.get_by_role("heading", level=1).wait_for()
    assert "feed" not in " ".join(page.locator(".row").all_inner_texts()).lower()


def test_paused_feeding_waters_instead(phone: Phone, served: Served) -> None:
    """The wetting stays as plain water (design rule 7); a pause of all takes three taps."""
    page = phone()
    page.get_by_text("More", exact=False).first.click()  # 1
    page.get_by_role("navigation").get_by_role("link", name="Pause").first.click()  # 2
    page.get_by_role("button", name="Pause it").click()  # 3
    page.get_by_role("status", name="What changed").wait_for()
    assert served.entries()[-1][0] == "paused"
    page.goto(f"{served.base}/")
    text = page.locator(".row", has_text="Gable").inner_text().lower()
    assert "feed" not in text
    assert "water" in text


@pytest.mark.parametrize("scripted", [True, False])
def test_a_photo_takes_two_taps_and_the_picker(
    phone: Phone, served: Served, tmp_path: Path, scripted: bool
) -> None:
    """From the plant's page: the picker, and without script one button more; the picture stands on the page after."""
    picture = tmp_path / "p.png"
    Image.new("RGB", (300, 400), (30, 120, 60)).save(picture)
    page = phone(java_script_enabled=scripted)
    page.goto(f"{served.base}/plants/tide")
    page.locator("#quick-photo").set_input_files(picture)
    if not scripted:
        page.get_by_role("button", name="Keep it").click()
    page.get_by_role("status", name="What changed").wait_for()
    assert served.entries()[-1][:2] == ("observed", "tide")
    assert page.locator("header img.face").count() == 1


def test_a_plant_is_added_in_four_taps(phone: Phone, served: Served) -> None:
    """Menu, page, place, button; the name is typed."""
    page = phone()
    page.get_by_text("More", exact=False).first.click()  # 1
    page.get_by_role("navigation").get_by_role("link", name="Add a plant").first.click()  # 2
    page.get_by_label("Name").first.fill("Sea Holly")
    page.get_by_label("East sill", exact=True).first.check()  # 3
    page.get_by_role("button", name="Add it").first.click()  # 4
    page.get_by_role("status", name="What changed").wait_for()
    assert page.url.endswith("/plants/sea-holly")
    assert served.entries()[-1][:2] == ("added", "sea-holly")


def test_the_round_is_ticked_by_keyboard_and_a_menu_closes_by_escape(phone: Phone, served: Served) -> None:
    """Space on the focused row ticks it; Escape closes its menu and gives the focus back."""
    page = phone()
    page.locator(".row", has_text="Gable").locator("button.tap").focus()
    page.keyboard.press("Space")
    page.locator(".row.done:not(.waiting)", has_text="Gable").wait_for()
    assert served.entries()[-1][0] == "done"
    summary = page.locator(".row", has_text="Winch").locator("summary")
    summary.focus()
    page.keyboard.press("Enter")
    page.locator(".row", has_text="Winch").locator("details[open]").wait_for()
    page.keyboard.press("Escape")
    assert page.locator("details.more[open]").count() == 0
    assert summary.evaluate("e => e === document.activeElement")


def test_the_round_is_there_without_a_network_and_taps_are_sent_once(phone: Phone, served: Served) -> None:
    """Kept by the service worker: loaded anew without a network it shows the round, takes a tap, and sends it later."""
    page = phone()
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()
    page.locator(".row.open").first.wait_for()
    page.wait_for_timeout(300)
    before = len(served.entries())
    page.context.set_offline(True)
    page.reload()
    row = page.locator(".row", has_text="Gable")
    row.locator("button.tap").click()
    page.locator(".row.waiting", has_text="Gable").wait_for()
    page.context.set_offline(False)
    page.locator(".row.done:not(.waiting)", has_text="Gable").wait_for(timeout=20000)
    assert served.entries()[before:] == [("done", "gable", "owner")]


def test_a_round_is_moved_by_dragging_its_number(phone: Phone, served: Served) -> None:
    """With a mouse on the month: dropped on the next day, the round's move is written down."""
    page = phone(viewport={"width": 1280, "height": 800}, has_touch=False, is_mobile=False)
    page.goto(f"{served.base}/ahead")
    rounds = page.locator(".month [data-round]")
    day = rounds.nth(1).get_attribute("data-round")
    target = page.locator(f".month td:not(.past):not(.out):not([data-day='{day}'])").last
    rounds.nth(1).drag_to(target)
    page.get_by_role("status", name="What changed").or_(page.get_by_role("alert")).first.wait_for()
    assert served.entries()[-1][0] == "round-moved"
