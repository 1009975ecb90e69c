"""What one plant gives to a plan; it works out nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from carecal.plan.model import Fact, Gate, PlantView, Rhythm, Series, Step, Task, WillNotKeep
    from carecal.planning.rounds.one_can import Asked

__all__ = ["UNANSWERED", "Piece"]

UNANSWERED = frozenset({"planned", "open", "overdue"})
"""Status of the tasks that a round asks for."""


class Piece:
    """What one plant gives to a plan; whoever keeps it changes nothing in it.

    Where a plant gives something else its piece is another one, with tasks and facts of its own: what is kept of a day
    holds as long as it was made of the very same objects.
    """

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
        self.will_not_keep: list[WillNotKeep] = []
        self.wettings = {"rounds": 0, "each": 0}
        self.given: list[Asked] = []

    def warned(self) -> set[str]:
        """Return the cautions of its cares that were done lately; who did them has read these."""
        done = {fact.care for fact in self.facts}
        return {code for task in self.tasks if task.care in done for code in task.cautions} if done else set()
