"""A year told honestly: who came, lives, was lost and why, with counts beside each share, intervals for few plants."""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.app.documents.looking_back import log_of
from carecal.horticulture.survival import kaplan_meier, kaplan_meier_interval, survival_at, wilson_interval
from carecal.planning.pours import litres_of
from carecal.wording.dates import day_text
from carecal.wording.pace import words_of_factor
from carecal.wording.tasks import done_word

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from carecal.app.door import Collection
    from carecal.app.now import Now
    from carecal.collection.plants import PlantHistory
    from carecal.planning.planner import Planner

__all__ = ["survival_lines", "year_lines", "year_of"]

FEW = 5  # plants below which a share says nothing; our choice, because one more or less moves it by a fifth
YEAR_DAYS = 365
WETTINGS = {
    "watering": "drench",
    "feeding": "drench",
    "flushing": "pour-through",
    "refilling": "fill-and-drain",
}
MOST_TAUGHT = 8


def year_of(collection: Collection, now: Now, year: int) -> dict[str, Any]:
    """Return the balance of a calendar year, of the running one so far.

    Survival is counted from the day a plant was written down, so that no plant counts that could not have been lost
    from sight before; who was given away or merged counts until then.

    Args:
        collection: The collection.
        now: The moment; what is dated later is left out.
        year: The year.
    """
    first, last = date(year, 1, 1), min(date(year, 12, 31), now.day)
    lines = sorted(collection.timeline(last).plants.values(), key=lambda line: line.number)
    there = [line for line in lines if _end(line, last) >= first.toordinal()]
    left = [line for line in there if line.retired is not None]
    lost = [line for line in left if line.retired_because == "lost"]
    return {
        "year": year,
        "from": first.isoformat(),
        "until": last.isoformat(),
        "came": [_who(line) for line in there if line.entered >= first.toordinal()],
        "there": len(there),
        "living": len(there) - len(left),
        "left": dict(sorted(Counter(str(line.retired_because) for line in left).items())),
        "lost": [
            {**_who(line), "on": _iso(line.retired), "note": _why_lost(collection, now, line)}
            for line in lost
        ],
        "survival": _survival(lines, last),
        "shares": _shares(there, lost),
        "care": _care(collection, now, first, last),
        "taught": _taught(collection.planner(last), there, last),
    }


def year_lines(found: dict[str, Any]) -> Iterable[str]:
    """Yield a year as lines for a terminal."""
    counts = f"{found['there']} plants, {len(found['came'])} came, {found['living']} are here"
    yield f"{found['year']}, up to {_said(found['until'])}: {counts}"
    for row in found["lost"]:
        yield f"  lost {row['name']} on {_said(row['on'])}" + (f": {row['note']}" if row["note"] else "")
    yield from (
        f"  {because.replace('-', ' ')}: {n}" for because, n in found["left"].items() if because != "lost"
    )
    yield from survival_lines(found)
    for head, rows in found["shares"].items():
        yield f"  by {head}: " + "; ".join(
            f"{r['what']} {r['lost']} of {r['of']} lost{r['word']}" for r in rows
        )
    care = found["care"]
    yield (
        f"  {care['days']} care days, about {care['litres']:g} L poured, fed {care['feeds']} times; "
        + ", ".join(f"{done_word(name)} {times}" for name, times in care["cares"].items())
    )
    yield from (f"  {row['name']}: {row['text']}" for row in found["taught"])


def _said(on: str) -> str:
    return day_text(date.fromisoformat(on))


def survival_lines(found: dict[str, Any]) -> Iterable[str]:
    """Yield what can be said of survival: its share with its interval, or that too few plants say anything."""
    row = found["survival"]
    if row is None:
        return
    span = f"{100 * row['low']:.0f} to {100 * row['high']:.0f} %"
    word = "; so few plants say little" if row["of"] < FEW else ""
    yield f"  of {row['of']} plants {100 * row['share']:.0f} % ({span}) live a year after they were written down{word}"


def _survival(lines: Sequence[PlantHistory], today: date) -> dict[str, Any] | None:
    """Return the share alive a year after it was written down, by Kaplan and Meier, with its 95 % interval."""
    times = [float(_end(line, today) - line.entered) for line in lines]
    lost = [line.retired is not None and line.retired_because == "lost" for line in lines]
    if not times:
        return None
    step = survival_at(kaplan_meier(times, lost), YEAR_DAYS)
    low, high = kaplan_meier_interval(times, lost, YEAR_DAYS)
    curve = [(s.time, s.survival, s.at_risk) for s in kaplan_meier(times, lost)]
    return {
        "days": YEAR_DAYS,
        "share": step.survival if step else 1.0,
        "low": low,
        "high": high,
        "of": len(times),
        "lost": sum(lost),
        "watched": sum(time >= YEAR_DAYS for time in times),
        "curve": curve,
    }


def _shares(there: Sequence[PlantHistory], lost: Sequence[PlantHistory]) -> dict[str, list[dict[str, Any]]]:
    """Return who was lost by stage on arrival, medium and place, with the counts and a word where they are few."""
    kinds: dict[str, Callable[[PlantHistory], str | None]] = {
        "stage on arrival": lambda line: line.states[0].stage,
        "medium": lambda line: "bare roots" if line.latest.medium == "none" else line.latest.medium,
        "place": lambda line: line.latest.place,
    }
    gone = {line.number for line in lost}
    found: dict[str, list[dict[str, Any]]] = {}
    for kind, what_of in kinds.items():
        groups: dict[str, list[int]] = {}
        for line in there:
            groups.setdefault((what_of(line) or "not known").replace("-", " "), []).append(line.number)
        found[kind] = [_share(what, numbers, gone) for what, numbers in sorted(groups.items())]
    return found


def _share(what: str, numbers: Sequence[int], gone: set[int]) -> dict[str, Any]:
    of, lost = len(numbers), sum(number in gone for number in numbers)
    low, high = wilson_interval(lost, of)
    word = " (too few to say anything)" if of < FEW else ""
    return {"what": what, "lost": lost, "of": of, "low": low, "high": high, "word": word, "few": of < FEW}


def _care(collection: Collection, now: Now, first: date, last: date) -> dict[str, Any]:
    """Return the year's care days, how often each care was done, and about how much was poured by the table. [L]."""
    entries = [
        e
        for e in log_of(collection, now, since=first)
        if e["kind"] == "done" and not e["taken_back"] and e["on"] <= last.isoformat()
    ]
    planner = collection.planner(last)
    by_id = {line.id: line for line in planner.timeline.plants.values()}
    litres = sum(_litres(by_id.get(e["plant"]), e, planner) for e in entries if e["care"] in WETTINGS)
    cares = Counter(e["care"] for e in entries)
    return {
        "days": len({e["on"] for e in entries}),
        "cares": dict(cares.most_common()),
        "litres": round(litres, 1),
        "feeds": cares.get("feeding", 0),
    }


def _litres(line: PlantHistory | None, entry: dict[str, Any], planner: Planner) -> float:
    if line is None:
        return 0.0
    state = line.state_at(date.fromisoformat(entry["on"]).toordinal())
    if state.medium is None or state.container is None or state.size_cm is None:
        return 0.0
    return litres_of(WETTINGS[entry["care"]], state, planner.context)


def _taught(planner: Planner, there: Sequence[PlantHistory], last: date) -> list[dict[str, Any]]:
    """Return what the plants' own answers taught of their pace, the surest first."""
    rows = []
    for line in there:
        desk = planner.plant_planners.get(line.number)
        if desk is None or not desk.estimates:
            continue
        estimate = desk.taught_on(last.toordinal())
        if estimate.entries:
            rows.append(
                (estimate.sd, {"plant": line.id, "name": line.name, "text": words_of_factor(estimate)})
            )
    return [row for _, row in sorted(rows, key=lambda pair: pair[0])[:MOST_TAUGHT]]


def _why_lost(collection: Collection, now: Now, line: PlantHistory) -> str:
    entries = log_of(collection, now, plant=line.id)
    return next(
        (e.get("note") or "" for e in reversed(entries) if e["kind"] == "retired" and not e["taken_back"]), ""
    )


def _who(line: PlantHistory) -> dict[str, Any]:
    return {"plant": line.id, "name": line.name, "entered": _iso(line.entered)}


def _end(line: PlantHistory, today: date) -> int:
    return line.retired if line.retired is not None else today.toordinal()


def _iso(day: int | None) -> str | None:
    return date.fromordinal(day).isoformat() if day is not None else None
