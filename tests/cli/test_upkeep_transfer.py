"""`import` and `export` on the command line: journal, start file, plant list."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.cli_run import carecal, done, journal, quay, refused, start

pytestmark = pytest.mark.usefixtures("home")


def test_a_journal_comes_back_whole_and_once(home: Path, tmp_path: Path) -> None:
    """Export and import of the journal give the same journal; a second import adds nothing (interface §7)."""
    quay()
    file, other = tmp_path / "journal.jsonl", tmp_path / "other"
    done("export", "-o", file)
    assert file.read_text(encoding="utf-8") == done("export").out
    assert "would add 5 entries" in done("import", file, "--try", home=other).out
    assert not other.exists()
    assert done("import", file, home=other).out == "5 entries added from journal.jsonl, 0 were there\n"
    assert journal(other) == journal(home)
    assert done("--json", "import", file, home=other).json == {"written": False, "entries": 0, "known": 5}
    assert done("export", home=other).out == file.read_text(encoding="utf-8")
    done("done", "watering", "tide", home=other)
    done("export", "-o", file, home=other)
    assert done("import", file).out == "1 entries added from journal.jsonl, 5 were there\n"


def test_a_journal_of_another_collection_is_refused(home: Path, tmp_path: Path) -> None:
    """Entries that differ from ours are never mixed in."""
    quay()
    other, file = tmp_path / "other", tmp_path / "j.jsonl"
    done("init", "Pier", "--latitude", "1", "--longitude", "103", "--timezone", "Asia/Singapore", home=other)
    done("export", "-o", file, home=other)
    before = journal(home)
    assert "is not entry 1 of this collection" in refused("import", file)
    assert journal(home) == before


def test_a_journal_that_makes_no_sense_is_refused_whole(tmp_path: Path) -> None:
    """Unknown media and entries before a plant was entered are named with their lines; nothing is made."""
    quay()
    lines = [json.loads(line) for line in done("export").out.splitlines()]
    lines[2]["medium"] = "sawdust"
    lines.append({**lines[2], "entry": 6, "command": 6, "kind": "renamed", "plant": "tide", "to": "wave"})
    lines[-1] = {
        k: v
        for k, v in lines[-1].items()
        if k in {"entry", "command", "kind", "plant", "to", "written", "by", "on"}
    }
    lines[-1]["on"] = "2020-01-01"
    file, other = tmp_path / "j.jsonl", tmp_path / "other"
    file.write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    assert "line 3: medium 'sawdust' is in no table" in refused("import", file, home=other)
    assert not other.exists()
    lines[2]["medium"] = "bark"
    file.write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    assert "line 6: it lies before its plant was entered" in refused("import", file, home=other)
    assert not other.exists()


def test_a_start_file_makes_a_collection_that_stands_as_ours(tmp_path: Path) -> None:
    """Export as TOML and import into nothing give plants and places as they stand."""
    quay()
    file, other = tmp_path / "start.toml", tmp_path / "other"
    done("export", "--format", "toml", "-o", file)
    assert "would add 5 entries" in done("import", file, "--try", home=other).out
    assert not other.exists()
    done("import", file, home=other)
    ours, theirs = (done("--json", "plant", "list", home=folder).json for folder in (None, other))
    assert theirs == ours
    assert done("export", "--format", "toml", home=other).out == file.read_text(encoding="utf-8")
    line = refused("import", file, home=other)
    assert line.startswith("start.toml: 3 plants are in the collection already, tide, gull, foundling")


def test_plants_keep_the_order_of_a_start_file_but_for_mothers(tmp_path: Path) -> None:
    """A keiki stays where it is listed after its mother, else it follows her; the oracle is the order by hand."""
    file, other = tmp_path / "start.toml", tmp_path / "other"
    plants = [("bud", "tide"), ("tide", None), ("sprig", "tide"), ("gull", None)]
    text = "[collection]\nname = 'Quay'\nlatitude = 54.3\nlongitude = 10.1\n"
    for name, mother in plants:
        text += f"[[plant]]\nid = '{name}'\n" + (f"on-mother = '{mother}'\n" if mother else "")
    file.write_text(text, encoding="utf-8")
    done("import", file, home=other)
    listed = [plant["id"] for plant in done("--json", "plant", "list", home=other).json]
    assert listed == ["tide", "bud", "sprig", "gull"]


def test_a_start_file_is_checked_whole(tmp_path: Path) -> None:
    """All faults of the file stand in the refusal, whatever the order of its tables; nothing is made."""
    file, other = tmp_path / "start.toml", tmp_path / "other"
    file.write_text(
        '[[plant]]\nid = "tide"\nmedium = "brak"\nplace = "sill"\nroots = -3\n'
        '[[plant]]\nid = "gull"\nmedium = "bark"\ncontainer = "mount"\nplace = "sil"\ncame = 2030-01-01\n'
        '[[place]]\nname = "Sill"\nkind = "warm-sill"\n[[place]]\nname = "Deck"\nkind = "patio"\n'
        '[collection]\nname = "Quay"\nlatitude = 54.3\nlongitude = 10\ntimezone = "Europe/Berlin"\n',
        encoding="utf-8",
    )
    line = refused("import", file, home=other)
    for part in (
        "plant.tide.roots",
        "plant.gull.place",
        "'sil'",
        "mount",
        "2030-01-01 lies ahead",
        "place.Deck.kind",
    ):
        assert part in line
    assert "plant.tide.place" not in line
    assert not other.exists()


def test_a_start_file_of_an_unknown_zone_is_refused(tmp_path: Path) -> None:
    """A zone that no clock knows is told with the near ones; nothing is made."""
    file, other = tmp_path / "start.toml", tmp_path / "other"
    text = '[collection]\nname = "Quay"\nlatitude = 54.3\nlongitude = 10\ntimezone = "Europe/Berln"\n'
    file.write_text(text, encoding="utf-8")
    line = refused("import", file, home=other)
    assert "collection" in line
    assert "timezone" in line
    assert "no time zone named 'Europe/Berln'; did you mean Europe/Berlin" in line
    assert not other.exists()


def test_a_start_file_without_a_collection_needs_one(tmp_path: Path) -> None:
    """Without [collection] and without a collection the refusal names both remedies."""
    file = tmp_path / "start.toml"
    file.write_text('[[plant]]\nid = "tide"\n', encoding="utf-8")
    assert "no [collection] in start.toml" in refused("import", file)
    start()
    done("import", file)
    file.write_text('[collection]\nname = "Pier"\nlatitude = 1\nlongitude = 2\n', encoding="utf-8")
    assert "[collection] names 'Pier', but this is 'Quay'" in refused("import", file)


def test_a_plant_list_is_read_with_its_own_headings(home: Path, tmp_path: Path) -> None:
    """--map names our columns for theirs; a faulty list is refused whole, with lines; nothing is half written."""
    start()
    file = tmp_path / "plants.csv"
    file.write_text(
        "Pot name;Substrate;Pot;Remark;Shelf\nTide;bark;plastic;x;sill\nGull;moss;net;y;sill\n",
        encoding="utf-8",
    )
    maps = (
        "--map",
        "Pot name=name",
        "--map",
        "Substrate=medium",
        "--map",
        "Pot=container",
        "--map",
        "Remark=",
        "--map",
        "Shelf=place",
    )
    assert "is neither a plant list (id or name and more) nor notes of care" in refused("import", file)
    assert "unknown column 'shelf'" in refused("import", file, *maps[:8])
    assert "Gull: written down, in moss in net." in done("import", file, *maps, "--try").out
    assert len(journal(home)) == 2
    done("import", file, *maps)
    assert [row["id"] for row in done("--json", "plant", "list").json] == ["tide", "gull"]
    assert "2 plants are in the collection already, tide, gull" in refused("import", file, *maps)
    file.write_text("id,medium,place,size_cm\nnina,brak,sill,9\npinta,bark,attic,900\n", encoding="utf-8")
    line = refused("import", file)
    for part in ("line 2, medium", "'brak'", "line 3", "900"):
        assert part in line
    assert len(journal(home)) == 4


def test_a_notebook_comes_in_once_and_is_taken_back_as_one(home: Path, tmp_path: Path) -> None:
    """A trial writes nothing, a second import neither, with a row more that row; undo takes all of it back."""
    quay()
    done("amend", 3, "came=2026-09-01")
    before, file = journal(home), tmp_path / "care.csv"
    rows = [f"tide,2026-10-{day:02d},watered,right\n" for day in range(1, 28, 3)]
    file.write_text("Pot,date,what,value\n" + "".join(rows), encoding="utf-8")
    said = "9 notes of 1 plant, from Thursday 1 October to Sunday 25 October.\n"
    assert said in done("import", file, "--map", "Pot=plant", "--try").out
    assert journal(home) == before
    assert done("import", file, "--map", "Pot=plant").out.startswith(said)
    again = done("import", file, "--map", "Pot=plant").out
    assert again == "All 9 notes of care.csv stand here already; nothing is written.\n"
    file.write_text(file.read_text(encoding="utf-8") + "tide,2026-10-28,fed,\n", encoding="utf-8")
    assert "9 notes were there already" in done("import", file, "--map", "Pot=plant").out
    done("undo")
    assert f"Taken back: {said}" in done("undo").out
    assert "10 notes" in done("import", file, "--map", "Pot=plant").out


def test_the_faults_of_a_notebook_have_a_line_each(tmp_path: Path) -> None:
    """They stand below each other, the first behind the program's name; nothing is written of any row."""
    quay()
    file = tmp_path / "care.csv"
    wrong = (
        "tide,2026-11-31,watered",
        "tyde,2026-11-20,watered",
        "tide,2026-11-20,waterd",
        "tide,2026-11-25,fed",
    )
    file.write_text("plant,day,what\n" + "\n".join(wrong), encoding="utf-8")
    said = carecal("import", file)
    assert (said.code, said.out) == (3, "")
    assert [line.split(": ")[-2] for line in said.err.splitlines()] == [
        "'2026-11-31'",
        "line 3, plant",
        "line 4, what",
    ]


def test_an_exported_plant_list_runs_nothing_in_a_spreadsheet() -> None:
    """A name that begins like a formula is masked, and read back as it was."""
    start()
    done("plant", "add", "tide", "--name", "=HYPERLINK(1)")
    text = done("export", "--format", "csv").out
    assert "'=HYPERLINK(1)" in text
    assert text.startswith("id,name,profile,medium,container,size_cm,place,came,potted,stage,roots")


@pytest.mark.parametrize(
    ("words", "code", "expected"),
    [
        (("import", "nowhere.csv"), 4, "nowhere.csv"),
        (("import", "photo.png"), 3, "photo.png is not of a known kind; allowed are .jsonl"),
        (("import", "start.toml", "--map", "a=b"), 3, "--map belongs to a plant list (.csv)"),
        (("import", "plants.csv", "--map", "ab"), 2, "'ab' is not THEIRS=OURS"),
        (("export", "--format", "xml"), 3, "format 'xml' is not known; allowed are jsonl, toml, csv"),
        (("export", "-o", "/nowhere/x.csv"), 4, "no such file or directory"),
    ],
)
def test_transfer_refuses_what_it_cannot_read(words: tuple[str, ...], code: int, expected: str) -> None:
    """Unknown kinds, missing files and wrong options are told in one line."""
    start()
    assert expected in refused(*words, code=code)
