"""Plants, places, absences, pauses and supplies by the forms of settings and places."""

from __future__ import annotations

import re

import pytest

from tests.web.pages_grower import Grower, text_of


def test_new_plant_needs_only_a_name(grower: Grower) -> None:
    """The id is made of the name; what is unknown is said on its page."""
    text = grower.write("/settings", "plant", name="Sea Holly")
    assert (grower.newest().kind, grower.newest().data["name"]) == ("added", "Sea Holly")
    assert "Sea Holly joins the collection" in text
    assert "Not known yet" in text
    grower.read("/plants/sea-holly")


def test_new_plant_is_added_whole(grower: Grower) -> None:
    """Every field of the form reaches the entry."""
    grower.write(
        "/settings",
        "plant",
        name="Kelp",
        profile="cattleya",
        place="bathroom",
        medium="bark",
        container="plastic",
        size="11",
        roots="4",
        longest="80",
        tips="2",
        leaves="3",
        aid="stake",
        came="2026-10-01",
        potted="2026-09-01",
        watered="2026-10-18",
        note="found by the water",
    )
    data = grower.newest().data
    assert (data["profile"], data["size_cm"], data["longest_mm"], data["tips"]) == ("cattleya", 11.0, 80.0, 2)
    assert (data["aids"], data["potted"], data["watered"]) == (["stake"], "2026-09-01", "2026-10-18")


def test_new_place_is_added_and_changed(grower: Grower) -> None:
    """A place gets its temperatures by its form, and others by the form of what changed."""
    grower.write(
        "/settings", "place", name="South", kind="warm-sill", aspect="S", winter_day="20", winter_night="16"
    )
    assert grower.newest().data["winter_night_c"] == 16.0
    grower.write("/places?place=south", "change", summer_day="27", summer_night="19")
    assert (grower.newest().kind, grower.newest().data["summer_day_c"]) == ("place-changed", 27.0)
    answer = grower.send("/places?place=south", "change", winter_day="20")
    assert answer.status_code == 422
    assert "needs both" in text_of(answer.text)


def test_all_of_a_place_move_together(grower: Grower) -> None:
    """Three plants stand on the sill; one command moves them."""
    before = len(grower.records())
    grower.write("/places?place=east-sill", "clear", to="bathroom")
    moved = grower.records()[before:]
    assert [record.kind for record in moved] == ["moved"] * 3
    assert len({record.command for record in moved}) == 1


def test_readings_of_a_logger_are_read(grower: Grower) -> None:
    """A logger's file is taken by its headings; a file that is none is refused."""
    rows = "\n".join(
        f"2026-10-{day:02} {hour:02}:00,{18 + hour / 10},55" for day in (18, 19) for hour in range(24)
    )
    file = {"file": ("log.csv", f"time,temperature °C,humidity %\n{rows}\n".encode(), "text/csv")}
    assert grower.send("/places?place=east-sill", "readings", files=file).status_code == 303
    assert grower.newest().kind == "readings"
    before = grower.records()
    bad = {"file": ("log.csv", b"\x00\xff not a table", "text/csv")}
    assert grower.send("/places?place=east-sill", "readings", files=bad).status_code == 422
    assert grower.records() == before


def test_absence_is_added_and_ended(grower: Grower) -> None:
    """An absence tells what will not keep, stands in the list, and ends by its button."""
    grower.write("/settings", "away", start="2026-11-01", until="2026-11-20")
    assert (grower.newest().kind, grower.newest().data["until"]) == ("away", "2026-11-20")
    entry = str(grower.newest().n)
    assert "1 November to 20 November 2026" in text_of(grower.read("/away"))
    grower.write("/settings", "back", entry=entry)
    assert grower.newest().data["entry"] == int(entry)
    assert "No absence runs" in text_of(grower.read("/away"))


def test_absences_of_an_own_calendar_are_chosen_before_they_are_written(grower: Grower) -> None:
    """A calendar's whole-day events are shown to choose from; only those chosen are written."""
    body = "\r\n".join(
        ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//quay//EN"]
        + [
            line
            for uid, first, last in (("a", "20261201", "20261205"), ("b", "20261220", "20261227"))
            for line in (
                "BEGIN:VEVENT",
                f"UID:{uid}",
                "DTSTAMP:20260101T000000Z",
                f"DTSTART;VALUE=DATE:{first}",
                f"DTEND;VALUE=DATE:{last}",
                "SUMMARY:Away by the sea",
                "END:VEVENT",
            )
        ]
        + ["END:VCALENDAR", ""]
    ).encode()
    before = grower.records()
    answer = grower.send("/settings", "read", files={"file": ("away.ics", body, "text/calendar")})
    assert answer.status_code == 200
    spans = re.findall(r'name="span" value="([^"]+)"', answer.text)
    assert spans == ["2026-12-01/2026-12-04", "2026-12-20/2026-12-26"]
    assert grower.records() == before
    token = re.search(r'name="form_token" value="([\w.-]+)"', answer.text)
    assert token is not None
    sent = {"form_token": token[1], "do": "spans", "source": "away.ics", "span": spans[1]}
    assert grower.client.post("/away", data=sent).status_code == 303
    assert (grower.newest().kind, grower.newest().data["start"]) == ("away", "2026-12-20")
    assert len(grower.records()) == len(before) + 1


@pytest.mark.parametrize(
    "address", ["/etc/passwd", "file:///etc/passwd", "http://127.0.0.1/x.ics", "../collection.db"]
)
def test_no_file_of_the_server_is_read_as_a_calendar(grower: Grower, address: str) -> None:
    """Only an https address is fetched; a path of the server is not an address."""
    answer = grower.send("/settings", "read", source=address)
    assert answer.status_code == 422
    assert "https://" in text_of(answer.text)
    assert "root:" not in answer.text


@pytest.mark.parametrize(
    "address", ["https://127.0.0.1/x.ics", "https://192.168.0.1/x.ics", "https://[::1]/x.ics"]
)
def test_addresses_of_the_own_network_are_not_fetched(grower: Grower, address: str) -> None:
    """An address of this machine or the house is refused before anything is asked of it."""
    assert grower.send("/settings", "read", source=address).status_code == 422


def test_pause_of_everything_is_listed_and_goes_on(grower: Grower) -> None:
    """A pause of the whole collection stands on its page with its button."""
    grower.write("/settings", "pause", care="feeding")
    assert grower.newest().data.get("plants") is None
    page = grower.page("/pause")
    form = next(f for f in page.forms if f["fields"].get("care") == "feeding")
    assert grower.client.post("/pause", data={**form["fields"], "do": "resume"}).status_code == 303
    assert grower.newest().kind == "resumed"
    assert "Nothing is paused" in text_of(grower.read("/pause"))


def test_supplies_and_sides_are_kept(grower: Grower) -> None:
    """A fertiliser by its label, a water by its conductivity, and the other side of a question."""
    grower.write("/settings", "fertiliser", name="feed", n="20", p="20", k="20", rate="1")
    assert grower.newest().data["n_pct"] == 20.0
    assert grower.send("/settings", "fertiliser", name="feed", n="20").status_code == 422
    grower.write("/settings", "water", name="rain", ec="0,05")
    assert grower.newest().data["ec_ms_cm"] == 0.05
    form = next(f for f in grower.page("/settings").forms if f["fields"].get("key") == "feeding-in-bloom")
    assert grower.client.post("/settings", data={**form["fields"], "side": "b"}).status_code == 303
    assert grower.newest().data["side"] == "b"
