"""`plan` and `rounds`: the plan as one document, and its care days."""

from __future__ import annotations

from datetime import date
from typing import Any

import click

from carecal.app.documents import rounds as app
from carecal.app.documents.plan_json import plan_document
from carecal.app.documents.plan_schema import plan_schema
from carecal.app.setup.settings import setting
from carecal.app.store import secret
from carecal.cli.context import Session, pass_session, writing
from carecal.cli.lazy import SuggestingGroup
from carecal.cli.show import columns
from carecal.cli.types import AHEAD, PLANT
from carecal.collection.dates import parse_span
from carecal.collection.facts import ASK, CARE_DAYS, KEEP
from carecal.errors import Refused
from carecal.planning.plan_context import horizon_of
from carecal.planning.rounds.fitting import SEARCHES
from carecal.planning.rounds.suggest import SETS
from carecal.wording.amounts import litres_text
from carecal.wording.dates import spoken
from carecal.wording.rounds import burden_lines, counted_days, fit_lines

__all__ = ["plan", "rounds"]

MOST_LINES = 12


@click.command(short_help="Show the plan as one document.")
@click.option("--from", "start", metavar="DAY", help="First day, ahead or in the past; else today.")
@click.option("--until", metavar="DAY", help="Last day; else the last day of the twelfth month ahead.")
@click.option(
    "--grouping",
    type=click.Choice(["rounds", "each"]),
    default="rounds",
    show_default=True,
    help="Gathered into care days, or each plant and care by itself.",
)
@click.option("--plant", type=PLANT, help="Only this plant.")
@click.option("--schema", is_flag=True, help="Show the JSON schema of the document.")
@pass_session
def plan(
    session: Session, start: str | None, until: str | None, grouping: Any, plant: str | None, schema: bool
) -> None:
    """Show the plan as one document; with --json whole, else its rhythms and next days."""
    if schema:
        session.json = True
        session.emit(plan_schema(), "")
        return
    collection, now = session.open(readonly=True), session.sound_now()
    first, last = parse_span(start, until, today=now.day, may_be_past=True)
    _check_span(first, last or horizon_of(now.day), now.day)
    plants = {collection.number_of(plant)} if plant is not None else None
    count = len(plants) if plants is not None else len(collection.journal.ids())
    found = collection.plan(
        now.day,
        until=last,
        start=first,
        grouping=grouping,
        plants=plants,
        progress=session.progress("planning", count),
    )
    document = plan_document(found, generation=int(secret(collection.journal.connection, "generation") or 1))
    session.emit(document, "\n".join(_lines(document)) if not session.json else "")


def _check_span(first: date, last: date, today: date) -> None:
    if last < today:
        raise Refused(f"--until {last} is past; allowed is {today} or later")
    if first > last:
        raise Refused(f"--from {first} is after the last day planned; allowed is {last} or earlier")


def _lines(document: dict[str, Any]) -> list[str]:
    lines = [
        f"{document['collection']['name']}: {document['as_of']} to {document['until']}, {document['grouping']}"
    ]
    rows = [
        (r["plant"], r["care"], f"every {r['days']} d", r["from"], r["until"]) for r in document["rhythms"]
    ]
    lines.append(columns(rows, ("plant", "care", "rhythm", "from", "until")))
    for found in document["rounds"][:MOST_LINES]:
        cares = [t for t in document["tasks"] if t["on"] == found["on"] and t["id"] in found["tasks"]]
        lines.append(f"{found['on']}: " + ", ".join(f"{t['plant']} {t['care']}" for t in cares))
    extra = document["extra_wettings_percent"]
    if extra is not None:
        lines.append(f"{abs(extra):.2g} % {'fewer' if extra < 0 else 'more'} wettings by care days")
    return lines


@click.group(cls=SuggestingGroup, invoke_without_command=True, short_help="Show, suggest and move care days.")
@click.option("--days", type=int, default=14, show_default=True, help="Days to show, today included.")
@click.pass_context
@pass_session
def rounds(session: Session, ctx: click.Context, days: int) -> None:
    """Show, suggest and move care days."""
    if ctx.invoked_subcommand is not None:
        return
    collection, now = session.open(readonly=True), session.sound_now()
    found = app.rounds_ahead(collection, now, days)
    lines = []
    for row in found:
        day = date.fromisoformat(row["on"])
        cans = ((row["plain_l"], "plain"), (row["feed_l"], "feed"))
        can = ", ".join(f"{litres_text(litres, session.units)} {what}" for litres, what in cans if litres)
        told = f"{len(row['tasks'])} to do, {row['minutes']} min"
        lines.append(f"{spoken(day, now.day)}: " + ", ".join(part for part in (told, can) if part))
        lines += [f"  {task['text']}" for task in row["tasks"]]
    session.emit(found, "\n".join(lines) or f"no round in {days} days")


@rounds.command("suggest", short_help="Suggest weekdays, and care days that fit together.")
@pass_session
def suggest(session: Session) -> None:
    """Suggest weekdays whose extra wettings stay under 3 %, and care days that fit together."""
    collection, now = session.open(readonly=True), session.sound_now()
    found = app.suggested(collection, now, progress=session.progress("weekdays tried:", len(SETS)))
    best, present = found["best"], found["now"]
    lines = [
        _set_line("now", present | ({"weekdays": "the days taken"} if present["has_days_taken"] else {}))
    ]
    if best is None:
        lines.append(f"no set of weekdays keeps the extra wettings under {found['most_extra_percent']:g} %")
    elif best["care_days"] >= present["care_days"]:
        lines.append("no set of weekdays makes it fewer")
    else:
        lines.append(_set_line("fewest", best))
        lines.append(f"take it with: carecal settings weekdays {best['weekdays']}")
    fit = app.fitting(collection, now, progress=session.progress("fitting:", SEARCHES))
    found["fit"] = fit
    lines += fit_lines(fit)
    found["burdens"] = app.burdened(collection, now)
    lines += burden_lines(found["burdens"])
    session.emit(found, "\n".join(lines))


@rounds.command("take", short_help="Take care days that fit together.")
@writing
@pass_session
def take(session: Session) -> None:
    """Take care days that fit together, with one early wetting for those who are brought over."""
    entry, fit = app.take_rounds(
        session.open(), session.sound_now(), progress=session.progress("fitting:", SEARCHES)
    )
    session.write(entry, remarks=tuple(fit_lines(fit, is_taken=True)))


@rounds.command("keep")
@writing
@pass_session
def keep(session: Session) -> None:
    """Keep the days of care as they are: nothing is proposed unasked."""
    now = session.sound_now()
    if session.open().timeline(now.day, plants=set()).facts.setting(CARE_DAYS, ASK) == KEEP:
        raise Refused("your days of care stay as they are already; nothing was written")
    session.write(setting(now, CARE_DAYS, KEEP))


@rounds.command("burden", short_help="List plants by the days of care they alone cost.")
@pass_session
def burden(session: Session) -> None:
    """List plants by the days of care that they alone cost in the year planned, and what would end that."""
    found = app.burden(session.open(readonly=True), session.sound_now())
    lines = [
        f"{row['name'] or row['plant']}: {counted_days(row['days'])} for it alone"
        for row in found
        if row["days"]
    ]
    lines += burden_lines(sorted(found, key=lambda row: -int(row["days_needed"])))
    session.emit(found, "\n".join(lines) or "no plant has a day of care for itself alone")


def _set_line(word: str, found: dict[str, Any]) -> str:
    extra = found["extra_wettings_percent"]
    shown = ""
    if extra is not None:
        shown = f", {abs(extra):.2g} % {'more' if extra > 0 else 'fewer'} wettings than without"
    return f"{word}: {found['weekdays']}: {found['care_days']} days with a wetting in the year planned{shown}"


@rounds.command("move")
@click.argument("start", type=AHEAD, metavar="DATE")
@click.argument("to", type=AHEAD, metavar="DATE")
@writing
@pass_session
def move(session: Session, start: date, to: date) -> None:
    """Do the round of one day on another one."""
    entry, remarks = app.move_round(session.open(), session.sound_now(), start, to)
    session.write(entry, remarks=remarks)
