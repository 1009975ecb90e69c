"""Plan and calendar of many plants against the icalendar library merely writing the same components.

Run by hand: python -m tests.benchmarks.calendars [PLANTS]
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import icalendar

from carecal.app import Collection
from carecal.app.publish.calendars import options_of, render_calendar
from carecal.plan.model import Plan
from tests.benchmarks.many import AS_OF, make_collection, moment
from tests.benchmarks.measure import Result, number_argument, show, timed

PLANTS = 10_000
AIM = 1.0


def measure(plants: int = PLANTS) -> list[Result]:
    """Return plan and calendar of a collection, first published and again, against mere serialising."""
    with tempfile.TemporaryDirectory() as folder:
        make_collection(Path(folder) / "home", plants).close()
        with Collection.open(Path(folder) / "home") as collection:
            assert collection.catalog.media  # kept from here on, as on the second command of any collection
            plans: list[Plan] = []
            planned = timed(lambda: plans.append(collection.plan(AS_OF, grouping="each")))
            plan = plans.pop()
            counted = {"plants": len(plan.plants), "tasks": len(plan.tasks), "series": len(plan.series)}
            del plan
            bodies: list[bytes] = []
            options = options_of(collection, moment(), grouping="each")
            whole, second = (
                timed(lambda: bodies.append(render_calendar(collection, options, moment()).body))
                for _ in range(2)
            )
    body, again = bodies
    parsed = icalendar.Calendar.from_ical(body)
    written = timed(parsed.to_ical)
    counted |= {"components": len(parsed.subcomponents), "bytes": len(body), "same": int(again == body)}
    counts = tuple(counted.items())
    return [
        Result("plan alone, `each`", "icalendar to_ical", planned, written, None, counts),
        Result("plan and calendar, first time", "icalendar to_ical", whole, written, AIM, counts),
        Result("plan and calendar, again", "icalendar to_ical", second, written, None, counts),
    ]


def main() -> None:
    """Measure and print."""
    show(measure(number_argument(PLANTS)))


if __name__ == "__main__":
    main()
