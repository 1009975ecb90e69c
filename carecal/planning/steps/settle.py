"""From what a rule says to a step of the plan: status, opening, last safe start, margin, title (models W2)."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Literal

from carecal.horticulture.rounding import significant
from carecal.plan.model import Reason, Step
from carecal.planning.steps.case import short, told

if TYPE_CHECKING:
    from carecal.planning.steps.case import Case, Verdict, Window

__all__ = ["settle"]

WINDOWED = frozenset(
    {
        "potting-on",
        "new-medium-due",
        "taking-the-plug-out",
        "converting-to-a-reservoir",
        "filling-the-reservoir",
        "parting-a-keiki",
        "opening-the-wrap",
    }
)


def settle(case: Case, verdict: Verdict) -> Step:
    """Return the step that a verdict amounts to on the plan's day (models W2)."""
    if verdict.urgent is not None:
        opens = verdict.ready if verdict.ready is not None else case.day
        return _step(case, verdict, "now", opens, None, (verdict.urgent, *verdict.because))
    if verdict.unknown:
        return _step(
            case, verdict, "unknown", None, None, (Reason("unknown", verdict.unknown), *verdict.because)
        )
    if verdict.blocked:
        return _step(case, verdict, "wait", None, None, (Reason("never", verdict.blocked), *verdict.because))
    if verdict.window is None and verdict.step in WINDOWED:
        reason = Reason(
            "unknown", "it stands at no place with a climate, so nobody knows how warm its medium stays"
        )
        return _step(case, verdict, "unknown", None, None, (reason, *verdict.because))
    if verdict.window is not None:
        return _in_window(case, verdict, verdict.window)
    if verdict.ready is None:
        return _step(case, verdict, "wait", None, None, verdict.because)
    status: _Status = "now" if verdict.ready <= case.day else "wait"
    if verdict.last is not None and verdict.last < case.day:
        status = "missed"
    return _step(case, verdict, status, verdict.ready, verdict.last, verdict.because)


_Status = Literal["now", "wait", "missed", "unknown"]


def _in_window(case: Case, verdict: Verdict, window: Window) -> Step:
    """Return the step by its safe starts: the run that holds the day, else the missed or the next one."""
    day, starts, ok_days = case.day, window.starts, int(case.row(verdict.step).ok_margin_days)
    because = (*verdict.because, _window_reason(window, max(day, verdict.ready or day)))
    if verdict.ready is None or starts.is_never:
        return _step(case, verdict, "wait", None, None, because)
    asked = max(day, verdict.ready)
    run = starts.run_of(asked)
    if run is not None:
        ending = run[1] < starts.last
        opens, last = max(run[0], verdict.ready), run[1] if ending else None
        kept = last is None or last - day >= ok_days or _is_firm(window, day)
        if last is not None and ok_days:
            because = (*because, _margin_reason(last, ok_days))
        return _step(case, verdict, "now" if opens <= day and kept else "wait", opens, last, because)
    former, coming = starts.former_run(asked), starts.next_run(asked)
    opens_next = coming[0] if coming is not None else None
    if former is not None and not verdict.bridges and former[1] < day and verdict.ready_then(former[1]):
        near = opens_next is None or day - former[1] <= opens_next - day
        if near and case.line.entered <= former[1]:
            return _step(case, verdict, "missed", opens_next, former[1], because)
    if coming is None:
        return _step(case, verdict, "wait", None, None, because)
    last = coming[1] if coming[1] < starts.last else None
    if last is not None and ok_days:
        because = (*because, _margin_reason(last, ok_days))
    return _step(case, verdict, "wait", coming[0], last, because)


def _is_firm(window: Window, day: int) -> bool:
    return window.firm is not None and window.firm.run_of(day) is not None


def _margin_reason(last: int, ok_days: int) -> Reason:
    return Reason(
        "margin", f"begun by {told(last - ok_days)} it keeps {ok_days} days in hand", float(ok_days), "d"
    )


def _window_reason(window: Window, day: int) -> Reason:
    """Return the window in words that stay the same from day to day."""
    limits, starts = window.limits, window.starts
    asks = [f"{limits.mean_c:.3g} °C" if limits.mean_c is not None else ""]
    asks.append(f"{limits.night_c:.3g} °C at night" if limits.night_c is not None else "")
    wanted = f"{window.what}: {' and '.join(part for part in asks if part)} and more"
    wanted += f" for {limits.weeks:g} weeks" if limits.weeks else ""
    value = limits.mean_c if limits.mean_c is not None else limits.night_c
    number = significant(value) if value is not None else None
    run = starts.run_of(day) or starts.next_run(day)
    when = "at no time of the year ahead"
    if starts.is_always:
        when = "at any time of the year"
    elif run is not None:
        until = f" to {told(run[1])}" if run[1] < starts.last else " on"
        when = f"after every start from {told(run[0])}{until}"
    return Reason("medium-temperature", f"{wanted} {when}", number, "°C")


def _step(
    case: Case,
    verdict: Verdict,
    status: _Status,
    opens: int | None,
    last: int | None,
    because: tuple[Reason, ...],
) -> Step:
    if opens is not None and opens > case.context.last_day:
        opens, last = None, last if status == "missed" else None
    return Step(
        case.line.number,
        verdict.step,
        status,
        date.fromordinal(opens) if opens is not None else None,
        date.fromordinal(last) if last is not None else None,
        last - case.day if last is not None else None,
        because,
        verdict.wanted,
        _title(verdict, status, opens, last),
    )


def _title(verdict: Verdict, status: _Status, opens: int | None, last: int | None) -> str:
    """Return the deed with the one date that matters, the same while it waits and when it is open."""
    if status == "missed" and last is not None:
        return f"{verdict.title}: the last safe start was {short(last)}"
    if verdict.urgent is not None or opens is None or verdict.window is None:
        return verdict.title
    if last is None:
        return f"{verdict.title}: warm enough all year" if verdict.window.starts.is_always else verdict.title
    follow = verdict.window.follow if verdict.window.limits.weeks else "warm enough"
    return f"{verdict.title}: {follow} until {short(last)}"
