"""Files that commands write: whole or not at all, by `carecal.collection.whole_files`."""

from __future__ import annotations

from carecal.collection.whole_files import write_whole

__all__ = ["write_whole"]
