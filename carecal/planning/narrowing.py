"""A plan narrowed to a span of days; what is in it stays as it was planned to the horizon."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from carecal.plan.model import Plan, Series

__all__ = ["narrowed"]


def narrowed(plan: Plan, start: date, until: date) -> Plan:
    """Return a plan without what lies before the first day or after the last, both included.

    Args:
        plan: The plan, made to `until` or further.
        start: First day; one before the plan's as_of leaves the past that the plan tells.
        until: Last day.
    """
    return replace(
        plan,
        start=start,
        until=until,
        moments=tuple(m for m in plan.moments if start <= m.on <= until),
        rhythms=tuple(
            r._replace(until=min(r.until, until))
            for r in plan.rhythms
            if r.start <= until and r.until >= start
        ),
        series=tuple(_cut(s, until) for s in plan.series if s.first <= until and s.until >= start),
        tasks=tuple(t for t in plan.tasks if start <= t.on <= until),
        rounds=tuple(r for r in plan.rounds if start <= r.on <= until),
        will_not_keep=tuple(w for w in plan.will_not_keep if start <= w.due <= until),
        step_tasks=tuple(t for t in plan.step_tasks if start <= t.on <= until),
        _by_id={},
        _views={},
        _poured={},
    )


def _cut(series: Series, until: date) -> Series:
    """Return a series up to its last occurrence that is not left out, not after a day."""
    if series.until <= until:
        return series
    last, skip = until, set(series.skip)
    last -= timedelta(days=(until - series.first).days % series.every_days)
    while last in skip:
        last -= timedelta(days=series.every_days)
    return series._replace(until=last, skip=tuple(day for day in series.skip if day < last))
