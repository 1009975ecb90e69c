"""The table of commands: where each is found and what its one line of help says; nothing is imported here."""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["COMMANDS", "Row"]


class Row(NamedTuple):
    """One command: module and attribute it is loaded from, its short help, the heading it stands under."""

    module: str
    attribute: str
    help: str
    heading: str


_EVERYDAY = "Everyday"
_SETUP = "Setting up"
_STATES = "States of a plant"
_BACK = "Looking back"
_OUT = "Out and cold"
_UPKEEP = "Upkeep"
_CALC = "Arithmetic"

# In the order of `carecal --help`. A test loads each row and compares its help.
COMMANDS: dict[str, Row] = {
    "today": Row(
        "carecal.cli.everyday.today", "today", "Show the round: the can, the list in order.", _EVERYDAY
    ),
    "done": Row("carecal.cli.everyday.care", "done", "Say that a care was carried out.", _EVERYDAY),
    "confirm": Row(
        "carecal.cli.everyday.care", "confirm", "Say that what was taken as watered was.", _EVERYDAY
    ),
    "leave": Row("carecal.cli.everyday.care", "leave", "Say that a plant was looked at and left.", _EVERYDAY),
    "observe": Row(
        "carecal.cli.everyday.observe",
        "observe",
        "Write down what was seen; what is left out changes nothing.",
        _EVERYDAY,
    ),
    "pot": Row("carecal.cli.everyday.pot", "pot", "Pot or repot plants.", _EVERYDAY),
    "move": Row("carecal.cli.everyday.pot", "move", "Move plants to another place.", _EVERYDAY),
    "pause": Row("carecal.cli.everyday.pause", "pause", "Pause a care.", _EVERYDAY),
    "resume": Row("carecal.cli.everyday.pause", "resume", "End a pause.", _EVERYDAY),
    "why": Row("carecal.cli.everyday.why", "why", "Say why a plant is treated as it is.", _EVERYDAY),
    "steps": Row("carecal.cli.everyday.why", "steps", "Say what is safe when.", _EVERYDAY),
    "bench": Row("carecal.cli.everyday.bench", "bench", "List what is to be potted.", _EVERYDAY),
    "away": Row("carecal.cli.everyday.away", "away", "Say when nobody is there.", _EVERYDAY),
    "undo": Row(
        "carecal.cli.everyday.undo", "undo", "Take back the last command, or one entry's.", _EVERYDAY
    ),
    "calendar": Row(
        "carecal.cli.calendar", "calendar", "Write the calendar, or give it an address.", _EVERYDAY
    ),
    "init": Row("carecal.cli.setup", "init", "Make a new collection.", _SETUP),
    "demo": Row("carecal.cli.demo", "demo", "Make the example collection in a folder.", _SETUP),
    "place": Row("carecal.cli.places", "place", "Add, list, show and change places.", _SETUP),
    "plant": Row("carecal.cli.plants", "plant", "Add, list, show, rename and retire plants.", _SETUP),
    "supply": Row("carecal.cli.settings", "supply", "Say what fertiliser and water there is.", _SETUP),
    "settings": Row("carecal.cli.settings", "settings", "Show the settings, or change one.", _SETUP),
    "side": Row("carecal.cli.settings", "side", "Take a side where the trade disagrees.", _SETUP),
    "profiles": Row("carecal.cli.profiles", "profiles", "List, show and verify profiles.", _SETUP),
    "import": Row(
        "carecal.cli.transfer", "import_", "Read a journal, a start file, plants or notes.", _SETUP
    ),
    "serve": Row(
        "carecal.cli.serve", "serve", "Serve the page and the calendars to phones and computers.", _SETUP
    ),
    "aid": Row("carecal.cli.everyday.states", "aid", "Give an aid, or take it off.", _STATES),
    "reservoir": Row(
        "carecal.cli.everyday.states", "reservoir", "Say that a reservoir was emptied or filled.", _STATES
    ),
    "quarantine": Row("carecal.cli.everyday.states", "quarantine", "Set a plant apart, or end it.", _STATES),
    "gate": Row(
        "carecal.cli.everyday.states", "gate", "Hold a feeding gate open, or leave it to itself.", _STATES
    ),
    "bloom": Row("carecal.cli.everyday.states", "bloom", "Say whether a spike may go on to flower.", _STATES),
    "treat": Row("carecal.cli.everyday.treat", "treat", "Say what was done against a pest or rot.", _STATES),
    "tried": Row(
        "carecal.cli.everyday.treat", "tried", "Say what is tried on a plant that loses ground.", _STATES
    ),
    "spike": Row("carecal.cli.everyday.states", "spike", "Say what is done with a spike.", _STATES),
    "part": Row("carecal.cli.everyday.pot", "part", "Part a keiki from its mother and pot it.", _STATES),
    "missed": Row(
        "carecal.cli.everyday.care", "missed", "Say that open or assumed care did not happen.", _STATES
    ),
    "amend": Row("carecal.cli.everyday.undo", "amend", "Put an earlier entry right.", _STATES),
    "weigh": Row("carecal.cli.everyday.care", "weigh", "Write down what a pot weighs.", _STATES),
    "log": Row("carecal.cli.looking_back", "log", "Show the journal.", _BACK),
    "changes": Row("carecal.cli.looking_back", "changes", "Show what changed, and when.", _BACK),
    "year": Row("carecal.cli.telling", "year", "Tell of a year: who came, lives, was lost.", _BACK),
    "story": Row("carecal.cli.telling", "story", "Tell a plant's story.", _BACK),
    "hindsight": Row("carecal.cli.looking_around", "hindsight", "Compare a loss with what was safe.", _BACK),
    "tonight": Row("carecal.cli.looking_around", "tonight", "Say who is too cold tonight.", _OUT),
    "outing": Row("carecal.cli.looking_around", "outing", "Say who may go outdoors, and back by when.", _OUT),
    "plan": Row("carecal.cli.planning", "plan", "Show the plan as one document.", _UPKEEP),
    "rounds": Row("carecal.cli.planning", "rounds", "Show, suggest and move care days.", _UPKEEP),
    "sitter": Row("carecal.cli.sitter", "sitter", "Hand over to somebody for some days.", _UPKEEP),
    "export": Row(
        "carecal.cli.transfer", "export", "Write the collection as journal, start file or list.", _UPKEEP
    ),
    "verify": Row("carecal.cli.upkeep", "verify", "Check the collection from end to end.", _UPKEEP),
    "backup": Row("carecal.cli.upkeep", "backup", "Write a full copy to a file.", _UPKEEP),
    "restore": Row("carecal.cli.upkeep", "restore", "Put a full copy back in place.", _UPKEEP),
    "status": Row("carecal.cli.upkeep", "status", "Say how the collection stands.", _UPKEEP),
    "refresh": Row(
        "carecal.cli.upkeep", "refresh", "Plan anew and refresh the published calendars.", _UPKEEP
    ),
    "many": Row("carecal.cli.many", "many", "Do the same for each collection below a folder.", _UPKEEP),
    "calc": Row("carecal.cli.calc", "calc", "Work out air, daylight, intervals, mixes and bloom.", _CALC),
}
