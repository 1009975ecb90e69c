"""The Round: what to do today, in order; a tap is done, another tap takes it back."""

from __future__ import annotations

from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING, Any

from carecal.app.actions.assumed import confirm
from carecal.app.actions.care import missed
from carecal.app.actions.whole_round import done_round, write_round
from carecal.app.documents.day import day_round
from carecal.app.documents.looking import tonight_document
from carecal.app.documents.rounds import take_rounds
from carecal.app.documents.today import today
from carecal.app.near.document import COMES_IN
from carecal.app.publish.named_calendars import calendars_of, note_of
from carecal.app.sensors.addresses import silent_since
from carecal.app.setup.settings import setting
from carecal.collection.entries import Done
from carecal.collection.facts import CARE_DAYS, KEEP
from carecal.errors import ConfirmationNeeded
from carecal.web.pages.faces import faces_of, place_names
from carecal.web.pages.ticks import tick
from carecal.web.templating import words
from carecal.wording.rounds import fit_lines
from carecal.wording.tasks import done_word, sentence
from carecal.wording.today import silent_line, step_cautions, weather_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from starlette.responses import Response

    from carecal.app.documents.day import Answer
    from carecal.collection.entries import Entry
    from carecal.web.pages.faces import Face
    from carecal.web.visit import Visit

__all__ = ["act_round", "rows_of", "show_round", "strip_of"]

MOST_FITTED = 12  # our choice, because days for more plants take longer to find than a page is waited for


def show_round(visit: Visit) -> Response:
    """Show the day's round; a link in a calendar leads here and ticks nothing.

    A script that asks is told how far the journal has come, no more: an open page asks every few seconds.
    """
    if visit.wants_json:
        return visit.json(head=visit.collection.journal.head(), day=visit.now.day.isoformat())
    document, answers = day_round(visit.collection, visit.now)
    mine = next((r for r in document["rounds"] if r["on"] == document["as_of"]), None)
    faces = faces_of(visit)
    rows = rows_of(mine["tasks"] if mine else [], answers, faces, document["as_of"])
    carried = rows_of(document["carried"], answers, faces, document["as_of"])
    current = today(visit.collection, visit.now.day) if answers else document
    return visit.page(
        "round.html",
        document=document,
        round=mine,
        walk=strip_of(rows),
        carried=_open(carried),
        finished=[row for row in (*rows, *carried) if row["state"] != "open"],
        left=_left(rows) + _left(carried),
        total=len(rows) + len(carried),
        next_on=current["next_round"],
        banner=_banner(visit),
        weather=weather_of(current, visit.units),
        step_cautions=step_cautions(document),
        first_steps=_first_steps(visit),
        places=place_names(visit),
        head=visit.collection.journal.head(),
        assumed=current["assumed"],
        care_days=current["care_days"],
        may_fit=document["plants"] <= MOST_FITTED,
    )


def _first_steps(visit: Visit) -> list[tuple[bool, str, str, str]]:
    """Return what a newcomer does first: whether it is done, where, what and why; none once it is all done."""
    timeline = visit.timeline
    places, plants = timeline.facts.places, timeline.living()
    if places and plants and (len(plants) > 1 or calendars_of(visit.collection)):
        return []
    return [
        (
            bool(places),
            "/add?what=place",
            "A place",
            "where plants stand: its light and warmth decide their days",
        ),
        (bool(plants), "/add", "A plant", "with its pot, and when it was last watered if you know it"),
        (
            bool(calendars_of(visit.collection)),
            "/calendars",
            "The phone",
            "an address for its calendar, once",
        ),
    ]


def strip_of(rows: list[dict[str, Any]]) -> list[tuple[str, list[dict[str, Any]]]]:
    """Return the open rows as one walks, each stretch under its place."""
    return [(place, list(found)) for place, found in groupby(_open(rows), key=lambda row: row["place"] or "")]


def _open(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [row for row in rows if row["state"] == "open"]


def rows_of(
    rows: list[dict[str, Any]], answers: Mapping[str, Answer], faces: Mapping[str, Face], on: str
) -> list[dict[str, Any]]:
    """Return the rows of a day's list with their tasks, cares, face, since when they wait, and what became of them."""
    found = []
    for row in rows:
        tasks = row.get("tasks") or [row["task"]]
        given = [answers[task] for task in tasks if task in answers]
        state = given[0].kind if len(given) == len(tasks) else "open"
        answer, cares = (given[0] if given else None), row.get("cares") or [row["care"]]
        did = [each.care for each in given if each.care]
        head = row["head"]
        if (
            state == "done" and did and sorted(did) != sorted(cares)
        ):  # the plan moved on; what was done stands
            head = sentence(" and ".join(dict.fromkeys(map(done_word, did))))
        found.append(
            {
                **row,
                "tasks": tasks,
                "state": state,
                "answer": answer,
                "cares": cares,
                "head": head,
                "since": row["due"] if row["due"] < on else "",
                "face": faces.get(row["plant"]),
            }
        )
    return found


def _left(rows: list[dict[str, Any]]) -> int:
    return len(_open(rows))


def _banner(visit: Visit) -> list[tuple[str, str]]:
    """Return what matters before all else, a line and its particulars each: the cold, a calendar that stands still."""
    lines: list[tuple[str, str]] = []
    cold = [
        row
        for row in tonight_document(visit.collection, visit.now.day)["plants"]
        if row["limit"] not in COMES_IN
    ]
    if cold:
        where = sentence(", ".join(words(place) for place in dict.fromkeys(row["place"] for row in cold)))
        who = cold[0]["name"] if len(cold) == 1 else f"{len(cold)} plants"
        lines.append((f"Cold tonight for {who}", f"{where}: {', '.join(row['name'] for row in cold)}"))
    lines += [
        (silent_line(row), "Its place's page says what it sent last.")
        for row in silent_since(visit.collection, visit.now.day)
    ]
    for calendar in calendars_of(visit.collection):
        note = note_of(visit.collection, calendar)
        if note:
            lines.append((f"Calendar {calendar.name} shows an older plan", note))
    return lines


def act_round(visit: Visit) -> Response:
    """Take what a row says, or the whole round."""
    did = visit.need("do")
    if did == "round":
        return _whole_round(visit)
    if did in {"true", "untrue"}:
        return _assumed(visit, did)
    if did in {"take-days", "keep-days"}:
        return _care_days(visit, did)
    return tick(visit, did, "/")


def _assumed(visit: Visit, did: str) -> Response:
    """Take the answer after a wetting that was taken as done: it is true, or it was missed."""
    plant = visit.need("plant")
    if did == "true":
        entries, title = confirm(*visit.here, [plant]), "it was so"
    else:
        entries, title = missed(*visit.here, "watering", [plant]), "it was not so"
    outcome = visit.write(*entries)
    return visit.written(outcome, f"{visit.text('name') or plant}: {title}", "/")


def _care_days(visit: Visit, did: str) -> Response:
    """Take the days that fit together, or keep things as they are: nothing is proposed unasked any more."""
    if did == "keep-days":
        outcome = visit.write(setting(visit.real, CARE_DAYS, KEEP))
        return visit.written(outcome, "Your days stay as they are", "/")
    entry, fit = take_rounds(visit.collection, visit.real)
    return visit.written(visit.write(entry), "Care days taken", "/", tuple(fit_lines(fit)[:1]))


def _whole_round(visit: Visit) -> Response:
    """Tick the whole round but for the marked plants, each by a command of its own: each is taken back alone.

    Raises:
        AlreadyDone: Somebody else was first.
        ConfirmationNeeded: Nobody said yet that so many plants are meant.
    """

    def made() -> list[Entry]:
        """Return the entries, once the number of plants was confirmed."""
        on, excepted = visit.day("on"), visit.texts("except")
        entries = done_round(*visit.here, on=on, excepted=excepted)
        if not visit.is_sure and not visit.is_trial:
            asked = len({entry.plant for entry in entries if isinstance(entry, Done)})
            raise ConfirmationNeeded(f"All done today: {asked} plant{'s' if asked != 1 else ''}?")
        return entries

    outcome = write_round(made, partial(visit.write, apart=True))
    done = len({record.plant for record in outcome.records if record.kind == "done"})
    out = len(outcome.records) - sum(record.kind == "done" for record in outcome.records)
    title = f"{done} plant{'s' if done != 1 else ''} done" + (f", {out} not today" if out else "")
    if not outcome.is_written:
        return visit.written(outcome, title, "/")
    visit.site.tell(
        visit.session,
        title=title,
        lines=outcome.following,
        kind="round",
        entries=[record.n for record in outcome.records],
    )
    return visit.json(state="round") if visit.wants_json else visit.go("/")
