"""The benchmarks run and do the whole work they time, at a size of a moment; nothing here looks at a clock."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.benchmarks import calendars, growth, http, memory, pace, taps, ticks, today, trees
from tests.benchmarks.measure import Result, number_argument, show

SMALL = 20


def counts(results: list[Result]) -> dict[str, int]:
    """Return the counts of the first result."""
    return dict(results[0].counts)


def test_the_calendar_benchmark_writes_every_plant_and_the_same_bytes_again() -> None:
    """Twenty plants give twenty plants' rules, and a second writing changes no byte."""
    found = counts(calendars.measure(SMALL))
    assert (found["plants"], found["same"]) == (SMALL, 1)
    assert SMALL < found["series"] <= found["components"] <= found["series"] + found["tasks"]


def test_the_tick_benchmark_writes_one_entry_a_turn() -> None:
    """Two turns of two kinds and two warm-ups are six entries over those that each collection began with."""
    found = [counts(ticks.measure(SMALL, 3, turns)) for turns in (1, 2)]
    assert [row["plants"] for row in found] == [SMALL, SMALL]
    assert found[1]["entries"] - found[0]["entries"] == 2  # one tick more of each of the two kinds


def test_the_round_benchmark_prints_the_round_of_the_example() -> None:
    """The timed process prints the round, and both of its states are measured."""
    results = today.measure(1)
    assert [row.name for row in results] == [
        "`today`, nothing changed",
        "`today`, first after an entry",
        "`today`, first of a new day",
        "the same, mean of a fortnight without an entry",
        "`done` with its consequences",
        "`today`, nothing kept at all",
    ]
    assert counts(results)["lines"] > 1


def test_the_memory_benchmark_tells_a_peak_and_a_slope() -> None:
    """The operating system's own peak of both sizes is read, in processes of their own."""
    peak, slope = memory.measure(SMALL)
    assert (peak.unit, slope.unit) == ("MB", "KB")
    assert min(peak.measured, peak.against) > 1


def test_the_growth_benchmark_tells_an_exponent_of_two_sizes() -> None:
    """Both sizes are planned and written in processes of their own; the exponent is that of their ratio."""
    whole, exponent = growth.measure(SMALL, 2)
    assert dict(whole.counts) == {"plants": SMALL, "few": SMALL // 2}
    assert whole.ratio is not None
    assert 2**exponent.measured == pytest.approx(whole.ratio)


def test_the_tap_benchmark_tells_the_round_of_all_plants() -> None:
    """The answer to a tap is of the whole collection."""
    assert counts(taps.measure(SMALL, 3, 1))["plants"] == SMALL


def test_results_are_shown_as_a_table(capsys: pytest.CaptureFixture[str]) -> None:
    """Each result is one row with its ratio; the size is the script's one argument (worked by hand)."""
    show([Result("a", "b", 3.0, 2.0, 2.0, (("plants", 7),))])
    assert capsys.readouterr().out.splitlines()[2] == "| a | b | 3 s | 2 s | 1.50 | ≤ 2 | plants 7 |"
    assert (number_argument(5, []), number_argument(5, ["9"])) == (5, 9)


def test_the_http_benchmark_is_answered_by_304_and_by_the_whole_calendar() -> None:
    """Both conditional answers are 304, and a full one has the calendar's bytes."""
    found = http.measure(5, 3, requests=2, turns=1)
    assert counts(found)["not modified"] == 1
    assert counts(found)["bytes"] > 1000
    assert dict(found[-1].counts)["plants"] == 5


def test_the_tree_benchmark_publishes_each_collection_and_can_forget_it(tmp_path: Path) -> None:
    """What it times is whole: a calendar a collection, again after an entry, anew where all was forgotten."""
    growers = trees.Growers(tmp_path, 2, plants=2)
    growers.alone(growers.names)
    first = {path.name: path.read_bytes() for path in growers.out.iterdir()}
    assert len(first) == 2
    growers.change(growers.names, 1)
    growers.alone(growers.names)
    second = {path.name: path.read_bytes() for path in growers.out.iterdir()}
    assert set(second) == set(first)
    assert all(second[name] != first[name] for name in first)
    growers.unpublish()
    growers.alone(growers.names)
    assert len(list(growers.out.iterdir())) == 4


def test_the_pace_benchmark_counts_its_growers() -> None:
    """Two steady growers in moss make one row; both stay within 12 % and are counted."""
    (row,) = pace.rows(2, ("moss",), (1.0,))
    cells = row.split(" | ")
    assert cells[0] == "| moss, 1"
    assert cells[6] == "2 of 2"
    assert cells[8].endswith("of 2 |")
