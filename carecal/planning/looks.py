"""Looking a plant over: when the next look is due, what it is joined to and what became of it (models I9)."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, NamedTuple

from carecal.planning.look_days import WEEK, Due, care_day_of, day_there, wetting_near
from carecal.planning.pauses import pause_spans
from carecal.planning.places.weather import asks_after_heat, heat_look_days, spells_of
from carecal.planning.rhythm.situations import situation_at
from carecal.planning.sick.beside import beside_days
from carecal.planning.sick.counting import stage_look_days
from carecal.planning.sick.pests import is_watched, pest_look_days
from carecal.planning.sick.rot import ROT, look_days, rots_of
from carecal.planning.sick.treatments import repeats_of
from carecal.planning.sick.wraps import wrap_look_days
from carecal.planning.spans import covers, merge, run_end
from carecal.planning.states import is_settling, states_of
from carecal.planning.steps.bridging import bridge_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from carecal.collection.plants import PlantHistory
    from carecal.plan.model import Grouping, Status
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.situations import Situation
    from carecal.planning.wettings.slots import Slot

__all__ = ["Look", "Looks", "inspection_days"]

ROOTLESS = "rootless"  # looked over oftener at first
LENT = "lent"  # the gap of a plant that somebody else has
UNKNOWN_DAYS = 4  # models I9: what is missing is asked for every 4 days
ONE_VISIT_DAYS = 3  # our choice, because who wipes a plant in three days looks at it then and not twice [d]
LOOKS = frozenset({"look", "left", "potted"})  # who pots a plant has seen all of it


class Look(NamedTuple):
    """One look at a plant, numbered from its entry and never reset."""

    id: str
    number: int
    due: int
    earliest: int
    latest: int
    day: int
    deadline: int
    joined_to: str | None = None
    status: Status = "planned"
    answered: int | None = None
    entry: int | None = None


def inspection_days(
    stretch: Situation, day: int, context: PlanContext, plant: int = 0, entered: int | None = None
) -> int:
    """Return the days from one look to the next: the smallest of stage, states, flowering and pest-watch.

    In a wrap its own days stand for those of the stage. `plant` is its number, for the sides it takes alone; `entered`
    the day from which it is known, for a wrap of which nobody said since when.
    """
    day_c = context.day_temperature(stretch.state.place, day) if stretch.state.pests else 0.0
    names = tuple(states_of(stretch.state, day, context.catalog, resting=stretch.is_resting))
    side = context.side("wrap-look", stretch.state, plant) if stretch.state.is_wrapped else ""
    wrapped = wrap_look_days(stretch.state, day, context.catalog, side, entered)
    usual = _inspection_days(stretch, names, context, (day, day_c), wrapped)
    by_rot = (look_days(rot, day) for rot in rots_of(stretch.state, context.catalog))
    bridged = bridge_of(stretch.state, day, plant, context)
    usual = min(usual, int(bridged.look_days or usual)) if bridged is not None else usual
    hot = heat_look_days(stretch.state, day, context)
    return min([usual, *(days for days in by_rot if days is not None), *([hot] if hot is not None else [])])


def _inspection_days(
    stretch: Situation, names: Sequence[str], context: PlanContext, at: tuple[int, float], wrapped: int | None
) -> int:
    (day, day_c), state, tables = at, stretch.state, context.catalog
    found = [float(UNKNOWN_DAYS)] if stretch.gap == "unknown" else []
    if wrapped is not None:
        found.append(wrapped)
    elif state.stage is not None:
        found.append(stage_look_days(state, day, tables) or UNKNOWN_DAYS)
    others = names if wrapped is None else [name for name in names if name not in {"wrapped", "settling"}]
    for name in [*others, state.flowering]:
        days = tables.states[name].inspection_days if name in tables.states else 0
        if isinstance(days, int | float) and days > 0:
            found.append(days)
    for watch in state.pests:
        if watch.pest == ROT and watch.where in tables.rot_courses:
            continue
        every = pest_look_days(watch, day_c, tables)
        if every is not None and is_watched(watch, day, tables):
            found.append(every)
    if stretch.asks_rest:
        found.append(float(tables.rests["any"].ask_days))
    return int(min(found, default=float(UNKNOWN_DAYS)))


class Looks:
    """The looks of one plant from its entry on; `wettings` are the slots of the one chain of history.

    `asks` tells whether a look on a day asks for an answer of its own, as a count; a tick of water gives none.
    """

    def __init__(
        self,
        line: PlantHistory,
        context: PlanContext,
        stretches: Sequence[Situation],
        wettings: Sequence[Slot],
        asks: Callable[[int], bool] = lambda _: False,
    ) -> None:
        self.line, self.context, self._asks = line, context, asks
        self._stretches = list(stretches)
        paused = pause_spans(context.facts, line, "inspection", line.entered, context.last_day)
        lent = [(stretch.start, stretch.until) for stretch in stretches if stretch.gap == LENT]
        self._paused = merge([*paused, *lent]) if lent else paused
        self._wettings = sorted(wettings, key=lambda slot: slot.earliest)
        self.history: list[Look] = []
        self.pending: Look | None = None
        self._last = line.entered  # the look before the pending one
        self._beside = beside_days(line, context) if line.besides else {}  # days, and how far each may slip
        self._kept_days: dict[tuple[int, bool, bool], int] = {}
        self._seen: list[tuple[int, int]] = []  # day and entry of all that was seen
        self._index = 0  # of the first seen after it

    def run(self, as_of: int) -> None:
        """Follow the looks up to a day."""
        events = [e for e in self.line.events if e.kind in LOOKS and e.day <= as_of]
        self._seen = sorted((e.day, e.entry) for e in events)
        first_asks = bool(self._stretches) and self._stretches[0].gap == "unknown"
        self._follow(1, self.line.entered if first_asks else self.due_after(self._last), as_of)

    def move_to(self, day: int, wettings: Sequence[Slot]) -> None:
        """Go on to a later day, up to which nothing was entered.

        Args:
            day: The day.
            wettings: The slots of the chain of history, brought to that day.
        """
        self._wettings = sorted(wettings, key=lambda slot: slot.earliest)
        if self.pending is not None:
            self._follow(self.pending.number, self.pending.due, day)

    def _follow(self, number: int, due: int | None, as_of: int) -> None:
        """Follow the looks from one on, which is due on a day."""
        last, index, seen = self._last, self._index, self._seen
        self.pending = None
        while due is not None:
            look = self._look(number, due, last, self._wettings)
            while index < len(seen) and seen[index][0] <= last and (number > 1 or seen[index][0] < last):
                index += 1
            settled = self._settle(look, seen[index] if index < len(seen) else None, as_of)
            if settled.status in {"planned", "open", "overdue"}:
                self.pending, self._last, self._index = settled, last, index
                return
            self.history.append(settled)
            last = settled.answered if settled.answered is not None else settled.day
            number, due = number + 1, self.due_after(last)

    def ahead(self, grouping: Grouping, wettings: Sequence[Slot], until: int) -> Iterator[Look]:
        """Yield the pending look and those after it, joined to the wettings of a grouping."""
        look = self.pending
        if look is None:
            return
        ordered = sorted(wettings, key=lambda slot: slot.earliest)
        if (
            look.status == "planned" and look.joined_to is None
        ):  # what comes after the pending wetting may take it
            look = self._look(look.number, look.due, self._last, ordered, grouping)
        yield look
        is_open = look.status == "open"
        while look.status != "overdue":
            last = look.day if look.joined_to or grouping == "rounds" else look.due
            if look.joined_to and grouping == "each":
                last = next(
                    (s.due if s.status == "planned" else s.day for s in ordered if s.id == look.joined_to),
                    last,
                )
            if look.status == "open" and look.deadline > look.latest:
                last = max(last, look.deadline)  # it stands open on the day of return
            due = self.due_after(last, look.due)
            if due is None or due > until:
                return
            look = self._look(look.number + 1, due, last, ordered, grouping)
            if not (is_open and look.day <= self.context.as_of):  # one look answers all that is asked today
                yield look

    def due_after(self, last: int, asked: int = 0) -> int | None:
        """Return the first day that is as far from the last look as its interval on that day asks.

        Args:
            last: Day of the last look (ordinal).
            asked: Its due day, where it is yet to come: what is done again by then is done at it.
        """
        if not self._stretches:
            return None
        end = self._stretches[-1].until
        day = last + 1
        while day <= end:
            stretch = situation_at(self._stretches, day)
            wanted = last + self._days(stretch, day)
            if wanted <= day:
                break
            day = wanted if wanted <= stretch.until else stretch.until + 1
        again = min(self._repeats_after(max(last, asked)), default=day)
        day = again if again - day <= ONE_VISIT_DAYS else day
        day = min([day, *self._after_heat(last, day), *self._beside_after(last)])
        if covers(self._paused, day):
            day = (run_end(self._paused, day) or day) + 1
        return day if day <= end else None

    def _after_heat(self, last: int, until: int) -> Iterator[int]:
        """Yield the first day after heat on which pests are looked for, where the last look was not one of them."""
        state = situation_at(self._stretches, last + 1).state
        if spells_of(state, self.context) and not asks_after_heat(state, last, self.context):
            days = range(last + 1, until)
            yield from islice((on for on in days if asks_after_heat(state, on, self.context)), 1)

    def _repeats_after(self, last: int) -> Iterator[int]:
        """Yield the first days after the last look on which something is done again against a pest."""
        stretch = situation_at(self._stretches, last + 1)
        if stretch.state.treatments:
            place = stretch.state.place
            for repeat in repeats_of(
                stretch.state,
                last + 1,
                lambda day: self.context.day_temperature(place, day),
                self.context.catalog,
            ):
                yield repeat.next_after(last)

    def _beside_after(self, last: int) -> Iterator[int]:
        """Yield the days after the last look on which it is looked over for what was found beside it."""
        yield from (day for day in self._beside if day > last)

    def _days(self, stretch: Situation, day: int) -> int:
        """Return the days between looks on a day; within a stretch only the air and settling in may change them."""
        is_hot = bool(spells_of(stretch.state, self.context))
        changes = is_hot or stretch.state.pests or stretch.state.is_wrapped or stretch.state.stage == ROOTLESS
        if changes or not stretch.start <= day <= stretch.until:
            return inspection_days(stretch, day, self.context, self.line.number, self.line.entered)
        is_bridged = bridge_of(stretch.state, day, self.line.number, self.context) is not None
        key = stretch.start, is_settling(stretch.state, day, self.context.catalog), is_bridged
        if key not in self._kept_days:
            self._kept_days[key] = inspection_days(
                stretch, day, self.context, self.line.number, self.line.entered
            )
        return self._kept_days[key]

    def _look(
        self, number: int, due: int, last: int, wettings: Sequence[Slot], grouping: Grouping = "rounds"
    ) -> Look:
        name = f"look/{self.line.number}/{number}"
        stretch = situation_at(self._stretches, due)
        days = self._days(stretch, due)
        is_watched = bool(stretch.gap) or self.context.is_on_watch(self.line.state_at(due), due)
        asked = Due.of(due, days, last, is_watched=is_watched, beside=self._beside.get(due))
        slot = wetting_near(asked, wettings, grouping)
        if slot is not None:
            day, latest = care_day_of(slot, grouping), max(slot.latest, due)
            deadline = max(slot.deadline, latest)
            return Look(name, number, due, min(slot.earliest, due), latest, day, deadline, slot.id)
        earliest = max(due - asked.slip, last + 1, self.line.entered)
        day = due if number == 1 and due == self.line.entered else day_there(asked, earliest, self.context)
        latest = due + asked.slip if is_watched else max(due + asked.slip, day)
        deadline = self.context.deadline(max(latest, day))
        return Look(name, number, due, min(earliest, due, day), latest, day, deadline)

    def _last_to_ask(self, look: Look) -> int:
        """Return until when what a look asks may be said after water was ticked: off watch it waits for a care day."""
        if self.context.is_on_watch(self.line.state_at(look.due), look.due):
            return look.latest
        stretch = situation_at(self._stretches, look.due)
        return max(look.latest, look.due + min(WEEK, self._days(stretch, look.due) // 2))

    def _settle(self, look: Look, event: tuple[int, int] | None, as_of: int) -> Look:
        """Return the look with what became of it by a day."""
        slot = next((s for s in self._wettings if s.id == look.joined_to), None)
        ticked = (slot.answered, slot.entry or 0) if slot is not None and slot.status == "done" else None
        answers = [a for a in (event, ticked) if a is not None and a[0] is not None]
        answer = min(answers, default=None)
        is_ticked = event is None and answer is not None
        until = self._last_to_ask(look) if is_ticked else look.latest
        if is_ticked and as_of <= until and self._asks(look.due):
            return look._replace(
                status="open", latest=until, deadline=max(look.deadline, until)
            )  # it may be said still
        if answer is not None and answer[0] is not None and answer[0] <= look.deadline:
            return look._replace(status="done", answered=answer[0], entry=answer[1])
        if look.deadline >= as_of:
            return look._replace(status="open" if look.day <= as_of else "planned")
        is_lent = situation_at(self._stretches, as_of).gap == LENT
        if is_lent or self.context.ticking(look.latest) == "none":
            return look._replace(status="skipped")
        state = self.line.state_at(look.latest)
        if (
            not self.context.is_on_watch(state, look.latest)
            and self.context.ticking(look.latest) != "careful"
        ):
            return look._replace(status="skipped")
        if answer is not None and answer[0] is not None:
            return look._replace(status="done", answered=answer[0], entry=answer[1])
        return look._replace(status="overdue")
