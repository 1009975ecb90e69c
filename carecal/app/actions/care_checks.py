"""Whether a care fits a plant, its pot and its task, and what is unusual about it; it makes no entry."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.errors import ConfirmationNeeded, Refused, option
from carecal.wording.dates import day_text
from carecal.wording.tasks import done_word

if TYPE_CHECKING:
    from datetime import date

    from carecal.app.command_context import CommandContext
    from carecal.app.tasks import Ticked
    from carecal.collection.plants import PlantHistory, PlantState

__all__ = [
    "CARES",
    "WETTINGS",
    "aid_of",
    "ask_again",
    "ask_weight",
    "check_care",
    "check_measured",
    "check_single",
    "check_strength",
]

CARES = ("watering", "refilling", "feeding", "flushing", "moistening", "inspection")
WETTINGS = frozenset(CARES[:4])
MOISTENED = ("cloth", "moss-collar")
MAX_EC = 20.0  # [mS/cm]
MOST_PPM = 400.0  # [mg/L of N]


def check_single(task: str | None, context: CommandContext) -> None:
    """Refuse a task named together with several plants."""
    if task is not None and len(context.ids or ()) != 1:
        raise Refused(
            f"{option('task')} names one task of one plant; {len(context.ids or ())} plants were named"
        )


def check_measured(
    care: str,
    felt: str | None,
    weight_g: float | None,
    ec: float | None,
    task: str | None,
    context: CommandContext,
) -> None:
    """Refuse what was measured of a care or of plants that it cannot belong to."""
    check_single(task, context)
    given = [name for name, value in (("felt", felt), ("weight", weight_g), ("ec", ec)) if value is not None]
    if given and care not in WETTINGS:
        raise Refused(
            f"--{given[0]} belongs to a wetting of the pot; {care} is not one (allowed: {', '.join(CARES[:4])})"
        )
    if (weight_g is not None or ec is not None) and len(context.ids or ()) != 1:
        raise Refused(f"a weight or EC belongs to one plant; {len(context.ids or ())} were named")
    if ec is not None and not 0 <= ec <= MAX_EC:
        guess = f"; {ec:g} looks like µS/cm: that is {ec / 1000:g} mS/cm" if ec > MAX_EC else ""
        raise Refused(f"EC {ec:g} mS/cm is out of range; allowed are 0 to {MAX_EC:g} mS/cm{guess}")


def check_strength(care: str, ppm_n: float | None) -> None:
    """Refuse a strength of what is no feed, and one that is plain water or burns roots."""
    if ppm_n is None:
        return
    if care != "feeding":
        raise Refused(f"{option('ppm')} belongs to a feed; {care} is none")
    if not 0 < ppm_n <= MOST_PPM:
        raise Refused(f"{ppm_n:g} ppm N is out of range; allowed are 1 to {MOST_PPM:g} ppm N of a feed")


def aid_of(care: str, state: PlantState, aid: str | None, ticked: Ticked | None) -> str | None:
    """Return the aid that is meant: the one named, the task's, or the one the plant has; None: the pot itself."""
    if aid is not None or ticked is not None:
        return aid or (ticked.aid if ticked is not None else None)
    if care != "moistening" or state.stage == "rootless":
        return None
    return next((name for name in MOISTENED if name in state.aid_names), None)


def check_care(
    care: str, line: PlantHistory, state: PlantState, aid: str | None, ticked: Ticked | None
) -> None:
    """Refuse a care that the plant cannot have, or that is not of the task's kind."""
    if care in WETTINGS and state.mother is not None:
        raise Refused(
            f"{line.id} hangs on its mother and is not wetted by itself; say it for the mother, or part it first"
        )
    if care == "refilling" and state.reservoir != "filled":
        raise Refused(f"{line.id} has no filled reservoir; allowed are watering, feeding, flushing")
    if aid is not None and aid not in state.aid_names:
        names = ", ".join(sorted(state.aid_names)) or "none"
        raise Refused(f"{line.id} has no {aid}; its aids: {names}")
    if care == "moistening" and state.stage != "rootless" and not state.aid_names & set(MOISTENED):
        raise Refused(f"{line.id} has nothing to moisten: no cloth, no moss-collar, not rootless")
    if ticked is None:
        return
    kind = "look" if care == "inspection" else "aid" if aid else "wetting"
    of_task = "aid" if ticked.aid else ticked.path
    if kind != of_task:
        raise Refused(f"task '{ticked.id}' is a {of_task}, not answered by {care}")


def ask_again(care: str, line: PlantHistory, day: date, aid: str | None) -> None:
    """Ask where the same care stands on that day already."""
    for event in line.told:
        if event.kind not in {"wet", "aid", "look"} or event.day != day.toordinal():
            continue
        if event.care == care and (aid is None or event.aid == aid):
            raise ConfirmationNeeded(
                f"{line.name} was {done_word(care)} on {day_text(day)} already: a second time on one day?"
            )


def ask_weight(line: PlantHistory, day: date, weight_g: float | None) -> None:
    """Ask where a weight lies outside the dry and full weights of this potting."""
    if weight_g is None:
        return
    since = line.state_then(day.toordinal()).potted or 0
    marks = {e.mark: e.weight_g for e in line.told if e.kind == "weighed" and e.day >= since and e.mark}
    dry, full = marks.get("dry"), marks.get("full")
    if (dry is not None and weight_g < dry) or (full is not None and weight_g > full):
        known = [f"{grams:g} g {mark}" for mark, grams in (("dry", dry), ("full", full)) if grams is not None]
        span = " to ".join(known)
        raise ConfirmationNeeded(f"{weight_g:g} g lies outside what {line.id} weighs, {span}: is that right?")
