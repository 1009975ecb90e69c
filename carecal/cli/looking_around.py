"""`carecal hindsight`, `tonight` and `outing`, and the table of `pot --compare`: looking back and around."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import click

from carecal.app.documents import looking
from carecal.app.store import zone_of
from carecal.cli.context import pass_session
from carecal.cli.everyday.shared import reading_now
from carecal.cli.show import amount, columns, temperature
from carecal.cli.types import NUMBER, PLACE, PLANT

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import datetime

    from carecal.cli.context import Session

__all__ = ["hindsight", "outing", "show_compared", "tonight"]

AIRS = ("still", "room", "gentle", "breezy", "windy")


@click.command()
@click.argument("plant", metavar="ID", type=PLANT)
@pass_session
def hindsight(session: Session, plant: str) -> None:
    """Compare a loss with what was safe.

    The 120 days before it: what departed from what was safe, the heaviest first, each with its entries in the log.
    """
    now = reading_now(session)
    document = looking.hindsight_document(session.open(readonly=True), now.day, plant)
    session.emit(document, "\n".join(_hindsight_lines(document)))


@click.command()
@click.option(
    "--low", type=NUMBER, metavar="C", help="Lowest temperature forecast, where nothing is heated. [°C]"
)
@click.option("--place", type=PLACE, metavar="P", help="Only this place; the low holds there.")
@pass_session
def tonight(session: Session, low: float | None, place: str | None) -> None:
    """Say who is too cold tonight.

    Judged by the temperature of the medium: from readings, a low that is given, or the normals of the place.
    """
    now = reading_now(session)
    document = looking.tonight_document(session.open(readonly=True), now.day, low, place)
    session.emit(document, _tonight_text(document, session.units))


@click.command()
@click.option("--temp", type=NUMBER, required=True, metavar="C", help="Temperature outdoors. [°C]")
@click.option("--rh", type=NUMBER, required=True, metavar="P", help="Relative humidity outdoors. [%]")
@click.option("--air", type=click.Choice(AIRS), required=True, help="How the air moves.")
@pass_session
def outing(session: Session, temp: float, rh: float, air: str) -> None:
    """Say who may go outdoors, and back by when.

    The weakest first; those who stay in come last, with the reason.
    """
    now, collection = reading_now(session), session.open(readonly=True)
    document = looking.outing_document(collection, now.day, temp, rh, air)
    local = now.written.astimezone(ZoneInfo(zone_of(collection.journal.connection)))
    session.emit(document, _outing_text(document, local))


def show_compared(
    session: Session, plant: str, media: Collection[str], containers: Collection[str], place: str | None
) -> None:
    """Print the allowed pairs of medium and container for a plant side by side.

    Args:
        session: The run.
        plant: Its id.
        media: Only these; none: all.
        containers: Only these; none: all.
        place: Where it would stand; None: where it stands.
    """
    now = reading_now(session)
    collection = session.open(readonly=True)
    document = looking.compared_pots(collection, now.day, plant, media, containers, place)
    session.emit(document, _compared_text(document, session.units))


def _hindsight_lines(document: dict[str, Any]) -> list[str]:
    lines = [f"{document['name']}: {document['what']}"]
    if document["loss"] is None:
        return lines
    if not document["departures"]:
        return [*lines, f"nothing written since {document['since']} departed from what was safe"]
    lines.append(f"What may have led to it, from {document['since']} on, the heaviest first:")
    for number, each in enumerate(document["departures"], 1):
        entries = each["entries"]
        shown = ", ".join(map(str, entries[:6])) + (
            f" and {len(entries) - 6} more" if len(entries) > 6 else ""
        )
        lines.append(f"{number:>2}. {each['text']} (entr{'y' if len(entries) == 1 else 'ies'} {shown})")
    return lines


def _tonight_text(document: dict[str, Any], units: str) -> str:
    if not document["plants"]:
        return "nobody is under a limit tonight"
    rows = [
        (
            row["name"],
            row["place"],
            temperature(row["night_c"], units),
            temperature(row["medium_c"], units),
            temperature(row["limit_c"], units),
            row["text"],
        )
        for row in document["plants"]
    ]
    return columns(rows, ("plant", "place", "air", "medium", "limit", "what may be done"))


def _outing_text(document: dict[str, Any], local: datetime) -> str:
    rows = []
    for row in document["plants"]:
        minutes = row["back_in_minutes"]
        back = f"{local + timedelta(minutes=minutes):%H:%M}" if minutes else "stays in"
        rows.append((row["name"], row["stage"], back, f"{minutes} min" if minutes else None, row["why"]))
    if not rows:
        return "no plant is indoors"
    return columns(rows, ("plant", "stage", "back by", "at most", "why"))


def _compared_text(document: dict[str, Any], units: str) -> str:
    seasons = list(dict.fromkeys(name for pair in document["pairs"] for name in pair["days"]))
    rows = [
        (
            f"{pair['medium']} in {pair['container']}" + (" (now)" if pair["present"] else ""),
            *(pair["days"].get(name) for name in seasons),
            temperature(pair["coldest_night_c"], units),
            _safe_text(pair),
            amount(pair["litres"], units),
            "-".join(f"{months:g}" for months in pair["life_months"])
            if pair["life_months"]
            else "does not rot",
            pair["reason"],
        )
        for pair in document["pairs"]
    ]
    headings = ("pot", *seasons, "coldest", "change is safe", "can", "life, months", "why here")
    head = f"{document['name']} at {document['place']}, {document['stage']}: days between wettings in each season"
    return f"{head}\n{columns(rows, headings)}"


def _safe_text(pair: dict[str, Any]) -> str:
    until = f" until {pair['last_safe']}" if pair["last_safe"] else ""
    if pair["safe"] == "wait":
        return f"from {pair['opens']}{until}"
    words = {"as it is": "-", "now": f"now{until}", "never": "never here"}
    return words.get(pair["safe"], str(pair["safe"]))
