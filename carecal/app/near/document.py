"""The round of a day put together from what each plant gives to it: what to mix, the list in order, what changed.

It plans nothing and looks nothing up in tables, so that kept rows make a round at once.
"""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from carecal.app.near.first_days import asked_once
from carecal.planning.rounds.one_can import Asked, one_strength
from carecal.planning.stops import Feed, Stop, apart_l, by_day, caution_ranks, feeds, plain_l
from carecal.wording.cautions import WARNED_DAYS
from carecal.wording.dates import day_text
from carecal.wording.tasks import heads_joined, with_strength

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

__all__ = ["COMES_IN", "NEAR_DAYS", "day_words", "round_document"]

NEAR_DAYS = 62  # our choice, because windows and gates of the next days need two months of days behind them
COMES_IN = frozenset({"urgent", "out"})  # limits of a night at which a plant comes in
_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def round_document(
    whole: Mapping[str, Any], rows: Mapping[int, Mapping[str, Any]], as_of: date, days: int
) -> dict[str, Any]:
    """Return the round of a day and of the days after it.

    Args:
        whole: What is told of the collection.
        rows: What each plant gives, by its number, in order.
        as_of: The day.
        days: How many days, the first included. [d]
    """
    last = as_of + timedelta(days=days - 1)
    others = one_strength(Asked(*values) for row in rows.values() for values in row.get("asked", ()))
    rounds = _rounds(rows, others)
    _mark_cautions(rounds, {code for row in rows.values() for code in row.get("said", ())})
    later = min((row["next"] for row in rows.values() if row.get("next")), default=None)
    following = date.fromisoformat(later) if later is not None else None
    carried = _carried(rows, others)
    return {
        "carecal": 1,
        "collection": whole["collection"],
        "as_of": as_of.isoformat(),
        "day": f"{day_words(as_of)} {as_of.year}",
        "until": last.isoformat(),
        "count": sum(len(r["tasks"]) for r in rounds if r["on"] == as_of.isoformat()),
        "urgent": sorted(
            (row["urgent"] for row in rows.values() if row.get("urgent")), key=lambda row: row["since"]
        ),
        "tonight": _tonight(rows),
        "heat": _heat(rows),
        "held": [row["held"] for row in rows.values() if row.get("held")],
        "watch": [remark for row in rows.values() for remark in row.get("watch", ())],
        "rounds": rounds,
        "steps": _steps(rows),
        "carried": sorted(carried, key=lambda row: (row["due"], row["plant"])),
        "care_days": asked_once(whole, rows.values(), as_of),
        "asks": [ask for row in rows.values() for ask in row.get("asks", ())],
        "assumed": sorted(
            (row["assumed"] for row in rows.values() if row.get("assumed")),
            key=lambda row: (row["on"], row["plant"]),
        ),
        "next_round": following.isoformat() if following else None,
        "next_round_text": day_words(following) if following else "",
        "plants": len(rows),
        "units": whole["units"],
        "changes": _changes(rows),
    }


def _mark_cautions(rounds: Sequence[dict[str, Any]], lately: set[str]) -> None:
    """Keep each caution in the first round that has it, and mark what only a month's first week tells again."""
    said: set[str] = set()
    for found in rounds:
        is_early = date.fromisoformat(found["on"]).day <= WARNED_DAYS
        found["cautions"] = [
            {**caution, "is_known": caution["code"] in lately and not is_early}
            for caution in found["cautions"]
            if caution["code"] not in said
        ]
        said.update(caution["code"] for caution in found["cautions"])


def _steps(rows: Mapping[int, Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return the steps that are asked for, by day and plant; one of a place stands once, with who stands there."""
    all_of_them = [(s["on"], number, s) for number, row in rows.items() for s in row.get("steps", ())]
    found: list[dict[str, Any]] = []
    shared: dict[tuple[str, str], dict[str, Any]] = {}
    for _, _, step in sorted(all_of_them, key=lambda row: (*row[:2], row[2]["task"])):
        key = step["place"], step["text"]
        if step["of_place"] and key in shared:
            shared[key]["name"] += f", {step['name']}"
            continue
        found.append(dict(step))
        if step["of_place"]:
            shared[key] = found[-1]
    return found


def _tonight(rows: Mapping[int, Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return who must come in tonight, the urgent first."""
    cold = sorted((row["cold"] for row in rows.values() if row.get("cold")), key=lambda row: row["order"])
    return [row["told"] for row in cold if row["told"]["limit"] in COMES_IN]


def _heat(rows: Mapping[int, Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return the hot places with what they ask, a line for all plants alike."""
    found: dict[tuple[Any, ...], dict[str, Any]] = {}
    for row in rows.values():
        if row.get("heat"):
            told = {key: value for key, value in row["heat"].items() if key != "name"}
            found.setdefault(tuple(told.values()), {**told, "names": []})["names"].append(row["heat"]["name"])
    return list(found.values())


def _carried(
    rows: Mapping[int, Mapping[str, Any]], others: Mapping[str, float | None]
) -> list[dict[str, Any]]:
    """Return what is carried over, a line a plant, as the round's can makes it."""
    found = []
    for row in rows.values():
        if row.get("carried"):
            carried = {key: value for key, value in row["carried"].items() if key not in {"texts", "heads"}}
            told = {Stop(*values).task: (Stop(*values), other) for values, _, other in row["tasks"]}
            texts, heads, cares = (list(row["carried"][key]) for key in ("texts", "heads", "cares"))
            for at, task in enumerate(carried["tasks"]):
                ppm = others.get(task)
                if ppm is not None:
                    asked = told[task][0].ppm_n or 0.0
                    texts[at], heads[at] = (with_strength(each[at], asked, ppm) for each in (texts, heads))
                elif task in others:
                    texts[at], cares[at], heads[at] = told[task][1][2:]
            text, head = "; ".join(texts), heads_joined(heads)
            found.append({**carried, "cares": cares, "text": text, "head": head})
    return found


def _as_the_can(
    told: Sequence[list[Any]], others: Mapping[str, float | None]
) -> Iterator[tuple[Stop, dict[str, Any] | None]]:
    """Yield the stops and lines of a plant as the can of each day makes them."""
    found: dict[str, tuple[Stop, dict[str, Any] | None]] = {}
    for values, line, other in told:
        stop = Stop(*values)
        ppm = others.get(stop.task)
        if stop.task in others and (ppm is None or stop.ppm_n is None):
            stop, line = Stop(*other[0]), other[1]
        if ppm is not None and stop.ppm_n is not None:
            asked, stop = stop.ppm_n, stop.poured(ppm)
            if line is not None:
                words = {key: with_strength(line[key], asked, ppm) for key in ("text", "head")}
                line = {**line, "ppm_n": ppm, **words}
        found[stop.task] = stop, line
    for stop, line in found.values():
        wetting = found.get(stop.joined_to)
        yield (stop.beside(wetting[0]) if wetting is not None else stop), line


def _rounds(
    rows: Mapping[int, Mapping[str, Any]], others: Mapping[str, float | None]
) -> list[dict[str, Any]]:
    stops, lines = [], {}
    mixes: dict[str, list[Any]] = {}
    cautions: dict[str, list[str]] = {}
    for row in rows.values():
        cautions |= row.get("cautions", {})
        mixes |= row.get("mixes", {})
        for stop, line in _as_the_can(row.get("tasks", ()), others):
            stops.append(stop)
            lines[stop.task] = line
    return [
        {
            "on": on,
            "day": _dated(on),
            "minutes": sum(stop.minutes for stop in of_day),
            "can": _can(of_day, mixes),
            "tasks": [lines[stop.task] for stop in of_day if lines[stop.task] is not None],
            "cautions": [_caution(cautions[str(rank)]) for rank in caution_ranks(of_day)],
        }
        for on, of_day in by_day(stops)
    ]


def _caution(told: list[str]) -> dict[str, str]:
    return {"code": told[0], "text": told[1]}


def _can(of_day: list[Stop], mixes: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "plain_l": plain_l(of_day),
        "plain_apart_l": apart_l(of_day),
        "feeds": [_feed(feed, *mixes[f"{feed.ppm_n:g}"]) for feed in feeds(of_day)],
    }


def _feed(feed: Feed, g_per_l: float | None, fertiliser: str, ec_ms_cm: float | None) -> dict[str, Any]:
    return {
        "ppm_n": feed.ppm_n,
        "g_per_l": g_per_l,
        "litres": feed.litres,
        "grams": round(g_per_l * feed.litres, 2) if g_per_l is not None else None,
        "fertiliser": fertiliser,
        "ec_ms_cm": ec_ms_cm,
        "apart": feed.is_apart,
        "tasks": list(feed.tasks),
    }


def _changes(rows: Mapping[int, Mapping[str, Any]]) -> list[str]:
    """Return what is other than yesterday without an entry: rhythms that change today, gates that open or shut."""
    of_place: dict[str, list[tuple[int, str]]] = {}
    for number, row in rows.items():
        for place, text in row["moments"]:
            of_place.setdefault(place, []).append((number, text))
    found, told = [], set()
    for place, of_day in sorted(of_place.items()):
        numbers = [number for number, _ in of_day]
        told.update(numbers)
        names = ", ".join(rows[number]["name"] for number in numbers)
        text = max((text for _, text in of_day), key=len)
        found.append(f"{place}: {text or 'the season'} – new rhythm for {names}")
    for number, row in rows.items():
        if number not in told:
            found.extend(row["rhythms"])
    return [*found, *_gates_turned(rows)]


def _gates_turned(rows: Mapping[int, Mapping[str, Any]]) -> list[str]:
    turned: dict[str, list[str]] = {}
    for row in rows.values():
        for text in row["gates"]:
            turned.setdefault(text, []).append(row["name"])
    counts = Counter({text: len(names) for text, names in turned.items()})
    return [
        f"{turned[text][0] if counts[text] == 1 else f'{counts[text]} plants'}: {text}" for text in turned
    ]


def _dated(on: str) -> str:
    day = date.fromisoformat(on)
    return f"{day_words(day)} {day.year}"


def day_words(day: date) -> str:
    """Return a day with its weekday, as rounds name it."""
    return f"{_WEEKDAYS[day.weekday()]} {day_text(day)}"
