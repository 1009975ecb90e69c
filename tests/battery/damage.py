"""The file of a collection and its copy damaged at many places: told in a line, no traceback, no half a truth."""

from __future__ import annotations

import shutil
import time
import traceback
from pathlib import Path
from random import Random

from carecal.collection.backup import restore
from carecal.errors import CarecalError
from tests.battery.attempts import LONGEST_SECONDS
from tests.battery.house import written
from tests.cli.cli_run import carecal

__all__ = ["damaged_copy", "damaged_file"]

COMMANDS = (("status",), ("today",), ("export",), ("verify",), ("observe", "gull", "--note", "after it"))
_sound: dict[Path, str] = {}


def _hit(content: bytearray, chance: Random) -> str:
    """Damage some bytes and return how."""
    at = chance.randrange(len(content))
    kind = chance.randrange(5)
    if kind == 0:
        content[at] ^= 1 << chance.randrange(8)
    elif kind == 1:
        content[at : at + 16] = bytes(len(content[at : at + 16]))
    elif kind == 2:
        page = at // 4096 * 4096
        content[page : page + 4096] = chance.randbytes(4096)
    elif kind == 3:
        page, other = (chance.randrange(len(content) // 4096) * 4096 for _ in range(2))
        content[page : page + 4096] = content[other : other + 4096]
    else:
        del content[at:]
    return ("a bit", "16 bytes", "a page", "a page doubled", "cut off")[kind]


def damaged_file(stands: Path, work: Path, chance: Random) -> tuple[str, str]:
    """The database: where every command goes on and verify is content, the journal is what it was."""
    home = work / "home"
    shutil.copytree(stands / "quay", home)
    if stands not in _sound:
        _sound[stands] = carecal("export", home=stands / "quay", as_of=None).out
    file = home / "collection.db"
    content = bytearray(file.read_bytes())
    how = _hit(content, chance)
    file.write_bytes(content)
    for name in ("-wal", "-shm"):
        Path(f"{file}{name}").unlink(missing_ok=True)
    codes, exported = [], ""
    for words in COMMANDS:
        began = time.monotonic()
        try:
            said = carecal(*words, home=home, as_of=None)
        except Exception as error:  # noqa: BLE001 - what it is stands in the table
            return how, f"{how}, {words[0]}: {traceback.format_exception_only(error)[-1].strip()}"
        if time.monotonic() - began > LONGEST_SECONDS:
            return how, f"{how}, {words[0]}: it took {time.monotonic() - began:.1f} s"
        if said.code not in {0, 1, 3, 4} or said.err.count("\n") > 1:
            return how, f"{how}, {words[0]}: exit code {said.code}, {said.err[:200]!r}"
        codes.append(said.code)
        exported = said.out if words == ("export",) else exported
    if not any(codes):
        return "unharmed", "" if exported == _sound[stands] else f"{how}: entries differ and nobody says so"
    return "told", ""


def damaged_copy(stands: Path, work: Path, chance: Random) -> tuple[str, str]:
    """A copy: it is refused in a line and leaves nothing, or gives the whole collection."""
    file, home = work / "copy.zip", work / "home"
    content = bytearray((stands / "copy.zip").read_bytes())
    how = _hit(content, chance)
    file.write_bytes(content)
    try:
        restore(file, home)
    except CarecalError as error:
        left = [path.name for path in work.iterdir() if path != file]
        is_line = "\n" not in str(error)
        return "refused", "" if is_line and not left else f"{how}: {error!s:.200} {left}"
    except Exception as error:  # noqa: BLE001 - what it is stands in the table
        return how, f"{how}: {traceback.format_exception_only(error)[-1].strip()}"
    return "whole", "" if written(home) == written(stands / "quay") else f"{how}: less was restored"
