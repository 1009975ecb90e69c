"""README and changelog against the program; the developer pages are held by `test_pages`."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import click
import pytest

from carecal.cli.main import cli
from carecal.cli.table import COMMANDS
from tests.cli.cli_run import done

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
FENCES = re.compile(r"^```(\w*)\n(.*?)^```", re.MULTILINE | re.DOTALL)


def fenced(text: str, language: str) -> list[str]:
    """Return the bodies of a document's fenced blocks in a language."""
    return [body for found, body in FENCES.findall(text) if found == language]


def readme_commands() -> list[str]:
    """Return the command lines of the README's console blocks, in order."""
    return [
        line.removeprefix("$ carecal ")
        for block in fenced(README, "console")
        for line in block.splitlines()
        if line
    ]


def spans(text: str) -> list[str]:
    """Return what stands between single backticks outside fenced blocks."""
    return re.findall(r"`([^`\n]+)`", FENCES.sub("", text))


def command_spans(text: str) -> list[str]:
    """Return the command lines a text names, without the program's name: `carecal …` and `COMMAND words`."""
    found = [span.removeprefix("carecal ") for span in spans(text) if span.startswith("carecal ")]
    return found + [span for span in spans(text) if span.split()[0] in COMMANDS and " " in span]


def misnamed(line: str) -> list[str]:
    """Return what a command line names that the program does not have; values are not judged."""
    command: click.Command = cli
    known, faults, takes_value = _options(cli), [], False
    for word in shlex.split(line.replace("|", " ").replace("…", "")):
        if takes_value:
            takes_value = False
        elif word.startswith("-"):
            if word not in known:
                faults.append(word)
            takes_value = isinstance(command, click.Group) and not known.get(word, True)
        elif isinstance(command, click.Group) and re.fullmatch(r"[a-z]+", word):
            below = command.get_command(click.Context(command), word)
            if below is None:
                return [*faults, word]
            command, known = below, {**known, **_options(below)}
    return faults


def _options(command: click.Command) -> dict[str, bool]:
    """Return the options of a command, and whether each is a flag, which takes no value."""
    found = {"--help": True}
    for parameter in command.params:
        names = (*parameter.opts, *parameter.secondary_opts)
        found.update(dict.fromkeys(names, isinstance(parameter, click.Option) and parameter.is_flag))
    return found


def test_there_is_something_to_hold() -> None:
    """README has commands to run; an empty search would prove nothing."""
    assert len(readme_commands()) >= 15
    assert len(command_spans(README)) >= 10


@pytest.mark.parametrize(
    "day", ["2026-11-25", "2027-07-01", "2028-02-29"], ids=["winter", "summer", "leap day"]
)
@pytest.mark.usefixtures("home")
def test_readme_runs_from_nothing(day: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every console line of the README succeeds in order, on an empty home, on any day; oracle: exit code 0."""
    monkeypatch.chdir(tmp_path)  # some commands write files where they are called
    for line in readme_commands():
        assert done(*shlex.split(line), as_of=day).code == 0, line


def test_named_commands_and_options_exist() -> None:
    """Each command, subcommand and option README names is one that the program has; oracle: click itself."""
    faults = {line: found for line in command_spans(README) if (found := misnamed(line))}
    assert faults == {}


@pytest.mark.parametrize("line", ["water tide", "place remove sill", "today --weeks 2"])
def test_a_command_that_does_not_exist_is_found(line: str) -> None:
    """The check above can fail: command, subcommand and option that are not there are named."""
    assert misnamed(line) != []
