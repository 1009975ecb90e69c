"""Words at the hand: what is printed can be typed, numbers as people write them; oracle: the sentences beside them."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click
import pytest

from carecal.cli.types import GRAMS, LENGTH, NUMBER, TEMPERATURES, Temperatures
from carecal.wording import entries, rhythm, why
from carecal.wording.answers import did, feeding_held, next_task, paced_otherwise, turned
from tests.cli.cli_run import carecal, done, journal, quay, refused, start, tide

pytestmark = pytest.mark.usefixtures("home")
TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("words", "kind", "care"),
    [
        (("done", "water", "tide"), "done", "watering"),
        (("done", "feed", "tide"), "done", "feeding"),
        (("done", "look", "over", "tide"), "done", "inspection"),
        (("leave", "tide"), "left", "watering"),
        (("leave", "water", "tide"), "left", "watering"),
    ],
    ids=" ".join,
)
def test_what_a_round_prints_can_be_typed(home: Path, words: tuple[str, ...], kind: str, care: str) -> None:
    """The verb of the round is the word of the command."""
    quay()
    done(*words)
    assert (journal(home)[-1].kind, journal(home)[-1].data["care"]) == (kind, care)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("done", "tide", "water"), "the care comes first: carecal done water tide"),
        (("water", "tide"), "'water' is a care; say: carecal done water tide"),
        (("damp", "tide"), "'damp' is a care; say: carecal leave water tide"),
        (("place", "move", "tide", "loft"), "'move' stands for itself; say: carecal move tide loft"),
    ],
    ids=" ".join,
)
def test_a_verb_in_the_wrong_place_is_answered_with_the_command(words: tuple[str, ...], told: str) -> None:
    """The line that is meant stands there to be typed."""
    quay()
    assert refused(*words, code=2) == told


def test_names_behind_either_option_of_a_round_go_to_it(home: Path) -> None:
    """`--damp gull --except foundling tide`: names stand behind the option they were typed after."""
    quay()
    day = "2026-12-20"
    done("done", "--round", "--damp", "gull", "--except", "foundling", "tide", as_of=day)
    said = {(r.kind, r.plant) for r in journal(home) if str(r.on) == day}
    assert {("left", 2), ("excepted", 3)} <= said
    assert not {kind for kind, plant in said if plant == 1} - {"excepted"}


def test_an_answer_says_what_is_done_next_and_taken_back() -> None:
    """Two or three lines in plant words; undo says what it took back."""
    start()
    tide()
    said = done("done", "water", "tide", "--felt", "right", as_of="2026-12-02").out.splitlines()
    assert said[0] == "Tide watered; it felt right."
    assert said[1].startswith("Next: ")
    assert len(said) <= 4
    assert done("undo", as_of="2026-12-02").out.splitlines()[0] == "Taken back: Tide watered; it felt right."
    assert done("done", "water", "tide", "--on", "1 December", as_of="2026-12-02").out.startswith(
        "Tide watered, Tuesday 1 December."
    )


def test_confirm_and_missed_answer_in_one_word(home: Path) -> None:
    """What was assumed is a fact after one word, or gone after another."""
    start()
    tide()
    assert "I took Tide as" in done("today", as_of="2026-12-10").out
    done("confirm", as_of="2026-12-10")
    assert journal(home)[-1].kind == "done"
    done("undo", as_of="2026-12-10")
    done("missed", "tide", as_of="2026-12-10")
    assert journal(home)[-1].kind == "missed"
    assert refused("confirm", "tide", as_of="2026-12-10").startswith("nothing was taken as done of tide")


def test_media_and_their_trade_words_are_listed() -> None:
    """`profiles list media` names sphagnum beside moss; typed, it leads there."""
    start()
    rows = {row["name"]: row["also"] for row in done("--json", "profiles", "list", "media").json}
    assert "sphagnum" in rows["moss"]
    for what in ("containers", "aids", "pests"):
        assert len(done("--json", "profiles", "list", what).json) >= 3
    assert (
        refused("plant", "add", "x", "--medium", "LECA")
        == "no medium named 'LECA'; did you mean expanded-clay?"
    )
    assert "did you mean clear-plastic?" in refused(
        "plant", "add", "x", "--medium", "moss", "--container", "clear"
    )


def test_a_reservoir_is_as_it_is_said_to_be(home: Path) -> None:
    """Newly filled or emptied, whatever its stage; a pot without one is told so."""
    start()
    words = ("plant", "add", "x", "--medium", "expanded-clay", "--container")
    assert "plastic has no reservoir" in refused(*words, "plastic", "--reservoir", "empty")
    done(*words, "reservoir", "--stage", "established", "--reservoir", "empty")
    assert "EMPTY ON PURPOSE" in done("plant", "show", "x").out
    assert journal(home)[-1].data["reservoir"] == "empty"


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        (NUMBER, "2,5", 2.5), (NUMBER, "-3", -3.0), (GRAMS, "412g", 412.0), (GRAMS, "0,45 kg", 450.0),
        (LENGTH, "12 cm", 120.0), (LENGTH, "2in", 50.8), (LENGTH, "15mm", 15.0), (NUMBER, 4, 4.0),
        (TEMPERATURES, "27 / 20", Temperatures(27.0, 20.0)), (TEMPERATURES, "19,5°C/16", Temperatures(19.5, 16.0)),
    ],
    ids=lambda value: value if isinstance(value, str) else type(value).__name__,
)  # fmt: skip
def test_numbers_are_read_as_people_write_them(
    kind: click.ParamType[object], text: object, value: object
) -> None:
    """A comma, a unit behind, blanks round the slash."""
    assert kind.convert(text, None, None) == value


@pytest.mark.parametrize(
    ("kind", "text", "told"),
    [
        (NUMBER, "1,234", "may be 1234 or 1.234"),
        (GRAMS, "3 cups", "write it as 2.5 or 2,5, or with g or kg or oz"),
        (NUMBER, "many", "'many' is not a number"),
    ],
    ids=lambda value: value if isinstance(value, str) else type(value).__name__,
)
def test_a_number_that_may_be_two_is_asked(kind: click.ParamType[object], text: str, told: str) -> None:
    """What has two readings or none is refused with what is read."""
    with pytest.raises(click.BadParameter, match=told):
        kind.convert(text, None, None)


@pytest.mark.parametrize(
    ("word", "letters"), [("east", "E"), ("South-West", "SW"), ("n", "N"), ("None", "none")]
)
def test_a_compass_point_is_read_by_its_name(home: Path, word: str, letters: str) -> None:
    """East is E."""
    start()
    done("place", "add", "other", "--kind", "warm-sill", "--aspect", word)
    assert journal(home)[-1].data["aspect"] == letters


def test_a_round_names_what_goes_with_it() -> None:
    """Options of a single care are no options of a round."""
    quay()
    assert "--damp goes with --round" in refused("done", "water", "tide", "--damp", "gull", code=2)
    assert "--round goes with --except" in refused("done", "--round", "--ec", "0.6", code=2)


def test_sentences_of_an_answer() -> None:
    """Each sentence as it is spoken, worked by hand."""
    wet = {"kind": "done", "care": "watering"}
    five = ["A", "B", "C", "D", "E"]
    assert did(five, wet, TODAY, TODAY) == "5 plants watered."
    assert did([], {"kind": "resumed", "care": "feeding"}, TODAY, TODAY) == "Feeding goes on."
    assert (
        next_task("", "look", date(2026, 12, 2), TODAY, is_exact=False)
        == "Next: look about Wednesday 2 December."
    )
    assert next_task("Rose", "water", TODAY, TODAY, is_exact=True) == "Next: Rose, water today."
    days = [date(2026, 12, 5), date(2026, 12, 19)]
    assert turned("feeding", "watering", days) == "Two feeds of December became plain water."
    assert turned("watering", "feeding", days[:1]) == "One plain watering of December became a feed."
    assert turned("feeding", "watering", [*days, date(2027, 1, 2)]) == (
        "Three feeds of December to January 2027 became plain water."
    )
    assert feeding_held(["Rose"], "felt parched", None, TODAY, is_open=False) == (
        "Rose: no feed for now: felt parched."
    )
    assert feeding_held(five, "settled", None, TODAY, is_open=True) == "5 plants: feeding may go on: settled."
    assert (
        paced_otherwise("Rose", "refilling", 1, "watering")
        == "Rose: refilling every day now, instead of watering."
    )


@pytest.mark.parametrize(
    ("on", "first", "last", "shown"),
    [
        ("2026-12-05", "2026-12-03", "2026-12-06", "  5 December 2026: water (3 to 6 December will do)"),
        (
            "2026-12-31",
            "2026-12-30",
            "2027-01-02",
            "  31 December 2026: water (30 December to 2 January will do)",
        ),
        ("2026-12-31", "2026-12-31", "2026-12-31", "  31 December 2026: water"),
    ],
)
def test_a_window_is_said_in_days_as_people_say_them(on: str, first: str, last: str, shown: str) -> None:
    """How far a care may be moved stands beside its day, a month named once; nothing where it may not be moved."""
    task = {"on": on, "due": on, "earliest": first, "latest": last, "text": "water"}
    assert why.next_line(task) == shown


@pytest.mark.parametrize(
    ("size", "shown"),
    [
        (9, "a 9 cm"),
        (11, "an 11 cm"),
        (8, "an 8 cm"),
        (8.5, "an 8.5 cm"),
        (18, "an 18 cm"),
        (80, "an 80 cm"),
        (12, "a 12 cm"),
    ],
)
def test_a_pot_has_the_article_that_is_spoken(size: float, shown: str) -> None:
    """Eight, eleven and eighteen begin with a vowel."""
    assert rhythm.pot("bark", "plastic", size) == f"bark in {shown} plastic pot"


def test_one_of_a_thing_has_no_plural() -> None:
    """A single root, tip and leaf are said as one."""
    one = {"kind": "observed", "roots": 1, "tips": 1, "leaves": 1}
    assert entries.entry_sentence(one) == "1 living root, 1 tip, 1 leaf"
    two = {"kind": "observed", "roots": 2, "tips": 0, "leaves": 3}
    assert entries.entry_sentence(two) == "2 living roots, 0 tips, 3 leaves"


def test_what_was_said_before_is_answered_in_days_and_names() -> None:
    """A second care on a day, and an absence said twice, name no entry and no date in numbers."""
    quay()
    done("done", "watering", "tide")
    assert refused("done", "watering", "tide").startswith("Tide was watered on 25 November already:")
    done("away", "add", "--from", "2026-12-01", "--until", "2026-12-04")
    told = refused("away", "add", "--from", "2026-12-01", "--until", "2026-12-04")
    assert told == "you said already that nobody is there 1 December to 4 December 2026"


def test_a_plant_is_meant_by_the_name_that_people_read(home: object) -> None:
    """'Grey Grace' has the id grace: its name in any case is taken as that; one that two plants have is not."""
    assert home
    first = (
        ("init", "Quay", "--latitude", "54.3", "--longitude", "10", "--timezone", "Europe/Berlin"),
        ("place", "add", "sill", "--kind", "warm-sill"),
        ("plant", "add", "grace", "--name", "Grey Grace", "--place", "sill"),
        ("plant", "add", "lh", "--name", "Lighthouse", "--place", "sill"),
        ("plant", "add", "one", "--name", "Twin Sail", "--place", "sill"),
        ("plant", "add", "two", "--name", "Twin Sail", "--place", "sill"),
    )
    for words in first:
        done(*words, as_of="2026-03-06")
    assert done("done", "water", "grey grace", as_of="2026-03-06").out.startswith("Grey Grace watered.")
    done("plant", "rename", "grace", "dame", "--name", "Dame Grace", as_of="2026-03-06")
    assert done("why", "Dame Grace", as_of="2026-03-06").out.startswith("Dame Grace (dame)")
    assert "did you mean lh?" in carecal("why", "lighthouse", as_of="2026-03-06").err
    assert "no plant named 'Twin Sail'" in carecal("why", "Twin Sail", as_of="2026-03-06").err
    assert "no plant named 'grey grace'" in carecal("why", "grey grace", as_of="2026-03-06").err
