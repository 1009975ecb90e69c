"""What was poured, where the round's can held another strength than the plant asked for. Oracle: worked by hand.

Tide, established, asks for 100 mg/L of N; Gable is told to get 60 at most. Both are due on 6 March (`diary.py`):
60 is within twice of it, so the one can holds 60 for both.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from carecal.app.actions.care import done
from carecal.app.actions.corrections import amend
from carecal.app.actions.whole_round import done_round
from carecal.app.documents.looking_back import log_of
from carecal.app.documents.today import today
from carecal.app.documents.why import why
from carecal.collection.entries import Done, FeedStrengthSet
from carecal.errors import Refused
from carecal.wording.entries import entry_sentence
from tests.app.diary import DAY, DUE, START, Diary, at

if TYPE_CHECKING:
    from carecal.app import Outcome


@pytest.fixture
def pair(diary: Diary) -> Diary:
    """Return a house of two that are due on one day and ask for 100 and for 60."""
    diary.plant("tide")
    diary.plant("gable")
    diary.writes(START, FeedStrengthSet(on=START, plant="gable", ppm_n=60))
    return diary


def poured(outcome: Outcome) -> dict[int | None, Any]:
    """Return the strength that each entry keeps, by plant."""
    return {record.plant: record.data.get("ppm_n") for record in outcome.records}


def salts(diary: Diary, plant: str) -> float:
    """Return the salts of a pot on the day after the round. [mS/cm]."""
    number = diary.collection.number_of(plant)
    found = diary.collection.planner(DUE + DAY).plant_planners[number].chain.tally.salt_ms_cm
    assert found is not None
    return found


def test_a_round_keeps_the_strength_of_its_can(pair: Diary) -> None:
    """Tide got 60, not its 100, and says so; Gable got what it asked for, which needs no word. Salts are alike then."""
    outcome = pair.says(DUE, done_round, felt="right")
    assert poured(outcome) == {1: 60, 2: None}
    assert salts(pair, "tide") == pytest.approx(salts(pair, "gable"))
    assert why(pair.collection, DUE + DAY, "tide")["last"] == {"fed at 60 ppm N": DUE.isoformat()}
    told = {
        entry["plant"]: entry_sentence(entry)
        for entry in log_of(pair.collection, at(DUE))
        if entry["on"] == DUE.isoformat()
    }
    assert told == {"tide": "Fed at 60 ppm N; it felt right", "gable": "Fed; it felt right"}


def test_a_single_tick_keeps_it_too_and_leaves_the_can_as_it_was(pair: Diary) -> None:
    """Gable first, then Tide: the can was mixed with both, so Tide's tick still says 60."""
    assert poured(pair.says(DUE, done, "feed", ["gable"], felt="right")) == {2: None}
    (row,) = [r for r in today(pair.collection, DUE)["rounds"] if r["on"] == DUE.isoformat()]
    assert [line["ppm_n"] for line in row["tasks"]] == [60]
    assert poured(pair.says(DUE, done, "feed", ["tide"], felt="right")) == {1: 60}


def test_the_grower_says_what_was_poured(pair: Diary) -> None:
    """40 by word; an older entry without a strength counts as the 100 that were asked for, and can be put right."""
    assert poured(pair.says(DUE, done, "feed", ["tide"], ppm_n=40)) == {1: 40}
    weak = salts(pair, "tide")
    (entry,) = [e["entry"] for e in log_of(pair.collection, at(DUE), plant="tide") if e["kind"] == "done"]
    pair.says(DUE, amend, entry, {"ppm_n": "100"})
    asked = salts(pair, "tide")
    assert asked > weak
    pair.writes(DUE, Done(on=DUE, plant="gable", care="feeding", ppm_n=100))
    assert salts(pair, "gable") == pytest.approx(asked)


def test_an_older_entry_counts_as_it_was_asked_for(pair: Diary) -> None:
    """No strength told: Tide's 100 leave more salts than the 60 that Gable asked for, as before."""
    pair.writes(DUE, Done(on=DUE, plant="tide", care="feeding"), Done(on=DUE, plant="gable", care="feeding"))
    plain = salts(pair, "tide")
    assert plain > salts(pair, "gable")
    pair.writes(DUE + DAY, FeedStrengthSet(on=DUE + DAY, plant="gable", ppm_n=30))
    assert salts(pair, "tide") == plain


def test_a_late_tick_knows_no_can(pair: Diary) -> None:
    """What was mixed on a day gone by nobody can tell: the entry says nothing, and the asked strength counts."""
    assert poured(pair.says(DUE + DAY, done, "feed", ["tide"], on=DUE)) == {1: None}


def test_a_strength_belongs_to_a_feed(pair: Diary) -> None:
    """Plain water has none, nobody pours 900, and nothing but water is no feed."""
    with pytest.raises(Refused, match="ppm belongs to a feed; watering is none"):
        pair.tries(DUE, done, "water", ["tide"], ppm_n=40)
    for ppm in (0, 900):
        with pytest.raises(
            Refused, match=f"{ppm} ppm N is out of range; allowed are 1 to 400 ppm N of a feed"
        ):
            pair.tries(DUE, done, "feed", ["tide"], ppm_n=ppm)
