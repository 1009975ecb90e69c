"""`story`, `year` and `plant label`: what is told to others, and what is printed."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

import click

from carecal.app.documents.labels import SHEETS, free_sheet, labels_of, placed
from carecal.app.documents.story import story_lines, story_of
from carecal.app.documents.year import year_lines, year_of
from carecal.app.files.label_sheets import pdf_of, svg_of
from carecal.cli.context import Session, pass_session
from carecal.cli.roads import base_of
from carecal.cli.types import PLANT
from carecal.errors import Refused, StorageError

__all__ = ["label", "story", "year"]

FIRST_YEAR = 1900


@click.command(short_help="Tell a plant's story.")
@click.argument("plant", metavar="ID", type=PLANT)
@click.option(
    "-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="One HTML file to give away."
)
@pass_session
def story(session: Session, plant: str, output: Path | None) -> None:
    """Tell a plant's story from its arrival on: stages, pots, counts, flowers, treatments, pictures."""
    collection, now = session.open(readonly=True), session.now()
    found = story_of(collection, now, plant)
    if output is not None:
        pages = import_module("carecal.web.story_file")  # templates take 60 ms and only a file needs them
        _written(output, pages.story_file(collection, now, plant).encode())
        session.say(f"written: {output}")
        return
    session.emit(found, "\n".join(story_lines(found)))


@click.command(short_help="Tell of a year: who came, lives, was lost.")
@click.argument("year", metavar="[YYYY]", required=False, type=int)
@pass_session
def year(session: Session, year: int | None) -> None:
    """Tell of a year: who came, lives and was lost and why, survival with its interval, care days, what was learnt."""
    now = session.now()
    of = year if year is not None else now.day.year
    if not FIRST_YEAR <= of <= now.day.year:
        raise Refused(f"the year {of} cannot be told; allowed are {FIRST_YEAR} to {now.day.year}")
    found = year_of(session.open(readonly=True), now, of)
    session.emit(found, "\n".join(year_lines(found)))


@click.command("label", short_help="Write labels for pots.")
@click.argument("plants", metavar="[ID]...", nargs=-1, type=PLANT)
@click.option(
    "-o",
    "--output",
    required=True,
    type=click.Path(dir_okay=False, path_type=Path),
    help="A file ending in .pdf or .svg.",
)
@click.option(
    "--sheet",
    type=click.Choice([*SHEETS]),
    default="a4",
    show_default=True,
    help="A common sheet of sticky labels.",
)
@click.option("--size", metavar="WxH", help="A size of your own, as 50x25. [mm]")
@click.option("--skip", type=int, default=0, help="Labels of the first sheet that are used up.")
@click.option(
    "--address", default="", help="Address of the server that the code opens; else the public address."
)
@pass_session
def label(
    session: Session,
    plants: tuple[str, ...],
    output: Path,
    sheet: str,
    size: str | None,
    skip: int,
    address: str,
) -> None:
    """Write sheets of labels with name and a code to scan that opens the plant's page; all plants if none is named."""
    ending = output.suffix.lower()
    if ending not in {".pdf", ".svg"}:
        raise Refused(f"'{output.name}' is no sheet of labels; allowed are files ending in .pdf or .svg")
    where = free_sheet(*_size(size), paper=sheet) if size else SHEETS[sheet]
    collection = session.open(readonly=True)
    base = address or base_of(session, collection)
    found = placed(labels_of(collection, session.now(), plants, base), where, skip)
    if ending == ".pdf":
        _written(output, pdf_of(found, where))
        files = [output]
    else:
        pages = svg_of(found, where)
        files = [output if n == 0 else output.with_stem(f"{output.stem}-{n + 1}") for n in range(len(pages))]
        for file, page in zip(files, pages, strict=True):
            _written(file, page.encode())
    session.say("written: " + ", ".join(map(str, files)))


def _size(text: str) -> tuple[float, float]:
    wide, _, high = text.lower().replace("×", "x").partition("x")
    try:
        return float(wide.replace(",", ".")), float(high.replace(",", "."))
    except ValueError as error:
        raise Refused(f"'{text}' is no size; give width and height in mm, as 50x25") from error


def _written(file: Path, body: bytes) -> None:
    try:
        file.write_bytes(body)
    except OSError as error:
        raise StorageError(f"{file} cannot be written: {error.strerror or error}") from error
