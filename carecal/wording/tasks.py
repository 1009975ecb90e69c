"""What people read of a task, a round, a record: whole sentences by care and certainty. It decides nothing.

Nothing here depends on the day of writing, and nothing names absences, sitters or addresses.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import lru_cache
from operator import attrgetter

from carecal.plan.model import Can, PlantView, Task
from carecal.wording.amounts import litres_text
from carecal.wording.can import Fed, can_words
from carecal.wording.clean import KEPT_TEXTS, clean_line
from carecal.wording.dates import day_text
from carecal.wording.weak import LEVELS

__all__ = [
    "EMPTY_ON_PURPOSE",
    "FEED_WAITS",
    "asked_of",
    "can_line",
    "done_count",
    "done_summary",
    "done_word",
    "heads_joined",
    "joined",
    "name_of",
    "plant_marks",
    "pot_line",
    "poured",
    "round_summary",
    "sentence",
    "special_lines",
    "task_head",
    "task_line",
    "task_summary",
    "verb",
    "waits_text",
    "window_line",
    "with_strength",
]

OPEN_AND_LOOK = "open and look"
"""What the planner asks of a wrapped plant; the verb says it already."""
_ONLY = {  # techniques that are told even where it is not sure yet whether it wants water: word, and how it is said
    "from-below": ("from below", "from below only"),
    "a-little": ("a little", "a little only"),
    "a-sip": ("a sip", "a sip only"),
}
EMPTY_ON_PURPOSE = "EMPTY ON PURPOSE"
"""Stands wherever a plant with a reservoir emptied on purpose is shown."""

FEED_WAITS = "; its feed waits for the next round"
"""What is said where the round's can holds another strength than a plant may have."""

_SUMMARY = {
    ("watering", True): "Water {name} – {technique}",
    ("watering", False): "Look at {name} – water if dry",
    ("refilling", True): "Refill {name} – {technique}",
    ("refilling", False): "Look at {name} – refill if dry",
    ("feeding", True): "Feed {name}, {strength}",
    ("feeding", False): "Look at {name} – feed if dry, {strength}",
    ("flushing", True): "Flush {name} – {technique}",
    ("flushing", False): "Look at {name} – flush if dry",
    ("moistening", True): "Moisten the {aid} of {name} – {technique}",
    ("moistening", False): "Look at {name} – moisten the {aid} if it has dried",
    ("inspection", True): "Look over {name}",
}
_LINE = {
    ("watering", True): "water – {technique}",
    ("watering", False): "look – water if dry",
    ("refilling", True): "refill – {technique}",
    ("refilling", False): "look – refill if dry",
    ("feeding", True): "feed, {strength}",
    ("feeding", False): "look – feed if dry, {strength}",
    ("flushing", True): "flush – {technique}",
    ("flushing", False): "look – flush if dry",
    ("moistening", True): "moisten the {aid} – {technique}",
    ("moistening", False): "look – moisten the {aid} if it has dried",
    ("inspection", True): "look over",
}
_VERBS = {
    "watering": "water",
    "refilling": "refill",
    "feeding": "feed",
    "flushing": "flush",
    "moistening": "moisten",
    "inspection": "look over",
    "step": "step",
}
_VERB_ORDER = ("water", "refill", "moisten", "feed", "flush", "look at", "look over", "step")
_SHOWN_STATES = {"quarantine": "in quarantine", "pest-watch": "on watch"}
_DONE = {
    "watering": "watered",
    "refilling": "refilled",
    "feeding": "fed",
    "flushing": "flushed",
    "moistening": "moistened",
    "inspection": "looked over",
    "left": "looked at and left",
    "potting": "potted",
}
_care_and_certain = attrgetter("care", "certain")


def name_of(view: PlantView) -> str:
    """Return the plant's name on one line, its id when it has none."""
    return clean_line(view.name) or view.id


def verb(task: Task) -> str:
    """Return the one verb of a task; 'look at' while no honest entry stands behind its interval."""
    return _verb(task.care, certain=task.certain)


def _verb(care: str, *, certain: bool) -> str:
    if care in {"inspection", "step"} or certain:
        return _VERBS.get(care, clean_line(care))
    return "look at"


def task_summary(task: Task, view: PlantView, title: str = "") -> str:
    """Return the task as one sentence with the plant's name, as 'Water Tide – drench'.

    Args:
        task: What is to be done.
        view: The plant it is done to.
        title: The sentence of a step, as 'Repot Tide into fresh bark'.
    """
    if task.care == "step":
        return clean_line(title) or f"{name_of(view)}: {_words(task.step)}"
    if _opens_a_wrap(task, view):
        return f"Open the wrap of {name_of(view)} and look"
    return _with_reservoir(_filled(_SUMMARY, task, view), view)


def task_line(task: Task, view: PlantView, title: str = "") -> str:
    """Return the task without the plant's name, as 'water – drench', with the day it was due if that lies behind."""
    text, asked = task_head(task, view, title), asked_of(task)
    if asked:
        text += f" ({asked})"
    if task.feed_waits:
        text += FEED_WAITS
    if task.status in {"open", "overdue"} and task.due < task.on:
        text += f", due {day_text(task.due)}"
    return text


def task_head(task: Task, view: PlantView, title: str = "") -> str:
    """Return the task in as few words as a list needs, as 'water – drench'; what is looked for and when stand apart."""
    if task.care == "step":
        return clean_line(title) or _words(task.step)
    return "open the wrap and look" if _opens_a_wrap(task, view) else _filled(_LINE, task, view)


def heads_joined(heads: Sequence[str]) -> str:
    """Return several tasks of a plant in one short line, as 'look over, moisten the cloth, flush'; how stands apart."""
    if len(heads) == 1:
        return heads[0]
    return ", ".join(dict.fromkeys(head.partition(" – ")[0] for head in heads))


def asked_of(task: Task) -> str:
    """Return what a look asks for, questions one after the other; '' where the head says it all."""
    return clean_line(task.asks).replace("?; ", "? ") if task.asks and task.asks != OPEN_AND_LOOK else ""


def waits_text(since: date) -> str:
    """Return since when a plant's feed waits, so that its strength is mixed first."""
    return f"its feed has waited since {day_text(since)}: its strength is mixed next"


def with_strength(text: str, asked: float, ppm_n: float) -> str:
    """Return the line of a feed with another strength than was asked for."""
    return text.replace(_strength(asked), _strength(ppm_n))


def pot_line(view: PlantView) -> str:
    """Return what the plant stands in and where, as 'Bark, 12 cm clear plastic, east sill'; empty if unknown."""
    size = f"{view.size_cm:g} cm " if view.size_cm else ""
    pot = f"{size}{_words(view.container or '')}".strip()
    known = [_words(view.medium or ""), pot, _words(view.place or "")]
    return sentence(", ".join(part for part in known if part and part != "none"))


def window_line(task: Task) -> str:
    """Return the days between which a task may slip, as 'Earliest 27, due 28, latest 29 November.'; else empty."""
    return "" if task.earliest == task.latest else _window(task.earliest, task.due, task.latest)


@lru_cache(maxsize=KEPT_TEXTS)
def _window(earliest: date, due: date, latest: date) -> str:
    """Return the days of a window as a sentence; a look that rides on a wetting beside its own day has no due one."""
    best = f"due {day_text(due)}, " if earliest <= due <= latest else ""
    return f"Earliest {day_text(earliest)}, {best}latest {day_text(latest)}."


@lru_cache(maxsize=KEPT_TEXTS)
def sentence(text: str) -> str:
    """Return the text on one line with a capital at its start."""
    line = clean_line(text)
    return line[:1].upper() + line[1:]


def joined(lines: Iterable[str]) -> str:
    """Return the lines that hold something, below each other."""
    return "\n".join(line for line in lines if line)


def plant_marks(view: PlantView) -> tuple[str, ...]:
    """Return what must be seen of a plant on a list: reservoir emptied on purpose, quarantine, pests, losing ground."""
    emptied = (EMPTY_ON_PURPOSE,) if view.reservoir == "empty" else ()
    losing = (LEVELS[view.losing],) if view.losing else ()
    return (*emptied, *losing, *(_SHOWN_STATES[state] for state in view.states if state in _SHOWN_STATES))


def round_summary(tasks: Sequence[Task]) -> str:
    """Return a round of several tasks in one line, counts first, as 'Water 5, feed 2, look at 3'."""
    counts: Counter[str] = Counter()
    for (care, certain), count in Counter(map(_care_and_certain, tasks)).items():
        counts[_verb(care, certain=certain)] += count
    order = sorted(counts, key=lambda v: _VERB_ORDER.index(v) if v in _VERB_ORDER else len(_VERB_ORDER))
    return sentence(", ".join(_counted(v, counts[v]) for v in order))


def can_line(can: Can) -> str:
    """Return what to mix, as 'Can: 3.2 L plain, then 2.5 L feed at 60 ppm N (0.75 g)'; empty for a dry round."""
    feeds = [Fed(mix.ppm_n, mix.litres, mix.g_per_l, mix.fertiliser, mix.apart) for mix in can.feeds]
    return can_words(can.plain_l, can.plain_apart_l, feeds, "metric")


def poured(litres: float | None) -> str:
    """Return what one plant gets from the can, as '0.3 L' or '40 mL'; '' for a dry task."""
    return litres_text(litres, "metric") if litres else ""


def special_lines(tasks: Sequence[Task], views: Mapping[int, PlantView]) -> list[str]:
    """Return what must be seen of a round before all else: what is overdue since when, reservoirs left empty."""
    late: dict[str, date] = {}
    for task in tasks:
        if task.status == "overdue":
            name = name_of(views[task.plant])
            late[name] = min(task.due, late.get(name, task.due))
    empty = [name_of(view) for view in views.values() if view.reservoir == "empty"]
    lines = (
        [f"OVERDUE: {', '.join(f'{name} since {day_text(on)}' for name, on in late.items())}"] if late else []
    )
    return lines + ([f"{EMPTY_ON_PURPOSE}: {', '.join(empty)}"] if empty else [])


def done_summary(care: str, name: str) -> str:
    """Return a record of one care, as '✓ Flushed Pebble'."""
    word = _DONE.get(care, _words(care))
    return f"✓ {word.capitalize()} {name}".rstrip()


def done_count(cares: Iterable[str]) -> str:
    """Return a record of one day, as '✓ Watered 5, fed 2'."""
    counts = Counter(cares)
    order = sorted(counts, key=lambda care: (list(_DONE).index(care) if care in _DONE else len(_DONE), care))
    return "✓ " + sentence(", ".join(f"{_DONE.get(care, _words(care))} {counts[care]}" for care in order))


def done_word(care: str) -> str:
    """Return what was done in one word, as 'watered'."""
    return _DONE.get(care, _words(care))


def _filled(table: dict[tuple[str, bool], str], task: Task, view: PlantView) -> str:
    """Return a row of a table of sentences with the task's words in it; a blank ending is cut off."""
    row = table.get((task.care, task.certain or task.care == "inspection")) or "{care}: {name}"
    is_said = task.technique == "look" or (task.care, task.technique) == ("moistening", "surface")
    technique = "" if is_said else task.technique
    text = _filled_row(row, name_of(view), task.care, technique, task.ppm_n or 0.0, task.aid)
    told, only = _ONLY.get(technique, ("", ""))
    return f"{text}, {only}" if only and told not in text else text


@lru_cache(maxsize=KEPT_TEXTS)
def _filled_row(row: str, name: str, care: str, technique: str, ppm_n: float, aid: str) -> str:
    """Return one row filled; the tasks of a plant share a few."""
    text = row.format(
        name=name,
        care=_words(care).capitalize(),
        technique=_words(technique),
        strength=_strength(ppm_n) if ppm_n else "",
        aid=_words(aid) or "surface",
    )
    return text.rstrip(" –,:")


def _strength(ppm_n: float) -> str:
    """Return the strength of a feed, as '60 ppm N'."""
    return f"{ppm_n:g} ppm N"


def _with_reservoir(text: str, view: PlantView) -> str:
    """Return the sentence with the reservoir's warning, if it was emptied on purpose."""
    return f"{text}; {EMPTY_ON_PURPOSE}" if view.reservoir == "empty" else text


def _opens_a_wrap(task: Task, view: PlantView) -> bool:
    """True for the look at a wrapped plant, which opens the wrap."""
    return task.care == "inspection" and "wrapped" in view.states


def _words(name: str) -> str:
    """Return a name of the tables as words, as 'pour through'."""
    return clean_line(name).replace("-", " ")


def _counted(word: str, count: int) -> str:
    """Return a verb with its number; steps are counted in words."""
    if word == "step":
        return "1 step" if count == 1 else f"{count} steps"
    return f"{word} {count}"
