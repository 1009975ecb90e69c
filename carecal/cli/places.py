"""`place`: where plants stand."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from carecal.app.documents import places
from carecal.app.documents.looking import tonight_document
from carecal.app.sensors import addresses as sensors
from carecal.app.setup import forecasts
from carecal.app.setup import places as setup_places
from carecal.app.setup.shade import shade as shade_entry
from carecal.cli.context import Session, pass_session, writing
from carecal.cli.lazy import SuggestingGroup
from carecal.cli.roads import LOCAL, base_of, road_of
from carecal.cli.show import columns, temperature
from carecal.cli.types import AHEAD, DAY, NUMBER, PLACE, TEMPERATURES
from carecal.errors import Refused
from carecal.wording.season import cold_line

if TYPE_CHECKING:
    from collections.abc import Callable

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.entries import Forecast


__all__ = ["place"]

_NO_BASE = (
    "reached on this machine alone; for a sensor elsewhere in the house say under which name it finds this machine: "
    "carecal settings public-address http://my-machine.local:8321"
)
FILE = click.Path(path_type=Path, dir_okay=False)


@click.group(cls=SuggestingGroup, short_help="Add, list, show and change places.")
def place() -> None:
    """Add, list, show and change places."""


def _described(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options that describe a place."""
    for option in (
        click.option("--climate", type=FILE, help="File of its twelve months (CSV)."),
        click.option("--hours", "lamp_hours", type=NUMBER, help="Hours of the lamp a day. [h]"),
        click.option("--lamp", "lamp_ppfd", type=NUMBER, help="Light of its lamp at the plants. [µmol/m²/s]"),
        click.option("--summer", type=TEMPERATURES, help="Temperatures of day and night in summer. [°C]"),
        click.option("--winter", type=TEMPERATURES, help="Temperatures of day and night in winter. [°C]"),
        click.option("--aspect", help="Compass point of its window: N, NE, E … or none."),
        click.option("--name", help="Name people read."),
    ):
        function = option(function)
    return function


@place.command("add")
@click.argument("place_id", metavar="NAME")
@click.option("--kind", required=True, help="Kind of place, as warm-sill; see carecal place kinds.")
@_described
@writing
@pass_session
def add(session: Session, place_id: str, kind: str, **values: Any) -> None:
    """Add a place.

    A patio needs its temperatures by --winter and --summer, a cabinet its --lamp and --hours, or either of them a
    --climate file of twelve months.
    """
    collection = session.open()
    entry = setup_places.add_place(collection, session.sound_now(), place_id, kind, **values)
    session.write(entry)


@place.command("kinds")
@pass_session
def kinds(session: Session) -> None:
    """List the kinds of place."""
    rows = session.open(readonly=True).catalog.place_kinds.values()
    session.emit(
        [{"kind": row.kind, "describes": row.describes, "outdoors": row.outdoors} for row in rows],
        columns([(row.kind, row.describes) for row in rows]),
    )


@place.command("change")
@click.argument("place_id", metavar="NAME", type=PLACE)
@click.option("--kind", help="Kind of place.")
@_described
@click.option("--on", type=DAY, help="Day from which it is so.")
@writing
@pass_session
def change(session: Session, place_id: str, **values: Any) -> None:
    """Say what changed at a place; what is not named stays."""
    session.write(setup_places.change_place(session.open(), session.sound_now(), place_id, **values))


@place.command("list")
@pass_session
def list_(session: Session) -> None:
    """List the places."""
    rows = places.places_of(session.open(readonly=True), session.now())
    text = columns(
        [(r["place"], r["kind"], r["aspect"], r["climate"] or "unknown", len(r["plants"])) for r in rows],
        ("place", "kind", "aspect", "climate", "plants"),
    )
    session.emit(rows, text if rows else "no places yet; add one with carecal place add")


@place.command("show", short_help="Show a place and what does not suit its plants.")
@click.argument("place_id", metavar="NAME", type=PLACE)
@pass_session
def show(session: Session, place_id: str) -> None:
    """Show a place: its twelve months, its readings, its plants, and what does not suit them."""
    found = places.place_of(session.open(readonly=True), session.now(), place_id)
    session.emit(found, "\n".join(_lines(found, session.units)))


def _lines(found: dict[str, Any], units: str) -> list[str]:
    aspect = f", window to {found['aspect']}" if found["aspect"] else ""
    lines = [f"{found['place']}: {found['name']}, {found['kind']}{aspect}"]
    if found["lamp_ppfd"] is not None:
        lines.append(f"lamp of {found['lamp_ppfd']:g} µmol/m²/s for {found['lamp_hours']:g} h a day")
    if found["months"]:
        source = "twelve months of its own" if found["climate"] == "own" else "as its kind usually is"
        lines += [
            f"climate: {source}",
            columns(
                [
                    (
                        m["name"],
                        temperature(m["day_c"], units),
                        temperature(m["night_c"], units),
                        f"{m['rh_pct']:.0f} %",
                        m["air"],
                        f"{m['light_mol_m2_d']:.1f}",
                    )
                    for m in found["months"]
                ],
                ("month", "day", "night", "humidity", "air", "light [mol a day]"),
            ),
        ]
    else:
        lines.append("climate: not known; plants here get no rhythm")
    if found["readings"]:
        lines.append(f"readings: {found['readings']} days, until {found['readings_until']}")
    if found["light_read"]:
        read = found["light_read"]
        lines.append(f"light read: {read['mol_m2_d']:g} mol a day, mean of {read['days']} days")
    if found["sensor"]:
        lines.append(_sensor_line(found["sensor"]))
    lines.append(f"plants: {', '.join(found['plants']) or 'none'}")
    return [*lines, *found["does_not_suit"]]


def _sensor_line(row: dict[str, Any]) -> str:
    heard = f"last heard {row['heard']}" if row["heard"] else "not heard yet"
    silent = f", silent since {row['silent_since']}" if row["silent_since"] else ""
    note = f"; what it sent last was not taken: {row['note']}" if row["note"] else ""
    return f"sensor: {heard}{silent}{note}"


@place.command("sensor", short_help="Give a sensor an address for its readings.")
@click.argument("place_id", metavar="NAME", type=PLACE, required=False)
@click.option("--list", "is_list", is_flag=True, help="List the sensors, and when each was last heard.")
@click.option("--revoke", "is_revoke", is_flag=True, help="End the address; its readings stay.")
@pass_session
def sensor(session: Session, place_id: str | None, is_list: bool, is_revoke: bool) -> None:
    """Give a place an address to which a sensor sends its readings by itself.

    It is a secret and is shown this once. Whatever can POST may send there, once a minute at most: time, temperature,
    humidity, light as JSON, CSV or a form. A day's readings are written down once it is over.
    """
    if is_list:
        _list_sensors(session)
        return
    if place_id is None:
        raise Refused("which place? name it, or give --list")
    collection, now = session.open(), session.sound_now()
    if is_revoke:
        gone = sensors.revoke_sensor(collection, now, place_id)
        session.emit(
            {"place": gone.place, "revoked": True}, f"the sensor at {gone.place} is not heard any more"
        )
        return
    path = sensors.add_sensor(collection, now, place_id)
    base = base_of(session, collection)
    told = {"place": place_id, "path": path, "address": base + path if base else None}
    lines = [f"{base or LOCAL}{path}"]
    if not session.quiet:
        lines.append("keep this address: it is a secret and is not shown again")
        lines.append(f"try it: curl -d 'temperature=21.4&humidity=52' {base or LOCAL}{path}")
        lines.append(road_of(base) if base else _NO_BASE)
    session.emit(told, "\n".join(lines))


def _list_sensors(session: Session) -> None:
    collection, now = session.open(readonly=True), session.now()
    rows = [
        {"place": found.place, **(places.sensor_of(collection, now, found.place) or {})}
        for found in sensors.sensors_of(collection)
    ]
    text = "\n".join(f"{row['place']}: {_sensor_line(row).removeprefix('sensor: ')}" for row in rows)
    session.emit(rows, text or "no place has a sensor; give one an address with carecal place sensor NAME")


@place.command("readings", short_help="Read a logger's file for a place.")
@click.argument("place_id", metavar="NAME", type=PLACE)
@click.argument("file", type=FILE)
@click.option(
    "--column",
    "named",
    multiple=True,
    metavar="ROLE=HEADING",
    help="Heading of time, temperature, humidity or medium, where it is not to be guessed.",
)
@writing
@pass_session
def readings(session: Session, place_id: str, file: Path, named: tuple[str, ...]) -> None:
    """Read a logger's file for a place; the columns are guessed, shown and may be named."""
    entry, found = setup_places.readings(
        session.open(), session.sound_now(), place_id, file, pairs(named, "--column", "ROLE=HEADING")
    )
    session.write(entry, remarks=(f"columns: {'; '.join(found)}", f"{len(entry.days)} days of readings"))


def pairs(texts: tuple[str, ...], option: str, form: str) -> dict[str, str]:
    """Return options of the form A=B as a mapping.

    Raises:
        BadParameter: One of them has no equals sign.
    """
    found = {}
    for text in texts:
        key, sign, value = text.partition("=")
        if not sign or not key.strip():
            raise click.BadParameter(f"'{text}' is not {form}", param_hint=option)
        found[key.strip()] = value.strip()
    return found


@place.command("rain")
@click.argument("place_id", metavar="NAME", type=PLACE)
@click.option("--on", type=DAY, help="Day of the rain.")
@writing
@pass_session
def rain(session: Session, place_id: str, on: date | None) -> None:
    """Say that rain wetted every plant of a place outdoors."""
    session.write(*setup_places.rain(session.open(), session.sound_now(), place_id, on=on))


@place.command("shade", short_help="Say that shade was put up, or taken down.")
@click.argument("place_id", metavar="NAME", type=PLACE)
@click.option("--up", "is_up", is_flag=True, help="Shade was put up.")
@click.option("--down", "is_down", is_flag=True, help="It was taken down.")
@click.option("--on", type=DAY, help="Day on which it was.")
@writing
@pass_session
def shade(session: Session, place_id: str, is_up: bool, is_down: bool, on: date | None) -> None:
    """Say that shade was put up at a window, or taken down; nobody is reminded of it then."""
    if is_up == is_down:
        raise click.UsageError("say --up or --down, one of them")
    to = "up" if is_up else "down"
    session.write(shade_entry(session.open(), session.sound_now(), place_id, to=to, on=on))


@place.command("forecast", short_help="Enter the weather forecast for a place.")
@click.argument("place_id", metavar="NAME", type=PLACE)
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False, allow_dash=True), required=False)
@click.option(
    "--night", "night_c", type=NUMBER, metavar="C", help="Lowest of the night that begins on the day. [°C]"
)
@click.option("--day", "day_c", type=NUMBER, metavar="C", help="Highest of the day. [°C]")
@click.option("--on", type=AHEAD, help="The day (else today).")
@writing
@pass_session
def forecast(
    session: Session,
    place_id: str,
    file: Path | None,
    night_c: float | None,
    day_c: float | None,
    on: date | None,
) -> None:
    """Enter the weather forecast for a place; who must come in is said at once.

    One day by --night and --day, or a FILE with a row a day (CSV or JSON: date, night or min, day or max; - reads
    standard input). A later forecast for the same day replaces the earlier one.
    """
    collection, now = session.open(), session.sound_now()
    if file is not None and (night_c, day_c, on) != (None, None, None):
        raise Refused("a file says its days itself; give it alone, or --night and --day without it")
    if file is None:
        told = [forecasts.forecast(collection, now, place_id, night_c=night_c, day_c=day_c, on=on)]
    else:
        told = forecasts.forecasts(collection, now, place_id, file)
    cold: dict[str, str] = {}
    for entry in told:  # of each plant the first night that is too cold
        for row in _cold(collection, now, entry):
            cold.setdefault(row["plant"], cold_line(row, entry.day, now.day))
    session.write(*told, remarks=tuple(cold.values()))


def _cold(collection: Collection, now: Now, entry: Forecast) -> list[dict[str, Any]]:
    """Return who is too cold in a night that was forecast."""
    if entry.night_c is None:
        return []
    found: list[dict[str, Any]] = tonight_document(collection, now.day, entry.night_c, entry.place)["plants"]
    return found
