"""The check that each column is read can fail; `scripts/check` runs it on the whole program."""

from __future__ import annotations

from scripts.check_columns import FOR_PEOPLE, columns, faults


def test_a_column_that_nothing_reads_is_named() -> None:
    """Two columns, one of them read: the other is told, with its row."""
    found = list(faults({"Gauge": ["glow", "tie"]}, {("Gauge", "tie")}))
    assert len(found) == 1
    assert found[0].startswith("Gauge.glow is read by no rule")


def test_a_column_said_to_be_for_people_must_be_and_must_not_be_read() -> None:
    """The list goes stale neither way: a column that is gone, and one that a rule has come to read."""
    found = list(faults({"Pest": ["looks"]}, {("Pest", "looks")}))
    assert found == ["Pest.development is said to be for people, but is no column"]
    found = list(faults({"Pest": ["development"]}, {("Pest", "development")}))
    assert found == ["Pest.development is said to be for people, but a rule reads it"]


def test_rows_are_all_found_with_their_columns() -> None:
    """Every table's row is looked at, by hand: a medium's first own column, and every row of the list is a row."""
    found = columns()
    assert found["Medium"][0] == "describes"
    assert "longest_mm" in found["Step"]
    assert set(FOR_PEOPLE) <= set(found)
