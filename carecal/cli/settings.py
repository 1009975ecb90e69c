"""`settings`, `supply` and `side`: what holds for the whole collection."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from carecal.app.command_context import named
from carecal.app.setup import settings as setup
from carecal.app.setup import sides, waters
from carecal.cli.context import Session, pass_session, writing
from carecal.cli.lazy import SuggestingGroup
from carecal.cli.show import columns
from carecal.cli.types import ANALYSIS, NUMBER, PLANT

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

__all__ = ["settings", "side", "supply"]


@click.command(short_help="Show the settings, or change one.")
@click.argument("key", required=False)
@click.argument("value", required=False)
@writing
@pass_session
def settings(session: Session, key: str | None, value: str | None) -> None:
    """Show the settings, or change one.

    KEY is weekdays, ticking, units or public-address; `settings clock confirmed` says that the clock is right.
    """
    if key is not None and value is not None:
        session.write(setup.setting(session.now(), key, value))
        return
    found = setup.settings_of(session.open(readonly=True), session.now())
    if key is not None:
        if key not in found:
            setup.setting(session.now(), key, "")
        found = {key: found[key]}
    session.emit(found, columns([(name, now, setup.SETTINGS[name][1]) for name, now in found.items()]))


@click.group(cls=SuggestingGroup, short_help="Say what fertiliser and water there is.")
def supply() -> None:
    """Say what fertiliser and water there is."""


@supply.command("fertiliser")
@click.argument("name")
@click.option("--analysis", type=ANALYSIS, required=True, help="N-P-K of the label, as 20-20-20. [%]")
@click.option("--elemental", is_flag=True, help="The label prints P and K as elements, not as P₂O₅ and K₂O.")
@click.option("--label-rate", type=NUMBER, help="Rate of the label; it is never exceeded. [g/L]")
@click.option("--ec-per-100-ppm", type=NUMBER, help="Conductivity that 100 mg/L of N add. [mS/cm]")
@writing
@pass_session
def fertiliser(
    session: Session,
    name: str,
    analysis: tuple[float, float, float],
    label_rate: float | None,
    ec_per_100_ppm: float | None,
    *,
    elemental: bool,
) -> None:
    """Say what a fertiliser's label says."""
    session.write(
        setup.fertiliser(
            session.now(),
            name,
            analysis,
            label_rate_g_per_l=label_rate,
            ec_per_100_ppm=ec_per_100_ppm,
            elemental=elemental,
        )
    )


@supply.command("water", short_help="Say what your water contains.")
@click.argument("name")
@click.option("--ec", "ec_ms_cm", type=NUMBER, required=True, help="Its conductivity. [mS/cm]")
@click.option(
    "--alkalinity", "alkalinity_mg_l", type=NUMBER, help="Its alkalinity as calcium carbonate. [mg/L]"
)
@click.option("--ph", type=NUMBER, help="Its pH.")
@click.option("--kind", metavar="KIND", help="tap, rain, ro, mixed; softened by salt is refused.")
@writing
@pass_session
def water(
    session: Session,
    name: str,
    ec_ms_cm: float,
    alkalinity_mg_l: float | None,
    ph: float | None,
    kind: str | None,
) -> None:
    """Say what your water contains; feed is mixed so that water and feed together stay under what the kind bears."""
    catalog = session.open().catalog
    entry = waters.water(
        session.now(), catalog, name, ec_ms_cm, alkalinity_mg_l=alkalinity_mg_l, ph=ph, kind=kind
    )
    session.write(entry, remarks=waters.water_remarks(catalog, entry))


@supply.command("list")
@pass_session
def supplies(session: Session) -> None:
    """List fertilisers and waters."""
    facts = session.open(readonly=True).timeline(session.now().day, plants=set()).facts
    feeds = [
        {
            "name": f.name,
            "analysis": f"{f.n_pct:.4g}-{f.p2o5_pct:.4g}-{f.k2o_pct:.4g}",
            "label_rate_g_per_l": f.label_rate_g_per_l,
        }
        for f in facts.fertilisers.values()
    ]
    waters = [{"name": w.name, "ec_ms_cm": w.ec_ms_cm} for w in facts.waters.values()]
    lines = [f"fertiliser {f['name']}: {f['analysis']}{_rate(f)}" for f in feeds]
    lines += [f"water {w['name']}: {w['ec_ms_cm']:g} mS/cm" for w in waters]
    session.emit({"fertilisers": feeds, "waters": waters}, "\n".join(lines) or "no supplies yet")


def _rate(found: dict[str, Any]) -> str:
    rate = found["label_rate_g_per_l"]
    return f", label {rate:g} g/L" if rate is not None else ""


@click.command(short_help="Take a side where the trade disagrees.")
@click.argument("key", metavar="KEY|list")
@click.argument("taken", metavar="[a|b]", required=False)
@click.option("--plant", "plants", multiple=True, type=PLANT, help="Only for this plant.")
@click.option("--profile", help="Only for plants of this profile.")
@writing
@pass_session
def side(session: Session, key: str, taken: str | None, plants: tuple[str, ...], profile: str | None) -> None:
    """Take a side where the trade disagrees: `side list`, `side KEY`, `side KEY a|b`."""
    if taken is not None:
        session.write(sides.side(session.open(), session.now(), key, taken, plants=plants, profile=profile))
        return
    collection = session.open(readonly=True)
    rows: list[Any] = sides.sides_of(collection, session.now())
    if key != "list":
        named("side", key, collection.catalog.sides)
        rows = [row for row in rows if row["key"] == key]
    lines = [line for row in rows for line in side_lines(row, whole=len(rows) == 1)]
    session.emit(rows, "\n".join(lines))


def side_lines(row: Mapping[str, Any], *, whole: bool) -> Iterator[str]:
    """Yield a conflict of the trade in lines: both sides, the one taken marked, exceptions, what it changes."""
    yield f"{row['key']}: {row['question']}"
    yield from (f"  {'*' if row['side'] == letter else ' '} {letter}  {row[letter]}" for letter in ("a", "b"))
    for taken in row["taken"]:
        who = ", ".join(taken["plants"] or ([taken["profile"]] if taken["profile"] else []))
        if who:
            yield f"      {taken['side']} for {who}"
    if row["changes_no_plan"]:
        yield f"      changes no plan: {row['changes_no_plan']}"
    if whole:
        yield f"  {row['default']} is taken unless you say otherwise: {row['because']}"
        yield f"  affects {row['affects']}"
        yield f"  {row['source']}"
