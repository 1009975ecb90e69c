"""The stage of recovery as observations give it, with hysteresis (models G6)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

__all__ = ["StageRule", "StageRules", "next_stage"]


class StageRule(Protocol):
    """What the fold needs of one row of the stages table."""

    @property
    def stage(self) -> str:
        """Name of the stage."""

    @property
    def enter_roots(self) -> int:
        """Living roots needed to enter; 0 asks for none."""

    @property
    def enter_longest_mm(self) -> float:
        """Longest living root needed to enter; 0 asks for none. [mm]"""

    @property
    def enter_leaves(self) -> int:
        """Leaves needed to enter; 0 asks for none."""

    @property
    def leave_below_roots(self) -> int:
        """Fewer living roots end the stage."""

    @property
    def leave_below_longest_mm(self) -> float:
        """A shorter longest root ends the stage. [mm]"""

    @property
    def leave_below_leaves(self) -> int:
        """Fewer leaves end the stage."""


StageRules = Sequence[StageRule]  # in the order of recovery, rootless first


def next_stage(
    rules: StageRules, now: str | None, roots: int | None, longest_mm: float | None, leaves: int | None
) -> str | None:
    """Return the stage that counts give a plant whose observed stage was `now` (None: not known yet).

    All enter thresholds must hold to step up, over several stages if need be; any leave threshold steps down, one
    stage at a time. A missing count keeps the stage. No living roots is rootless whatever else is missing.

    Source: models G6; stages.csv.
    """
    counts = (roots, longest_mm, leaves)
    names = [rule.stage for rule in rules]
    if now is None:
        if roots == 0:
            return names[0]
        entered = [rule.stage for rule in rules[1:] if _enters(rule, counts)]
        return entered[-1] if entered else names[0] if _all_known(counts) else None
    place = names.index(now)
    higher = [i for i in range(place + 1, len(rules)) if _enters(rules[i], counts)]
    if higher:
        return names[higher[-1]]
    return names[place - 1] if place > 0 and _leaves(rules[place], counts) else now


def _all_known(counts: tuple[float | None, ...]) -> bool:
    return counts[0] is not None and counts[1] is not None


def _enters(rule: StageRule, counts: tuple[float | None, ...]) -> bool:
    needed = (rule.enter_roots, rule.enter_longest_mm, rule.enter_leaves)
    return all(
        want == 0 or (have is not None and have >= want) for want, have in zip(needed, counts, strict=True)
    )


def _leaves(rule: StageRule, counts: tuple[float | None, ...]) -> bool:
    limits = (rule.leave_below_roots, rule.leave_below_longest_mm, rule.leave_below_leaves)
    return any(have is not None and have < limit for limit, have in zip(limits, counts, strict=True))
