"""From a verdict to a step, day by day round two runs of safe starts; oracle: models W2, counted by hand.

The runs are days 100 to 149 and 200 to 249 of days 1 to 999; ten days are to be kept in hand.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pytest

from carecal.plan.model import Reason, Step
from carecal.planning.places.safe_starts import Limits, Starts
from carecal.planning.steps.case import Case, Verdict, Window
from carecal.planning.steps.settle import settle

RUNS = ((100, 149), (200, 249))
IN_HAND = 10


def settled(
    day: int,
    ready: int | None = 1,
    *,
    spans: tuple[tuple[int, int], ...] = RUNS,
    entered: int = 1,
    firm: tuple[int, int] | None = None,
    then: bool = True,
    **more: Any,
) -> Step:
    """Return the step that a verdict of potting on amounts to on a day."""
    case = SimpleNamespace(
        day=day,
        line=SimpleNamespace(number=7, entered=entered),
        context=SimpleNamespace(last_day=999),
        row=lambda _: SimpleNamespace(ok_margin_days=IN_HAND),
    )
    window = Window(
        Starts(spans, 1, 999),
        None if firm is None else Starts((firm,), 1, 999),
        Limits(17.0, None, 6),
        "the medium",
    )
    verdict = Verdict("potting-on", "Repot Tide", ready, window=window, ready_then=lambda _: then, **more)
    return settle(cast("Case", case), verdict)


def told(step: Step) -> tuple[str, int | None, int | None]:
    """Return status, opening and last safe start, as days."""
    return (
        step.status,
        step.opens.toordinal() if step.opens is not None else None,
        step.last_safe.toordinal() if step.last_safe is not None else None,
    )


@pytest.mark.parametrize(
    ("day", "expected", "why"),
    [
        (99, ("wait", 100, 149), "the day before the run"),
        (100, ("now", 100, 149), "its first day"),
        (139, ("now", 100, 149), "ten days are left"),
        (140, ("wait", 100, 149), "nine are left: not enough in hand"),
        (149, ("wait", 100, 149), "its last day"),
        (150, ("missed", 200, 149), "a day after it"),
        (174, ("missed", 200, 149), "25 days after, 26 before the next: still nearer to what was missed"),
        (175, ("wait", 200, 249), "26 days after, 25 before the next"),
        (200, ("now", 200, 249), "the next run"),
        (260, ("missed", None, 249), "no other run is known"),
    ],
)
def test_a_step_is_now_waits_or_was_missed(day: int, expected: tuple[str, int, int], why: str) -> None:
    """By where the day lies to the runs."""
    assert told(settled(day)) == expected, why


def test_as_near_to_what_was_missed_as_to_what_comes_is_missed() -> None:
    """Runs that end on 149 and begin on 201: day 175 lies 26 days from both."""
    assert told(settled(175, spans=((100, 149), (201, 249)))) == ("missed", 201, 149)
    assert told(settled(176, spans=((100, 149), (201, 249)))) == ("wait", 201, 249)


@pytest.mark.parametrize(
    ("options", "expected", "why"),
    [
        ({"ready": None}, ("wait", None, None), "its needs are not met"),
        ({"ready": 120}, ("now", 120, 149), "met within the run: from then on"),
        ({"ready": 130}, ("wait", 130, 149), "met after today"),
        ({"ready": 170}, ("wait", 200, 249), "met after the run: the next one"),
        ({"spans": ()}, ("wait", None, None), "never warm enough"),
        ({"spans": ((1, 999),)}, ("now", 1, None), "warm enough all year: no last day"),
        ({"spans": ((50, 999),)}, ("now", 50, None), "as far as is known it stays warm"),
        (
            {"firm": (110, 145), "spans": ((100, 128),)},
            ("now", 100, 128),
            "little in hand but well above the limits",
        ),
        ({"spans": ((100, 128),)}, ("wait", 100, 128), "the same without"),
        ({"unknown": "count its tips"}, ("unknown", None, None), "something has to be told first"),
        ({"blocked": "in spike"}, ("wait", None, None), "never now"),
        ({"urgent": Reason("rot", "rot")}, ("now", 1, None), "whatever the season"),
    ],
)
def test_what_else_decides_on_day_125(
    options: dict[str, Any], expected: tuple[str, int | None, int | None], why: str
) -> None:
    """Needs, warmth all year or never, firm warmth, what is unknown, blocked or urgent."""
    assert told(settled(125, **options)) == expected, why


@pytest.mark.parametrize(
    ("options", "status"),
    [({}, "missed"), ({"then": False}, "wait"), ({"entered": 149}, "missed"), ({"entered": 150}, "wait")],
)
def test_only_what_could_have_been_done_was_missed(options: dict[str, Any], status: str) -> None:
    """Not before the plant came, nor while its needs were not met."""
    assert settled(155, **options).status == status
