"""What a plant has taught in words: its pace against the table, how sure that is, what answer would narrow it."""

from __future__ import annotations

from math import exp, log, sqrt
from typing import TYPE_CHECKING

from carecal.horticulture.learning import ASK_AFTER_CENSORED, DRIFT_SD_PER_WEEK, RIGHT_SD

if TYPE_CHECKING:
    from carecal.planning.pace.estimates import PaceEstimate

__all__ = ["WAIT_FOR_RIGHT", "ask_felt", "question_of", "words_of_factor"]

WAIT_FOR_RIGHT = "leave it until it is right, once"  # models K3
NARROWS_BY = 0.1  # our choice, because a band that narrows by less than a tenth is not worth a question
LIKE_THE_TABLE = 0.06  # our choice, because a day in sixteen is less than a finger tells
PACES = (  # how fast it dries against the table, in words
    (4.0, "four times as fast as the table"),
    (3.0, "three times as fast as the table"),
    (2.0, "twice as fast as the table"),
    (1.75, "three quarters faster than the table"),
    (1.5, "half as fast again as the table"),
    (4 / 3, "a third faster than the table"),
    (1.25, "a quarter faster than the table"),
    (1.1, "a tenth faster than the table"),
    (0.9, "a tenth slower than the table"),
    (0.75, "a quarter slower than the table"),
    (2 / 3, "a third slower than the table"),
    (0.5, "half as fast as the table"),
    (1 / 3, "a third as fast as the table"),
    (0.25, "a quarter as fast as the table"),
)
SURE = ((0.14, "sure"), (0.25, "fairly sure"), (0.4, "not yet sure"))  # our choice: of the standard deviation


def words_of_factor(estimate: PaceEstimate) -> str:
    """Return a factor in words: 'dries a third faster than the table, fairly sure (...)', with its 80 % band."""
    if not estimate.entries and not estimate.neighbours and estimate.factor == 1:
        return "dries as the table says, a guess until the first answer"
    pace = 1 / estimate.factor
    if abs(log(pace)) < LIKE_THE_TABLE:
        text = "dries as the table says"
    else:
        text = "dries " + min(PACES, key=lambda row: abs(log(row[0] / pace)))[1]
    if estimate.neighbours and not estimate.is_measured:
        text = f"by its neighbours {text}"
    sure = next((word for limit, word in SURE if estimate.sd <= limit), "a guess")
    return (
        f"{text}, {sure} (×{estimate.factor:.2f}, 80 % between ×{estimate.low:.2f} and ×{estimate.high:.2f})"
    )


def ask_felt(estimate: PaceEstimate, weeks: float = 0.0) -> bool:
    """Return whether an answer 'right' would narrow the band by a tenth or more.

    Args:
        estimate: What is known.
        weeks: Weeks since it was learned, which widen it. [weeks]

    Source: our choice, because questions without use are not asked (design §3 rule 4).
    """
    variance = estimate.sd**2 + (DRIFT_SD_PER_WEEK**2 * weeks if estimate.entries else 0.0)
    return sqrt(RIGHT_SD**2 / (variance + RIGHT_SD**2)) <= 1 - NARROWS_BY


def question_of(estimate: PaceEstimate, weeks: float = 0.0) -> str:
    """Return the question whose answer would narrow the band most, '' where none would."""
    if estimate.censored_running >= ASK_AFTER_CENSORED:
        return f"{WAIT_FOR_RIGHT}, and say so: only that measures its pace"
    if not ask_felt(estimate, weeks):
        return ""
    narrowed = estimate.sd * sqrt(RIGHT_SD**2 / (estimate.sd**2 + RIGHT_SD**2))
    reach = exp(1.2816 * narrowed)
    return f"parched, right or damp? a 'right' would narrow the band to within ×{1 / reach:.2f} and ×{reach:.2f} of it"
