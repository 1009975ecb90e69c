"""The forms of a plant's page: each is read here and handed to the action of the same name; no rule lies here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.app.actions import care as actions
from carecal.app.actions import looks as actions_looks
from carecal.app.actions import sick as actions_sick
from carecal.app.actions import spans as actions_spans
from carecal.app.actions import states as actions_states
from carecal.app.files.photos import photo_file, store_photo
from carecal.app.setup import plants as setup_plants
from carecal.collection.dates import parse_span, parse_yearly_span
from carecal.errors import ConfirmationNeeded, Refused, UnknownName
from carecal.web.pages.act import Act
from carecal.web.pages.bench_acts import act_aid, act_move, act_part, act_pot, act_reservoir

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from starlette.responses import Response

    from carecal.collection.entries import Entry
    from carecal.web.visit import Visit

__all__ = ["act_plant", "paused"]

COUNTS = ("roots", "tips", "leaves", "growths")
WORDS = ("firmness", "flowering", "stage", "rest", "crown", "seen", "where", "note")

ONLY_PHOTO = {"on", "plant", "photo"}  # fields of an observation that tells nothing besides


def act_plant(visit: Visit) -> Response:
    """Take what a form of a plant's page says."""
    plant = str(visit.request.path_params["plant"])
    did = visit.need("do")
    if did not in ACTS:
        raise UnknownName("form", did[:80])
    act = ACTS[did](visit, plant)
    outcome = visit.write(*act.entries)
    return visit.written(outcome, act.title, act.to or f"/plants/{plant}", act.remarks)


def _done(visit: Visit, plant: str) -> Act:
    care = visit.need("care")
    return Act(
        actions.done(
            *visit.here,
            care,
            [plant],
            on=visit.day("on"),
            felt=visit.text("felt"),
            weight_g=visit.number("weight"),
            ec_ms_cm=visit.number("ec"),
            task=visit.text("task"),
            aid=visit.text("aid"),
            sure=visit.is_sure,
        ),
        f"{care.capitalize()} written down",
    )


def _leave(visit: Visit, plant: str) -> Act:
    entries = actions.leave(
        *visit.here,
        visit.need("care"),
        [plant],
        on=visit.day("on"),
        again_days=visit.count("again"),
        task=visit.text("task"),
        aid=visit.text("aid"),
    )
    return Act(entries, "Looked at and left")


def _missed(visit: Visit, plant: str) -> Act:
    care = visit.need("care")
    return Act(
        actions.missed(*visit.here, care, [plant], on=visit.day("on")),
        f"{care.capitalize()} missed",
    )


def _observe(visit: Visit, plant: str) -> Act:
    seen: dict[str, object] = {name: visit.count(name) for name in COUNTS}
    seen |= {name: visit.text(name) for name in WORDS} | {"photo": _photo(visit)}
    try:
        entries = actions_looks.observe(
            visit.collection,
            visit.real,
            plant,
            on=visit.day("on"),
            sure=visit.is_sure,
            task=visit.text("task"),
            shows="unknown" if visit.flag("unknown") else None,
            longest_mm=visit.number("longest"),
            newest_mm=visit.number("newest"),
            spike_mm=visit.number("spike"),
            **seen,
        )
    except ConfirmationNeeded:
        visit.kept_photo = str(
            seen["photo"] or ""
        )  # the picture is kept already: the question carries its name
        raise
    is_picture_alone = len(entries) == 1 and set(entries[0].model_fields_set) <= ONLY_PHOTO
    return Act(entries, "Photo kept" if is_picture_alone else "What was seen is written down")


def _photo(visit: Visit) -> str | None:
    """Return the name of the picture that came with the form, or with the one that was asked about."""
    data = visit.upload("photo")
    if data is not None:
        return store_photo(visit.collection, data, dry=visit.is_trial)
    kept = visit.text("photo_kept")
    if kept is not None and photo_file(visit.collection, kept) is None:
        raise Refused("the picture is not there any more; choose it once more")
    return kept


def paused(visit: Visit, ids: Sequence[str], place: str | None = None) -> list[Entry]:
    """Return the entry of a pause as a form names it: plants, a place, or the whole collection."""
    care, start, until = visit.need("care"), visit.text("start"), visit.text("until")
    collection, now = visit.here
    if not visit.flag("yearly"):
        first, last = parse_span(start, until, today=now.day)
        return actions_spans.pause(collection, now, care, ids, place=place, start=first, until=last)
    if until is None:
        raise Refused("a yearly pause needs its last day")
    span = parse_yearly_span(start, until, today=now.day)
    return actions_spans.pause(
        collection,
        now,
        care,
        ids,
        place=place,
        start=span.start,
        until=span.until,
        every_year=True,
        start_month_day=span.start_month_day,
        until_month_day=span.until_month_day,
    )


def _pause(visit: Visit, plant: str) -> Act:
    return Act(paused(visit, [plant]), f"{visit.need('care').capitalize()} paused")


def _resume(visit: Visit, plant: str) -> Act:
    care = visit.need("care")
    entries = actions_spans.resume(
        *visit.here, care, [plant], on=visit.day("on"), for_good=visit.flag("for_good")
    )
    return Act(entries, f"{care.capitalize()} goes on")


def _quarantine(visit: Visit, plant: str) -> Act:
    end = visit.need("to") == "end"
    entries = actions_states.quarantine(
        *visit.here,
        plant,
        until=None if end else visit.day("until"),
        end=end,
        on=visit.day("on"),
    )
    return Act(entries, "Quarantine ended" if end else "Set apart")


def _gate(visit: Visit, plant: str) -> Act:
    to = visit.need("to")
    entries = actions_states.gate(*visit.here, plant, visit.need("gate"), to, on=visit.day("on"))
    return Act(entries, "Gate held open by hand" if to == "open" else "Gate left to itself")


def _bloom(visit: Visit, plant: str) -> Act:
    return Act(
        actions_states.bloom(*visit.here, plant, visit.need("to"), on=visit.day("on")),
        "Bloom decided",
    )


def _spike(visit: Visit, plant: str) -> Act:
    return Act(
        actions_states.spike(*visit.here, plant, visit.need("to"), on=visit.day("on"), sure=visit.is_sure),
        "Spike decided",
    )


def _tried(visit: Visit, plant: str) -> Act:
    entries = actions_sick.tried(
        *visit.here,
        plant,
        visit.text("what"),
        note=visit.text("note"),
        on=visit.day("on"),
        sure=visit.is_sure,
    )
    return Act(entries, "Written down")


def _treat(visit: Visit, plant: str) -> Act:
    did, against, note, on = visit.need("what"), visit.text("against"), visit.text("note"), visit.day("on")
    entries = actions_sick.treat(*visit.here, [plant], did, against=against, note=note, on=on)
    return Act(entries, "Written down: what was done")


def _weigh(visit: Visit, plant: str) -> Act:
    weight = visit.number("weight")
    if weight is None:
        raise Refused("weight is missing; give it in grams")
    entries = actions_looks.weigh(
        *visit.here,
        plant,
        weight,
        on=visit.day("on"),
        mark=visit.text("mark"),
        sure=visit.is_sure,
    )
    return Act(entries, "Weight written down")


def _feed_ppm(visit: Visit, plant: str) -> Act:
    entry = setup_plants.feed_strength(*visit.here, plant, visit.text("strength") or "none")
    return Act([entry], "Feed set")


def _rename(visit: Visit, plant: str) -> Act:
    to, name = visit.text("to"), visit.text("name")
    entry = setup_plants.rename(*visit.here, plant, to if to != plant else None, name)
    return Act([entry], "Renamed", to=f"/plants/{plant if to is None or visit.is_trial else to}")


def _retire(visit: Visit, plant: str) -> Act:
    entry = setup_plants.retire(
        *visit.here,
        plant,
        visit.need("because"),
        into=visit.text("into"),
        on=visit.day("on"),
        note=visit.text("note"),
    )
    return Act([entry], "It has left", to="/plants")


ACTS: dict[str, Callable[[Visit, str], Act]] = {
    "done": _done,
    "leave": _leave,
    "missed": _missed,
    "observe": _observe,
    "pot": act_pot,
    "move": act_move,
    "part": act_part,
    "pause": _pause,
    "resume": _resume,
    "aid": act_aid,
    "reservoir": act_reservoir,
    "quarantine": _quarantine,
    "gate": _gate,
    "bloom": _bloom,
    "spike": _spike,
    "treat": _treat,
    "tried": _tried,
    "weigh": _weigh,
    "feed-ppm": _feed_ppm,
    "rename": _rename,
    "retire": _retire,
}
