"""Why an act that somebody is about to carry out is out of season today: what the rules of the steps say of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.planning.steps.announced import has_reservoir
from carecal.planning.steps.case import told
from carecal.planning.steps.places import moving_out
from carecal.planning.steps.potting import converting, potting_on
from carecal.planning.steps.water import filling, opening_wrap

if TYPE_CHECKING:
    from carecal.planning.steps.case import Case, Verdict

__all__ = ["filling_now", "moving_out_now", "potting_now", "unwrapping_now"]


def potting_now(case: Case, container: str) -> str:
    """Return why a potting is out of season, '' where it is not: an emergency, warm light weeks, a plan for today.

    Args:
        case: The plant on the day.
        container: What it goes into; into a reservoir is asked of converting.
    """
    verdict = potting_on(case)
    if verdict is not None and verdict.urgent is not None:
        return ""
    if has_reservoir(case, container) and not has_reservoir(case, case.state.container or ""):
        verdict = converting(case)
    return _why_not(case, verdict)


def filling_now(case: Case) -> str:
    """Return why a reservoir is not filled today, '' where it may be."""
    return _why_not(case, filling(case))


def moving_out_now(case: Case, place: str) -> str:
    """Return why a plant does not go out to a place today, '' where it may, or the place is indoors."""
    is_out = case.context.is_outdoors(place, case.day) and not case.context.is_outdoors(case.place, case.day)
    return _why_not(case, moving_out(case)) if is_out else ""


def unwrapping_now(case: Case) -> str:
    """Return why a wrap is not taken off today, '' where it may be, or is opened by stages already."""
    verdict = opening_wrap(case)
    if verdict is None or verdict.urgent is not None:
        return ""
    lacking = next((reason.text for reason in verdict.because if reason.code == "newest-root"), "")
    return lacking or _why_not(case, verdict)


def _why_not(case: Case, verdict: Verdict | None) -> str:
    """Return what holds a step back today: what is said of it, else that no safe start lies here, and when one does."""
    if verdict is None or verdict.urgent is not None:
        return ""
    if verdict.blocked:
        return verdict.blocked
    window = verdict.window
    if window is None or window.starts.is_always or window.starts.run_of(case.day) is not None:
        return ""
    coming = window.starts.next_run(case.day)
    when = f"the next safe start is {told(coming[0])}" if coming is not None else "no safe start lies ahead"
    return f"out of season: {window.what} is too cool or too dark in the weeks that follow; {when}"
