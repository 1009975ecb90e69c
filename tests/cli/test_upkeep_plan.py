"""`plan`, `rounds`, `log` and `changes` on the command line."""

from __future__ import annotations

import re
from datetime import date, timedelta
from pathlib import Path
from typing import Any, cast

import pytest
from icalendar import Calendar
from jsonschema import Draft202012Validator, FormatChecker

from carecal.app.documents.plan_schema import plan_schema
from tests.cli.cli_run import DAY, done, journal, plant, quay, refused, start, tide

pytestmark = pytest.mark.usefixtures("home")


@pytest.mark.parametrize("grouping", ["rounds", "each"])
@pytest.mark.parametrize("start_day", [None, "2026-11-01"])
def test_the_plan_holds_to_its_schema(grouping: str, start_day: str | None) -> None:
    """The document is valid by the schema that `--schema` prints, with no key more or less; oracle: jsonschema."""
    quay()
    since = ("--from", start_day) if start_day else ()
    found = done("--json", "plan", "--grouping", grouping, *since).json
    schema = done("plan", "--schema").json
    Draft202012Validator.check_schema(schema)
    Draft202012Validator(schema, format_checker=FormatChecker()).validate(found)
    assert (found["carecal"], found["as_of"], found["until"], found["grouping"]) == (
        1,
        DAY,
        "2027-11-30",
        grouping,
    )
    assert found["from"] == (start_day or DAY)
    assert schema == plan_schema()


def test_the_schema_refuses_what_is_no_plan() -> None:
    """The schema can fail: a key more, a key less and a wrong status are found."""
    quay()
    found = done("--json", "plan").json
    check = Draft202012Validator(plan_schema())
    assert not list(check.iter_errors(found))
    less = {key: value for key, value in found.items() if key != "rounds"}
    wrong = {**found, "tasks": [{**found["tasks"][0], "status": "forgotten"}]}
    for broken in ({**found, "more": 1}, less, wrong):
        assert list(check.iter_errors(broken))


def test_plants_are_named_by_their_ids_in_the_plan() -> None:
    """No plant number stands where an id belongs, and every task of a round is in the plan."""
    quay()
    found = done("--json", "plan").json
    ids = {plant["id"] for plant in found["plants"]}
    assert ids == {"tide", "gull", "foundling"}
    tasks = {task["id"]: task for task in found["tasks"]}
    assert {row["plant"] for key in ("rhythms", "tasks", "gates") for row in found[key]} <= ids
    for one in found["rounds"]:
        assert {tasks[name]["on"] for name in one["tasks"]} == {one["on"]}


def test_series_carry_the_uid_of_the_nameless_whole_calendar() -> None:
    """`series[].uid` is that of the nameless whole `each` calendar (interface §4); oracle: that calendar."""
    quay()
    series = done("--json", "plan", "--grouping", "each").json["series"]
    events = Calendar.from_ical(done("calendar", "write", "--grouping", "each").out).events
    rules: dict[str, Any] = {
        str(e["UID"]): cast("Any", e)["RRULE"]["INTERVAL"][0] for e in events if "RRULE" in e
    }
    assert {row["uid"]: row["every_days"] for row in series} == rules
    assert rules


def test_the_plan_is_narrowed_to_a_plant_and_a_span() -> None:
    """--plant and --until narrow it; a span that lies wrongly is refused."""
    quay()
    found = done("--json", "plan", "--plant", "gull", "--until", "2026-12-31").json
    assert [plant["id"] for plant in found["plants"]] == ["gull"]
    assert found["until"] == "2026-12-31"
    assert all(task["on"] <= "2026-12-31" for task in found["tasks"])
    assert "last day 2026-11-01 is before the first" in refused("plan", "--until", "2026-11-01")
    assert "--from 2028-01-01 is after the last day" in refused("plan", "--from", "2028-01-01")
    assert "no plant named 'gul'; did you mean gull?" in refused("plan", "--plant", "gul")
    assert "gull" in done("plan").out


def test_a_plan_from_a_day_ahead_tells_what_lies_there() -> None:
    """--from and --until are both included and may be words; the oracle is the whole plan."""
    quay()
    whole = done("--json", "plan", "--grouping", "each").json
    found = done(
        "--json", "plan", "--grouping", "each", "--from", "1 December", "--until", "31 December"
    ).json
    assert (found["from"], found["until"]) == ("2026-12-01", "2026-12-31")
    assert found["tasks"] == [t for t in whole["tasks"] if "2026-12-01" <= t["on"] <= "2026-12-31"]
    assert found["tasks"]
    assert all(r["on"] >= "2026-12-01" for r in found["rounds"])
    assert all(r["until"] >= "2026-12-01" for r in found["rhythms"] + found["series"])


@pytest.mark.parametrize("grouping", ["each", "rounds"])
def test_a_last_day_leaves_what_lies_before_it_untouched(grouping: str) -> None:
    """A nearer last day cuts the plan off and changes no window; the oracle is the whole plan."""
    quay()
    whole = done("--json", "plan", "--grouping", grouping).json
    for day in range(5, 29, 4):
        last = f"2026-12-{day:02}"
        found = done("--json", "plan", "--grouping", grouping, "--until", last).json
        assert found["tasks"] == [task for task in whole["tasks"] if task["on"] <= last]
        ruled = {(s["plant"], s["care"], on) for s in found["series"] for on in _days_of(s)}
        assert ruled <= {(task["plant"], task["care"], task["due"]) for task in found["tasks"]}
        assert all(_days_of(series)[-1] == series["until"] for series in found["series"])


def _days_of(series: dict[str, Any]) -> list[str]:
    """Expand a rule of the plan by hand."""
    first, last = date.fromisoformat(series["first"]), date.fromisoformat(series["until"])
    days = range(0, (last - first).days + 1, series["every_days"])
    shown = [(first + timedelta(days=day)).isoformat() for day in days]
    return [day for day in shown if day not in series["except"]]


@pytest.mark.parametrize("grouping", ["each", "rounds"])
def test_a_look_joins_the_wetting_whose_window_holds_its_day(grouping: str) -> None:
    """Also the look that stands next; without one a wetting within a week; the oracle is models I9 on the plan."""
    start(as_of="2026-03-01")
    told = ("--came", "2025-01-01", "--watered", "2026-02-28", "--stage", "established")
    plant("tide", *told, as_of="2026-03-01")
    tasks = done("--json", "plan", "--grouping", grouping, as_of="2026-03-01").json["tasks"]
    wettings = [task for task in tasks if task["care"] != "inspection"]
    looks = [task for task in tasks if task["care"] == "inspection"]
    assert (looks[0]["due"], looks[0]["joined_to"]) == ("2026-03-29", wettings[3]["id"])
    last = date(2026, 3, 1)
    for look in looks:
        due = date.fromisoformat(look["due"])
        held = [w["id"] for w in wettings if w["earliest"] <= look["due"] <= w["latest"]]
        on = {w["due" if grouping == "each" else "on"]: w["id"] for w in wettings}
        before = [
            n for day, n in on.items() if 0 <= (due - date.fromisoformat(day)).days <= 7 and day > str(last)
        ]
        after = [n for day, n in on.items() if 0 < (date.fromisoformat(day) - due).days <= 7]
        assert look["joined_to"] == [*held, *before[::-1], *after, None][0]
        last = date.fromisoformat(look["on"])


def test_rounds_show_the_coming_days() -> None:
    """One line a care day and one a task, looks joined to a wetting riding on it; oracle: the plan."""
    quay()
    found = done("--json", "rounds", "--days", "30").json
    last = str(date.fromisoformat(DAY) + timedelta(days=29))
    planned = [one for one in done("--json", "plan").json["rounds"] if one["on"] <= last]
    assert [one["on"] for one in found] == [one["on"] for one in planned]
    assert "Tide: " in done("rounds", "--days", "30").out
    assert "0 days are out of range; allowed are 1 to 366" in refused("rounds", "--days", "0")


def test_a_round_is_done_on_another_day(home: Path) -> None:
    """`rounds move` moves that day's care; what would be late is named, what cannot be is refused."""
    quay()
    rounds = done("--json", "plan").json["rounds"]
    first = rounds[1]["on"]
    late = str(date.fromisoformat(first) + timedelta(days=9))
    said = done("rounds", "move", first, late)
    assert "was to be done by" in said.out
    after = done("--json", "plan").json["rounds"]
    assert first not in {one["on"] for one in after}
    assert late in {one["on"] for one in after}
    assert journal(home)[-1].data == {"start": first, "to": late}
    assert f"no round on {first}" in refused("rounds", "move", first, late)
    assert "is past" in refused("rounds", "move", late, "2026-11-01")
    assert "is the same day" in refused("rounds", "move", late, late)


def test_weekdays_are_suggested_by_care_days_and_extra_wettings(monkeypatch: pytest.MonkeyPatch) -> None:
    """R2: of the sets tried the fewest care days whose extra wettings stay under 3 %; oracle: a plan of each set."""
    quay()
    sets = (("mon",), ("wed", "sat"), ("tue", "thu", "sun"))
    monkeypatch.setattr("carecal.planning.rounds.suggest.SETS", sets)
    found = done("--json", "rounds", "suggest").json
    assert {row["weekdays"] for row in found["sets"]} == {",".join(days) for days in sets}
    for row in found["sets"]:
        done("settings", "weekdays", row["weekdays"])
        plan = done("--json", "plan").json
        wetted = {task["on"] for task in plan["tasks"] if task["care"] in {"watering", "feeding", "flushing"}}
        assert row["care_days"] == len(wetted)
        assert row["extra_wettings_percent"] == pytest.approx(plan["extra_wettings_percent"], abs=0.01)
    mild = [row for row in found["sets"] if row["extra_wettings_percent"] < 3]
    assert found["best"]["care_days"] == min(row["care_days"] for row in mild)
    assert "days with a wetting" in done("rounds", "suggest").out


def test_the_log_shows_what_was_written(home: Path) -> None:
    """All entries, those of one plant, those since a day; what was taken back is marked."""
    start(as_of="2026-11-01")
    tide(as_of="2026-11-01")
    done("done", "watering", "tide", "--felt", "right", "--on", "2026-11-20")
    done("plant", "add", "gull")
    done("undo")
    assert [entry["entry"] for entry in done("--json", "log").json] == [1, 2, 3, 4, 5, 6]
    assert [entry["kind"] for entry in done("--json", "log", "tide").json] == ["added", "done"]
    assert [entry["entry"] for entry in done("--json", "log", "--since", "2026-11-20").json] == [4, 5, 6]
    lines = done("log").out.splitlines()
    assert "tide  Watered; it felt right" in lines[3]
    assert "Quay begins" in lines[0]
    assert lines[4].endswith("(taken back)")
    assert "no plant named 'tdie'; did you mean tide?" in refused("log", "tdie")
    assert len(lines) == len(journal(home))


def test_changes_lay_todays_plan_against_an_earlier_one() -> None:
    """What was written since, and the rhythms and gates that differ; a day ahead is refused."""
    start(as_of="2026-11-01")
    tide(as_of="2026-11-01")
    done("pot", "tide", "--medium", "lava", "--container", "net", "--size", "9", "--yes")
    found = done("--json", "changes", "--since", "2026-11-20").json
    assert [entry["kind"] for entry in found["entries"]] == ["potted"]
    assert any("watering every" in line and "was" in line for line in found["changes"])
    assert done("changes", "--since", DAY).out.splitlines()[-1] == "the plan has not changed"
    assert "lies ahead" in refused("changes", "--since", "tomorrow")


def test_care_days_are_proposed_taken_and_taken_back(home: Path) -> None:
    """`rounds take` is one entry that names what it spares, `undo` brings the former days back."""
    quay()
    before = done("--json", "rounds", "--days", "60").json
    assert "take them with: carecal rounds take" in done("rounds", "suggest").out
    assert done("rounds", "suggest").out.startswith("now: wed,sat: ")
    said = done("rounds", "take").out
    assert done("rounds", "suggest").out.startswith("now: the days taken: ")
    assert "care days that fit together: " in said
    assert journal(home)[-1].kind == "rounds-taken"
    assert "care days taken" in done("log").out
    assert done("--json", "rounds", "--days", "60").json != before
    done("undo")
    assert done("--json", "rounds", "--days", "60").json == before


def test_the_burden_names_plants_with_days_of_their_own() -> None:
    """Whoever alone makes a day of care is named with the number of days."""
    quay()
    found = done("--json", "rounds", "burden").json
    assert sum(row["days"] for row in found) > 0
    assert "for it alone" in done("rounds", "burden").out


def test_the_burden_tells_what_would_end_it() -> None:
    """A thirsty pot beside slow ones: another pot in words, how many days fewer, and from when it may be repotted."""
    quay()
    plant("reed", "--stage", "established", "--watered", DAY, pair="lava/net", size=9)
    said = done("rounds", "burden").out
    assert re.search(r"Reed asks for about \d+ days a year of its own:", said)
    assert re.search(
        r"  in [a-z ,-]+ pot, 9 cm: about \d+ days a year fewer; safe to repot from 1 \w+ \d{4}", said
    )
    ends = next(row for row in done("--json", "rounds", "burden").json if row["plant"] == "reed")["ends"]
    assert all(end["days_fewer"] >= 8 for end in ends)
    assert "Reed asks for about" in done("rounds", "suggest").out


def test_the_days_of_care_are_kept_by_one_word(home: Path) -> None:
    """`rounds keep` is one entry that the log words as an answer; said twice it writes nothing."""
    quay()
    assert done("rounds", "keep").out.startswith("Days of care kept as they are.")
    entries = len(journal(home))
    assert "stay as they are already" in refused("rounds", "keep")
    assert len(journal(home)) == entries
    done("undo")
    assert done("--json", "settings", "care-days").json == {"care-days": "ask"}
