"""`calendar`: the file, the address, and what subscribers get without a plan being made."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from carecal.app import Collection, Now
from carecal.app import calendars as app
from carecal.calendars.options import CalendarOptions
from carecal.errors import StorageError
from tests.cli.cli_run import DAY, carecal, done, refused, start, tide

pytestmark = pytest.mark.usefixtures("home")


def _now(day: str) -> Now:
    instant = datetime.combine(date.fromisoformat(day), datetime.min.time(), UTC).replace(hour=9)
    return Now(date.fromisoformat(day), instant, instant, is_given=True)


NOW, NEXT = _now(DAY), _now("2026-11-26")


@pytest.fixture
def quay(home: Path) -> Iterator[Collection]:
    """Return an open collection with two plants at two places."""
    start()
    tide()
    done("place", "add", "stair", "--kind", "stair", "--aspect", "N")
    done("plant", "add", "gull", "--medium", "moss", "--container", "clear-plastic", "--size", "9", "--place", "stair",
         "--stage", "rooting-in", "--watered", "yesterday")  # fmt: skip
    with Collection.open(home) as found:
        yield found


def _events(text: str, kind: str = "VEVENT") -> list[Any]:
    return [part for part in Calendar.from_ical(text).subcomponents if part.name == kind]


@pytest.mark.usefixtures("quay")
def test_the_calendar_goes_to_standard_output() -> None:
    """Without -o the bytes of the calendar, and nothing else, are printed; rounds for a collection."""
    said = done("calendar", "write")
    events = _events(said.out)
    rounds = done("--json", "plan").json["rounds"]
    planned = [str(e["DTSTART"].dt) for e in events if "STEP" not in e["CATEGORIES"].cats]
    assert planned == [found["on"] for found in rounds]


@pytest.mark.usefixtures("quay")
def test_writing_twice_on_a_day_changes_no_byte(tmp_path: Path) -> None:
    """The ledger keeps names, sequences and bytes (interface §5)."""
    first, second = tmp_path / "a.ics", tmp_path / "b.ics"
    said = done("calendar", "write", "-o", first)
    assert said.out.startswith(f"{first}: ")
    assert ", 0 of them new, changed or gone" in done("calendar", "write", "-o", second).out
    assert first.read_bytes() == second.read_bytes()
    assert [path.name for path in tmp_path.iterdir() if path.suffix == ".part"] == []


@pytest.mark.usefixtures("quay")
def test_a_calendar_of_one_plant_is_rules_by_default() -> None:
    """Grouping each for one plant, rounds for all else; both can be asked for."""
    assert any("RRULE" in event for event in _events(done("calendar", "write", "--plant", "tide").out))
    assert not any("RRULE" in event for event in _events(done("calendar", "write").out))
    assert any("RRULE" in event for event in _events(done("calendar", "write", "--grouping", "each").out))
    rounds = _events(done("calendar", "write", "--plant", "tide", "--grouping", "rounds").out)
    assert rounds
    assert not any("RRULE" in event for event in rounds)


@pytest.mark.usefixtures("quay")
def test_a_calendar_is_narrowed_to_place_and_care() -> None:
    """Only what stands at the place, only the care asked for."""
    stair = _events(done("calendar", "write", "--place", "stair", "--grouping", "each").out)
    assert {str(event["X-CARECAL-PLANT"]) for event in stair if "X-CARECAL-PLANT" in event} == {"gull"}
    looks = _events(done("calendar", "write", "--care", "inspection", "--grouping", "each").out)
    assert {cat for e in looks for cat in e["CATEGORIES"].cats if cat != "STEP"} == {"INSPECTION"}


@pytest.mark.usefixtures("quay")
def test_a_calendar_may_hold_todos_times_and_alarms() -> None:
    """To-dos instead of events; a time of day with its zone; an alarm before it; a shorter span."""
    assert _events(done("calendar", "write", "--as", "todos").out, "VTODO")
    timed = done("calendar", "write", "--at", "18:30", "--alarm", "15", "--days", "30").out
    event = _events(timed)[0]
    assert (event["DTSTART"].dt.hour, event["DTSTART"].dt.minute) == (18, 30)
    assert str(event["DTSTART"].dt.tzinfo) == "Europe/Berlin"
    (alarm,) = event.subcomponents
    assert alarm["TRIGGER"].dt.total_seconds() == -15 * 60
    assert max(e["DTSTART"].dt.date() for e in _events(timed)) <= date(2026, 12, 31)


@pytest.mark.parametrize(
    ("words", "code", "expected"),
    [
        (("--plant", "tdie"), 3, "no plant named 'tdie'; did you mean tide?"),
        (("--place", "stare"), 3, "no place named 'stare'; did you mean stair?"),
        (("--care", "singing"), 3, "care 'singing' is not known; allowed are watering"),
        (("--days", "0"), 3, "days is '0'; allowed: 1 to 400 days"),
        (("--alarm", "-5"), 3, "alarm is '-5'; allowed: 0 to"),
        (("--at", "02:30"), 3, "time 02:30 does not exist on 2027-03-28 in Europe/Berlin"),
        (("--at", "half past six"), 2, "is not a time; write it as 18:30"),
        (("--grouping", "weeks"), 2, "'weeks' is not one of"),
    ],
)
@pytest.mark.usefixtures("quay")
def test_a_calendar_that_cannot_be_is_refused(
    words: tuple[str, ...], code: int, expected: str, tmp_path: Path
) -> None:
    """Each refusal names the value and what is allowed; no file is written."""
    file = tmp_path / "a.ics"
    assert expected in refused("calendar", "write", "-o", file, *words, code=code)
    assert not file.exists()


@pytest.mark.usefixtures("quay")
def test_a_file_that_cannot_be_written_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault while writing ends with 4; the file that was there is whole."""
    assert "no such file or directory" in refused(
        "calendar", "write", "-o", tmp_path / "nix" / "a.ics", code=4
    )
    file = tmp_path / "a.ics"
    done("calendar", "write", "-o", file)
    before = file.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device", str(file))

    monkeypatch.setattr("carecal.cli.files.os.fsync", full)
    assert "no space left" in refused("calendar", "write", "-o", file, code=4)
    assert file.read_bytes() == before
    assert {path.name for path in tmp_path.iterdir()} == {"a.ics", "home"}


def test_an_empty_collection_has_a_valid_calendar() -> None:
    """With nothing in it the calendar holds one VTIMEZONE (interface §5)."""
    start()
    parts = Calendar.from_ical(done("calendar", "write").out).subcomponents
    assert [part.name for part in parts] == ["VTIMEZONE"]


def test_an_address_is_shown_once_and_kept_as_a_digest(quay: Collection) -> None:
    """`add` prints the path and how to subscribe; the token stands nowhere in the collection."""
    said = done("calendar", "add", "Phone")
    path = said.out.splitlines()[0]
    assert path.startswith("/calendar/")
    assert path.endswith(".ics")
    assert "not shown again" in said.out
    token = path.removeprefix("/calendar/").removesuffix(".ics")
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
    assert "is not the address of Phone" in refused("calendar", "qr", "Phone", "--address", address[:-5])


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
    gone, live = (app.find_calendar(quay, path[10:-4]) for path in (old, new))
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
    token = done("--json", "calendar", "add", "Phone").json["path"][10:-4]
    done("calendar", "revoke", "phone")
    found = app.find_calendar(quay, token)
    assert found is not None
    assert not found.is_live
    assert app.find_calendar(quay, "never-was") is None
    done("calendar", "add", "Phone")


def _named(quay: Collection, name: str = "Phone") -> Any:
    app.add_calendar(quay, NOW, name, CalendarOptions(name=name))
    return app.calendar_named(quay, name)


def _no_plan(*_: object, **__: object) -> None:
    raise AssertionError("a plan was made")


def test_what_was_published_is_served_without_a_plan(
    quay: Collection, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While nothing has changed neither validators nor bytes need a plan (design: nothing plans to answer a 304)."""
    phone = _named(quay)
    assert app.current(quay, phone, NOW) is None
    first = app.published(quay, phone, NOW)
    monkeypatch.setattr(Collection, "plan", _no_plan)
    assert app.current(quay, phone, NOW) == first.validators
    assert app.published(quay, phone, NOW) == first


@pytest.mark.parametrize("change", ["entry", "day", "file"])
def test_an_entry_a_day_or_a_file_makes_it_stale(quay: Collection, change: str) -> None:
    """Whatever a plan rests on leads to a new one."""
    phone = _named(quay)
    app.published(quay, phone, NOW)
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
    found = _events(app.published(quay, _named(quay), NOW).body.decode())
    assert [e for e in found if "REFRESH" in e["CATEGORIES"].cats]
    assert not [e for e in _events(done("calendar", "write").out) if "REFRESH" in e["CATEGORIES"].cats]


def test_a_fault_leaves_the_last_calendar_and_a_note(
    quay: Collection, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where it cannot be made anew, subscribers keep what there was, and the owner sees why."""
    phone = _named(quay)
    first = app.published(quay, phone, NOW)

    def broken(*_: object, **__: object) -> None:
        raise StorageError("the disk is full")

    monkeypatch.setattr("carecal.app.calendars.publish", broken)
    kept = app.published(quay, phone, NEXT)
    assert (kept.body, kept.validators.etag, kept.note) == (
        first.body,
        first.validators.etag,
        "the disk is full",
    )
    assert done("--json", "calendar", "list").json[0]["note"] == "the disk is full"
    monkeypatch.undo()
    assert app.published(quay, phone, NEXT).note == ""


def test_a_doubted_clock_publishes_nothing_new(quay: Collection) -> None:
    """Rule 23: subscribers keep the last calendar until the clock is confirmed."""
    phone = _named(quay)
    first = app.published(quay, phone, NOW)
    back = datetime(2020, 1, 1, tzinfo=UTC)
    assert app.published(quay, phone, Now(back.date(), back, back)) == first


def test_refresh_publishes_what_has_changed(quay: Collection) -> None:
    """`refresh` makes every living calendar fresh; a second one plans nothing."""
    _named(quay)
    _named(quay, "Kitchen")
    assert done("refresh").out == "Phone: fresh\nKitchen: fresh\n"
    phone = app.calendar_named(quay, "Phone")
    assert app.current(quay, phone, NOW) is not None


def test_refresh_tells_what_could_not_be_made(quay: Collection) -> None:
    """A calendar that cannot be made is named, the others are made, and the exit code is 3."""
    _named(quay)
    app.add_calendar(quay, NOW, "Night", app.options_of(quay, NOW, name="Night", at=time(2, 30)))
    said = carecal("refresh")
    assert said.code == 3
    assert said.out.splitlines()[0] == "Phone: fresh"
    assert said.out.splitlines()[1].startswith("Night: time 02:30 does not exist on 2027-03-28")


def test_one_tick_changes_only_what_it_moved(quay: Collection, tmp_path: Path) -> None:
    """Components of another plant keep their bytes when one plant is watered."""
    file = tmp_path / "a.ics"

    def of_gull() -> list[bytes]:
        done("calendar", "write", "--grouping", "each", "-o", file)
        return [
            part.to_ical()
            for part in _events(file.read_text(encoding="utf-8"))
            if part.get("X-CARECAL-PLANT") == "gull"
        ]

    before = of_gull()
    done("done", "watering", "tide")
    assert of_gull() == before
    assert quay.journal.head() > 0
