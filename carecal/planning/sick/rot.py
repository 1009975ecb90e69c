"""The course of rot by where it was found (rot_courses.toml): what is held back, how it is wetted, until when.

A find again starts the course anew, and so does a cut against it: the wound is as fresh. A find that an old journal
tells without a place has no course: it counts looks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from carecal.wording.sick import PROBABLY_LOST

if TYPE_CHECKING:
    from collections.abc import Iterator

    from carecal.catalog.tables import Catalog, RotCourse
    from carecal.collection.plant_states import Treatment
    from carecal.collection.plants import PlantState
    from carecal.planning.plan_context import PlanContext
    from carecal.planning.spans import Span

__all__ = [
    "ROT",
    "Rot",
    "does_now",
    "dry_spans",
    "is_answered",
    "look_days",
    "open_rot",
    "rots_of",
    "shut_spans",
    "technique_on",
]

ROT = "rot"
UNROOTED = frozenset({"rootless", "new-tips"})


class Rot(NamedTuple):
    """One find of rot that has a course.

    Attributes:
        where: Crown, stem, leaf or root.
        since: Day from which its days count: of the last find, or of the last cut after it (ordinal).
        course: Its row of rot_courses.toml.
        found: Day of the last find (ordinal).
        finds: How often it was found there.
        cut: Day of the last cut since the find; None: nobody said that it was cut.
    """

    where: str
    since: int
    course: RotCourse
    found: int
    finds: int = 1
    cut: int | None = None

    def is_open(self, day: int) -> bool:
        """Return whether it counts as not yet over on a day: as many clean days have not passed."""
        return self.since <= day < self.since + self.course.clean_days


def rots_of(state: PlantState, catalog: Catalog) -> Iterator[Rot]:
    """Yield the finds of rot of a plant that have a course, whether over or not."""
    for watch in state.pests:
        if watch.pest == ROT and watch.where is not None and watch.where in catalog.rot_courses:
            cut = max((t.day for t in state.treatments if _is_cut(t) and t.day >= watch.since), default=None)
            course, finds = catalog.rot_courses[watch.where], len(watch.finds) or 1
            yield Rot(watch.where, cut or watch.since, course, watch.since, finds, cut)


def open_rot(state: PlantState, day: int, catalog: Catalog) -> Rot | None:
    """Return the newest find of rot that is not yet over on a day."""
    found = [rot for rot in rots_of(state, catalog) if rot.is_open(day)]
    return max(found, key=lambda rot: rot.since, default=None)


def dry_spans(state: PlantState, context: PlanContext, plant: int) -> list[Span]:
    """Return the days on which nothing is wetted: after the find, and once more after the potting that answers it.

    Args:
        state: The plant.
        context: The collection, for the side taken.
        plant: Its number.

    Source: rot_courses.toml dry_days; crown, stem and leaf by the side of crown-water-days.
    """
    found: list[Span] = []
    for rot in rots_of(state, context.catalog):
        course = rot.course
        days = course.dry_days_unrooted if state.stage in UNROOTED else course.dry_days
        if course.dry_days_other is not None and context.side("crown-water-days", state, plant) == "a":
            days = course.dry_days_other
        begins = [rot.found, rot.since]
        if rot.course.answer == "pot" and state.potted is not None and state.potted >= rot.found:
            begins.append(state.potted)
        found.extend((begin, begin + int(days) - 1) for begin in begins)
    return found


def shut_spans(state: PlantState, catalog: Catalog) -> list[Span]:
    """Return the days on which nothing is fed after a find (rot_courses.toml feed_shut_days)."""
    return [(rot.since, rot.since + int(rot.course.feed_shut_days) - 1) for rot in rots_of(state, catalog)]


def technique_on(state: PlantState, day: int, catalog: Catalog) -> str | None:
    """Return how a plant is wetted on a day because of rot, None for as usual (rot_courses.toml technique_days)."""
    for rot in rots_of(state, catalog):
        if rot.course.technique and rot.since <= day < rot.since + rot.course.technique_days:
            return rot.course.technique
    return None


def is_answered(rot: Rot, state: PlantState) -> bool:
    """Return whether what a find asks for was done: cut or its crown lost since, or potted since where it is potted."""
    is_potted = state.potted is not None and state.potted >= rot.found
    is_lost = rot.where == "crown" and state.crown_lost is not None and state.crown_lost >= rot.found
    return rot.cut is not None or (rot.course.answer == "pot" and is_potted) or is_lost


def does_now(course: RotCourse, finds: int, neighbours: str = "") -> str:
    """Return what is done now: cut or pot; cut again where it was found again; and the plants around looked over."""
    parts = [course.does if finds < 2 else course.again]
    parts += [PROBABLY_LOST] if course.lost_cuts is not None and finds > course.lost_cuts else []
    return "; ".join([*parts, *([neighbours] if neighbours else [])])


def _is_cut(treatment: Treatment) -> bool:
    return treatment.did == "cut" and treatment.against == ROT


def look_days(rot: Rot, day: int) -> int | None:
    """Return the days to the next look at a rot on a day; None where its looks are over. [d]."""
    age = day - rot.since
    for until, every in zip(rot.course.look_until_days, rot.course.look_every_days, strict=True):
        if age <= until:
            return int(every)
    return None
