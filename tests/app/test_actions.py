"""What is refused or asked before anything is written; oracle: the issue's list of bad input and the rules' text."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from carecal.app.actions.care import done, leave, missed
from carecal.app.actions.corrections import amend, undo
from carecal.app.actions.looks import observe, weigh
from carecal.app.actions.pots import move, move_all, part, pot
from carecal.app.actions.sick import tried
from carecal.app.actions.spans import away_add, away_end, pause, resume
from carecal.app.actions.states import aid, bloom, gate, quarantine, reservoir, spike
from carecal.app.actions.whole_round import done_round
from carecal.collection.entries import PlaceAdded, Retired
from carecal.errors import ConfirmationNeeded, Refused, UnknownName
from tests.app.diary import DAY, DUE, START, Diary, at, even_year

Action = Callable[..., Any]


@pytest.fixture
def full(diary: Diary) -> Diary:
    """Return a diary with a plant of each kind that an action may meet."""
    diary.plant("tide")
    diary.plant("pebble", medium="expanded-clay", container="reservoir", stage="rooting-in")
    diary.plant("keiki", medium=None, container=None, size_cm=None, watered=None, on_mother="tide")
    diary.plant("lantern", medium=None, container=None, size_cm=None, watered=None)
    diary.plant("gone")
    diary.writes(START, Retired(on=START, plant="gone", because="lost"))
    return diary


def test_one_thing_is_tried_at_a_time_and_moss_rests_after_a_potting(full: Diary) -> None:
    """Asked where another try runs, or moss would be changed within 60 days; a yes means it (tries.toml)."""
    full.plant("winch", medium="moss", container="net", size_cm=8, stage="rootless", potted=START)
    with pytest.raises(
        ConfirmationNeeded, match="potted lately, and moss is not changed again before 2026-05-01"
    ):
        tried(full.collection, at(START), "winch", "fresh-moss")
    full.says(START, tried, "winch", "warmer")
    with pytest.raises(ConfirmationNeeded, match="two things at a time teach nothing"):
        tried(full.collection, at(START), "winch", "more-light")
    with pytest.raises(UnknownName, match="no try named 'warmr'; did you mean warmer"):
        tried(full.collection, at(START), "winch", "warmr")
    said = [
        tried(full.collection, at(START), "winch", "more-light", sure=True),
        tried(full.collection, at(START), "winch", None),
        tried(full.collection, at(START), "winch", "look-at-the-base"),
    ]
    assert [getattr(entry, "what", "") for (entry,) in said] == ["more-light", None, "look-at-the-base"]


REFUSED: list[tuple[str, Action, tuple[Any, ...], dict[str, Any], str]] = [
    ("unknown id", done, ("watering", ["tyde"]), {}, "no plant named 'tyde'; did you mean tide?"),
    (
        "unknown care",
        done,
        ("wetting", ["tide"]),
        {},
        "care 'wetting' is not known; allowed are watering, refilling",
    ),
    (
        "in the future",
        done,
        ("watering", ["tide"]),
        {"on": DUE + DAY},
        "lies ahead; what happened is dated up to",
    ),
    (
        "before it came",
        done,
        ("watering", ["tide"]),
        {"on": START - DAY},
        "2026-03-01 lies before tide was entered",
    ),
    ("after it left", done, ("watering", ["gone"]), {}, r"lies after gone left, 2026-03-02 \(lost\)"),
    ("no reservoir", done, ("refilling", ["tide"]), {}, "tide has no filled reservoir; allowed are watering"),
    ("hangs on its mother", done, ("watering", ["keiki"]), {}, "keiki hangs on its mother"),
    ("nothing to moisten", done, ("moistening", ["tide"]), {}, "tide has nothing to moisten"),
    ("no such aid", done, ("moistening", ["tide"]), {"aid": "cloth"}, "tide has no cloth; its aids: none"),
    ("felt a look", done, ("inspection", ["tide"]), {"felt": "damp"}, "--felt belongs to a wetting"),
    (
        "EC in µS",
        done,
        ("watering", ["tide"]),
        {"ec_ms_cm": 812},
        "812 looks like µS/cm: that is 0.812 mS/cm",
    ),
    (
        "negative EC",
        done,
        ("watering", ["tide"]),
        {"ec_ms_cm": -1},
        "EC -1 mS/cm is out of range; allowed are 0 to 20",
    ),
    (
        "EC of two",
        done,
        ("watering", ["tide", "pebble"]),
        {"ec_ms_cm": 1},
        "a weight or EC belongs to one plant; 2 were",
    ),
    (
        "no weight",
        done,
        ("watering", ["tide"]),
        {"weight_g": 0},
        "weight: 0 is not a number above 0 to 60000",
    ),
    ("task of two", done, ("watering", ["tide", "pebble"]), {"task": "x"}, "one task of one plant; 2 plants"),
    (
        "no such task",
        done,
        ("watering", ["tide"]),
        {"task": "task/1/1/wetting/9"},
        "tide has no task 'task/1/1/wetting/9'",
    ),
    ("another's task", done, ("watering", ["pebble"]), {"task": "task/1/1/wetting/1"}, "pebble has no task"),
    (
        "a look's task",
        done,
        ("watering", ["tide"]),
        {"task": "look/1/1"},
        "is a look, not answered by watering",
    ),
    (
        "left though dry",
        leave,
        ("watering", ["tide"]),
        {"felt": "parched"},
        "felt 'parched' is no reason to leave",
    ),
    (
        "left too long",
        leave,
        ("watering", ["tide"]),
        {"again_days": 61},
        "again: 61 is not a whole number from 1 to 60",
    ),
    (
        "nothing missed",
        missed,
        ("watering", ["pebble"]),
        {"on": START},
        "nothing of pebble is open, overdue or assumed",
    ),
    ("nothing said", observe, ("tide",), {}, "nothing was said of tide"),
    (
        "unknown pest",
        observe,
        ("tide",),
        {"seen": "scal"},
        "no pest or trouble named 'scal'; did you mean scale?",
    ),
    ("where but not what", observe, ("tide",), {"where": "leaf"}, "give seen too"),
    ("absurd count", observe, ("tide",), {"roots": 4000}, "roots: 4000 is not a whole number from 0 to 400"),
    ("negative count", observe, ("tide",), {"leaves": -1}, "leaves: -1 is not a whole number from 0"),
    ("shows what", observe, ("tide",), {"shows": "spots"}, "shows 'spots' is not known; allowed is unknown"),
    (
        "unknown medium",
        pot,
        (["tide"], "barke", "plastic", 12),
        {},
        "no medium named 'barke'; did you mean bark?",
    ),
    (
        "unknown pot",
        pot,
        (["tide"], "bark", "plastik", 12),
        {},
        "no container named 'plastik'; did you mean plastic?",
    ),
    (
        "impossible pair",
        pot,
        (["tide"], "bark", "mount", 12),
        {},
        "bark does not go into the container mount; allowed are",
    ),
    ("too small", pot, (["tide"], "bark", "plastic", 2), {}, "size: 2 is not a number from 3 to 60"),
    (
        "no size known",
        pot,
        (["lantern"], "bark", "plastic"),
        {},
        "the size of lantern is not known; give size",
    ),
    ("filled without one", pot, (["tide"], "bark", "plastic", 12), {"filled": True}, "plastic has none"),
    ("potted on its mother", pot, (["keiki"], "bark", "plastic", 8), {}, "part it from her first"),
    (
        "planned for the past",
        pot,
        (["tide"], "bark", "plastic", 12),
        {"planned": True, "on": START},
        "a day after today",
    ),
    ("unknown place", move, (["tide"], "sil"), {}, "no place named 'sil'; did you mean sill?"),
    ("stands there", move, (["tide"], "sill"), {}, "tide stands at sill already"),
    ("all of one place", move_all, ("sill", "sill"), {}, "sill and sill are one place"),
    ("no mother", part, ("tide", "bark", "plastic", 8), {}, "tide hangs on no mother"),
    ("unknown aid", aid, ("tide", "clot"), {}, "no aid named 'clot'; did you mean cloth?"),
    (
        "aid it has not",
        aid,
        ("tide", "wrap"),
        {"off": True},
        "tide has no wrap on 6 March 2026; its aids: none",
    ),
    (
        "reservoir it has not",
        reservoir,
        ("tide", "empty"),
        {},
        "tide stands in plastic, which has no reservoir",
    ),
    ("filled already", reservoir, ("pebble", "filled"), {}, "the reservoir of pebble is filled already"),
    ("no quarantine", quarantine, ("tide",), {"end": True}, "tide is not in quarantine"),
    ("ends before", quarantine, ("tide",), {"until": START}, "would end before it begins"),
    ("unknown gate", gate, ("tide", "rst", "open"), {}, "no gate named 'rst'; did you mean rest?"),
    (
        "a gate nobody holds",
        gate,
        ("tide", "pause", "open"),
        {},
        "the gate pause cannot be held open by hand",
    ),
    ("gate as it is", gate, ("tide", "rest", "auto"), {}, "left to itself already"),
    ("bloom how", bloom, ("tide", "maybe"), {}, "bloom 'maybe' is not known; allowed are allow, not-yet"),
    ("no spike", spike, ("tide", "keep"), {}, "tide shows no spike"),
    (
        "pause behind",
        pause,
        ("feeding",),
        {"start": START, "until": START},
        "is past; allowed is a span that includes",
    ),
    ("pause backwards", pause, ("feeding",), {"start": DUE + DAY, "until": DUE}, "is before the first"),
    (
        "pause of years",
        pause,
        ("feeding",),
        {"until": DUE + 400 * DAY, "every_year": True},
        "is a year or more",
    ),
    ("pause of what", pause, ("pruning",), {}, "care 'pruning' is not known; allowed are watering, feeding"),
    (
        "no pause runs",
        resume,
        ("feeding",),
        {},
        "no pause of feeding runs on 6 March 2026 for the collection",
    ),
    ("away backwards", away_add, (DUE, START), {}, "is before the first"),
    ("not away", away_end, (), {}, "no absence runs or lies ahead"),
    ("undo of nothing", undo, (999,), {}, "no entry named '999'"),
    ("undo of the beginning", undo, (1,), {}, "the beginning of the collection cannot be taken back"),
    ("amend of nothing", amend, (999, {"felt": "right"}), {}, "no entry named '999'"),
]


@pytest.mark.parametrize(
    ("action", "words", "options", "match"), [row[1:] for row in REFUSED], ids=[r[0] for r in REFUSED]
)
def test_a_refusal_names_the_value_and_what_is_allowed(
    full: Diary, action: Action, words: tuple[Any, ...], options: dict[str, Any], match: str
) -> None:
    """One line, lower case at its start unless a name stands there, no full stop; nothing is written."""
    head = full.collection.journal.head()
    with pytest.raises(Refused, match=match) as caught:
        full.says(DUE, action, *words, **options)
    assert not isinstance(caught.value, ConfirmationNeeded)
    assert "\n" not in str(caught.value)
    assert not str(caught.value).endswith(".")
    assert full.collection.journal.head() == head


def test_an_empty_round_is_refused(diary: Diary) -> None:
    """Nothing is ticked where nothing stands."""
    diary.plant()
    with pytest.raises(Refused, match="nothing is to be done on Tuesday 3 March"):
        diary.tries(START + DAY, done_round)


def test_a_second_care_of_the_same_kind_on_one_day_asks(full: Diary) -> None:
    """With a yes it is written."""
    full.says(DUE, done, "watering", ["tide"])
    with pytest.raises(ConfirmationNeeded, match="Tide was watered on 6 March already"):
        full.tries(DUE, done, "watering", ["tide"])
    assert full.says(DUE, done, "watering", ["tide"], sure=True).is_written


def test_another_care_of_the_day_does_not_ask(full: Diary) -> None:
    """A look after a wetting is no second wetting."""
    full.says(DUE, done, "watering", ["tide"])
    assert full.tries(DUE, done, "inspection", ["tide"])


def test_a_second_potting_on_one_day_asks(full: Diary) -> None:
    """It would void the first one."""
    full.says(DUE, pot, ["tide"], "bark", "plastic", 12)
    with pytest.raises(ConfirmationNeeded, match="tide was potted on 2026-03-06 already"):
        full.tries(DUE, pot, ["tide"], "bark", "plastic", 13)


@pytest.mark.parametrize(
    ("before", "after"), [({"roots": 4}, {"roots": 40}), ({"longest_mm": 30}, {"longest_mm": 200})]
)
def test_counts_that_jump_ask(full: Diary, before: dict[str, Any], after: dict[str, Any]) -> None:
    """Ten times the roots, or 170 mm of growth in two days, are typing errors more often than not."""
    full.says(START, observe, "tide", **before)
    with pytest.raises(ConfirmationNeeded, match="is that right"):
        full.tries(START + 2 * DAY, observe, "tide", **after)
    assert full.tries(START + 2 * DAY, observe, "tide", sure=True, **after)


def test_roots_lost_to_rot_do_not_ask(full: Diary) -> None:
    """Losing all is what happens."""
    full.says(START, observe, "tide", roots=8)
    assert full.tries(DUE, observe, "tide", roots=0)


@pytest.mark.parametrize("weight", [299.0, 701.0])
def test_a_weight_outside_dry_and_full_asks(full: Diary, weight: float) -> None:
    """Between the two marks of this potting it does not."""
    full.says(START, weigh, "tide", 300, mark="dry")
    full.says(START, weigh, "tide", 700, mark="full")
    with pytest.raises(ConfirmationNeeded, match=f"{weight:g} g lies outside"):
        full.tries(DUE, done, "watering", ["tide"], weight_g=weight)
    assert full.tries(DUE, done, "watering", ["tide"], weight_g=500.0)


def test_a_pot_is_not_heavier_dry_than_full(full: Diary) -> None:
    """The two marks must be in order."""
    full.says(START, weigh, "tide", 300, mark="full")
    with pytest.raises(Refused, match="cannot weigh 400 g dry and 300 g full"):
        full.tries(START, weigh, "tide", 400, mark="dry", sure=True)


def test_a_spike_that_carries_a_keiki_is_not_cut(full: Diary) -> None:
    """Models G8: never where an unparted keiki sits."""
    full.says(START, observe, "tide", flowering="spent")
    with pytest.raises(Refused, match="a keiki hangs on tide"):
        full.tries(DUE, spike, "tide", "cut")


def test_a_terminal_spike_is_cut_only_when_it_is_said_to_have_dried(full: Diary) -> None:
    """Models G8: it stays while green; oracle: steps.csv, cutting a spike, never_when."""
    full.says(START, observe, "pebble", flowering="terminal-spike")
    with pytest.raises(ConfirmationNeeded, match="stays while it is green"):
        full.tries(DUE, spike, "pebble", "cut")
    assert full.tries(DUE, spike, "pebble", "keep")
    assert full.tries(DUE, spike, "pebble", "cut", sure=True)


def test_a_parted_keiki_is_a_plant_of_its_own(full: Diary) -> None:
    """Rule 10: `part` frees it, keeps its history, and it is wetted by itself."""
    full.says(DUE, part, "keiki", "moss", "clear-plastic", 7)
    view = next(v for v in full.plan(DUE).plants if v.id == "keiki")
    assert (view.mother, view.medium, view.place) == (None, "moss", "sill")
    assert full.wettings(DUE, "keiki") or view.stage is None


def test_all_plants_of_a_place_move_together(full: Diary) -> None:
    """`move --all-at`; those that left stay out."""
    full.writes(START, PlaceAdded(on=START, place="shelf", place_kind="warm-sill", climate=even_year()))
    full.says(DUE, move_all, "sill", "shelf")
    places = {line.id: line.latest.place for line in full.collection.timeline(DUE).plants.values()}
    assert places == {
        "tide": "shelf",
        "pebble": "shelf",
        "keiki": "shelf",
        "lantern": "shelf",
        "gone": "sill",
    }


def test_a_reservoir_starts_empty_unless_filled(full: Diary) -> None:
    """Interface 3: `--filled`."""
    full.says(DUE, pot, ["tide"], "expanded-clay", "reservoir", 12)
    assert next(v for v in full.plan(DUE).plants if v.id == "tide").reservoir == "empty"
    full.says(DUE, pot, ["tide"], "expanded-clay", "reservoir", 12, filled=True, sure=True)
    assert next(v for v in full.plan(DUE).plants if v.id == "tide").reservoir == "filled"


def test_one_unknown_id_of_several_writes_nothing(full: Diary) -> None:
    """Nothing is half written."""
    with pytest.raises(UnknownName, match="no plant named 'tyde'"):
        full.says(DUE, done, "watering", ["tide", "tyde"])
    assert full.past(DUE) == {}


def test_an_id_named_twice_counts_once(full: Diary) -> None:
    """`done watering tide tide` is one wetting."""
    assert len(full.tries(DUE, done, "watering", ["tide", "tide"])) == 1
