"""What a plant has taught in words: its pace against the table, how sure that is, what answer would narrow it."""

from __future__ import annotations

from math import log
from typing import Protocol

__all__ = ["FEEL_AGAIN", "WAIT_FOR_RIGHT", "narrowing_question", "waiting_question", "words_of_factor"]

WAIT_FOR_RIGHT = "leave it until it is right, once"  # models K3
FEEL_AGAIN = "it was right much earlier than expected last time: feel once more"
WINTERS = {1: "drinks slower in winter than most", -1: "drinks more evenly through the year than most"}
LIKE_THE_TABLE = 0.06  # our choice, because a day in sixteen is less than a finger tells
PACES = (  # how fast it dries against the table, in words
    (4.0, "four times as fast as the table"),
    (3.0, "three times as fast as the table"),
    (2.0, "twice as fast as the table"),
    (1.75, "three quarters faster than the table"),
    (1.5, "one and a half times as fast as the table"),
    (4 / 3, "a third faster than the table"),
    (1.25, "a quarter faster than the table"),
    (1.1, "a tenth faster than the table"),
    (0.9, "a tenth slower than the table"),
    (0.75, "a quarter slower than the table"),
    (2 / 3, "a third slower than the table"),
    (0.5, "twice as slowly as the table"),
    (1 / 3, "three times as slowly as the table"),
    (0.25, "four times as slowly as the table"),
)
SURE = ((0.14, "sure"), (0.25, "fairly sure"), (0.4, "not yet sure"))  # our choice: of the standard deviation


class Pace(Protocol):
    """What is told of a plant's pace: factor on the interval with its 80 % band, and what stands behind it."""

    @property
    def factor(self) -> float:
        """Factor on the interval. [-]."""

    @property
    def low(self) -> float:
        """Lower end of the 80 % band. [-]."""

    @property
    def high(self) -> float:
        """Upper end of the 80 % band. [-]."""

    @property
    def sd(self) -> float:
        """Standard deviation of ln(factor). [-]."""

    @property
    def entries(self) -> int:
        """Answers since the plant came."""

    @property
    def is_measured(self) -> bool:
        """Whether a 'right' or a weight was given."""

    @property
    def winter_told(self) -> int:
        """1: slower in winter than most, -1: less so than most, 0: nothing is known of it."""

    @property
    def neighbours(self) -> bool:
        """Whether neighbours set what it grew from."""


def words_of_factor(estimate: Pace) -> str:
    """Return a factor in words: 'dries a third faster than the table, fairly sure (...)', with its 80 % band.

    Of a plant whose own winter is known also that, in a few words.
    """
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
    text = (
        f"{text}, {sure} (×{estimate.factor:.2f}, 80 % between ×{estimate.low:.2f} and ×{estimate.high:.2f})"
    )
    winter = WINTERS.get(estimate.winter_told)
    return f"{text}; {winter}" if winter else text


def waiting_question() -> str:
    """Return what to do to get an answer that measures, after several that did not."""
    return f"{WAIT_FOR_RIGHT}, and say so: only that measures its pace"


def narrowing_question(reach: float) -> str:
    """Return the question after how the medium feels, with what a 'right' would narrow the band to.

    Args:
        reach: Upper end of the band over its middle afterwards, 1 or more. [-]
    """
    return f"parched, right or damp? a 'right' would narrow the band to within ×{1 / reach:.2f} and ×{reach:.2f} of it"
