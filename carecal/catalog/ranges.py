"""The ranges and units that values of profiles and shared tables may have; it checks nothing itself."""

from __future__ import annotations

from typing import Annotated, NamedTuple

__all__ = [
    "Centimetres",
    "Count",
    "DailyLight",
    "Days",
    "DegreeDays",
    "Degrees",
    "Ec",
    "Factor",
    "FootCandles",
    "Hours",
    "Metres",
    "Millimetres",
    "Minutes",
    "Month",
    "Months",
    "PartDays",
    "Percent",
    "Ph",
    "Ppfd",
    "PpmN",
    "Share",
    "Span",
    "Speed",
    "Temperature",
    "WaterNumber",
    "Weeks",
]


class Span(NamedTuple):
    """Range of a number, both ends included.

    Args:
        low: Lowest value allowed.
        high: Highest value allowed.
        unit: Unit of the value, empty for a plain factor or number.
    """

    low: float
    high: float
    unit: str = ""

    def __str__(self) -> str:
        """Return the range in words, as 'from 0 to 100 [%]'."""
        return f"from {self.low:g} to {self.high:g}" + (f" [{self.unit}]" if self.unit else "")


# The ends refuse slips of the pen and mistaken units, no more.
# Source: our choice, because a value outside them cannot be meant for an orchid in a home.
Temperature = Annotated[float, Span(-30, 50, "°C")]
Percent = Annotated[float, Span(0, 100, "%")]
Share = Annotated[float, Span(0, 1, "share")]
Factor = Annotated[float, Span(0, 10)]
Speed = Annotated[float, Span(0, 20, "m/s")]
Centimetres = Annotated[float, Span(0, 100, "cm")]
Litres = Annotated[float, Span(0, 100, "L")]
Millimetres = Annotated[float, Span(0, 2000, "mm")]
Days = Annotated[int, Span(0, 366, "days")]
PartDays = Annotated[float, Span(0.25, 366, "days")]
Weeks = Annotated[float, Span(0, 52, "weeks")]
Months = Annotated[int, Span(0, 999, "months")]
Month = Annotated[int, Span(1, 12, "month of the year")]
Minutes = Annotated[float, Span(0, 240, "min")]
Hours = Annotated[float, Span(0, 24, "h")]
Count = Annotated[int, Span(0, 999)]
PpmN = Annotated[float, Span(0, 1000, "mg/L N")]
Ec = Annotated[float, Span(0, 10, "mS/cm")]
Ph = Annotated[float, Span(0, 14, "pH")]
DailyLight = Annotated[float, Span(0, 80, "mol/m2/d")]
Ppfd = Annotated[float, Span(0, 2500, "µmol/m2/s")]
FootCandles = Annotated[float, Span(0, 12000, "fc")]
Degrees = Annotated[float, Span(0, 90, "°")]
Metres = Annotated[float, Span(0, 20, "m")]
WaterNumber = Annotated[float, Span(0, 1000)]
DegreeDays = Annotated[float, Span(1, 20000, "°C d")]
