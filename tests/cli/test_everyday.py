"""The everyday commands through the command line: exit code, both streams, and the collection afterwards."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from carecal.app import Collection, Now
from carecal.cli.main import run
from tests.stories.quay import TODAY

DAY = str(TODAY)


@dataclass(frozen=True)
class Answer:
    """What a command did: exit code, standard output, standard error."""

    code: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        """The one JSON document on standard output."""
        return json.loads(self.out)


Carecal = Callable[..., Answer]


@pytest.fixture
def carecal(home: Path, quay_once: Path, capsys: pytest.CaptureFixture[str]) -> Carecal:
    """Return a function that runs a command line on a copy of the house, on 21 October 2026 if not said."""
    shutil.copytree(quay_once, home)

    def ran(*words: str, as_of: str | None = DAY) -> Answer:
        capsys.readouterr()
        code = run([*(("--as-of", as_of) if as_of else ()), *words])
        out, err = capsys.readouterr()
        return Answer(code, out, err)

    return ran


def entries(home: Path) -> list[tuple[str, dict[str, Any]]]:
    """Return kind and data of every entry."""
    with Collection.open(home) as found:
        return [(record.kind, dict(record.data)) for record in found.journal.records()]


def test_today_shows_the_round(carecal: Carecal) -> None:
    """Date, count, can, list, carried over, next round."""
    answer = carecal("today")
    assert (answer.code, answer.err) == (0, "")
    lines = answer.out.splitlines()
    assert lines[0].startswith("Wednesday 21 October 2026 – ")
    assert lines[1].startswith("Can: ")
    assert "Next round: " in lines[-1]


def test_today_as_json_is_one_document(carecal: Carecal) -> None:
    """`--json` prints nothing else, before or after the command's name."""
    document = carecal("today", "--json", "--days", "7").document
    assert document == carecal("--json", "today", "--days", "7").document
    assert document["as_of"] == DAY
    assert document["until"] == "2026-10-27"


def test_today_in_gallons(carecal: Carecal) -> None:
    """`--units imperial` for the can alone; what is kept is the same."""
    assert (
        "fl oz" in carecal("--units", "imperial", "today").out
        or "gal" in carecal("--units", "imperial", "today").out
    )
    assert "fl oz" not in carecal("today").out


def test_the_whole_round_is_ticked(carecal: Carecal, home: Path) -> None:
    """One command, one entry a task; what was excepted is left, and the count that a look asks for."""
    before = carecal("today", "--json").document
    answer = carecal("done", "--round", "--except", "winch")
    assert answer.code == 0
    assert "Winch left out of the round.\n" in answer.out
    after = carecal("today", "--json").document
    left = [row for r in after["rounds"] if r["on"] == DAY for row in r["tasks"]]
    assert {row["plant"] for row in after["carried"]} <= {"winch"}
    assert {row["plant"] for row in left if "count" not in row["text"]} <= {"winch"}
    assert before["count"] > 0
    assert any(kind == "excepted" for kind, _ in entries(home))


def test_several_plants_are_excepted_in_one_word_list(carecal: Carecal) -> None:
    """`--except ID…`."""
    answer = carecal("done", "--round", "--except", "winch", "gable", "--json")
    assert answer.code == 0
    assert answer.document["written"]


@pytest.mark.parametrize(
    ("words", "kind", "data"),
    [
        (("done", "watering", "tide", "--felt", "right"), "done", {"care": "watering", "felt": "right"}),
        (
            ("done", "feeding", "tide", "--ec", "0.9", "--on", "yesterday"),
            "done",
            {"care": "feeding", "ec_ms_cm": 0.9},
        ),
        (("leave", "watering", "tide", "--again", "3"), "left", {"care": "watering", "again_days": 3}),
        (
            ("observe", "tide", "--roots", "5", "--longest", "60"),
            "observed",
            {"roots": 5, "longest_mm": 60.0},
        ),
        (
            ("observe", "tide", "--seen", "scale", "--where", "leaf"),
            "observed",
            {"seen": "scale", "where": "leaf"},
        ),
        (
            ("pot", "tide", "--medium", "bark", "--container", "net", "--size", "4in", "--yes"),
            "potted",
            {"size_cm": 10.2},
        ),
        (
            ("pot", "tide", "--medium", "bark", "--container", "net", "--watered", "no", "--yes"),
            "potted",
            {"watered": False},
        ),
        (("move", "tide", "bathroom"), "moved", {"place": "bathroom"}),
        (
            ("move", "tide", "bathroom", "--planned", "--on", "next friday"),
            "move-planned",
            {"day": "2026-10-23"},
        ),
        (("move", "--all-at", "bathroom", "east-sill"), "moved", {"place": "east-sill"}),
        (
            ("pause", "watering", "tide", "--until", "in 3 days"),
            "paused",
            {"care": "watering", "until": "2026-10-24"},
        ),
        (("away", "add", "--from", "1 November", "--until", "7 November"), "away", {"until": "2026-11-07"}),
        (("aid", "tide", "stake"), "aid", {"aid": "stake"}),
        (("reservoir", "pebble", "empty"), "reservoir", {"to": "empty"}),
        (("quarantine", "tide", "--until", "20 November"), "quarantine", {"until": "2026-11-20"}),
        (("gate", "tide", "rest", "open"), "gate", {"gate": "rest", "to": "open"}),
        (("bloom", "tide", "allow"), "bloom", {"to": "allow"}),
        (("spike", "lantern", "let-run"), "spike", {"to": "let-run"}),
        (("weigh", "tide", "640", "--full"), "weighed", {"weight_g": 640.0, "mark": "full"}),
        (("undo",), "undone", {}),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_a_command_writes_its_entry_and_is_answered_in_few_lines(
    carecal: Carecal, home: Path, words: tuple[str, ...], kind: str, data: dict[str, Any]
) -> None:
    """Interface 3: what was done, what is next, what changed; no ids and numbers of tasks, no other stream."""
    before = len(entries(home))
    answer = carecal(*words)
    assert (answer.code, answer.err) == (0, "")
    assert answer.out.count(".\n") >= 1
    assert not re.search(r"task/|look/|entry|command", answer.out)
    assert len(answer.out.splitlines()) <= 5
    written = entries(home)[before:]
    assert {k for k, _ in written} - {"beside"} == {kind}  # who stood beside a find is written with it
    assert data.items() <= written[0][1].items()


@pytest.mark.parametrize(
    "words",
    [
        ("done", "watering", "tide"),
        ("leave", "watering", "tide"),
        ("observe", "tide", "--leaves", "4"),
        ("pot", "tide", "--medium", "lava", "--container", "net", "--size", "9", "--yes"),
        ("move", "tide", "bathroom"),
        ("pause", "all"),
        ("undo",),
        ("aid", "tide", "stake"),
        ("away", "add", "--until", "1 November"),
    ],
    ids=" ".join,
)
def test_a_trial_writes_nothing(carecal: Carecal, home: Path, words: tuple[str, ...]) -> None:
    """Every writing command takes `--try`."""
    before = entries(home)
    answer = carecal(*words, "--try")
    assert answer.code == 0
    assert answer.out.startswith("A trial, nothing is written.\n")
    assert entries(home) == before


@pytest.mark.parametrize(
    ("code", "words", "match"),
    [
        (2, ("done",), "say a care and at least one plant"),
        (2, ("done", "watering", "tide", "--felt", "wet"), "'wet' is not one of 'parched', 'right', 'damp'"),
        (2, ("done", "watering", "tide", "--weight", "heavy"), "'heavy' is not a number"),
        (2, ("done", "watering", "tide", "--sure"), "no such option"),
        (2, ("done", "--round", "winch"), "--except winch"),
        (2, ("done", "watering", "tide", "--except", "gable"), "--except goes with --round"),
        (2, ("pot", "tide", "--medium", "bark"), "missing option '--container'"),
        (2, ("away",), "away --try tells what will keep"),
        (3, ("done", "watering", "tyde"), "no plant named 'tyde'; did you mean tide?"),
        (3, ("done", "watering", "tide", "--on", "3/4"), "'3/4' may be 3 April or 4 March"),
        (3, ("done", "watering", "tide", "--on", "tomorrow"), "2026-10-22 lies ahead"),
        (3, ("done", "watering", "tide", "--on", "2026-02-30"), "there is no such day"),
        (
            3,
            ("pot", "tide", "--medium", "bark", "--container", "mount", "--size", "9"),
            "bark does not go into",
        ),
        (
            3,
            ("pot", "tide", "--medium", "bark", "--container", "net", "--size", "-9"),
            "a size of -9 is out of range",
        ),
        (3, ("observe", "tide", "--roots", "-1"), "roots: -1 is not a whole number from 0 to 400"),
        (3, ("resume", "feeding"), "no pause of feeding runs"),
        (3, ("undo", "2"), "later entries need it"),
        (3, ("why", "nobody"), "no plant named 'nobody'"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_a_refusal_is_one_line_and_writes_nothing(
    carecal: Carecal, home: Path, code: int, words: tuple[str, ...], match: str
) -> None:
    """Interface 3: 2 wrong usage, 3 understood and refused; one line on standard error."""
    before = entries(home)
    answer = carecal(*words)
    assert answer.code == code
    assert answer.out == ""
    assert len(answer.err.splitlines()) == 1
    assert match in answer.err
    assert entries(home) == before


def test_a_second_care_asks_and_goes_on_with_yes(carecal: Carecal) -> None:
    """Without a terminal a question is a refusal; `--yes` answers it."""
    assert carecal("done", "watering", "tide").code == 0
    again = carecal("done", "watering", "tide")
    assert again.code == 3
    assert "--yes" in again.err
    assert carecal("done", "watering", "tide", "--yes").code == 0


def test_a_task_ticked_twice_is_answered(carecal: Carecal) -> None:
    """Rule 19: by two people, with their names."""
    task = carecal("today", "--json").document["rounds"][0]["tasks"][0]
    words = ("done", task["care"], task["plant"], "--task", task["task"])
    assert carecal(*words, "--by", "Ida").code == 0
    again = carecal(*words, "--by", "Jon")
    assert again.code == 3
    assert "already done " in again.err
    assert "by Ida" in again.err


def test_why_gives_rhythm_reasons_gates_and_factor(carecal: Carecal) -> None:
    """Interface 3: rhythm with reasons and numbers, gates, factor in words with its band."""
    text = carecal("why", "tide").out
    for part in (
        "Watering every ",
        "bark in a 12 cm plastic pot",
        "Coming changes:",
        "What it has shown:",
        "open: roots are long enough to feed",
        "Last: ",
    ):
        assert part in text
    document = carecal("--json", "why", "tide").document
    assert document["rhythms"][0]["days"] > 0
    assert {gate["gate"] for gate in document["gates"]} >= {"stage", "after-potting", "pause"}


def test_steps_say_what_is_safe_when(carecal: Carecal) -> None:
    """`--open` shows only what is safe now."""
    everything = carecal("--json", "steps").document
    safe = carecal("--json", "steps", "--open").document
    assert {gate["open"] for gate in everything["gates"]} == {True, False}
    assert {gate["open"] for gate in safe["gates"]} == {True}
    assert "Winch: feeding is held back" in carecal("steps").out


def test_absences_are_listed_and_ended(carecal: Carecal) -> None:
    """`away list` and `away end`; what will not keep is told."""
    added = carecal("away", "add", "--from", "1 November", "--until", "20 November")
    assert "will not keep" in added.out
    assert "1 November to 20 November 2026, both included" in carecal("away", "list").out
    assert carecal("away", "end").code == 0
    assert carecal("away", "list").out == "no absence runs or lies ahead\n"


def test_away_try_tells_what_will_keep(carecal: Carecal, home: Path) -> None:
    """Interface 3: `away --try`."""
    before = entries(home)
    answer = carecal("away", "--try", "--from", "1 November", "--until", "20 November")
    assert answer.code == 0
    assert "Tide will not keep: " in answer.out
    assert entries(home) == before


def test_an_entry_is_amended(carecal: Carecal, home: Path) -> None:
    """The entry's number is what the command said, asked for all."""
    answer = carecal("done", "watering", "tide", "--felt", "damp", "--all").out
    number = answer.partition("\nEntry ")[2].partition(":")[0]
    assert carecal("amend", number, "felt=right", "on=2026-10-20").code == 0
    with Collection.open(home) as found:
        line = found.timeline(date(2026, 10, 21)).plants[found.number_of("tide")]
        last = [event for event in line.events if event.kind == "wet"][-1]
    assert (last.felt, last.day) == ("right", date(2026, 10, 20).toordinal())


def test_a_clock_that_cannot_be_believed_is_told_and_nothing_is_written(
    carecal: Carecal, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rule 23: reading warns on one line and shows the newest entry's day; writing is refused."""
    from_far = date(2031, 1, 1)

    def late(zone: str, as_of: date | None = None, *, clock: Any = None) -> Any:
        del zone, as_of, clock
        return moment_of(from_far)

    monkeypatch.setattr("carecal.cli.context.real_now", late)
    before = entries(home)
    shown = carecal("today", as_of=None)
    assert shown.code == 0
    assert shown.out.startswith("Wednesday 21 October 2026")
    assert len(shown.err.splitlines()) == 1
    assert "the clock says 2031-01-01" in shown.err
    refused = carecal("done", "watering", "tide", as_of=None)
    assert refused.code == 3
    assert entries(home) == before


def moment_of(day: date) -> Now:
    """Return the real clock's moment of a day."""
    instant = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    return Now(day, instant, instant)
