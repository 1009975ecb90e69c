"""Every job of a grower by finger, by keyboard alone and without script, with its taps counted.

The counts are promised: tick 1, answer 1, photo 2 and the picker, repot 5, pause 3, add 4, away 3 at most.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from urllib.request import urlopen

import pytest
from PIL import Image

from carecal.app import Collection
from carecal.collection.entries import PlantAdded
from tests.browser.conftest import Served
from tests.browser.test_taps import row_of
from tests.stories.quay import STARTED, TODAY, moment

Phone = Callable[..., Any]
SEA = "Sea Holly"
BESIDE = {
    "on": STARTED,
    "medium": "moss",
    "container": "clear-plastic",
    "size_cm": 9,
    "place": "bathroom",
    "stage": "rootless",
    "watered": STARTED,
}
MOST_TAPS = {
    "tick": 1, "answer": 1, "take back": 1, "leave": 2, "not today": 2, "all": 2, "photo": 2, "observe": 3, "repot": 5,
    "pause": 3, "away": 3, "add": 4, "calendar": 3, "story": 2, "label": 2, "move": 3,
}  # fmt: skip


@dataclass
class Hand:
    """Somebody before the page: presses things in one way only and counts how often.

    Args:
        page: The browser's page.
        base: Where the server is heard.
        way: touch, keys, or bare for a browser without script.
        picture: A photo to choose in the picker.
    """

    page: Any
    base: str
    way: str
    picture: Path
    taps: int = 0

    def at(self, path: str) -> None:
        """Stand on a page, with no tap counted yet."""
        self.page.goto(f"{self.base}{path}")
        self.taps = 0

    def press(self, what: Any) -> None:
        """Press something: by finger, or by the keyboard where it can be reached and the focus is seen."""
        self.taps += 1
        if self.way != "keys":
            what.tap()
            return
        what.focus()
        tag, kind, index = what.evaluate("e => [e.tagName, e.type || '', e.tabIndex]")
        assert index >= 0
        assert what.evaluate("e => e === document.activeElement && e.matches(':focus-visible')")
        self.page.keyboard.press("Space" if kind in {"checkbox", "radio"} or tag == "SUMMARY" else "Enter")

    def mark(self, what: Any) -> None:
        """Choose one of the answers that stand side by side; a finger lands on the word, a key on its field."""
        if self.way != "keys":
            self.taps += 1
            what.locator("xpath=..").tap()
        else:
            self.press(what)
        assert what.is_checked()

    def button(self, name: str | re.Pattern[str], within: Any = None) -> None:
        """Press the first button of a name."""
        self.press((within or self.page).get_by_role("button", name=name).first)

    def link(self, name: str) -> None:
        """Press the first link of a name within the page."""
        self.press(self.page.locator("main").get_by_role("link", name=name, exact=True).first)

    def menu(self, name: str) -> None:
        """Open More and go on to one of its pages."""
        self.press(self.page.locator("nav .menu > summary"))
        self.press(self.page.locator("nav .menu").get_by_role("link", name=name, exact=True))
        self.page.get_by_role("heading", level=1).filter(has_text=name.rpartition(" ")[2]).wait_for()

    def told(self) -> str:
        """Return what the page says was done."""
        return str(self.page.get_by_role("status", name="What changed").inner_text())


def tick(hand: Hand) -> None:
    """One tap on the row."""
    hand.at("/")
    hand.press(row_of(hand.page).locator("button.tap"))
    hand.page.locator(".row.done:not(.waiting)", has_text="Gable").wait_for(state="attached")


def answer(hand: Hand) -> None:
    """One tap more says how it felt; it stands beside the tick."""
    hand.taps = 0
    hand.button("right", hand.page.locator("#notice"))
    hand.page.locator(".row.done:not(.waiting)", has_text="right").wait_for(state="attached")


def take_back(hand: Hand) -> None:
    """The tick of another row goes by one tap at the thumb."""
    hand.at("/")
    hand.press(row_of(hand.page, "Winch").locator("button.tap"))
    hand.page.locator("#notice", has_text="Winch").get_by_role("button", name="Take it back").wait_for()
    hand.taps = 0
    hand.button("Take it back", hand.page.locator("#notice"))
    hand.page.locator(".row.open:not(.waiting)", has_text="Winch").wait_for()


def leave(hand: Hand) -> None:
    """The row's menu, then that it is still damp."""
    hand.at("/")
    hand.press(row_of(hand.page, "Kelp").locator("summary"))
    hand.button("Left: still damp", row_of(hand.page, "Kelp"))
    hand.page.locator(".row.left:not(.waiting)", has_text="Kelp").wait_for(state="attached")


def not_today(hand: Hand) -> None:
    """The row's menu, then the mark."""
    hand.at("/")
    row = row_of(hand.page, "Winch")
    hand.press(row.locator("summary"))
    hand.press(row.get_by_label("Not today"))


def whole_round(hand: Hand) -> None:
    """All but the marked, asked once."""
    hand.taps = 0
    hand.button("All done except the marked")
    hand.button(re.compile("^Yes, "))
    hand.page.get_by_text("Done for today").wait_for()


def photo(hand: Hand) -> None:
    """The picker from the plant's page; without script one button more."""
    hand.at("/plants/tide")
    picker = hand.page.locator("#quick-photo")
    hand.taps += 1  # that opens the picker
    picker.set_input_files(hand.picture)
    if hand.way == "bare":
        hand.button("Keep it")
    assert "Photo kept" in hand.told()
    assert hand.page.locator("header img.face").count() == 1


def observe(hand: Hand) -> None:
    """Seen something, what, write it down."""
    hand.at("/plants/tide")
    hand.link("Seen something")
    hand.mark(hand.page.locator("[name=firmness][value=soft]"))
    hand.button("Write it down")
    assert "What was seen" in hand.told()


def repot(hand: Hand) -> None:
    """From the plant's page by the comparison; in spike it asks."""
    hand.at("/plants/lantern")
    hand.link("Repotted")
    hand.link("Which medium, which pot?")
    hand.press(hand.page.locator(".pairs li", has_text="bark").get_by_role("link").first)
    hand.page.wait_for_url("**/pot?medium=**")
    hand.button("Write it down")
    hand.page.get_by_role("heading", name="Is it right?").wait_for()
    hand.button("Yes, it is right")
    assert "otted" in hand.told()


def pause(hand: Hand) -> None:
    """Feeding of all plants, from the menu."""
    hand.at("/")
    hand.menu("Pause")
    hand.button("Pause it")
    assert "feeding" in hand.told().lower()


def away(hand: Hand) -> None:
    """The menu, the page, the last day typed, the button; who will not keep is told."""
    hand.at("/")
    hand.menu("Away")
    hand.page.get_by_label("Last day, included").first.fill("2026-11-20")
    hand.button("Write it down")
    assert "keep" in hand.told()


def add(hand: Hand) -> None:
    """The menu, the page, a place, the button; the name is typed."""
    hand.at("/")
    hand.menu("Add a plant")
    hand.page.get_by_label("Name").first.fill(SEA)
    hand.mark(hand.page.locator("[name=place][value=east-sill]"))
    hand.button("Add it")
    assert SEA in hand.told()


def calendar(hand: Hand) -> None:
    """The menu, the page, the button; what the address gives is a calendar."""
    hand.at("/")
    hand.menu("Calendars")
    hand.page.get_by_label("Name").first.fill(f"Phone {hand.way}")
    hand.button("Give it an address")
    path = urlsplit(hand.page.locator(".address").inner_text()).path
    with urlopen(f"{hand.base}{path}", timeout=20) as found:  # noqa: S310 - of the server of this test
        assert b"BEGIN:VCALENDAR" in found.read()


def story(hand: Hand) -> None:
    """Past, then the file to give away, whole in itself."""
    hand.at("/plants/tide")
    hand.press(hand.page.get_by_role("navigation", name="Of Tide").get_by_role("link", name="Past"))
    hand.page.wait_for_url("**/story")
    with hand.page.expect_download() as kept:
        hand.link("The story as one file, to give away")
    text = Path(kept.value.path()).read_text(encoding="utf-8")
    assert "Tide" in text
    assert "data:image/" in text  # the photo travels inside


def label(hand: Hand) -> None:
    """Anything else, a label: the sheet stands on the page with the plant's name."""
    hand.at("/plants/tide")
    hand.press(hand.page.locator("summary", has_text="Anything else"))
    hand.link("A label for its pot")
    hand.page.locator(".sheet svg", has_text="Tide").wait_for()


def move(hand: Hand) -> None:
    """A round goes to another day without a mouse: its number, the day typed, the button."""
    hand.at("/ahead")
    number = hand.page.locator(".month [data-round]").nth(1)
    day = str(number.get_attribute("data-round"))
    hand.press(number)
    form = hand.page.locator(f"#d-{day} form")
    if hand.way == "bare":
        hand.press(hand.page.locator(f"#d-{day} > summary"))
    form.get_by_label("Do it on").fill(str(date.fromisoformat(day) + timedelta(days=1)))
    hand.press(form.get_by_role("button", name="Move it"))
    assert "moves to" in hand.told()


JOBS: dict[str, Callable[[Hand], None]] = {
    "tick": tick, "answer": answer, "take back": take_back, "leave": leave, "not today": not_today, "all": whole_round,
    "photo": photo, "observe": observe, "repot": repot, "pause": pause, "away": away, "add": add, "calendar": calendar,
    "story": story, "label": label, "move": move,
}  # fmt: skip
WRITTEN = [
    ("done", "gable"), ("amended", ""), ("done", "winch"), ("undone", ""),
    ("left", "kelp"), ("excepted", "winch"),
    ("done", "buoy"),
    ("observed", "tide"), ("potted", "lantern"), ("paused", ""), ("away", ""), ("added", "sea-holly"),
    ("round-moved", ""),
]  # fmt: skip


@pytest.mark.parametrize("way", ["touch", "keys", "bare"])
def test_every_job_in_few_taps(phone: Phone, served: Served, tmp_path: Path, way: str) -> None:
    """Each is done by nothing but taps or keys, in no more than was promised, and stands in the journal."""
    with Collection.open(served.folder) as collection:
        for name in ("kelp", "buoy"):
            collection.record(PlantAdded.model_validate({**BESIDE, "plant": name}), now=moment(TODAY))
    picture = tmp_path / "p.png"
    Image.new("RGB", (300, 400), (30, 120, 60)).save(picture)
    page = phone(java_script_enabled=way != "bare", viewport={"width": 360, "height": 740})
    hand = Hand(page, served.base, way, picture)
    taken = {}
    for name, job in JOBS.items():
        job(hand)
        taken[name] = hand.taps
    assert {name: taps for name, taps in taken.items() if taps > MOST_TAPS[name]} == {}
    assert set(taken) == set(MOST_TAPS)
    found = [entry[:2] for entry in served.entries()]
    assert [each for each in WRITTEN if each not in found] == []
