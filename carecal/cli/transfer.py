"""`import` and `export`: whole files in and out."""

from __future__ import annotations

from pathlib import Path

import click

from carecal.app.files.transfer import exported, import_file
from carecal.cli.context import Session, pass_session, writing
from carecal.cli.files import write_whole
from carecal.cli.places import pairs
from carecal.wording.notes import notes_known, nothing_new

__all__ = ["export", "import_"]

JOURNALS = frozenset({".jsonl", ".ndjson"})
FILE = click.Path(path_type=Path, dir_okay=False)


@click.command("import", short_help="Read a journal, a start file, plants or notes.")
@click.argument("file", type=FILE)
@click.option(
    "--map",
    "mapping",
    multiple=True,
    metavar="THEIRS=OURS",
    help="Our column for a heading of a .csv; nothing after = leaves it out.",
)
@writing
@pass_session
def import_(session: Session, file: Path, mapping: tuple[str, ...]) -> None:
    """Read a journal (.jsonl), a start file (.toml), a plant list or notes of care (.csv).

    A journal or a start file also makes a collection that is not there yet. Notes of care have the columns plant, day
    and what, and may have value and note; they may lie before the day a plant was entered, back to when it came.
    """
    session.close()
    found = import_file(
        session.folder,
        file,
        session.now,
        mapping=pairs(mapping, "--map", "THEIRS=OURS"),
        by=session.by,
        dry=session.dry,
        sure=session.yes,
    )
    if found.outcome is not None:
        session.tell(found.outcome, notes_known(found.known, file.name))
        return
    told = {"written": not session.dry and found.entries > 0, "entries": found.entries, "known": found.known}
    if session.json:
        session.emit(told, "")
    elif session.dry:
        session.say(f"a trial, nothing is written; {file.name} would add {found.entries} entries")
    elif not found.entries and file.suffix.casefold() not in JOURNALS:
        session.say(nothing_new(found.known, file.name))
    else:
        session.say(f"{found.entries} entries added from {file.name}, {found.known} were there")


@click.command(short_help="Write the collection as journal, start file or list.")
@click.option(
    "--format",
    "kind",
    default="jsonl",
    show_default=True,
    help="jsonl: the whole journal; toml: a start file; csv: the plant list.",
)
@click.option("-o", "--output", type=FILE, help="File; else standard output.")
@pass_session
def export(session: Session, kind: str, output: Path | None) -> None:
    """Write the collection: its whole journal, a start file of how it stands, or its plant list."""
    text = exported(session.open(readonly=True), session.now(), kind)
    if output is None:
        click.echo(text.encode(), nl=False)
        return
    write_whole(output, text.encode())
    session.say(f"{output}: {text.count(chr(10))} lines")
