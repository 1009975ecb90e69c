"""The whole plan: every plant planned by itself, then gathered into rhythms, tasks, series, rounds, gates and steps."""

from __future__ import annotations

from datetime import date
from itertools import chain, pairwise
from typing import TYPE_CHECKING, TypeVar

from carecal.horticulture.rounding import significant
from carecal.plan.model import Plan, PlantView, Rhythm, Task, WillNotKeep
from carecal.planning.assembly import Assembly
from carecal.planning.forecasts.gates import with_forecasts
from carecal.planning.piece import Piece
from carecal.planning.plan_context import PlanContext, horizon_of
from carecal.planning.plant_planner import PlantPlanner
from carecal.planning.rhythm.reasons import change_of, change_text, reasons_of
from carecal.planning.series import series_of
from carecal.planning.sick.flowers import close_unanswered
from carecal.planning.sick.pests import lay_watches
from carecal.planning.steps.overview import steps_of
from carecal.planning.steps.tasks import step_tasks
from carecal.planning.tasks import ahead, given_on, past_tasks
from carecal.planning.views import facts_of, view_of

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator

    from carecal.catalog.tables import Catalog
    from carecal.collection.timeline import Timeline
    from carecal.plan.model import Grouping
    from carecal.planning.rhythm.beats import Beats

__all__ = ["PAST_DAYS", "WETTING_CARES", "Planner"]

PAST_DAYS = 60  # design §3 rule 13
MOST_KEPT = 64  # our choice, because what is worked out for so many plants takes few megabytes
T = TypeVar("T")
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
        pieces = {}
        for done, (number, plant_planner) in enumerate(wanted.items(), 1):
            pieces[number] = self.piece(plant_planner, grouping, start, with_gates=with_gates)
            if len(wanted) > MOST_KEPT:
                plant_planner.forget()
            self._progress(done)
        assembly = Assembly(grouping, self.timeline.as_of)
        assembly.take(pieces)
        return self.whole(assembly, start, with_gates=with_gates)

    def whole(
        self, assembly: Assembly, start: date | None = None, *, with_gates: bool = True, newest: str = ""
    ) -> Plan:
        """Return a plan put together from what its plants give to it.

        Args:
            assembly: What the plants give, made by this planner or by one of the same day.
            start: First day of the past that tasks tell; None: as_of.
            with_gates: Whether gates and extra wettings are worked out.
            newest: Written instant of the newest entry of plants that this planner has not read.
        """
        facts, as_of, given = self.timeline.facts, self.timeline.as_of, assembly.pieces()
        views = {view.number: view for piece in given for view in piece.views}
        return Plan(
            self.collection_id, facts.name, facts.timezone, as_of, start or as_of, self.until, assembly.grouping,
            tuple(views.values()), tuple(assembly.moments()), _all(piece.rhythms for piece in given),
            tuple(sorted((s for p in given for s in p.series), key=lambda s: (s.first, s.plant, s.care, s.key))),
            assembly.tasks(), assembly.rounds(views, self.context), _all(piece.gates for piece in given),
            _all(piece.steps for piece in given), assembly.facts(), _all(piece.will_not_keep for piece in given),
            self._extra_percent(given) if with_gates else None, max(facts.newest_written, newest),
            tuple(sorted((t for p in given for t in p.step_tasks), key=lambda t: (t.on, t.plant, t.id))),
            assembly.warned(),
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
        view = self.view(plant_planner)
        into.views.append(view)
        rhythms = self._rhythms(plant_planner)
        tasks = [t for t in ahead(plant_planner, grouping) if t.on <= self.until]
        into.given.extend(given_on(plant_planner, self.context.as_of) if grouping == "rounds" else ())
        into.rhythms.extend(rhythms)
        into.tasks.extend(tasks)
        into.will_not_keep.extend(self._will_not_keep(into.tasks, view))
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

    def _will_not_keep(self, tasks: Iterable[Task], view: PlantView) -> Iterator[WillNotKeep]:
        """Yield the tasks that no day at home can take; a look waits until then, but for a pest or rot."""
        for task in tasks:
            if (
                task.on < self.timeline.as_of
                or task.status != "planned"
                or not self.context.is_away(task.on.toordinal())
            ):
                continue
            if task.care != "inspection" or "pest-watch" in view.states:
                remedy = (
                    "ask a sitter, or water it just before you go"
                    if task.care in WETTING_CARES
                    else "ask a sitter"
                )
                yield WillNotKeep(task.id, task.plant, task.due, task.latest, remedy)

    def _extra_percent(self, pieces: Iterable[Piece]) -> float | None:
        if not self.context.weekdays(self.context.as_of):
            return None
        rounds, each = (sum(piece.wettings[grouping] for piece in pieces) for grouping in ("rounds", "each"))
        return significant(100 * (rounds / each - 1)) if each else 0.0


def _all(rows: Iterable[Iterable[T]]) -> tuple[T, ...]:
    """Return what all plants give in one row, by number."""
    return tuple(chain.from_iterable(rows))
