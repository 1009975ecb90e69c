"""The round on a phone: tick, take back, tick without a connection, without JavaScript, two people at once."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from tests.browser.conftest import PASSWORD, Served

Phone = Callable[..., Any]
GABLE = re.compile("Gable")


def _row(page: Any, name: str = "Gable") -> Any:
    """Return the one target of a plant's row."""
    return page.locator(".row", has_text=re.compile(name)).locator("button.tap")


def _is_done(page: Any, name: str = "Gable") -> None:
    """Wait until a row is told to be done."""
    page.locator(".row.done:not(.waiting)", has_text=re.compile(name)).wait_for(
        state="attached", timeout=90_000
    )


def _is_open(page: Any, name: str = "Gable") -> None:
    """Wait until a row is told to be open."""
    page.locator(".row.open:not(.waiting)", has_text=re.compile(name)).wait_for()


def test_a_tap_is_done_and_another_takes_it_back(phone: Phone, served: Served) -> None:
    """One tap on the row writes one entry, the next takes that entry back; the journal is the oracle."""
    page = phone()
    _row(page).click()
    _is_done(page)
    assert served.entries()[-1] == ("done", "gable", "owner")
    _row(page).click()
    _is_open(page)
    assert served.entries()[-1][0] == "undone"


def test_it_works_without_javascript(phone: Phone, served: Served) -> None:
    """Tick and take back by plain forms, with the notice at the thumb; the journal is the oracle."""
    page = phone(java_script_enabled=False)
    _row(page).click()
    _is_done(page)
    assert served.entries()[-1] == ("done", "gable", "owner")
    page.get_by_role("button", name="Take it back").click()
    _is_open(page)
    assert served.entries()[-1][0] == "undone"


def test_a_tap_without_a_connection_is_sent_later_and_once(phone: Phone, served: Served) -> None:
    """What is tapped offline is kept, told as waiting, and written once when the connection is back."""
    page = phone()
    before = len(served.entries())
    page.context.set_offline(True)
    _row(page).click()
    page.locator(".row.waiting", has_text=GABLE).wait_for()
    assert len(served.entries()) == before
    page.context.set_offline(False)
    _is_done(page)
    page.reload()
    _is_done(page)
    assert served.entries()[before:] == [("done", "gable", "owner")]


def test_a_tap_kept_survives_the_page(phone: Phone, served: Served) -> None:
    """A page that is closed before the connection is back sends what it kept when it is opened again."""
    page = phone()
    before = len(served.entries())
    page.context.set_offline(True)
    _row(page).click()
    page.locator(".row.waiting", has_text=GABLE).wait_for()
    page.close()
    page.context.set_offline(False)
    again = page.context.new_page()
    again.goto(f"{served.base}/")
    _is_done(again)
    assert served.entries()[before:] == [("done", "gable", "owner")]


def test_two_taps_without_a_connection_are_none(phone: Phone, served: Served) -> None:
    """A row tapped twice offline is as it was: nothing is sent."""
    page = phone()
    before = served.entries()
    page.context.set_offline(True)
    _row(page).click()
    page.locator(".row.waiting", has_text=GABLE).wait_for()
    _row(page).click()
    page.locator(".row:not(.waiting)", has_text=GABLE).wait_for()
    page.context.set_offline(False)
    page.reload()
    _is_open(page)
    assert served.entries() == before


def test_the_whole_round_is_kept_without_a_connection(phone: Phone, served: Served) -> None:
    """All done but the marked, tapped offline: rows wait, and the round is written once when the connection is back."""
    page = phone()
    before = len(served.entries())
    page.locator(".row", has_text="Winch").locator("summary").click()
    page.locator(".row", has_text="Winch").get_by_label("Not today").check()
    page.context.set_offline(True)
    page.get_by_role("button", name="All done except the marked").click()
    page.get_by_role("button", name="Yes, all done").click()
    page.locator(".row.waiting", has_text=GABLE).wait_for()
    assert page.locator(".row.waiting", has_text="Winch").count() == 0
    page.context.set_offline(False)
    _is_done(page)
    page.locator(".row.excepted", has_text="Winch").wait_for(state="attached")
    written = served.entries()[before:]
    assert ("excepted", "winch", "owner") in written
    assert written.count(("done", "gable", "owner")) == 1


def test_what_was_done_by_another_meanwhile_can_be_taken_back(phone: Phone, served: Served) -> None:
    """The script's second person is told who was first, and the row then takes that very entry back."""
    first, second = phone(), phone()
    _row(first).click()
    _is_done(first)
    _row(second).click()
    second.locator(".row.done", has_text="Gable").wait_for()
    _row(second).click()
    _is_open(second)
    assert [kind for kind, _, _ in served.entries()][-2:] == ["done", "undone"]


def test_an_old_token_is_renewed_and_the_tap_is_not_lost(phone: Phone, served: Served) -> None:
    """Signed in anew in another tab, the page's token is old: the tap is kept, the page loads anew and sends it."""
    page = phone()
    other = page.context.new_page()
    page.context.clear_cookies()
    other.goto(f"{served.base}/login")
    other.get_by_label("Password").fill(PASSWORD)
    other.get_by_role("button", name="Sign in").click()
    other.wait_for_url(f"{served.base}/")
    before = len(served.entries())
    _row(page).click()
    _is_done(page)
    assert served.entries()[before:] == [("done", "gable", "owner")]


def test_the_second_of_two_people_is_told_who_was_first(phone: Phone, served: Served) -> None:
    """Both see the row open; the second tap writes nothing and is answered when and by whom (design rule 19)."""
    first, second = phone(), phone(java_script_enabled=False)
    before = len(served.entries())
    _row(first).click()
    _is_done(first)
    _row(second).click()
    second.get_by_text(re.compile(r"already done 09:00 by owner", re.IGNORECASE)).wait_for()
    assert served.entries()[before:] == [("done", "gable", "owner")]


def test_a_wrong_password_is_told_and_a_right_one_leads_to_the_round(phone: Phone, served: Served) -> None:
    """A calendar's link arrives at the login and goes on to where it led."""
    page = phone(signed_in=False)
    page.goto(f"{served.base}/")
    page.get_by_label("Password").fill("a guess")
    page.get_by_role("button", name="Sign in").click()
    page.get_by_text("not the password").wait_for()
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"{served.base}/")
    page.get_by_role("button", name="All done except the marked").wait_for()
    assert page.get_by_label("Password").count() == 0


def test_a_link_never_ticks(phone: Phone, served: Served) -> None:
    """Opening the round, with whatever words in its address, writes nothing."""
    page = phone()
    before = served.entries()
    page.goto(f"{served.base}/?do=done&task=task/1/1/wetting/6&care=watering")
    _is_open(page)
    assert served.entries() == before
