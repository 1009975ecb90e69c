"""Which answer about a plant's pace would teach most, and whether it is worth a question (models K3)."""

from __future__ import annotations

from math import exp, sqrt
from typing import TYPE_CHECKING

from carecal.horticulture.learning import ASK_AFTER_CENSORED, DRIFT_SD_PER_WEEK, RIGHT_SD
from carecal.wording.pace import FEEL_AGAIN, narrowing_question, waiting_question

if TYPE_CHECKING:
    from carecal.collection.plants import PlantHistory
    from carecal.planning.pace.estimates import PaceEstimate

__all__ = ["ask_felt", "felt_last", "question_of"]

NARROWS_BY = 0.1  # our choice, because a band that narrows by less than a tenth is not worth a question
BAND_SD = 1.2816  # standard normal quantile of 0.9: half the width of an 80 % band [-]


def ask_felt(estimate: PaceEstimate, weeks: float = 0.0) -> bool:
    """Return whether an answer 'right' would narrow the band by a tenth or more.

    Args:
        estimate: What is known.
        weeks: Weeks since it was learned, which widen it. [weeks]

    Source: our choice, because questions without use are not asked (design §3 rule 4).
    """
    variance = estimate.sd**2 + (DRIFT_SD_PER_WEEK**2 * weeks if estimate.entries else 0.0)
    return sqrt(RIGHT_SD**2 / (variance + RIGHT_SD**2)) <= 1 - NARROWS_BY


def question_of(estimate: PaceEstimate, weeks: float = 0.0, *, felt_last: str = "damp") -> str:
    """Return the question whose answer would narrow the band most, '' where none would.

    Args:
        estimate: What is known.
        weeks: Weeks since it was learned, which widen it. [weeks]
        felt_last: How the medium felt last; only one that was damp is left until it is right.
    """
    if estimate.censored_running >= ASK_AFTER_CENSORED and felt_last == "damp":
        return waiting_question()
    if estimate.is_doubted:
        return FEEL_AGAIN
    if not ask_felt(estimate, weeks):
        return ""
    return narrowing_question(exp(BAND_SD * estimate.sd * sqrt(RIGHT_SD**2 / (estimate.sd**2 + RIGHT_SD**2))))


def felt_last(line: PlantHistory) -> str:
    """Return how the medium of the pot felt when last somebody said so; '' where nobody did."""
    felt = (e.felt for e in reversed(line.told) if e.felt and e.aid is None and e.kind in {"wet", "left"})
    return next(felt, None) or ""
