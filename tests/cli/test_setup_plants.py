"""Plants on the command line: added, shown, renamed, retired; and every refusal of theirs."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.cli_run import carecal, done, journal, refused, start, tide

pytestmark = pytest.mark.usefixtures("home")
SOUTH = ("--latitude", "-35", "--longitude", "149")


def test_only_the_id_of_a_plant_is_needed(home: Path) -> None:
    """What is unknown becomes its first task: a look that asks for it (interface §3, models I9)."""
    start()
    said = done("plant", "add", "foundling")
    assert said.out == "Foundling: written down.\nNext: look over today.\n"
    assert done("--json", "plant", "show", "foundling").json["missing"] == [
        "medium",
        "container",
        "place",
        "stage",
    ]
    assert done("--json", "plan", "--plant", "foundling").json["tasks"][0]["care"] == "inspection"
    assert journal(home)[-1].data == {"id": "foundling", "aids": []}


def test_all_that_is_known_of_a_plant_is_kept(home: Path) -> None:
    """Each option is a field of the entry; the potting may lie before its coming."""
    start()
    done(
        "plant",
        "add",
        "gull",
        "--profile",
        "phalaenopsis",
        "--medium",
        "moss",
        "--container",
        "clear-plastic",
        "--size",
        "3.5in",
        "--place",
        "sill",
        "--name",
        "Gull on a post",
        "--came",
        "2026-11-01",
        "--potted",
        "2024-05-01",
        "--watered",
        "2 days ago",
        "--stage",
        "new-tips",
        "--roots",
        "3",
        "--longest",
        "25",
        "--tips",
        "2",
        "--leaves",
        "4",
        "--flowering",
        "none",
        "--aid",
        "cloth",
        "--aid",
        "stake",
        "--note",
        "from the market",
    )
    data = journal(home)[-1].data
    assert (data["size_cm"], data["aids"], data["potted"]) == (
        8.9,
        ["cloth", "stake"],
        "2024-05-01",
    )  # 3.5 × 2.54
    shown = done("plant", "show", "gull").out
    for word in ("Gull on a post", "moss", "8.9 cm", "cloth, stake", "from the market"):
        assert word in shown
    assert "3.5 in" in done("--units", "imperial", "plant", "show", "gull").out


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("--medium", "brak"), "no medium named 'brak'; did you mean bark"),
        (("--container", "plastik"), "no container named 'plastik'; did you mean plastic"),
        (("--place", "sil"), "no place named 'sil'; did you mean sill?"),
        (("--profile", "phalenopsis"), "no profile named 'phalenopsis'; did you mean phalaenopsis"),
        (
            ("--medium", "bark", "--container", "mount"),
            "bark does not go into the container mount; allowed are plastic",
        ),
        (("--came", "tomorrow"), "came 2026-11-26 lies ahead"),
        (("--potted", "2027-01-01"), "potted 2027-01-01 lies ahead"),
        (("--watered", "in 2 days"), "watered 2026-11-27 lies ahead"),
        (("--came", "3/4"), "'3/4' may be 3 April or 4 March"),
        (("--came", "2026-02-30"), "'2026-02-30': there is no such day"),
        (("--came", "1066-10-14"), "too far away; allowed are the years 1950 to 2150"),
        (("--size", "-4"), "a size of -4 is out of range; allowed are 3 to 60 cm"),
        (("--size", "400"), "a size of 400 is out of range; allowed are 3 to 60 cm"),
        (("--roots", "-1"), "roots: -1 is not a whole number from 0 to 400"),
        (("--leaves", "9000"), "leaves: 9000 is not a whole number from 0 to 400"),
        (("--longest", "1000000000"), "longest: 1000000000.0 is not a number from 0 to 2000 [mm]"),
        (("--longest", "inf"), "longest: inf is not a number"),
        (("--roots", "0", "--longest", "30"), "a longest root of 30 mm needs a root; roots is 0"),
        (
            ("--stage", "happy"),
            "stage: 'happy' is not 'rootless' or 'new-tips' or 'rooting-in' or 'established'",
        ),
        (("--flowering", "soon"), "flowering: 'soon' is not 'none'"),
        (("--aid", "crutch"), "'crutch' is not 'cloth' or"),
        (("--on-mother", "nobody"), "no plant named 'nobody'"),
        (("--name", "two\nlines"), "name: control character U+000A is not allowed"),
        (("--name", "   "), "only spaces"),
        (("--medium", "brak", "--place", "sil"), "no medium named 'brak'; did you mean bark"),
    ],
)
def test_plant_add_refuses_what_cannot_be(home: Path, words: tuple[str, ...], expected: str) -> None:
    """Each refusal names field, value and what is allowed; nothing is written."""
    start()
    assert expected in refused("plant", "add", "new", *words)
    assert len(journal(home)) == 2


def test_all_faults_of_a_newcomer_are_told_at_once() -> None:
    """Two unknown names and a day ahead stand in the same line."""
    start()
    line = refused("plant", "add", "new", "--medium", "brak", "--place", "sil", "--came", "tomorrow")
    for part in ("'brak'", "'sil'", "2026-11-26 lies ahead"):
        assert part in line
    line = refused("plant", "add", "new", "--roots", "-1", "--leaves", "9000")
    assert "roots: -1" in line
    assert "leaves: 9000" in line


@pytest.mark.parametrize("name", ["Tide", "tide!", "ti de", "tïde", "-tide", "", "t" * 41, "ti\nde"])
def test_an_id_is_of_small_letters_digits_and_hyphens(home: Path, name: str) -> None:
    """Any other id is refused with what is allowed."""
    start()
    code = 2 if name.startswith("-") else 3
    line = refused("plant", "add", name, code=code)
    assert code == 2 or "is not an id of small letters, digits and hyphens, at most 40" in line
    assert len(journal(home)) == 2


def test_an_id_names_one_plant(home: Path) -> None:
    """A second plant of the same id is refused; a freed id may be used again with a number of its own."""
    start()
    tide()
    assert "a plant 'tide' exists already" in refused("plant", "add", "tide")
    done("plant", "rename", "tide", "wave")
    done("plant", "add", "tide")
    assert [r.plant for r in journal(home) if r.kind == "added"] == [1, 2]


def test_what_does_not_suit_is_named_once_with_the_months() -> None:
    """W5: a cold place is named where the plant is added and shown, never as a task."""
    start()
    done("place", "add", "stair", "--kind", "stair", "--winter", "15/9", "--summer", "20/15")
    said = done(
        "plant", "add", "gull", "--medium", "bark", "--container", "net", "--size", "9", "--place", "stair"
    )
    assert "stair does not suit gull: nights under 16 °C in all months (9.04 to 15)" in said.out
    assert "nights under 16 °C" in done("plant", "show", "gull").out
    assert "stair does not suit gull" in done("place", "show", "stair").out
    assert not any("suit" in task["care"] for task in done("--json", "plan").json["tasks"])


def test_a_keiki_hangs_on_its_mother_without_a_pot_of_its_own(home: Path) -> None:
    """A keiki stands where its mother does; a medium of its own is refused until it is parted."""
    start()
    tide()
    done("plant", "add", "pup", "--on-mother", "tide", "--roots", "2", "--leaves", "2")
    assert journal(home)[-1].data["place"] == "sill"
    assert done("--json", "plant", "show", "pup").json["mother"] == "tide"
    line = refused("plant", "add", "pup-two", "--on-mother", "tide", "--medium", "moss")
    assert line == "pup-two hangs on tide and has no medium of its own; part it first, then say so"


def test_a_plant_leaves_and_takes_no_more_entries(home: Path) -> None:
    """After its day nothing of it is accepted; before it was entered neither."""
    start(as_of="2026-11-01")
    tide(as_of="2026-11-01")
    done("plant", "retire", "tide", "--because", "given-away", "--on", "2026-11-20")
    assert "lies after tide left, 2026-11-20" in refused("done", "watering", "tide")
    assert "left on 2026-11-20 already" in refused(
        "plant", "retire", "tide", "--because", "lost", "--on", "2026-11-19"
    )
    assert "left on 2026-11-20 (given-away)" in refused("done", "watering", "tide", "--on", "2026-11-20")
    assert "lies before tide was entered" in refused("done", "watering", "tide", "--on", "2026-10-30")
    assert done("--json", "plant", "list").json == []
    assert done("--json", "plant", "list", "--all").json[0]["left_because"] == "given-away"
    assert len(journal(home)) == 4


def test_a_plant_may_leave_on_the_day_it_was_entered() -> None:
    """What was done that day stays in the log, and the calendar is still written (oracle: exit codes)."""
    start()
    done(
        "plant", "add", "moor", "--medium", "moss", "--container", "plastic", "--size", "9", "--place", "sill"
    )
    done("done", "watering", "moor")
    done("plant", "retire", "moor", "--because", "lost")
    assert "moor" not in done("plant", "list").out
    assert "Moor: watered" in done("calendar", "write").out.replace("\r\n ", "").replace("\\n", "\n")
    assert done("verify").code == 0


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("retire", "tdie", "--because", "lost"), "no plant named 'tdie'; did you mean tide?"),
        (
            ("retire", "tide", "--because", "bored"),
            "because: 'bored' is not 'lost' or 'given-away' or 'merged'",
        ),
        (("retire", "tide", "--because", "merged"), "merged needs --into"),
        (("retire", "tide", "--because", "lost", "--into", "gull"), "merged needs --into"),
        (("retire", "tide", "--because", "merged", "--into", "tide"), "tide cannot merge into itself"),
        (
            ("retire", "tide", "--because", "merged", "--into", "gul"),
            "no plant named 'gul'; did you mean gull?",
        ),
        (("retire", "tide", "--because", "lost", "--on", "tomorrow"), "lies ahead"),
        (("rename", "tide", "gull"), "a plant 'gull' exists already"),
        (("rename", "tide"), "neither a new id nor a name was given"),
        (("rename", "tide", "Big Tide"), "to: 'Big Tide' is not an id"),
        (("show", "tied"), "no plant named 'tied'; did you mean tide?"),
    ],
)
def test_plants_refuse_what_cannot_be(home: Path, words: tuple[str, ...], expected: str) -> None:
    """Unknown ids name the near ones; nothing is written."""
    start()
    tide()
    done("plant", "add", "gull")
    assert expected in refused("plant", *words)
    assert len(journal(home)) == 4


def test_a_new_name_keeps_the_history() -> None:
    """Renaming keeps number and log; the new id is found, the old one not."""
    start()
    tide()
    done("plant", "rename", "tide", "wave", "--name", "The Wave")
    assert (
        done("--json", "plant", "show", "wave").json["number"],
        carecal("plant", "show", "tide").code,
    ) == (1, 3)
    assert "The Wave" in done("plant", "list").out


def test_what_does_not_suit_is_named_where_plants_move() -> None:
    """W5: plants that go to a cold place are named together, once a quantity."""
    start()
    tide()
    done("plant", "add", "gull", "--medium", "bark", "--container", "net", "--size", "9", "--place", "sill")
    done("place", "add", "stair", "--kind", "stair", "--winter", "15/9", "--summer", "20/15")
    lines = done("move", "tide", "gull", "stair").out.splitlines()
    assert [line.strip() for line in lines if "nights" in line] == [
        "Stair does not suit Tide and Gull: nights under 16 °C in all months (9.04 to 15)"
    ]
    assert "does not suit" not in done("move", "--all-at", "stair", "sill").out
