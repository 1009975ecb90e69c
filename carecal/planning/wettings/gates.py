"""What holds feeding back: each gate as the days on which it is open (feeding_gates.toml, models W4)."""

from __future__ import annotations

from datetime import date
from math import ceil
from typing import TYPE_CHECKING, NamedTuple

from carecal.plan.model import Gate, Reason
from carecal.planning.pace.questions import felt_last
from carecal.planning.pauses import pause_spans
from carecal.planning.places.warmth import warm_night_c
from carecal.planning.rhythm.terms import profile_of
from carecal.planning.sick.losing import losing_spans
from carecal.planning.sick.rot import shut_spans
from carecal.planning.spans import Span, covers, intersect, invert, merge, next_covered, run_end
from carecal.planning.states import is_unfed
from carecal.planning.wettings.heat import shut_by_heat
from carecal.wording.dates import day_text
from carecal.wording.numbers import counted

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from carecal.collection.plants import PlantHistory, PlantState
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.rhythm.situations import Situation

__all__ = ["FeedingGates"]

LOSING_GROUND = "losing-ground"


class _GateDays(NamedTuple):
    name: str
    spans: list[Span]
    text_open: str
    text_shut: str
    value: float | None = None
    unit: str | None = None


class FeedingGates:
    """The feeding gates of one plant over all its days.

    Args:
        line: The plant.
        context: Climate, catalog and days of the plan.
        stretches: Its situations.
    """

    def __init__(self, line: PlantHistory, context: PlanContext, stretches: Sequence[Situation]) -> None:
        self._line, self._scene, self._stretches = line, context, list(stretches)
        self._rows = context.catalog.feeding_gates
        self._first, self._last = line.entered, context.last_day
        self.paused = pause_spans(context.facts, line, "feeding", self._first, self._last)
        self._all = [
            self._stage(),
            self._temperature(),
            self._heat(),
            self._after_potting(),
            self._rest(),
            self._bloom(),
            self._quarantine(),
            self._shut_on(
                "rot", self._rotten_days(), "no rot was found lately", "rot was found: no feed for four weeks"
            ),
            self._shut_on(
                LOSING_GROUND,
                losing_spans(line, self._first, self._last, context.catalog),
                "leaves neither soften nor go",
                "leaves soft or lost: feed is no remedy",
            ),
            self._shut_on("pause", self.paused, "feeding is not paused", "feeding is paused"),
            self._shut_on(
                "parched",
                self._parched_days(),
                "plain water went in after it was felt parched"
                if felt_last(line) == "parched"
                else "the medium was not felt parched",
                "felt parched: plain water first",
            ),
        ]
        self._held_open = {gate.name: self._overrides(gate.name) for gate in self._all}
        spans = [(self._first, self._last)]
        for gate in self._all:
            spans = intersect(spans, self._spans(gate))
        self.open_spans = spans

    def is_open(self, day: int) -> bool:
        """Return whether all gates are open on a day."""
        return covers(self.open_spans, day)

    def is_unfed(self, day: int) -> bool:
        """Return whether no feed is held out to the plant: see states.is_unfed, and while it loses ground."""
        state = self._line.state_at(day)
        return is_unfed(state, day, self._scene.catalog) or LOSING_GROUND in self.shut_on(day)

    def shut_on(self, day: int) -> list[str]:
        """Return the names of the gates that are shut on a day."""
        return [gate.name for gate in self._all if not covers(self._spans(gate), day)]

    def report(self, as_of: int, salts: Sequence[Span] = ()) -> list[Gate]:
        """Return every gate as it stands on a day, with when it opens and until when it stays open.

        Args:
            as_of: The day.
            salts: Days from it on which the salts of the pot shut the gate; empty where they are not reckoned.
        """
        limit = f"{self._rows['salts'].ec_ms_cm:g} mS/cm"
        by_salts = self._shut_on(
            "salts", list(salts), f"salts are below {limit}", f"salts have reached {limit}: flush first"
        )
        found = []
        for gate in [*self._all, by_salts]:
            spans = self._spans(gate)
            is_open = covers(spans, as_of)
            opens = as_of if is_open else next_covered(spans, as_of)
            last = run_end(spans, opens) if opens is not None else None
            held = covers(self._held_open.get(gate.name, ()), as_of)
            text = gate.text_open if is_open else gate.text_shut
            text = "held open by hand" if held and not covers(gate.spans, as_of) else text
            opening = date.fromordinal(opens) if opens is not None and not is_open else None
            last_safe = date.fromordinal(last) if last is not None and last < self._last else None
            because = (Reason(gate.name, text, gate.value, gate.unit),)
            found.append(
                Gate(self._line.number, "feeding", gate.name, is_open, opening, last_safe, because, held)
            )
        return found

    def _rotten_days(self) -> list[Span]:
        """Return the days after a find of rot on which nothing is fed."""
        states = (state for state in self._line.states if state.pests)
        return merge(span for state in states for span in shut_spans(state, self._scene.catalog))

    def _parched_days(self) -> list[Span]:
        """Return the days on which the medium was felt parched: it is wetted with plain water first."""
        return merge((e.day, e.day) for e in self._line.events if e.felt == "parched" and e.aid is None)

    def _spans(self, gate: _GateDays) -> list[Span]:
        held = self._held_open.get(gate.name)
        return merge([*gate.spans, *held]) if held else gate.spans

    def _overrides(self, name: str) -> list[Span]:
        row = self._rows.get(name)
        if row is None or not row.overridable:
            return []
        return self._where(lambda state, _: name in state.gates_open)

    def _of(
        self,
        name: str,
        spans: list[Span],
        opened: str,
        shut: str,
        value: float | None = None,
        unit: str | None = None,
    ) -> _GateDays:
        return _GateDays(name, spans, opened, shut, value, unit)

    def _shut_on(self, name: str, spans: list[Span], opened: str, shut: str) -> _GateDays:
        return self._of(name, invert(spans, self._first, self._last), opened, shut)

    def _where(self, holds: Callable[[PlantState, Situation], bool]) -> list[Span]:
        """Return the days of all stretches for which something holds."""
        return merge((s.start, s.until) for s in self._stretches if holds(s.state, s))

    def _stage(self) -> _GateDays:
        row = self._rows["stage"]

        def fed(state: PlantState, _: Situation) -> bool:
            if state.is_wrapped or state.mother is not None:
                return False
            if state.stage == "new-tips":
                return (state.longest_mm or 0) >= row.longest_mm and (state.roots or 0) >= row.roots
            return state.stage in {"rooting-in", "established"}

        now = self._line.state_at(self._scene.as_of)
        shut = f"no feed before {counted(row.roots, 'root')}, the longest of {row.longest_mm:g} mm"
        if now.is_wrapped:
            shut = "wrapped: nothing is wetted, so nothing is fed"
        elif now.mother is not None:
            shut = "on its mother: it is fed through her"
        return self._of(
            "stage",
            self._where(fed),
            "roots are long enough to feed",
            shut,
            row.longest_mm,
            "mm",
        )

    def _temperature(self) -> _GateDays:
        opens, found, band = 0.0, [], self._rows["medium-temperature"].band_c
        for stretch in self._stretches:
            state = stretch.state
            profile = profile_of(state, self._scene.catalog)
            opens = float(ceil(warm_night_c(profile, state, self._scene, self._line.number) - 1e-9))
            known = self._scene.has_climate(state.place or "", stretch.start)
            if not known or state.container not in self._scene.catalog.containers:
                found.append((stretch.start, stretch.until))
                continue
            warm = self._scene.warm_spans(state.place or "", state.container or "", opens, opens - band)
            found.extend(intersect([(stretch.start, stretch.until)], warm))
        return self._of(
            "medium-temperature",
            merge(found),
            f"the medium is warm enough: {opens:g} °C and more",
            f"the medium is too cold: under {opens:g} °C in the coming 14 days",
            opens,
            "°C",
        )

    def _heat(self) -> _GateDays:
        opens, found, row = 0.0, [], self._rows["heat"]
        for stretch in self._stretches:
            opens = profile_of(stretch.state, self._scene.catalog).day_max_c - row.margin_c
            mild = self._scene.mild_spans(stretch.state.place or "", opens, opens + row.band_c)
            known = self._scene.has_climate(stretch.state.place or "", stretch.start)
            days = [(stretch.start, stretch.until)]
            hot = shut_by_heat(stretch.state, self._scene)
            days = intersect(days, invert(hot, stretch.start, stretch.until)) if hot else days
            found.extend(intersect(days, mild) if known else days)
        opened = f"days stay under {opens + row.band_c:g} °C"
        return self._of("heat", merge(found), opened, f"days above {opens:g} °C: plain water", opens, "°C")

    def _after_potting(self) -> _GateDays:
        shut, row = [], self._rows["after-potting"]
        for stretch in self._stretches:
            state = stretch.state
            if state.potted is not None:
                shut.append(
                    (state.potted, state.potted + (row.days_long if state.waits_long else row.days) - 1)
                )
        days = row.days_long if self._line.latest.waits_long else row.days
        potted = self._line.latest.potted
        when = f" on {day_text(date.fromordinal(potted))}" if potted is not None else ""
        return self._of(
            "after-potting",
            invert(merge(shut), self._first, self._last),
            "roots have had their rest after potting",
            f"no feed for {days} days after potting{when}",
            float(days),
            "d",
        )

    def _rest(self) -> _GateDays:
        def awake(state: PlantState, stretch: Situation) -> bool:
            return not stretch.is_resting or profile_of(state, self._scene.catalog).feed_days_slow > 0

        return self._of("rest", self._where(awake), "not resting", "the plant rests: no feed")

    def _bloom(self) -> _GateDays:
        def fed(state: PlantState, _: Situation) -> bool:
            on = self._scene.side("feeding-in-bloom", state, self._line.number) == "b"
            return state.flowering != "in-bloom" or on

        return self._of(
            "bloom", self._where(fed), "not in bloom", "in bloom: no feed until growth starts again"
        )

    def _quarantine(self) -> _GateDays:
        days = self._rows["quarantine"].days
        shut = [
            (max(s.start, s.state.quarantine_since), min(s.until, s.state.quarantine_since + days - 1))
            for s in self._stretches
            if s.state.quarantine_since is not None
        ]
        return self._of(
            "quarantine",
            invert(merge(shut), self._first, self._last),
            f"no quarantine in its first {days} days",
            f"the first {days} days of quarantine",
            float(days),
            "d",
        )
