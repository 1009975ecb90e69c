"""Hindsight on water, feed and looking: too wet, too dry, fed against a shut gate, salts, pests and looks forgotten."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from carecal.planning.hindsight.case import Departure, Past, on
from carecal.planning.looks import inspection_days
from carecal.planning.rhythm.situations import situation_at

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.collection.plants import Event

__all__ = [
    "fed_against_gates",
    "parched",
    "pests_forgotten",
    "salts",
    "too_wet",
    "unlooked",
    "wet_without_roots",
]

FAR_EARLIER = (
    0.6  # our choice, because a wetting at three fifths of the interval is more than a window's slip
)
FAR_LATER = 1.8  # our choice, because nearly twice the interval leaves no water that roots can take
REPEATEDLY = 3  # our choice, because once is no habit
FORGOTTEN = 2.0  # our choice, because a look at twice its interval was not merely late
GATE_TEXTS = {
    "stage": "without roots to take it up",
    "medium-temperature": "in a cold medium",
    "heat": "in great heat",
    "after-potting": "soon after potting",
    "rest": "in its rest",
    "bloom": "in bloom",
    "quarantine": "in the first days of quarantine",
    "pause": "during a pause of feeding",
    "salts": "on top of salts",
}
GATE_CODES = {
    "stage": "without-roots",
    "medium-temperature": "in-the-cold",
    "heat": "in-heat",
    "rest": "in-its-rest",
}
GATE_WEIGHTS = {"stage": 6.0, "medium-temperature": 4.0, "after-potting": 4.0, "salts": 4.0}


def too_wet(past: Past) -> Iterator[Departure]:
    """Yield wettings that came far earlier than the plant's own rhythm, again and again, or while it was damp."""
    early, shares = [], []
    for former, event in _pairs(past):
        share = past.dried(former.day, event.day)
        if share is not None and share < FAR_EARLIER and not past.is_rootless(event.day):
            early.append(event)
            shares.append(share)
    if len(early) >= REPEATEDLY:
        mean = sum(shares) / len(shares)
        text = (
            f"wetted {len(early)} times at {100 * mean:.0f} % of its own interval on the average, between "
            f"{on(early[0].day)} and {on(early[-1].day)}: roots may have lacked air"
        )
        weight = 4 + len(early) / 3 + 2 * (FAR_EARLIER - mean)
        yield past.departure("too-wet", weight, [e.day for e in early], text, [e.entry for e in early])
    damp = [e for e in past.events("wet") if e.felt == "damp"]
    if len(damp) >= REPEATEDLY:
        text = f"wetted {len(damp)} times though it felt damp: roots may have lacked air"
        yield past.departure(
            "wet-on-damp", 4 + min(4.0, len(damp) / 4), [e.day for e in damp], text, [e.entry for e in damp]
        )


def wet_without_roots(past: Past) -> Iterator[Departure]:
    """Yield wettings right through of a plant that had no living root, again and again."""
    through = [e for e in past.events("wet") if e.care != "moistening" and past.is_rootless(e.day)]
    if len(through) >= REPEATEDLY:
        text = (
            f"wetted through {len(through)} times without a living root, from {on(through[0].day)} on, where its "
            "surface alone is kept moist: what was left may have rotted"
        )
        weight = 5 + min(4.5, len(through) / 6)
        yield past.departure("too-wet", weight, [e.day for e in through], text, [e.entry for e in through])


def parched(past: Past) -> Iterator[Departure]:
    """Yield waits far beyond the plant's own rhythm, and wettings that found it parched."""
    late = []
    for former, event in _pairs(past):
        share = past.dried(former.day, event.day)
        if (share is not None and share > FAR_LATER) or event.felt == "parched":
            late.append((former, event, share))
    last = max((e.day for e in past.line.events if e.kind == "wet" and e.day < past.loss), default=None)
    end = past.dried(last, past.loss) if last is not None and not past.gap(past.loss - 1) else None
    if late:
        worst = max(share or FAR_LATER for _, _, share in late)
        text = (
            f"left dry {len(late)} times, up to {worst:.1f} of its own intervals, last on {on(late[-1][1].day)}: "
            "roots may have dried back"
        )
        weight = 3 + len(late) / 2 + (2 if past.is_rootless(late[-1][1].day) else 0)
        yield past.departure(
            "parched", weight, [e.day for _, e, _ in late], text, [e.entry for _, e, _ in late]
        )
    if end is not None and last is not None and end > FAR_LATER:
        text = f"not wetted after {on(last)}: {end:.1f} of its intervals had passed, so it may have dried out"
        entry = next(e.entry for e in past.line.events if e.kind == "wet" and e.day == last)
        yield past.departure("not-wetted", 3 + end, [last, past.loss], text, [entry])


def fed_against_gates(past: Past) -> Iterator[Departure]:
    """Yield feeds on days on which a gate of feeding was shut, one a gate."""
    by_gate: dict[str, list[Event]] = {}
    for event in past.events("wet"):
        if event.care == "feeding":
            for gate in past.plant_planner.gates.shut_on(event.day):
                by_gate.setdefault(gate, []).append(event)
    for gate, events in by_gate.items():
        times = "once" if len(events) == 1 else f"{len(events)} times"
        text = f"fed {times} {GATE_TEXTS.get(gate, gate)}, first on {on(events[0].day)}: salts may have burnt its roots"
        weight = GATE_WEIGHTS.get(gate, 2.0) + len(events) / 4
        yield past.departure(
            f"fed-{GATE_CODES.get(gate, gate)}",
            weight,
            [e.day for e in events],
            text,
            [e.entry for e in events],
        )


def salts(past: Past) -> Iterator[Departure]:
    """Yield a measured salt content above the limit that no flush followed within a fortnight."""
    wet, due = list(past.events("wet")), past.context.catalog.feeding_gates["salts"].ec_ms_cm
    for event in wet:
        if event.ec_ms_cm is None or event.ec_ms_cm < due:
            continue
        if any(e.care == "flushing" and 0 <= e.day - event.day <= 14 for e in wet):
            continue
        text = (
            f"the drained water had {event.ec_ms_cm:g} mS/cm on {on(event.day)}, a flush is due at {due:g}, "
            "and none followed: salts may have burnt its roots"
        )
        yield past.departure("salts", 3 + event.ec_ms_cm - due, [event.day], text, [event.entry])
        return


def pests_forgotten(past: Past) -> Iterator[Departure]:
    """Yield finds that were not looked at again in the time their kind asks for."""
    looks = sorted(e.day for e in past.line.events if e.kind in {"look", "left"} and e.day <= past.loss)
    for day, pest, entry in _finds(past):
        row = past.context.catalog.pests.get(pest)
        if row is None:
            continue
        after = [on_day for on_day in looks if on_day > day][: int(row.looks)]
        ends = [*after, past.loss] if len(after) < row.looks else after
        gaps = [b - a for a, b in pairwise([day, *ends])]
        longest = max(gaps, default=0)
        if longest > FORGOTTEN * row.again_days_cool:
            text = (
                f"{pest} was seen on {on(day)} and not looked at again for {longest} days, not within "
                f"{row.again_days_cool:g}: it may have gone on"
            )
            weight = 4 + min(4.0, longest / row.again_days_cool / 2) + (1 if pest == "rot" else 0)
            yield past.departure(
                "pest-forgotten", weight, [day, min(day + longest, past.loss)], text, [entry]
            )


def unlooked(past: Past) -> Iterator[Departure]:
    """Yield the longest time a plant on watch was not looked over, far beyond its interval."""
    seen = sorted(
        {
            e.day
            for e in past.line.events
            if e.kind in {"look", "left", "wet", "potted"} and e.day <= past.loss
        }
    )
    days = [past.first, *(day for day in seen if past.first < day < past.loss), past.loss]
    worst: tuple[float, int, int] | None = None
    for a, b in pairwise(days):
        if not past.context.is_on_watch(past.state(a), a) or not past.plant_planner.stretches:
            continue
        asked = inspection_days(situation_at(past.plant_planner.stretches, a), a, past.context)
        if b - a > FORGOTTEN * asked + 1 and (worst is None or (b - a) / asked > worst[0]):
            worst = (b - a) / asked, a, b
    if worst is not None:
        ratio, a, b = worst
        text = (
            f"nobody looked at it from {on(a)} to {on(b)}, {b - a} days: what went wrong may have gone unseen"
        )
        yield past.departure("not-looked-at", 2 + min(3.0, ratio / 4), [a, b], text, [past.entry_of(a)])


def _pairs(past: Past) -> Iterator[tuple[Event, Event]]:
    """Yield each wetting of these days with the one before it, since the same potting."""
    wet = [e for e in past.line.events if e.kind in {"wet", "potted"} and e.day < past.loss]
    for former, event in pairwise(wet):
        if event.kind == "wet" and event.day >= past.first and (former.kind == "wet" or former.watered):
            yield former, event


def _finds(past: Past) -> Iterator[tuple[int, str, int]]:
    """Yield day, pest and entry of each find in these days."""
    told = set()
    for state in past.line.states:
        for watch in state.pests:
            if (watch.pest, watch.since) in told or not past.first <= watch.since < past.loss:
                continue
            told.add((watch.pest, watch.since))
            yield watch.since, watch.pest, state.entry
