"""The whole plan: every plant's desk, gathered into rhythms, tasks, series, rounds, gates and steps."""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

from carecal.horticulture.rounding import significant
from carecal.planning.desk import Desk
from carecal.planning.gate_forecasts import with_forecasts
from carecal.planning.model import (
    Fact,
    Gate,
    Moment,
    Plan,
    PlantView,
    Rhythm,
    Series,
    Step,
    Task,
    WillNotKeep,
)
from carecal.planning.rounds import rounds_of
from carecal.planning.scene import Scene, horizon_of
from carecal.planning.series import series_of
from carecal.planning.steps import steps_of
from carecal.planning.steps_tasks import step_tasks
from carecal.planning.tasks import ahead, past_tasks
from carecal.planning.views import facts_of, view_of
from carecal.planning.words import change_text, reasons_of

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping

    from carecal.catalog.tables import Catalog
    from carecal.collection.timeline import Timeline
    from carecal.planning.model import Grouping
    from carecal.planning.rhythm import Beats

__all__ = ["PAST_DAYS", "WETTING_CARES", "Planner"]

PAST_DAYS = 60  # design §3 rule 13
MOST_KEPT = 64  # our choice, because what is worked out for so many plants takes few megabytes
WETTING_CARES = frozenset({"watering", "refilling", "feeding", "flushing"})


class Planner:
    """Plans a timeline; one desk a plant, kept so that both groupings share them.

    Args:
        timeline: The journal's fold on the plan's day.
        catalog: Profiles and tables.
        collection_id: Id of the collection.
        until: Last day planned; None: the last day of the twelfth month after as_of's month.
        progress: Called after each plant with how many are done.
        first: First day of any plant of the collection; None: of those in the timeline.
    """

    def __init__(
        self, timeline: Timeline, catalog: Catalog, collection_id: str, until: date | None = None,
        progress: Callable[[int], None] | None = None, first: date | None = None,
    ) -> None:  # fmt: skip
        self.timeline, self.catalog, self.collection_id = timeline, catalog, collection_id
        self.until = until or horizon_of(timeline.as_of)
        if first is None:
            entered = (line.entered for line in timeline.plants.values())
            first = date.fromordinal(min(entered, default=timeline.as_of.toordinal()))
        self.scene = Scene(timeline.facts, catalog, timeline.as_of, self.until, first)
        self.desks = {number: Desk(line, self.scene) for number, line in sorted(timeline.plants.items())}
        self._ids = {number: line.id for number, line in timeline.plants.items()}
        self._progress = progress or (lambda _: None)

    def move_to(self, day: date) -> None:
        """Go on to a later day, up to which nothing was entered; plans made from then on are of that day."""
        self.timeline.as_of, self.scene.as_of = day, day.toordinal()
        for desk in self.desks.values():
            desk.move_to(self.scene.as_of)

    def plan(
        self, grouping: Grouping, *, plants: Collection[int] | None = None, start: date | None = None,
        with_gates: bool = True,
    ) -> Plan:  # fmt: skip
        """Return the plan in one grouping, of some plants or of all that have not left.

        Args:
            grouping: 'rounds' or 'each'.
            plants: Plant numbers; None: all.
            start: First day of the past that tasks tell; None: as_of.
            with_gates: Whether gates and extra wettings are worked out.
        """
        facts, as_of = self.timeline.facts, self.timeline.as_of
        gathered = _Gathered()
        wanted = [d for n, d in self.desks.items() if plants is None or n in plants]
        for done, desk in enumerate(wanted, 1):
            self._gather(desk, grouping, start, gathered, with_gates=with_gates)
            if len(wanted) > MOST_KEPT:
                desk.forget()
            self._progress(done)
        views = {view.number: view for view in gathered.views}
        today = [t for t in gathered.tasks if t.on >= as_of and t.status in {"planned", "open", "overdue"}]
        return Plan(
            self.collection_id, facts.name, facts.timezone, as_of, start or as_of, self.until, grouping,
            tuple(gathered.views), tuple(_moments(gathered.moments)), tuple(gathered.rhythms),
            tuple(sorted(gathered.series, key=lambda s: (s.first, s.plant, s.care, s.key))),
            tuple(sorted(gathered.tasks, key=lambda t: (t.on, t.plant, t.care, t.id))),
            tuple(rounds_of(today, views, self.scene)), tuple(gathered.gates), tuple(gathered.steps),
            tuple(sorted(gathered.facts, key=lambda f: (f.on, f.entry))), tuple(self._will_not_keep(today)),
            self._extra_percent(gathered.wettings) if with_gates else None, facts.newest_written,
            tuple(sorted(gathered.step_tasks, key=lambda t: (t.on, t.plant, t.id))),
        )  # fmt: skip

    def _gather(
        self, desk: Desk, grouping: Grouping, start: date | None, into: _Gathered, *, with_gates: bool
    ) -> None:
        line = desk.line
        told = facts_of(line, desk, self.scene.as_of - PAST_DAYS)
        into.facts.extend(told)
        if start is not None and start < self.timeline.as_of:
            into.tasks.extend(past_tasks(desk, start.toordinal()))
        if line.retired is not None:
            if start is not None or told:
                into.views.append(self.view(desk))
            return
        into.views.append(self.view(desk))
        rhythms = self._rhythms(desk)
        tasks = [t for t in ahead(desk, grouping) if t.on <= self.until]
        into.rhythms.extend(rhythms)
        into.tasks.extend(tasks)
        if grouping == "each":
            into.series.extend(series_of(tasks, rhythms, line.newest_written))
        steps = steps_of(desk, self.timeline.plants)
        into.step_tasks.extend(t for t in step_tasks(desk, steps) if t.on <= self.until)
        into.steps.extend(steps)
        if with_gates:
            into.gates.extend(with_forecasts(desk, desk.gate_report()))
            if self.scene.weekdays(self.scene.as_of):
                into.wettings["rounds"] += desk.wettings_ahead("rounds")
                into.wettings["each"] += desk.wettings_ahead("each")
        into.moments.extend(self._changes(desk))

    def view(self, desk: Desk) -> PlantView:
        """Return a plant as it is on the plan's day."""
        return view_of(desk, self._ids)

    def _rhythms(self, desk: Desk) -> list[Rhythm]:
        found = self._of_beats(desk, desk.beats, "")
        for aid, given in desk.line.latest.aids:
            if self.catalog.aids[aid].care_days is not None:
                found.extend(self._of_beats(desk, desk.aid_beats(aid, given), aid))
        return found

    def _of_beats(self, desk: Desk, beats: Beats, aid: str) -> list[Rhythm]:
        found = []
        for former, beat in zip([None, *beats.all], beats.all, strict=False):
            if beat.until < self.scene.as_of:
                continue
            found.append(
                Rhythm(
                    desk.line.number,
                    beat.terms.care,
                    date.fromordinal(beat.start),
                    date.fromordinal(beat.until),
                    beat.days,
                    beat.raw_days,
                    reasons_of(beat, former, self.scene),
                    beat.situation.state.potting,
                    aid,
                )
            )
        return found

    def _changes(self, desk: Desk) -> list[tuple[str, int, int, str]]:
        """Return place, day, plant and text of each change of rhythm that the year brings."""
        beats = desk.beats.all
        return [
            (b.terms.place, b.start, desk.line.number, change_text(b, a, self.scene))
            for a, b in pairwise(beats)
            if b.cause == "half-month" and b.start >= self.scene.as_of
        ]

    def _will_not_keep(self, tasks: list[Task]) -> list[WillNotKeep]:
        found = []
        for task in tasks:
            if self.scene.is_away(task.on.toordinal()) and task.status == "planned":
                remedy = (
                    "a sitter, or water it just before you go" if task.care in WETTING_CARES else "a sitter"
                )
                found.append(WillNotKeep(task.id, task.plant, task.due, task.latest, remedy))
        return found

    def _extra_percent(self, wettings: Mapping[str, int]) -> float | None:
        if not self.scene.weekdays(self.scene.as_of):
            return None
        rounds, each = wettings["rounds"], wettings["each"]
        return significant(100 * (rounds / each - 1)) if each else 0.0


class _Gathered:
    def __init__(self) -> None:
        self.views: list[PlantView] = []
        self.rhythms: list[Rhythm] = []
        self.tasks: list[Task] = []
        self.series: list[Series] = []
        self.gates: list[Gate] = []
        self.steps: list[Step] = []
        self.step_tasks: list[Task] = []
        self.facts: list[Fact] = []
        self.moments: list[tuple[str, int, int, str]] = []
        self.wettings = {"rounds": 0, "each": 0}


def _moments(changes: list[tuple[str, int, int, str]]) -> list[Moment]:
    """Return one moment a place and day, with its plants and what changes there."""
    grouped: dict[tuple[int, str], list[tuple[int, str]]] = {}
    for place, day, plant, text in changes:
        grouped.setdefault((day, place), []).append((plant, text))
    return [
        Moment(
            f"{place}/{date.fromordinal(day).isoformat()}", place, date.fromordinal(day),
            tuple(sorted(plant for plant, _ in of_day)), max((text for _, text in of_day), key=len),
        )
        for (day, place), of_day in sorted(grouped.items())
    ]  # fmt: skip
