"""The frame of the command line: help, suggestions, options for all commands, questions, exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from carecal import __version__
from carecal.cli import context
from carecal.cli.main import cli, run
from carecal.cli.table import COMMANDS
from tests.cli.cli_run import carecal, done, journal, plant, refused, start, tide

EVERYDAY = [
    "today",
    "done",
    "confirm",
    "leave",
    "observe",
    "pot",
    "move",
    "pause",
    "why",
    "steps",
    "bench",
    "away",
    "undo",
    "calendar",
]


def test_help_names_every_command_under_its_heading() -> None:
    """`--help` lists each row of the table once, the everyday ones first; oracle: the table and interface §3."""
    said = done("--help", as_of=None)
    names = [line.split()[0] for line in said.out.splitlines() if line.startswith("  ") and line.split()]
    listed = [name for name in names if name in COMMANDS]
    assert list(dict.fromkeys(listed)) == list(COMMANDS)
    assert [name for name in listed if name in EVERYDAY] == EVERYDAY
    assert set(EVERYDAY) | {"resume"} == {name for name, row in COMMANDS.items() if row.heading == "Everyday"}
    for heading in dict.fromkeys(row.heading for row in COMMANDS.values()):
        assert f"\n{heading}:\n" in said.out


@pytest.mark.parametrize("name", list(COMMANDS))
def test_each_row_of_the_table_is_its_command(name: str) -> None:
    """Each row loads a command whose own help says the same, so that the table cannot rot."""
    command = cli.get_command(click.Context(cli), name)
    assert command is not None
    assert command.get_short_help_str(limit=200) == COMMANDS[name].help


@pytest.mark.parametrize("name", list(COMMANDS))
def test_each_command_and_all_below_it_have_help(name: str) -> None:
    """Each command answers --help with a sentence, and each option has a text."""
    command = cli.get_command(click.Context(cli), name)
    waiting = [command]
    while waiting:
        found = waiting.pop()
        assert found is not None
        assert found.help, found.name
        options = [p for p in found.params if isinstance(p, click.Option)]
        assert all(option.help for option in options), [o.name for o in options if not o.help]
        waiting += list(found.commands.values()) if isinstance(found, click.Group) else []
    said = done(name, "--help", as_of=None).out
    assert said.startswith(f"Usage: carecal {name}")
    assert "..." not in said.partition("Commands:")[2]  # each line of a group's list ends as a sentence


def test_version_is_the_constant() -> None:
    """`--version` prints the package's version."""
    assert done("--version", as_of=None).out == f"carecal {__version__}\n"


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("toady", "today"), ("calender", "calendar"), ("plnt", "plant"), ("improt", "import")],
)
def test_a_misspelt_command_names_the_near_ones(typed: str, meant: str) -> None:
    """A command that is not there is wrong usage and names the one that was meant."""
    assert f"no command '{typed}'; did you mean" in refused(typed, code=2)
    assert meant in refused(typed, code=2)


@pytest.mark.usefixtures("home")
def test_a_misspelt_command_below_a_group_names_the_near_ones() -> None:
    """The same holds below a group."""
    assert refused("plant", "ad", code=2) == "no command 'ad'; did you mean add?"


def test_no_command_at_all_shows_help_on_standard_error() -> None:
    """Nothing asked is wrong usage with the help where errors go."""
    said = carecal(as_of=None)
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith("Usage: carecal")


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("today", "--nope"), "no such option '--nope'"),
        (("plant", "add"), "missing argument 'ID'"),
        (("plant", "add", "tide", "--roots", "many"), "'many' is not a valid integer"),
        (("calc", "air", "--temp", "warm", "--rh", "50"), "'warm' is not a number"),
        (("--units", "cubits", "today"), "'cubits' is not one of"),
        (("calendar", "write", "--at", "25:00"), "'25:00' is not a time"),
    ],
)
@pytest.mark.usefixtures("home")
def test_wrong_usage_is_one_line_and_exit_2(words: tuple[str, ...], expected: str) -> None:
    """What click refuses is one line of ours with exit code 2 (interface §3)."""
    start()
    assert expected in refused(*words, code=2)


@pytest.mark.usefixtures("home")
def test_options_for_all_commands_stand_before_or_after_the_name() -> None:
    """`--json` and `--as-of` are taken on either side of the command's name."""
    start()
    tide()
    before = done("--json", "plant", "show", "tide").json
    after = done("plant", "show", "tide", "--json").json
    assert before == after
    assert done("status", "--json", "--as-of", "2026-12-24", as_of=None).json["as_of"] == "2026-12-24"


def test_as_of_is_today_for_all_that_a_command_does(home: Path) -> None:
    """What is written with --as-of counts as written that day; the real clock is kept beside it (interface §3)."""
    start(as_of="2026-03-01")
    record = journal(home)[0]
    assert str(record.on) == "2026-03-01"
    assert record.written.startswith(("2026-02-28", "2026-03-01"))
    assert record.clock > record.written


@pytest.mark.usefixtures("home")
def test_a_day_that_cannot_be_read_is_refused() -> None:
    """`--as-of` reads days as all options do."""
    start()
    assert "may be 3 April or 4 March" in refused("status", as_of="3/4")


@pytest.mark.usefixtures("home")
def test_json_is_one_document_and_nothing_else() -> None:
    """Writing commands print one document with --json; oracle: interface §3."""
    start()
    said = done("--json", "plant", "add", "tide", "--medium", "bark")
    assert json.loads(said.out) == {
        "written": True,
        "entries": [3],
        "command": 3,
        "said": ["Tide: written down.", "Next: look over today."],
        "changes": [],
        "consequences": said.json["consequences"],
        "remarks": [],
    }


@pytest.mark.usefixtures("home")
def test_quiet_prints_only_what_was_asked_for() -> None:
    """With --quiet a write says nothing, a question still gets its answer."""
    start()
    assert done("--quiet", "plant", "add", "tide").out == ""
    assert "tide" in done("--quiet", "plant", "list").out


def test_a_trial_shows_the_change_and_writes_nothing(home: Path) -> None:
    """`--try` leaves the journal as it was and says what would change."""
    start()
    said = done("plant", "add", "tide", "--medium", "bark", "--try")
    assert said.out.startswith("A trial, nothing is written.\nTide: written down.\n")
    assert len(journal(home)) == 2
    assert done("--json", "plant", "add", "tide", "--try").json["written"] is False
    assert len(journal(home)) == 2


@pytest.mark.usefixtures("home")
def test_all_that_a_write_changes_is_said_when_asked_for() -> None:
    """With --all stand its number and what it changed by cause, in at most ten lines; else a few (interface §3)."""
    start()
    for i in range(14):
        plant(f"p{i}", "--stage", "established", "--watered", f"{i + 1} days ago")
    change = ("place", "change", "sill", "--winter", "17/9", "--summer", "22/14")
    assert len(done(*change, "--try").out.splitlines()) <= 7
    lines = done(*change, "--all").out.splitlines()
    assert lines[:2] == ["Sill changed.", "Entry 17:"]
    assert 2 <= len(lines) - 2 <= 10


def test_the_signature_is_kept(home: Path) -> None:
    """`--by` signs an entry; a signature of two lines is refused."""
    start()
    done("plant", "add", "tide", "--by", "Robin")
    assert journal(home)[-1].by == "Robin"
    assert "cannot sign an entry" in refused("plant", "add", "nina", "--by", "Ro\nbin")


@pytest.mark.usefixtures("home")
def test_a_question_without_a_terminal_is_a_refusal() -> None:
    """What needs a yes ends with 3 where nobody can be asked, and names the remedy."""
    start()
    done("settings", "public-address", "https://plants.example")
    done("calendar", "add", "Phone")
    assert refused("calendar", "qr", "Phone").endswith("(answer with --yes to go on)")


@pytest.mark.usefixtures("home")
def test_a_question_on_a_terminal_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a terminal the question is put: yes goes on, no stops with 130 and changes nothing."""
    start()
    done("settings", "public-address", "https://plants.example")
    first = done("--json", "calendar", "add", "Phone").json["path"]
    monkeypatch.setattr(context.Session, "is_terminal", property(lambda _: True))
    no = CliRunner().invoke(cli, ["calendar", "qr", "Phone"], input="n\n")
    assert no.exit_code == 130
    assert done("calendar", "qr", "Phone", "--address", f"https://plants.example{first}").out
    yes = CliRunner().invoke(cli, ["calendar", "qr", "Phone"], input="y\n")
    assert yes.exit_code == 0
    assert "https://plants.example/calendar/" in yes.stdout


@pytest.mark.usefixtures("home")
def test_stopping_by_hand_is_exit_130(monkeypatch: pytest.MonkeyPatch) -> None:
    """An interrupt ends with one line and 130."""
    start()

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("carecal.cli.upkeep.status_of", stop)
    said = carecal("status")
    assert (said.code, said.out) == (130, "")
    assert said.err.strip() == "carecal: stopped; nothing more was written"  # after the line of the ^C


@pytest.mark.usefixtures("home")
def test_a_bug_is_not_hidden(monkeypatch: pytest.MonkeyPatch) -> None:
    """An error that nobody raises on purpose leaves with its traceback, so that tests see it."""
    start()

    def broken(*_: object) -> None:
        raise ZeroDivisionError("a bug")

    monkeypatch.setattr("carecal.cli.upkeep.status_of", broken)
    with pytest.raises(ZeroDivisionError, match="a bug"):
        run(["status"])


def test_a_clock_that_went_back_writes_nothing_until_it_is_confirmed(home: Path) -> None:
    """Rule 23: with the newest entry in the future of the clock, writing and planning wait for 'clock confirmed'."""
    start(as_of="2090-01-01")
    assert "carecal settings clock confirmed" in refused("plant", "add", "tide", as_of=None)
    assert "the clock says" in refused("calendar", "write", as_of=None)
    assert len(journal(home)) == 2
    done("settings", "clock", "confirmed", as_of=None)
    done("plant", "add", "tide", as_of=None)


@pytest.mark.usefixtures("home")
def test_errors_stay_on_one_line_whatever_is_typed() -> None:
    """A value with line breaks and escapes is shown so that it breaks no line and no terminal."""
    start()
    line = refused("plant", "show", "ti\n\x1b[31mde")
    assert "\\n" in line
    assert "\x1b" not in line


@pytest.mark.usefixtures("home")
def test_units_are_those_of_the_option_else_of_the_setting() -> None:
    """`settings units` holds for the command line too; `--units` goes before it."""
    start()
    tide()
    assert "12 cm" in done("plant", "list").out
    done("settings", "units", "imperial")
    assert "4.7 in" in done("plant", "list").out  # 12 / 2.54
    assert "12 cm" in done("--units", "metric", "plant", "list").out


@pytest.mark.usefixtures("home")
def test_progress_is_shown_once_work_takes_longer_than_a_second(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a terminal standard error counts the plants planned and the line is taken away; standard output is clean."""
    start()
    tide()
    clock = iter(range(0, 10_000, 2))
    monkeypatch.setattr("carecal.cli.context.time.monotonic", lambda: float(next(clock)))
    said = carecal("plan")
    assert (said.code, said.err) == (0, "")  # nobody looks
    monkeypatch.setattr(context.Session, "shows_progress", property(lambda _: True))
    seen = carecal("plan")
    assert seen.err == f"\rplanning 1 of 1\r{' ' * 60}\r"
    assert seen.out == said.out
    assert "\rplanning 1 of 2\rplanning 2 of 2" in carecal("done", "watering", "tide").err
