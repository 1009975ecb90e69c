"""`python -m carecal`: the same as the command `carecal`."""

from __future__ import annotations

import sys

from carecal.cli.main import run

if __name__ == "__main__":
    sys.exit(run())
