"""Which medium, which pot, as a picture: the days between wettings of each pair, the best for the plant first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from carecal.web.pictures.frame import Table, shown
from carecal.web.pictures.scale import Scale, nice_ticks
from carecal.wording.dates import day_month

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from markupsafe import Markup

__all__ = ["Bar", "bars_of", "pots_picture", "safe_words"]

WIDTH, LEFT, RIGHT, TOP, ROW = 360, 8, 350, 8, 48  # [px]
MOST_BARS = 10  # our choice, because the rest stands in the table
LEAST_WIDE = 3.0  # [px]


@dataclass(frozen=True, slots=True)
class Bar:
    """One pair: from the shortest to the longest interval over the seasons."""

    y: int
    x: float
    wide: float
    name: str
    days: str
    safe: str
    look: str


def safe_words(pair: Mapping[str, Any]) -> str:
    """Return when a change to a pair is safe, in words."""
    opens = _day(pair["opens"])
    last = f" until {_day(pair['last_safe'])}" if pair["last_safe"] else ""
    return {
        "as it is": "as it is",
        "now": f"safe now{last}",
        "all year": "safe all year",
        "wait": f"wait until {opens}{last and ', safe' + last}",
        "no": f"not now{', season opens ' + opens if opens else ''}",
        "never": "never safe here",
    }.get(pair["safe"], str(pair["safe"]))


def bars_of(pairs: Sequence[Mapping[str, Any]], scale: Scale) -> list[Bar]:
    """Return a bar for each of the first ten pairs, the pot as it stands always among them; some have no days."""
    found = []
    first = list(pairs[:MOST_BARS])
    present = next((pair for pair in pairs if pair["present"]), None)
    if present is not None and present not in first:
        first[-1] = present
    for i, pair in enumerate(first):
        days = list(pair["days"].values())
        low, high = (min(days), max(days)) if days else (0, 0)
        x = scale.at(low)
        wide = max(round(scale.at(high) - x, 1), LEAST_WIDE) if days else 0.0
        text = (f"{low} days" if low == high else f"{low} to {high} days") if days else "no days"
        look = (
            "present" if pair["present"] else "unsafe" if pair["safe"] in {"never", "no", "wait"} else "safe"
        )
        found.append(Bar(TOP + ROW * i, x, wide, _pair(pair), text, safe_words(pair), look))
    return found


def pots_picture(document: Mapping[str, Any]) -> Markup:
    """Return the compared pots of a plant with a table of all pairs.

    Args:
        document: What `compared_pots` returned.
    """
    pairs = document["pairs"]
    most = max((d for pair in pairs for d in pair["days"].values()), default=1)
    ticks = nice_ticks(0, most)
    scale = Scale(ticks[0].value, ticks[-1].value, LEFT, RIGHT)
    bars = bars_of(pairs, scale)
    seasons = list(dict.fromkeys(season for pair in pairs for season in pair["days"]))
    rows = tuple(_row(pair, seasons) for pair in pairs)
    best = pairs[0]
    title = f"{document['name']}: which medium, which pot at {document['place']}"
    text = (
        f"First stands {_pair(best)}: {best['reason'] or safe_words(best)}. "
        "Bars: shortest to longest days between wettings over the year; "
        "filled: a change is safe, dashed: it is not, framed: as it stands"
    )
    heads = ("pair", *(f"{s} [d]" for s in seasons), "coldest night [°C]", "change", "litres", "because")
    return shown(
        "pictures_pots.html",
        key=f"pots-{document['plant']}",
        title=title,
        text=text,
        bars=bars,
        ticks=[(scale.at(t.value), t.text) for t in ticks],
        table=Table(heads, rows),
        width=WIDTH,
        top=TOP,
        bottom=TOP + ROW * len(bars),
        more=len(pairs) - len(bars),
    )


def _row(pair: Mapping[str, Any], seasons: Sequence[str]) -> tuple[str, ...]:
    days = (str(pair["days"].get(season, "–")) for season in seasons)
    cold = f"{pair['coldest_night_c']:g}, {_day(pair['coldest_on'])}"
    return _pair(pair), *days, cold, safe_words(pair), f"{pair['litres']:g}", pair["reason"]


def _pair(pair: Mapping[str, Any]) -> str:
    name = f"{pair['medium']} in {pair['container']}".replace("-", " ")
    return f"{name} (now)" if pair["present"] else name


def _day(text: str | None) -> str:
    return day_month(date.fromisoformat(text)).rsplit(" ", 1)[0] if text else ""
