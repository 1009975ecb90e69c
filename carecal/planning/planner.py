"""The whole plan: every plant planned by itself, then gathered into rhythms, tasks, series, rounds, gates and steps."""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

from carecal.horticulture.rounding import significant
from carecal.plan.model import (
    Fact,
    Gate,
    Moment,
    Plan,
    PlantView,
    Rhythm,
    Round,
    Series,
    Step,
    Task,
    WillNotKeep,
)
from carecal.planning.forecasts.gates import with_forecasts
from carecal.planning.plan_context import PlanContext, horizon_of
from carecal.planning.plant_planner import PlantPlanner
from carecal.planning.rhythm.reasons import change_of, change_text, reasons_of
from carecal.planning.rounds.gathering import rounds_of
from carecal.planning.rounds.one_can import one_strength
from carecal.planning.series import series_of
from carecal.planning.sick.flowers import close_unanswered
from carecal.planning.sick.pests import lay_watches
from carecal.planning.steps.overview import steps_of
from carecal.planning.steps.tasks import step_tasks
from carecal.planning.tasks import ahead, as_the_can, asked_of, given_on, past_tasks
from carecal.planning.views import facts_of, view_of

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Mapping

    from carecal.catalog.tables import Catalog
    from carecal.collection.timeline import Timeline
    from carecal.plan.model import Grouping
    from carecal.planning.rhythm.beats import Beats
    from carecal.planning.rounds.one_can import Asked

__all__ = ["PAST_DAYS", "WETTING_CARES", "Piece", "Planner"]

PAST_DAYS = 60  # design §3 rule 13
MOST_KEPT = 64  # our choice, because what is worked out for so many plants takes few megabytes
WETTING_CARES = frozenset({"watering", "refilling", "feeding", "flushing"})


class Planner:
    """Plans a timeline; one plant planner a plant, kept so that both groupings share them.

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
        self.context = PlanContext(timeline.facts, catalog, timeline.as_of, self.until, first)
        for line in timeline.plants.values():
            close_unanswered(line, self.context)
            lay_watches(line, self.context)
        self.plant_planners = {
            number: PlantPlanner(line, self.context) for number, line in sorted(timeline.plants.items())
        }
        self._ids = {number: line.id for number, line in timeline.plants.items()}
        self._progress = progress or (lambda _: None)

    def move_to(self, day: date) -> None:
        """Go on to a later day, up to which nothing was entered; plans made from then on are of that day."""
        self.timeline.as_of, self.context.as_of = day, day.toordinal()
        for plant_planner in self.plant_planners.values():
            if close_unanswered(plant_planner.line, self.context):
                plant_planner.forget()
            else:
                plant_planner.move_to(self.context.as_of)

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
        wanted = {n: d for n, d in self.plant_planners.items() if plants is None or n in plants}
        pieces = []
        for done, plant_planner in enumerate(wanted.values(), 1):
            pieces.append(self.piece(plant_planner, grouping, start, with_gates=with_gates))
            if len(wanted) > MOST_KEPT:
                plant_planner.forget()
            self._progress(done)
        return self.whole(pieces, grouping, start, with_gates=with_gates)

    def whole(
        self, pieces: Iterable[Piece], grouping: Grouping, start: date | None = None, *, with_gates: bool = True,
        newest: str = "", known: Mapping[date, Round] | None = None,
    ) -> Plan:  # fmt: skip
        """Return a plan put together from what its plants give to it.

        Args:
            pieces: What each plant gives, made by this planner or by one of the same day, by number.
            grouping: The grouping they are of.
            start: First day of the past that tasks tell; None: as_of.
            with_gates: Whether gates and extra wettings are worked out.
            newest: Written instant of the newest entry of plants that this planner has not read.
            known: Rounds of days on which nothing differs from when these were gathered.
        """
        facts, as_of, given = self.timeline.facts, self.timeline.as_of, tuple(pieces)
        views = {view.number: view for piece in given for view in piece.views}
        tasks = [task for piece in given for task in piece.tasks]
        other = _not_as_asked(given, grouping)
        poured = (
            {task.id: as_the_can(task, other[task.id]) for task in tasks if task.id in other} if other else {}
        )
        today = [t for t in tasks if t.on >= as_of and t.status in {"planned", "open", "overdue"}]
        return Plan(
            self.collection_id, facts.name, facts.timezone, as_of, start or as_of, self.until, grouping,
            tuple(views.values()), tuple(_moments([m for piece in given for m in piece.moments])),
            tuple(r for piece in given for r in piece.rhythms),
            tuple(sorted((s for p in given for s in p.series), key=lambda s: (s.first, s.plant, s.care, s.key))),
            tuple(sorted(tasks, key=lambda t: (t.on, t.plant, t.care, t.id))),
            tuple(rounds_of(today, views, self.context, known, poured)),
            tuple(g for piece in given for g in piece.gates),
            tuple(step for piece in given for step in piece.steps),
            tuple(sorted((f for piece in given for f in piece.facts), key=lambda f: (f.on, f.entry))),
            tuple(self._will_not_keep(today, views)), self._extra_percent(given) if with_gates else None,
            max(facts.newest_written, newest),
            tuple(sorted((t for p in given for t in p.step_tasks), key=lambda t: (t.on, t.plant, t.id))),
        )  # fmt: skip

    def piece(
        self, plant_planner: PlantPlanner, grouping: Grouping, start: date | None = None, *, with_gates: bool = True
    ) -> Piece:  # fmt: skip
        """Return what one plant gives to a plan.

        Args:
            plant_planner: The plant.
            grouping: 'rounds' or 'each'.
            start: First day of the past that tasks tell; None: as_of.
            with_gates: Whether gates and extra wettings are worked out.
        """
        into, line = Piece(), plant_planner.line
        told = facts_of(line, plant_planner, self.context.as_of - PAST_DAYS)
        into.facts.extend(told)
        if start is not None and start < self.timeline.as_of:
            into.tasks.extend(past_tasks(plant_planner, start.toordinal()))
        if line.retired is not None:
            if start is not None or told:
                into.views.append(self.view(plant_planner))
            return into
        into.views.append(self.view(plant_planner))
        rhythms = self._rhythms(plant_planner)
        tasks = [t for t in ahead(plant_planner, grouping) if t.on <= self.until]
        into.given.extend(given_on(plant_planner, self.context.as_of) if grouping == "rounds" else ())
        into.rhythms.extend(rhythms)
        into.tasks.extend(tasks)
        if grouping == "each":
            into.series.extend(series_of(tasks, rhythms, line.newest_written))
        steps = steps_of(plant_planner, self.timeline.plants)
        into.step_tasks.extend(t for t in step_tasks(plant_planner, steps) if t.on <= self.until)
        into.steps.extend(steps)
        if with_gates:
            into.gates.extend(with_forecasts(plant_planner, plant_planner.gate_report()))
            if self.context.weekdays(self.context.as_of):
                into.wettings["rounds"] += plant_planner.wettings_ahead("rounds")
                into.wettings["each"] += plant_planner.wettings_ahead("each")
        into.moments.extend(self._changes(plant_planner))
        return into

    def view(self, plant_planner: PlantPlanner) -> PlantView:
        """Return a plant as it is on the plan's day."""
        return view_of(plant_planner, self._ids)

    def _rhythms(self, plant_planner: PlantPlanner) -> list[Rhythm]:
        found = self._of_beats(plant_planner, plant_planner.beats, "")
        for aid, given in plant_planner.line.latest.aids:
            if self.catalog.aids[aid].care_days is not None:
                found.extend(self._of_beats(plant_planner, plant_planner.aid_beats(aid, given), aid))
        return found

    def _of_beats(self, plant_planner: PlantPlanner, beats: Beats, aid: str) -> list[Rhythm]:
        found = []
        for former, beat in zip([None, *beats.all], beats.all, strict=False):
            if beat.until < self.context.as_of:
                continue
            because = change_of(beat, former, self.context, plant_planner.line)
            found.append(
                Rhythm(
                    plant_planner.line.number,
                    beat.terms.care,
                    date.fromordinal(beat.start),
                    date.fromordinal(beat.until),
                    beat.days,
                    beat.raw_days,
                    reasons_of(beat, former, self.context, because),
                    beat.situation.state.potting,
                    aid,
                    because,
                )
            )
        return found

    def _changes(self, plant_planner: PlantPlanner) -> list[tuple[str, int, int, str]]:
        """Return place, day, plant and text of each change of rhythm that the year brings."""
        beats = plant_planner.beats.all
        return [
            (
                b.terms.place,
                b.start,
                plant_planner.line.number,
                change_text(b, a, self.context, plant_planner.line),
            )
            for a, b in pairwise(beats)
            if b.cause == "half-month" and b.start >= self.context.as_of
        ]

    def _will_not_keep(self, tasks: list[Task], views: Mapping[int, PlantView]) -> list[WillNotKeep]:
        """Return the tasks that no day at home can take; a look waits until then, but for a pest or rot."""
        found = []
        for task in tasks:
            waits = task.care == "inspection" and "pest-watch" not in views[task.plant].states
            if not waits and self.context.is_away(task.on.toordinal()) and task.status == "planned":
                remedy = (
                    "a sitter, or water it just before you go" if task.care in WETTING_CARES else "a sitter"
                )
                found.append(WillNotKeep(task.id, task.plant, task.due, task.latest, remedy))
        return found

    def _extra_percent(self, pieces: Iterable[Piece]) -> float | None:
        if not self.context.weekdays(self.context.as_of):
            return None
        rounds, each = (sum(piece.wettings[grouping] for piece in pieces) for grouping in ("rounds", "each"))
        return significant(100 * (rounds / each - 1)) if each else 0.0


class Piece:
    """What one plant gives to a plan; whoever keeps it changes nothing in it."""

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
        self.given: list[Asked] = []


def _not_as_asked(pieces: Iterable[Piece], grouping: Grouping) -> dict[str, float | None]:
    """Return the wettings of rounds that get another strength than they ask for, or plain water (models R4)."""
    if grouping != "rounds":
        return {}
    tasks = (
        task for piece in pieces for task in piece.tasks if task.status in {"planned", "open", "overdue"}
    )
    asked = [each for each in map(asked_of, tasks) if each is not None]
    return one_strength([*asked, *(each for piece in pieces for each in piece.given)])


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
