"""Taps as they really come: twice in a row, on two browsers at once, answered beside the row, finished for the day."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from tests.browser.conftest import Served

Phone = Callable[..., Any]


def row_of(page: Any, name: str = "Gable") -> Any:
    """Return a plant's row."""
    return page.locator(".row", has_text=re.compile(name))


def tap(page: Any, name: str = "Gable") -> Any:
    """Return the one target of a plant's row."""
    return row_of(page, name).locator("button.tap")


def settled(page: Any) -> None:
    """Wait until nothing is under way any more."""
    page.locator(".row.waiting").first.wait_for(state="detached")
    page.locator("#list[data-sending='0']").wait_for()


def state_of(page: Any, name: str = "Gable") -> str:
    """Return whether a row is shown as open, done or left."""
    words = str(row_of(page, name).get_attribute("class")).split()
    return next(word for word in words if word in {"open", "done", "left"})


def test_a_double_tap_on_an_open_row_is_done_and_taken_back(phone: Phone) -> None:
    """The second tap is the row's next state: nothing is refused, and what is shown is what the server holds."""
    page = phone()
    tap(page).dblclick()
    settled(page)
    assert state_of(page) == "open"
    assert page.get_by_text(re.compile("missing|already")).count() == 0
    page.reload()
    assert state_of(page) == "open"


def test_a_double_tap_on_a_done_row_leaves_it_done(phone: Phone, served: Served) -> None:
    """Taken back and done again, on the page and on the server."""
    page = phone()
    tap(page).click()
    settled(page)
    tap(page).dblclick()
    settled(page)
    assert state_of(page) == "done"
    page.reload()
    assert state_of(page) == "done"
    assert [kind for kind, plant, _ in served.entries() if plant == "gable"].count("done") <= 2


def test_after_a_refusal_the_row_shows_what_the_server_holds(phone: Phone) -> None:
    """Done on one browser, answered 'left damp' on another: the second shows the first one's state."""
    first, second = phone(), phone()
    second.route("**/*", lambda route: route.abort() if route.request.method == "GET" else route.continue_())
    tap(first).click()
    settled(first)
    row_of(second).locator("summary").click()
    row_of(second).get_by_role("button", name="Left: still damp").click()
    second.locator(".row.done", has_text="Gable").wait_for()
    assert "09:00" in row_of(second).inner_text()


def test_a_tick_elsewhere_arrives_within_seconds(phone: Phone) -> None:
    """An open page asks lightly while it is seen; a hidden one does not."""
    first, second = phone(), phone()
    tap(first).click()
    second.locator(".row.done", has_text="Gable").wait_for(timeout=8000)
    assert state_of(second) == "done"


def test_the_answer_stands_beside_the_tick(phone: Phone, served: Served) -> None:
    """Tick 1 tap, answer 1 tap, no menu; the journal holds what was felt."""
    page = phone()
    tap(page).click()
    page.get_by_role("status").get_by_role("button", name="parched").click()
    settled(page)
    page.get_by_text("parched").first.wait_for()
    assert [kind for kind, _, _ in served.entries()][-2:] == ["done", "amended"]


def test_the_answer_can_be_given_later_and_the_tick_still_taken_back(phone: Phone, served: Served) -> None:
    """After a reload the done row asks in its menu; a tap on it then takes tick and answer back."""
    page = phone()
    tap(page).click()
    settled(page)
    page.reload()
    page.locator("details.finished > summary").click()
    row_of(page).locator("summary").click()
    row_of(page).get_by_role("button", name="damp", exact=True).click()
    settled(page)
    assert served.entries()[-1][0] == "amended"
    tap(page).click()
    settled(page)
    page.reload()
    assert state_of(page) == "open"


def test_the_whole_round_asks_once_and_is_taken_back_in_one_tap(phone: Phone, served: Served) -> None:
    """It names how many plants, then says that the day is finished and when the next round is; the can goes."""
    page = phone()
    before = served.entries()
    page.get_by_role("button", name="All done").click()
    asked = page.get_by_role("dialog")
    many = int(re.search(r"\d+", asked.inner_text())[0])  # type: ignore[index]
    assert many == page.locator(".row.open").count()
    asked.get_by_role("button", name="Yes").click()
    page.get_by_text("Done for today").wait_for()
    page.get_by_text(re.compile("Next round")).first.wait_for()
    assert page.locator(".can").count() == 0
    assert len(served.entries()) >= len(before) + many
    page.get_by_role("button", name="Take it back").click()
    page.locator(".row.open").first.wait_for()
    assert page.locator(".row.open").count() == many


def test_without_script_all_done_asks_too(phone: Phone) -> None:
    """The question is a page of its own that names the number."""
    page = phone(java_script_enabled=False)
    many = page.locator(".row.open").count()
    page.get_by_role("button", name="All done").click()
    page.get_by_text(re.compile(rf"\b{many} plants")).wait_for()
    page.get_by_role("button", name=re.compile("Yes")).click()
    page.get_by_text("Done for today").wait_for()
    assert page.locator(".row.open").count() == 0
