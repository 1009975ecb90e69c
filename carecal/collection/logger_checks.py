"""Readings that cannot be, with a guess at the unit that was meant; it repairs nothing."""

from __future__ import annotations

from dataclasses import dataclass, field
from statistics import median_low
from typing import TYPE_CHECKING

from carecal.errors import Fault

if TYPE_CHECKING:
    from collections.abc import Sequence

    from carecal.collection.logger_columns import Column

__all__ = ["Values", "absurd", "celsius", "line_of"]

LOWEST_C, HIGHEST_C = -30.0, 55.0  # as an entry of readings allows
HOT_MEDIAN_C = 40.0  # our choice, because no orchid lives where half of all readings are hotter
FREEZING_F = 32.0  # our choice, because readings half below it are degrees Celsius called Fahrenheit
LOWEST_RH, HIGHEST_RH = 1.0, 100.0
HIGHEST_LIGHT = {"lux": 150_000.0, "µmol/m²/s": 2_800.0}  # our choice, because full sun is some 110,000 lux


@dataclass(slots=True)
class Values:
    """One column's numbers in its own unit, each with its line in the file and its row below the headings."""

    column: Column
    lines: list[int] = field(default_factory=list)
    rows: list[int] = field(default_factory=list)
    numbers: list[float] = field(default_factory=list)


def celsius(fahrenheit: float) -> float:
    """Return a temperature. [°C]."""
    return (fahrenheit - 32) / 1.8


def line_of(numbers: Sequence[int]) -> str:
    """Return the first of some lines in words, and how many follow."""
    more = f" and {len(numbers) - 1} more" if len(numbers) > 1 else ""
    return f"line {numbers[0]}{more}"


def absurd(file: str, values: Values) -> list[Fault]:
    """Return what cannot be in one column: at most one fault for its unit, or one for each kind of outlier."""
    if not values.numbers:
        return []
    if values.column.role == "humidity":
        return _humidity(file, values)
    if values.column.role == "light":
        high = HIGHEST_LIGHT[values.column.unit]
        return _outliers(file, values, 0.0, high, ("a broken sensor", "another unit"))
    middle = median_low(values.numbers)
    if values.column.unit == "°F":
        if 0 < middle < FREEZING_F:
            return [_unit_fault(file, values, middle, "it looks like °C called °F")]
        return _outliers(file, values, LOWEST_C * 1.8 + 32, HIGHEST_C * 1.8 + 32, ("a broken sensor",) * 2)
    if middle > HOT_MEDIAN_C:
        called = " called °C" if values.column.unit else ""
        return [_unit_fault(file, values, middle, f"it looks like °F{called}")]
    return _outliers(file, values, LOWEST_C, HIGHEST_C, ("a broken sensor", "°F or a sensor in the sun"))


def _humidity(file: str, values: Values) -> list[Fault]:
    middle = median_low(values.numbers)
    if max(values.numbers) <= 1:
        return [_unit_fault(file, values, middle, "it looks like a share of 1, not percent")]
    if middle > HIGHEST_RH:
        return [_unit_fault(file, values, middle, "it looks like tenths of a percent")]
    return _outliers(
        file, values, LOWEST_RH, HIGHEST_RH, ("a broken sensor", "tenths of a percent or a wet sensor")
    )


def _unit_fault(file: str, values: Values, middle: float, guess: str) -> Fault:
    """A fault of the whole column, shown by its middle value."""
    is_humidity = values.column.role == "humidity"
    unit = "% RH" if is_humidity else values.column.unit
    allowed = "1 to 100 [% RH]" if is_humidity else f"{LOWEST_C:g} to {HIGHEST_C:g} [°C]"
    value = f"{middle:g} {unit}".strip()
    message = f"{value} and the like in most rows cannot be, {guess}; allowed are {allowed}"
    return Fault(file, f"line {values.lines[0]}, column '{values.column.heading}'", message)


def _outliers(file: str, values: Values, low: float, high: float, guesses: tuple[str, str]) -> list[Fault]:
    unit = "% RH" if values.column.role == "humidity" else values.column.unit or "°C"
    faults = []
    for is_below, guess in zip((True, False), guesses, strict=True):
        found = [
            (line, number)
            for line, number in zip(values.lines, values.numbers, strict=True)
            if (number < low if is_below else number > high)
        ]
        if found:
            where = f"{line_of([line for line, _ in found])}, column '{values.column.heading}'"
            told = f"{found[0][1]:g} {unit} cannot be, it looks like {guess}; allowed are {low:g} to {high:g} [{unit}]"
            faults.append(Fault(file, where, told))
    return faults
