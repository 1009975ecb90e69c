"""carecal keeps a journal of orchids and publishes what each one needs as iCalendar subscriptions."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from carecal.app.door import Collection
    from carecal.app.scripting import to_ical, why
    from carecal.collection.entries import Done, Moved, Observed, Potted

__all__ = ["Collection", "Done", "Moved", "Observed", "Potted", "__version__", "to_ical", "why"]

_HOMES = {
    "Collection": "carecal.app.door",
    "to_ical": "carecal.app.scripting",
    "why": "carecal.app.scripting",
}

__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    """Return the door or an entry's model when first asked for: `--version` and `today` need neither loaded here."""
    if name not in __all__:
        raise AttributeError(f"module 'carecal' has no attribute '{name}'")
    return getattr(import_module(_HOMES.get(name, "carecal.collection.entries")), name)
