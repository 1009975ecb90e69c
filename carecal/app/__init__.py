"""The one door: what command line, page and Python share; it prints nothing and speaks no HTTP."""

from carecal.app.door import Collection, Outcome
from carecal.app.now import Now, real_now

__all__ = ["Collection", "Now", "Outcome", "real_now"]
