"""What all plants of a plan share: catalog, facts, days and the climate of every place."""

from __future__ import annotations

from datetime import date
from operator import attrgetter
from typing import TYPE_CHECKING

from carecal.horticulture.windows import gate_states
from carecal.planning.caution_conditions import conditions_of, limits_in
from carecal.planning.pauses import absences
from carecal.planning.places.climates import PlaceAir, monthly_of, spans_where
from carecal.planning.places.weather import cold_media
from carecal.planning.rhythm.terms import Terms, profile_of, terms_of
from carecal.planning.sick.buds import has_buds
from carecal.planning.spans import FOREVER, WEEKDAYS, Span, covers, cut, merge, run_end
from carecal.planning.states import is_on_watch
from carecal.planning.supplies import supplies_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from carecal.catalog.tables import Catalog, RestWater
    from carecal.collection.facts import CollectionFacts
    from carecal.collection.plants import PlantHistory, PlantState
    from carecal.planning.places.weather import Spell

__all__ = ["PlanContext", "horizon_of", "month_end"]

ELSEWHERE = "elsewhere"  # the kind of place of who has plants on loan
DEFAULT_WEEKDAYS = "wed,sat"
_pot = attrgetter("medium", "container", "size_cm", "place", "stage", "profile", "flowering", "reservoir")


def month_end(day: date) -> date:
    """Return the last day of a day's month."""
    following = date(day.year + day.month // 12, day.month % 12 + 1, 1)
    return date.fromordinal(following.toordinal() - 1)


def horizon_of(as_of: date) -> date:
    """Return the last day of the twelfth month after a day's month."""
    return month_end(date(as_of.year + 1, as_of.month, 1))


class PlanContext:
    """What a plan is made against.

    Args:
        facts: The collection as it counts on `as_of`.
        catalog: Profiles and tables.
        as_of: The day the plan is made.
        until: Last day of the plan; None: the horizon.
        first: First day of any plant.
    """

    def __init__(
        self,
        facts: CollectionFacts,
        catalog: Catalog,
        as_of: date,
        until: date | None = None,
        first: date | None = None,
    ) -> None:
        self.facts, self.catalog = facts, catalog
        self.as_of = as_of.toordinal()
        self.last_day = max((until or horizon_of(as_of)).toordinal(), self.as_of)
        begun = min(filter(None, (facts.started, first.toordinal() if first else 0)), default=self.as_of)
        self._years = date.fromordinal(begun).year - 1, date.fromordinal(self.last_day).year + 1
        self._airs: dict[tuple[str, int], PlaceAir | None] = {}
        self._cold: dict[tuple[str, str, float], list[Span]] = {}
        self._gates: dict[tuple[str, str, float, float], list[Span]] = {}
        self._terms: dict[tuple[object, ...], Terms] = {}
        self._sides: dict[tuple[str, int, str], str] = {}
        self.asked: set[tuple[str, int]] = set()  # conflicts of the trade that rules asked about, by plant
        self._nestlings: tuple[Mapping[int, PlantHistory], dict[int, list[PlantHistory]]] | None = None
        self._place_on: dict[tuple[str | None, str | None, int], tuple[bool, bool, tuple[str, ...]]] = {}
        self.kept_cautions: dict[tuple[object, ...], tuple[PlantState, tuple[str, ...]]] = {}
        self.kept_spells: dict[tuple[str, str], list[Spell]] = {}
        self.kept_shades: dict[tuple[str, int, int], list[Span]] = {}
        self.kept_ends: dict[tuple[str, int, str, str | None], int] = {}
        self.kept_litres: dict[tuple[str, float | None, str | None], float] = {}
        self.kept_slips: dict[tuple[int, int, int, str, frozenset[int]], int] = {}
        self._weekdays: dict[str, frozenset[int]] = {}
        self._away = absences(facts)
        self.supplies = supplies_of(facts)
        self._cautions = conditions_of(catalog)
        self.caution_limits = limits_in(self._cautions)
        self.caution_ranks = {code: rank for rank, code in enumerate(catalog.cautions)}
        self._cautions_for: dict[frozenset[str], tuple[str, ...]] = {}

    @property
    def air_from(self) -> int:
        """First day whose air is worked out: New Year of the year before the first plant was entered (ordinal)."""
        return date(self._years[0], 1, 1).toordinal()

    def share_air(self, other: PlanContext) -> None:
        """Use what another scene has worked out of the air, where it is of the same places and years."""
        mine, theirs = self.facts, other.facts
        are_same = (mine.places, mine.latitude, mine.elevation_m) == (
            theirs.places,
            theirs.latitude,
            theirs.elevation_m,
        )
        if are_same and self._years == other._years and self.catalog is other.catalog:
            self._airs, self._cold, self._gates = other._airs, other._cold, other._gates
            self._place_on = other._place_on

    def air(self, place: str | None, day: int) -> PlaceAir | None:
        """Return the climate of a place as it is known on a day; None where it has none."""
        facts = self.facts.places.get(place or "")
        if facts is None:
            return None
        spec = facts.specs[0] if len(facts.specs) == 1 else facts.spec_at(day)
        key = (facts.id, spec.day)
        if key not in self._airs:
            monthly = monthly_of(spec, self.facts, self.catalog)
            self._airs[key] = (
                None
                if monthly is None
                else PlaceAir(spec, facts, monthly, self.facts, self.catalog, *self._years)
            )
        return self._airs[key]

    def has_climate(self, place: str, day: int) -> bool:
        """Return whether a place has a climate on a day."""
        return self.air(place, day) is not None

    def is_outdoors(self, place: str | None, day: int) -> bool:
        """Return whether a place is outdoors."""
        facts = self.facts.places.get(place or "")
        return facts is not None and bool(self.catalog.place_kinds[facts.spec_at(day).place_kind].outdoors)

    def is_elsewhere(self, place: str | None, day: int) -> bool:
        """Return whether a place is that of somebody else, to whom plants are lent."""
        facts = self.facts.places.get(place or "")
        return facts is not None and facts.spec_at(day).place_kind == ELSEWHERE

    def place_on(
        self, place: str | None, container: str | None, day: int
    ) -> tuple[bool, bool, tuple[str, ...]]:
        """Return whether a place is outdoors, is lit by a lamp, and how cold its medium is by night, on a day."""
        key = place, container, day
        if key not in self._place_on:
            air = self.air(place, day)
            lamp = air is not None and (air.light_source_on(day) == "lamp" or bool(air.spec.lamp_ppfd))
            cold: tuple[str, ...] = ()
            if air is not None and container is not None and container in self.catalog.containers:
                night = air.medium(container)[1][day - air.origin]
                cold = tuple(limit.said for limit in self.caution_limits["night"] if night < limit.value)
            self._place_on[key] = self.is_outdoors(place, day), lamp, cold
        return self._place_on[key]

    def mean_demand(self, terms: Terms, first: int, last: int) -> float:
        """Return the mean relative demand on a plant of these terms over days, both ends included."""
        air = self.air(terms.place, first)
        if air is None:
            raise KeyError(terms.place)
        return air.mean_demand(terms.container, terms.light_factor, first, last)

    def light_swing(self, place: str | None, first: int, last: int) -> float:
        """Return how far the light of days lies from the middle of the year; 0 without a climate (models K5). [-]."""
        return air.mean_swing(first, last) if (air := self.air(place, first)) is not None else 0.0

    def day_temperature(self, place: str | None, day: int) -> float:
        """Return the day temperature of a place by its normals; 20 where it has none. [°C]."""
        air = self.air(place, day)
        return air.at("day_c", day) if air is not None else 20.0

    def has_rest_waters(self, profile: str) -> bool:
        """Return whether a kind has rows of water inside a dry rest."""
        return any(row.profile == profile for row in self.catalog.rest_waters.values())

    def terms(
        self, state: PlantState, plant: int, *, settling: bool, rest: str, water: RestWater | None, day: int
    ) -> Terms:
        """Return the terms of a plant's interval in a stretch that begins on a day; sides may be the plant's own.

        `rest` is how deep it rests ('full', 'half', ''), `water` its row of rest_waters.toml where that is a dry one.
        """
        facts = self.facts.places.get(state.place or "")
        spec_day = facts.spec_at(day).day if facts is not None else 0
        wait = state.reservoir == "filled" and self.side("reservoir", state, plant) == "b"
        dry = state.medium == "moss" and self.side("moss-dryness", state, plant) == "a"
        told = _pot(state), has_buds(state, self.catalog), state.aid_names
        key = (*told, settling, rest, water, wait, dry, spec_day)
        if key not in self._terms:
            self._terms[key] = terms_of(
                state,
                self.catalog,
                settling=settling,
                rest=rest,
                rest_water=water,
                wait_until_empty=wait,
                spec_day=spec_day,
                dry_moss=dry,
            )
        return self._terms[key]

    def side(self, key: str, state: PlantState, plant: int) -> str:
        """Return the side taken in a conflict of the trade for a plant, and note that its plan asked."""
        self.asked.add((key, plant))
        if not self.facts.sides:
            return self.catalog.sides[key].default
        named = key, plant, state.profile
        if named not in self._sides:
            default = self.catalog.sides[key].default
            self._sides[named] = self.facts.side(key, default, plant=plant, profile=state.profile)
        return self._sides[named]

    def nestlings(self, kin: Mapping[int, PlantHistory]) -> Mapping[int, Sequence[PlantHistory]]:
        """Return the plants that have not left by the mothers they ever sat on, in order of their numbers."""
        if self._nestlings is None or self._nestlings[0] is not kin:
            found: dict[int, list[PlantHistory]] = {}
            for _, line in sorted(kin.items()):
                mothers = {state.mother for state in line.states if state.mother is not None}
                for mother in mothers if line.retired is None else ():
                    found.setdefault(mother, []).append(line)
            self._nestlings = kin, found
        return self._nestlings[1]

    def cold_spans(self, state: PlantState) -> list[Span]:
        """Return the days whose night, by normals or a forecast, puts the medium below what its kind bears at all."""
        container = state.container
        if state.place is None or container is None or container not in self.catalog.containers:
            return []
        limit = profile_of(state, self.catalog).urgent_below_c
        key = (state.place, container, limit)
        if key not in self._cold:
            normal = self._by_spec(
                state.place,
                lambda air: spans_where([n < limit for n in air.medium(container)[1]], air.origin),
            )
            forecast = (
                cold_media(self, state.place, container, limit) if state.place in self.facts.places else []
            )
            self._cold[key] = merge([*normal, *((day, day) for day in forecast)])
        return self._cold[key]

    def warm_spans(self, place: str, container: str, opens: float, shuts: float) -> list[Span]:
        """Return the days on which the medium's mean of the coming 14 days keeps a gate open (models W4)."""
        key = (place, container, opens, shuts)
        if key not in self._gates:
            self._gates[key] = self._by_spec(
                place,
                lambda air: spans_where(gate_states(air.medium_ahead(container), opens, shuts), air.origin),
            )
        return self._gates[key]

    def mild_spans(self, place: str, opens: float, shuts: float) -> list[Span]:
        """Return the days whose day normal, mean of the coming 14 days, is not too hot to feed (models W4)."""
        key = (place, "", opens, shuts)
        if key not in self._gates:
            self._gates[key] = self._by_spec(
                place,
                lambda air: spans_where(
                    gate_states(air.day_ahead(), opens, shuts, is_upper=True), air.origin
                ),
            )
        return self._gates[key]

    def _by_spec(self, place: str, spans_of: Callable[[PlaceAir], list[Span]]) -> list[Span]:
        facts = self.facts.places.get(place)
        if facts is None:
            return []
        found: list[Span] = []
        for spec, later in zip(facts.specs, [*facts.specs[1:], None], strict=True):
            air = self.air(place, spec.day)
            if air is None:
                continue
            first = spec.day if spec is not facts.specs[0] else air.origin
            last = later.day - 1 if later is not None else FOREVER
            found.extend(cut(spans_of(air), first, last))
        return merge(found)

    def cautions_for(self, said: frozenset[str]) -> tuple[str, ...]:
        """Return the codes of the cautions of which a condition holds with all that is said, in the table's order."""
        if said not in self._cautions_for:
            self._cautions_for[said] = tuple(
                code for code, conditions in self._cautions if any(parts <= said for parts in conditions)
            )
        return self._cautions_for[said]

    def setting(self, key: str, default: str, day: int) -> str:
        """Return a setting as it stood on a day, as_of's where the day lies ahead."""
        return self.facts.setting(key, default, min(day, self.as_of))

    def weekdays(self, day: int) -> frozenset[int]:
        """Return the preferred weekdays, Monday 0; none: an empty set."""
        text = self.setting("weekdays", DEFAULT_WEEKDAYS, day)
        if text not in self._weekdays:
            names = [part.strip() for part in text.split(",")]
            self._weekdays[text] = frozenset(WEEKDAYS.index(name) for name in names if name in WEEKDAYS)
        return self._weekdays[text]

    def care_dates(self, day: int) -> frozenset[int]:
        """Return the care days that were taken, as they stood on a day; none taken: an empty set."""
        return self.facts.taken(min(day, self.as_of)).days

    def ticking(self, day: int) -> str:
        """Return the setting of what is not ticked: usual, careful or none."""
        return self.setting("ticking", "usual", day)

    @property
    def has_absences(self) -> bool:
        """Whether nobody is there on some day."""
        return bool(self._away)

    def is_away(self, day: int) -> bool:
        """Return whether a day lies in an absence."""
        return covers(self._away, day)

    def deadline(self, latest: int) -> int:
        """Return the last day on which a task is still open: `latest`, or the day of return."""
        end = run_end(self._away, latest) if self._away and covers(self._away, latest) else None
        return end + 1 if end is not None else latest

    def is_on_watch(self, state: PlantState, day: int) -> bool:
        """Return whether a plant is on watch on a day."""
        return is_on_watch(state, day, self.catalog)
