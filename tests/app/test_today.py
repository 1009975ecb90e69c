"""The round of a day as a document and in lines; the kept document equals a fresh one."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from carecal.app import Collection
from carecal.app.actions.care import done, leave
from carecal.app.actions.spans import pause
from carecal.app.actions.states import reservoir
from carecal.app.actions.whole_round import done_round
from carecal.app.documents.today import MOST_DAYS, today
from carecal.app.documents.today_fresh import fresh_today
from carecal.app.store import cached, keep
from carecal.collection.entries import SettingChanged, SupplyFertiliser
from carecal.errors import Refused
from carecal.wording.today import can_head, can_text, grams_text, litres_text, today_lines
from tests.app.diary import DAY, DUE, START, Diary


@pytest.fixture
def three(diary: Diary) -> Diary:
    """Return a diary with three plants: in bark, in a reservoir emptied on purpose, and one with a cloth."""
    diary.plant("tide")
    diary.plant(
        "pebble", medium="expanded-clay", container="reservoir", tips=2, came=START, stage="rooting-in"
    )
    diary.says(START, reservoir, "pebble", "empty")
    diary.plant("winch", medium="none", container="slotted", stage="rootless", aids=("cloth",))
    return diary


def test_the_round_lists_what_stands_today_with_its_verb(three: Diary) -> None:
    """'look' until a rhythm was confirmed once; one line a task, joined looks on their wetting's line."""
    rows = {row["plant"]: row for row in today(three.collection, DUE)["rounds"][0]["tasks"]}
    assert rows["tide"]["verb"] == "look at"
    assert rows["tide"]["text"].startswith("look – feed if dry, 100 ppm N")


def test_marks_stand_wherever_the_plant_is_shown(three: Diary) -> None:
    """Rule 8: EMPTY ON PURPOSE; quarantine and growing tips too."""
    lines = "\n".join(today_lines(today(three.collection, DUE, 14)))
    assert "(EMPTY ON PURPOSE, in quarantine, 2 tips)" in lines


def test_what_is_overdue_is_carried_over_one_line_a_plant(three: Diary) -> None:
    """Rule 2: carried to today, not in the list."""
    document = today(three.collection, DUE + 20 * DAY)
    names = [row["plant"] for row in document["carried"]]
    assert sorted(names) == sorted(set(names))
    assert {"pebble", "winch"} <= set(names)
    carried = {task for row in document["carried"] for task in row["tasks"]}
    assert not carried & {row["task"] for r in document["rounds"] for row in r["tasks"]}


def test_nothing_to_do_is_said_with_the_next_round(diary: Diary) -> None:
    """An empty day names the next one."""
    diary.plant()
    lines = list(today_lines(today(diary.collection, START)))
    assert lines == ["Monday 2 March 2026 – nothing to do", "", "Next round: Friday 6 March"]


def test_a_plant_stands_on_one_line_with_all_that_is_asked_of_it(diary: Diary) -> None:
    """A look that is due on its own on the day of a wetting stands behind it, and both count as one."""
    diary.plant()
    found = today(diary.collection, DUE)
    row = found["rounds"][0]["tasks"][0]
    found["rounds"][0]["tasks"] = [row, {**row, "text": "look over (any pest?)", "last_done": None}]
    lines = list(today_lines(found))
    assert lines[0] == "Friday 6 March 2026 – 1 task"
    assert [line for line in lines if line.startswith("  1.")] == [
        "  1. Tide [sill]: look – feed if dry, 100 ppm N; look over (any pest?); last watered 28 February"
    ]
    assert not [line for line in lines if line.startswith("  2.")]


def test_a_caution_is_told_once(three: Diary) -> None:
    """Design 4: cautions once, however many rounds are shown."""
    codes = [c["code"] for r in today(three.collection, DUE, 60)["rounds"] for c in r["cautions"]]
    assert codes
    assert len(codes) == len(set(codes))


def test_a_caution_of_what_is_done_again_is_printed_in_a_months_first_week_alone(three: Diary) -> None:
    """Printed while new and on the 1st to 7th; between, who did the same lately has read it."""
    three.says(DUE, done, "watering", ["tide"])
    again = three.next(DUE).on  # 12 March, a day of nothing but what was done on the 6th
    assert again.day > 7
    found = today(three.collection, again)
    known = {c["text"] for r in found["rounds"] for c in r["cautions"] if c["is_known"]}
    printed = "\n".join(today_lines(found))
    assert known
    assert not any(text in printed for text in known)
    new = {c["text"] for r in today(three.collection, DUE - DAY, 2)["rounds"] for c in r["cautions"]}
    assert known <= new
    assert all(
        f"  ! {text}" in "\n".join(today_lines(today(three.collection, DUE - DAY, 2))) for text in known
    )


def test_the_can_is_told_in_litres_and_grams(diary: Diary) -> None:
    """F1: 100 mg/L of N from 20 % are 0.5 g/L; half the volume of a 12 cm pot, 0.0005·12³ L, is 0.432 L: 0.22 g.

    What is weighed is half a gram, in 1 L, of which 0.57 are poured away.
    """
    diary.plant()
    diary.writes(START, SupplyFertiliser(on=START, name="Green 20", n_pct=20, p2o5_pct=20, k2o_pct=20))
    can = today(diary.collection, DUE)["rounds"][0]["can"]
    assert can["feeds"][0]["grams"] == pytest.approx(0.216, abs=0.01)
    assert (
        can_text(can, "metric")
        == "Can: 0.4 L feed at 100 ppm N (0.5 g of Green 20 in 1.0 L, pour 0.6 L away)"
    )


def test_a_long_can_has_a_short_head() -> None:
    """Plain water is one amount, the part that stands apart in it, so is feed; what fits a line has no other head."""
    mix = {"ppm_n": 100.0, "grams": 0.22, "g_per_l": 0.5, "fertiliser": "Green 20", "apart": False}
    feeds = [{**mix, "litres": 0.3}, {**mix, "ppm_n": 50.0, "litres": 0.4}]
    long = {"plain_l": 1.5, "plain_apart_l": 0.5, "feeds": feeds}
    assert can_head(long, "metric") == "Can: 1.5 L plain, 0.7 L feed"
    assert can_head({**long, "plain_l": 0.0, "plain_apart_l": 0.0}, "metric") == "Can: 0.7 L feed"
    assert can_head({"plain_l": 1.5, "plain_apart_l": 0.0, "feeds": []}, "metric") == ""


@pytest.mark.parametrize(
    ("litres", "units", "text"),
    [
        (3.785411784, "imperial", "1.00 gal"),
        (0.5, "imperial", "17 fl oz"),  # 0.132 gal of 128 fl oz
        (1.25, "metric", "1.2 L"),
        (0.03, "metric", "30 mL"),
    ],
)
def test_litres_are_shown_in_the_units_asked_for(litres: float, units: str, text: str) -> None:
    """US gallons and fluid ounces by definition."""
    assert litres_text(litres, units) == text


def test_grams_are_shown_in_ounces_on_request() -> None:
    """28.349523125 g an ounce, by definition."""
    assert grams_text(28.349523125, "imperial") == "1 oz"


@pytest.mark.parametrize("days", [0, MOST_DAYS + 1])
def test_days_out_of_range_are_refused(diary: Diary, days: int) -> None:
    """Both ends."""
    with pytest.raises(Refused, match=f"{days} days are out of range; allowed are 1 to 366"):
        today(diary.collection, START, days)


def test_a_state_that_ends_is_told_as_a_change(diary: Diary) -> None:
    """42 days after potting settling ends and the rhythm with it."""
    diary.plant(potted=START)
    ends = START + 42 * DAY
    assert any("settled" in text for text in today(diary.collection, ends)["changes"])
    assert today(diary.collection, ends + DAY)["changes"] == []


def test_a_gate_behind_one_that_is_shut_is_no_change_of_the_day(diary: Diary) -> None:
    """Paused on day 10 of the 21 that a potting shuts, and open again on day 15: the plant is fed on none of them."""
    diary.plant(potted=START)
    diary.says(START, pause, "feeding", start=START + 10 * DAY, until=START + 14 * DAY)
    told = [t for n in range(9, 21) for t in today(diary.collection, START + n * DAY)["changes"]]
    assert not [t for t in told if "feed" in t or "fed" in t]


def test_a_gate_that_opens_is_told_as_a_change(diary: Diary) -> None:
    """Feed waits 21 days after potting."""
    diary.plant(potted=START)
    opens = START + 21 * DAY
    assert [
        t
        for t in today(diary.collection, opens)["changes"]
        if "Tide: fed again: roots have had their rest" in t
    ]
    assert not [t for t in today(diary.collection, opens + DAY)["changes"] if "fed again" in t]


def test_the_near_plan_is_the_whole_plan_near(three: Diary) -> None:
    """What the next fortnight holds does not hang on how far the plan goes."""
    document = fresh_today(three.collection, DUE, 14)
    plan = three.plan(DUE)
    for found in document["rounds"]:
        whole = next(r for r in plan.rounds if r.on.isoformat() == found["on"])
        shown = {row["task"] for row in found["tasks"]} | {j for row in found["tasks"] for j in row["joined"]}
        overdue = {task for task in whole.tasks if plan.task(task).status == "overdue"}
        assert (
            shown
            == set(whole.tasks)
            - {
                j
                for j in whole.tasks
                if plan.task(j).joined_to in overdue and plan.task(j).status == "overdue"
            }
            - overdue
        )


COMMANDS = st.lists(st.sampled_from(["round", "leave", "weekdays", "wait"]), max_size=4)


@settings(max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(COMMANDS, st.integers(1, 9))
def test_what_is_kept_equals_what_is_worked_out_anew(
    tmp_path_factory: pytest.TempPathFactory, commands: list[str], days: int
) -> None:
    """Whatever was written in between, the cache never tells an old round."""
    diary = Diary(tmp_path_factory.mktemp("kept"))
    diary.plant("tide")
    diary.plant("gable", medium="moss")
    day = DUE
    for command in commands:
        today(diary.collection, day, days)
        if command == "round" and diary.plan(day).rounds and diary.plan(day).rounds[0].on == day:
            diary.says(day, done_round)
        elif command == "leave" and diary.next(day).status == "open":
            diary.says(day, leave, "watering", ["tide"])
        elif command == "weekdays":
            diary.writes(day, SettingChanged(on=day, key="weekdays", value="wed,sat"))
        elif command == "wait":
            day += DAY
        assert today(diary.collection, day, days) == fresh_today(diary.collection, day, days)
        assert today(diary.collection, day, days) == fresh_today(
            diary.collection, day, days
        )  # from the cache this time
    diary.close()


MY_BARK = """
[[reference_intervals]]
medium = "bark"
container = "plastic"
size_cm = [12]
days = [8]
role = "base"
source = "my own pots"
"""


def test_a_changed_file_of_the_growers_throws_the_kept_round_away(diary: Diary) -> None:
    """Own bark that dries in 8 days, not 6: nothing to do on the 6th day; without the file all is as it was."""
    diary.plant()
    kept = today(diary.collection, DUE)
    assert [row["plant"] for row in kept["rounds"][0]["tasks"]] == ["tide"]
    own = Path(diary.collection.folder) / "shared" / "reference_intervals.toml"
    own.parent.mkdir(exist_ok=True)
    own.write_text(MY_BARK, encoding="utf-8")
    with Collection.open(diary.collection.folder) as again:
        assert today(again, DUE)["rounds"] == []
        assert today(again, DUE)["next_round"] == (DUE + 2 * DAY).isoformat()
    own.unlink()
    with Collection.open(diary.collection.folder) as again:
        assert today(again, DUE) == kept


def test_the_round_is_kept_under_its_day_and_head(diary: Diary) -> None:
    """Asked again nothing is planned: a kept document is believed to the letter."""
    diary.plant()
    today(diary.collection, DUE)
    connection = diary.collection.journal.connection
    row = connection.execute("select stamp, value from cache where key = 'today/1'").fetchone()
    assert cached(connection, "today/1", row[0]) is not None
    keep(connection, "today/1", row[0], '{"carecal": 0}')
    assert today(diary.collection, DUE) == {"carecal": 0}
    assert today(diary.collection, date(2026, 3, 7))["carecal"] == 1
