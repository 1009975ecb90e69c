"""Addresses of calendars, and what subscribers get without a plan being made."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from carecal.app import Collection, Now
from carecal.app.publish import calendars as app
from carecal.app.publish import named_calendars
from carecal.calendars.options import CalendarOptions
from carecal.errors import StorageError
from tests.cli.cli_run import DAY, carecal, done, refused, two_places

pytestmark = pytest.mark.usefixtures("home")


def _now(day: str) -> Now:
    instant = datetime.combine(date.fromisoformat(day), datetime.min.time(), UTC).replace(hour=9)
    return Now(date.fromisoformat(day), instant, instant, is_given=True)


NOW, NEXT = _now(DAY), _now("2026-11-26")


@pytest.fixture
def quay(home: Path) -> Iterator[Collection]:
    """Return an open collection with two plants at two places."""
    two_places()
    with Collection.open(home) as found:
        yield found


def _events(text: str, kind: str = "VEVENT") -> list[Any]:
    return [part for part in Calendar.from_ical(text).subcomponents if part.name == kind]


def test_an_address_is_shown_once_and_kept_as_a_digest(quay: Collection) -> None:
    """`add` prints the path and how to subscribe; the token stands nowhere in the collection."""
    said = done("calendar", "add", "Phone")
    path = said.out.splitlines()[0]
    assert path.startswith("http://127.0.0.1:8321/calendar/")
    assert path.endswith("/quay.ics")
    assert "not shown again" in said.out
    token = path.split("/")[-2]
    assert token.encode() not in b"".join(f.read_bytes() for f in quay.folder.glob("collection.db*"))
    listed = done("--json", "calendar", "list").json
    assert [(row["name"], row["shows"], row["fetched"]) for row in listed] == [
        ("Phone", "rounds, events", None)
    ]
    assert token not in done("calendar", "list").out


@pytest.mark.usefixtures("quay")
def test_the_whole_address_is_shown_where_it_is_known() -> None:
    """With a public address the link, the way to subscribe and a code to scan are shown."""
    done("settings", "public-address", "https://plants.example/orchids")
    said = done("calendar", "add", "Phone", "--plant", "tide", "--qr")
    address = said.out.splitlines()[0]
    assert address.startswith("https://plants.example/orchids/calendar/")
    assert f"webcal://{address.removeprefix('https://')}" in said.out
    assert "█" in said.out
    assert "█" in done("calendar", "qr", "phone", "--address", address).out
    assert "is not the address of Phone" in refused(
        "calendar", "qr", "Phone", "--address", address.replace("/quay", "x/quay")
    )


@pytest.mark.usefixtures("quay")
def test_a_code_needs_the_whole_address() -> None:
    """A code of half an address would lead nowhere."""
    assert "a code needs the whole address" in refused("calendar", "add", "Phone", "--qr")
    assert done("--json", "calendar", "list").json == []
    done("calendar", "add", "Phone")
    assert "a code needs the whole address" in refused("calendar", "qr", "Phone", "--yes")


def test_a_new_code_takes_the_old_address_away(quay: Collection) -> None:
    """`qr --yes` gives a new address; whoever holds the old one is told that it is gone."""
    done("settings", "public-address", "https://plants.example")
    old = done("--json", "calendar", "add", "Phone").json["path"]
    new = done("--json", "calendar", "qr", "Phone", "--yes").json["path"]
    assert new != old
    gone, live = (named_calendars.find_calendar(quay, named_calendars.token_of(path)) for path in (old, new))
    assert gone is not None
    assert not gone.is_live
    assert live is not None
    assert live.is_live


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("add", "phone"), "calendar 'phone' exists"),
        (("add", ""), "name"),
        (("revoke", "Fone"), "no calendar named 'Fone'; did you mean Phone?"),
        (("qr", "Fone"), "no calendar named 'Fone'; did you mean Phone?"),
        (("add", "New", "--plant", "tdie"), "no plant named 'tdie'; did you mean tide?"),
    ],
)
@pytest.mark.usefixtures("quay")
def test_addresses_refuse_what_cannot_be(words: tuple[str, ...], expected: str) -> None:
    """Names that exist or do not exist are told with the near ones."""
    done("calendar", "add", "Phone")
    assert expected in refused("calendar", *words)
    assert len(done("--json", "calendar", "list").json) == 1


def test_a_revoked_calendar_is_gone_but_known(quay: Collection) -> None:
    """After `revoke` the token is still told from one that never was (410 and 404), and the name is free."""
    token = named_calendars.token_of(done("--json", "calendar", "add", "Phone").json["path"])
    done("calendar", "revoke", "phone")
    found = named_calendars.find_calendar(quay, token)
    assert found is not None
    assert not found.is_live
    assert named_calendars.find_calendar(quay, "never-was") is None
    done("calendar", "add", "Phone")


def _named(quay: Collection, name: str = "Phone") -> Any:
    named_calendars.add_calendar(quay, NOW, name, CalendarOptions(name=name))
    return named_calendars.calendar_named(quay, name)


def _no_plan(*_: object, **__: object) -> None:
    raise AssertionError("a plan was made")


def test_what_was_published_is_served_without_a_plan(
    quay: Collection, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While nothing has changed neither validators nor bytes need a plan (design: nothing plans to answer a 304)."""
    phone = _named(quay)
    assert app.current(quay, phone, NOW) is None
    first = app.ensure_published(quay, phone, NOW)
    monkeypatch.setattr(Collection, "plan", _no_plan)
    assert app.current(quay, phone, NOW) == first.validators
    assert app.ensure_published(quay, phone, NOW) == first


@pytest.mark.parametrize("change", ["entry", "day", "file"])
def test_an_entry_a_day_or_a_file_makes_it_stale(quay: Collection, change: str) -> None:
    """Whatever a plan rests on leads to a new one."""
    phone = _named(quay)
    app.ensure_published(quay, phone, NOW)
    if change == "entry":
        done("pause", "feeding")
    if change == "file":
        own = quay.folder / "shared" / "media.toml"
        shipped = Path(__file__).parents[2] / "shared" / "media.toml"
        text = shipped.read_text(encoding="utf-8")
        bark = text[text.index("[bark]\n") :]
        own.write_text(bark[: bark.index("\n[", 3)] + "\n", encoding="utf-8")
    assert app.current(quay, phone, NEXT if change == "day" else NOW) is None


def test_a_named_calendar_says_since_when_it_was_not_refreshed(quay: Collection) -> None:
    """Named calendars carry the event that warns when refreshing stopped; nameless ones do not (interface §5)."""
    found = _events(app.ensure_published(quay, _named(quay), NOW).body.decode())
    assert [e for e in found if "REFRESH" in e["CATEGORIES"].cats]
    assert not [e for e in _events(done("calendar", "write").out) if "REFRESH" in e["CATEGORIES"].cats]


def test_a_fault_leaves_the_last_calendar_and_a_note(
    quay: Collection, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where it cannot be made anew, subscribers keep what there was, and the owner sees why."""
    phone = _named(quay)
    first = app.ensure_published(quay, phone, NOW)

    def broken(*_: object, **__: object) -> None:
        raise StorageError("the disk is full")

    monkeypatch.setattr("carecal.app.publish.calendars.publish", broken)
    kept = app.ensure_published(quay, phone, NEXT)
    assert (kept.body, kept.validators.etag, kept.note) == (
        first.body,
        first.validators.etag,
        "the disk is full",
    )
    assert done("--json", "calendar", "list").json[0]["note"] == "the disk is full"
    monkeypatch.undo()
    assert app.ensure_published(quay, phone, NEXT).note == ""


def test_a_doubted_clock_publishes_nothing_new(quay: Collection) -> None:
    """Rule 23: subscribers keep the last calendar until the clock is confirmed."""
    phone = _named(quay)
    first = app.ensure_published(quay, phone, NOW)
    back = datetime(2020, 1, 1, tzinfo=UTC)
    assert app.ensure_published(quay, phone, Now(back.date(), back, back)) == first


def test_refresh_publishes_what_has_changed(quay: Collection) -> None:
    """`refresh` makes every living calendar fresh; a second one plans nothing."""
    _named(quay)
    _named(quay, "Kitchen")
    assert done("refresh").out == "Phone: fresh\nKitchen: fresh\n"
    phone = named_calendars.calendar_named(quay, "Phone")
    assert app.current(quay, phone, NOW) is not None


def test_refresh_tells_what_could_not_be_made(quay: Collection) -> None:
    """A calendar that cannot be made is named, the others are made, and the exit code is 3."""
    _named(quay)
    named_calendars.add_calendar(quay, NOW, "Night", app.options_of(quay, NOW, name="Night", at=time(2, 30)))
    said = carecal("refresh")
    assert said.code == 3
    assert said.out.splitlines()[0] == "Phone: fresh"
    assert said.out.splitlines()[1].startswith("Night: time 02:30 does not exist on 2027-03-28")
