"""When cautions are said again, so that they are still read; their texts stand in the tables."""

from __future__ import annotations

__all__ = ["WARNED_DAYS"]

WARNED_DAYS = 7
"""First days of a month, or of what is asked, on which all cautions are said. [days] Source: our choice, because each
round within a week has its day there, and nobody reads them on every day of a year."""
