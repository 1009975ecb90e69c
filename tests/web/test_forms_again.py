"""Forms that were refused, interrupted or sent twice: each comes back as itself, nothing typed is lost or doubled."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from carecal.app import Collection
from carecal.collection.entries import CollectionStarted
from carecal.web.pages.add import id_of
from carecal.web.pages.frame import fault_of
from carecal.web.refill import Again, refilled
from tests.stories.quay import TODAY, moment
from tests.web.pages_grower import Grower, Page, text_of
from tests.web.visitors import PASSWORD, Clock, client_of, give_password, sign_in


def _form(page: str, did: str) -> str:
    """Return the source of the form that does something."""
    found = [f for f in re.findall(r"<form.*?</form>", page, re.DOTALL) if f'value="{did}"' in f]
    assert found
    return str(found[0])


def test_a_refused_form_comes_back_as_itself(grower: Grower) -> None:
    """Same fields, kinds and choices, what was typed, and the faulty one marked with its reason."""
    before = grower.send("/plants/gable", "observe")
    assert before.status_code in {303, 422}
    answer = grower.send(
        "/plants/gable", "observe", roots="many", firmness="soft", note="two <new> tips", seen="mealybug"
    )
    assert answer.status_code == 422
    form = _form(answer.text, "observe")
    names = {i.get("name") for i in Page(_form(grower.read("/plants/gable/say"), "observe")).inputs}
    assert {i.get("name") for i in Page(form).inputs} == names
    assert re.search(r'name="roots" type="text" value="many".*?aria-invalid="true"', form)
    assert re.search(r'value="soft" checked', form)
    assert "two &lt;new&gt; tips</textarea>" in form
    assert re.search(r'<option value="mealybug" selected', form)
    assert "'many' is not a number" in text_of(form)
    assert form.count('aria-invalid="true"') == 1


def test_a_refused_photo_asks_for_a_photo_again(grower: Grower) -> None:
    """The field of the picture stands there once more, marked; the note typed beside it is kept."""
    files = {"photo": ("x.jpg", b"no picture at all", "image/jpeg")}
    answer = grower.send("/plants/gable", "observe", files=files, note="seen at noon")
    form = _form(answer.text, "observe")
    assert answer.status_code == 422
    assert re.search(r'name="photo" type="file".*?aria-invalid="true"', form)
    assert "seen at noon</textarea>" in form


def test_a_form_typed_before_the_session_ended_is_kept_through_the_way_in(grower: Grower) -> None:
    """The way in carries it, the page behind shows it filled in, and it is written once it is sent again."""
    token = grower.page("/plants/gable/say").forms[0]["fields"]["form_token"]
    grower.client.cookies.clear()
    sent = {"form_token": token, "do": "observe", "roots": "5", "note": "sent too late"}
    asked = grower.client.post("/plants/gable/say", data=sent)
    assert asked.status_code == 401
    way_in = Page(asked.text).forms[0]["fields"]
    answer = grower.client.post("/login", data={**way_in, "password": PASSWORD})
    assert answer.headers["location"] == "/plants/gable/say"
    page = grower.read("/plants/gable/say")
    assert "sent too late</textarea>" in page
    assert 'name="roots" type="number" value="5"' in page
    assert "not written yet" in page
    assert grower.newest().kind != "observed"


def test_the_same_form_sent_twice_is_written_once(grower: Grower) -> None:
    """The second send of one page's form says that it is done already."""
    token = grower.page("/plants/gable/move").forms[0]["fields"]["form_token"]
    sent = {"form_token": token, "do": "move", "place": "east-sill"}
    assert grower.client.post("/plants/gable/move", data=sent).status_code == 303
    after = len(grower.records())
    again = grower.client.post("/plants/gable/move", data=sent)
    assert "written down already" in text_of(grower.read(again.headers["location"]))
    assert len(grower.records()) == after


def test_what_a_form_did_stands_at_the_top_without_a_jump_past_it(grower: Grower) -> None:
    """No address with an anchor leads away from the notice, and absences shout what will not keep."""
    answer = grower.send("/settings", "away", start="2026-10-22", until="2026-12-20")
    assert answer.headers["location"] == "/away"
    page = grower.read("/away")
    assert 'class="told loud-told"' in page
    assert re.search(r"(\d+ plants|One plant) will not keep", text_of(page))


def test_before_a_password_is_set_a_page_says_where_to_begin(folder: Path) -> None:
    """A welcome in HTML, for people: which command wrote the address, and how to get another."""
    with client_of(folder) as stranger:
        answer = stranger.get("/")
    assert answer.status_code == 403
    assert answer.headers["content-type"].startswith("text/html")
    assert "carecal serve --new-password" in text_of(answer.text)


@pytest.mark.parametrize(
    ("name", "wanted"),
    [
        ("Zo\u00eb \u00dcnal\u2019s", "zoe-unals"),
        ("Zo\u00eb \u00dcnal's", "zoe-unals"),
        ("Stra\u00dfe 7", "strasse-7"),
        ("  Sea  Holly ", "sea-holly"),
        ("\u6d77", ""),
    ],
)
def test_ids_are_readable(name: str, wanted: str) -> None:
    """Letters lose their marks, apostrophes vanish, everything else becomes one hyphen (worked by hand)."""
    assert id_of(name) == wanted


def test_a_name_keeps_its_letters_everywhere(grower: Grower) -> None:
    """A plant's name stands as typed in titles, lists of calendars and the log; two of one name get two ids."""
    name = "Zo\u00eb \u00dcnal\u2019s"
    grower.write("/settings", "plant", name=name)
    grower.write("/settings", "plant", name=name)
    grower.read("/plants/zoe-unals-2")
    for path in ("/plants/zoe-unals", "/calendars", "/log", "/labels", "/plants"):
        assert name in text_of(grower.read(path)).replace("&#39;", "'"), path


def test_the_log_speaks_plant_words(grower: Grower) -> None:
    """No ids of tasks, no keys, no numbers of entries to type."""
    text = text_of(grower.read("/log"))
    assert "Watered" in text
    assert "task/" not in text
    assert not re.search(r"\bcare (watering|feeding|flushing)", text)
    assert 'type="number"' not in grower.read("/log")


def test_what_was_done_keeps_its_words_after_a_pause(grower: Grower) -> None:
    """Gable was fed; a pause of feeding afterwards does not turn the row into a watering."""
    page = grower.read("/")
    row = re.search(r'data-plant="gable".*?</form>', page, re.DOTALL)
    assert row is not None
    fields = dict(re.findall(r'name="(task|care)" value="([^"]*)"', row[0]))
    assert fields["care"] == "feeding"
    token = Page(page).forms[0]["fields"]["form_token"]
    grower.client.post("/", data={**fields, "do": "done", "form_token": token})
    grower.write("/settings", "pause", care="feeding")
    fold = grower.read("/").partition('class="finished"')[2]
    mine = re.search(r'data-plant="gable".*?</form>', fold, re.DOTALL)
    assert mine is not None
    words = re.search(r'class="what">([^<]*)<', mine[0])
    assert words is not None
    assert re.search(r"\b(Fed|feed)", words[1])
    assert "water" not in words[1].casefold()


def test_a_fault_is_found_by_its_value_or_its_name() -> None:
    """Quoted value first, then the words a refusal begins with."""
    sent = (("do", "pot"), ("size", "900"), ("medium", "bark"))
    assert fault_of(sent, "a size of 900 cm is out of range") == "size"
    assert fault_of(sent, "medium is missing; give it") == "medium"
    assert fault_of(sent, "nothing fits") == ""


def test_a_form_of_another_address_is_not_filled() -> None:
    """What was sent elsewhere changes nothing of a page."""
    page = '<form method="post" action="/here"><button name="do" value="x"><input name="a" value="1"></form>'
    assert refilled(page, Again("/there", (("do", "x"), ("a", "2")))) is None
    assert 'value="2"' in str(refilled(page, Again("/here", (("do", "x"), ("a", "2")))))


def test_a_collection_with_nothing_in_it_leads_to_the_first_round(tmp_path: Path) -> None:
    """Place, plant and phone are named as first steps, done ones marked, without a word of the command line."""
    folder = tmp_path / "new"
    first = CollectionStarted(
        on=TODAY, name="New house", latitude=54.3, longitude=10.1, timezone="Europe/Berlin"
    )
    Collection.start(folder, first, moment(TODAY)).close()
    give_password(folder)
    with client_of(folder, Clock()) as client:
        sign_in(client)
        grower = Grower(client, folder)
        page = grower.page("/")
        assert {"/add?what=place", "/add", "/calendars"} <= set(page.links)
        grower.write("/settings", "place", name="South window", kind="warm-sill")
        grower.write(
            "/settings",
            "plant",
            name="Tide",
            medium="bark",
            container="plastic",
            size="12",
            place="south-window",
        )
        assert "Tide" in text_of(grower.read("/"))
