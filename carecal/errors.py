"""The errors carecal raises, by what the caller can do about them; it formats nothing and catches nothing."""

from __future__ import annotations

import re
from collections.abc import Sequence

__all__ = [
    "AlreadyDone",
    "CarecalError",
    "ClockError",
    "ConfirmationNeeded",
    "DataFault",
    "Fault",
    "Refused",
    "StorageError",
    "UnknownName",
    "option",
    "options",
]


MANY = 3  # more names than these are told as a list, not as what may be meant
_MARK = "\ue0fe"  # of the private use area, so that nothing people type is taken for it
_OPTION = re.compile(_MARK + "([a-z-]+)")


def option(name: str) -> str:
    """Return the name of an option for the text of an error: a word to a reader, `--name` where it can be typed."""
    return _MARK + name


def options(*names: str) -> str:
    """Return several options, as `option` names one."""
    return ", ".join(option(name) for name in names)


class CarecalError(Exception):
    """The root of all errors that carecal raises on purpose; its text is one line for people.

    Args:
        text: What is wrong, the value and what is allowed; options are named by `option`.
        command: The command that helps, as it is typed; it is told on the command line alone.
        how: How that command is introduced, as 'see' or 'say'.
    """

    def __init__(self, text: str = "", *, command: str = "", how: str = "see carecal") -> None:
        self._text, self.command, self._how = text, command, how
        super().__init__(text)

    def __str__(self) -> str:
        """Return the text in words."""
        return _OPTION.sub(lambda found: found[1].replace("-", " "), self._text)

    @property
    def typed(self) -> str:
        """The text for whoever types commands: options with their dashes, and the command that helps."""
        text = _OPTION.sub(r"--\1", self._text)
        return f"{text}; {self._how} {self.command}" if self.command else text


class Refused(CarecalError):
    """Raised when a request was understood and is not allowed; nothing was written."""


class UnknownName(Refused):
    """Raised when a plant, place, medium or other name does not exist; names the near matches.

    Args:
        what: The kind of thing looked for, as 'plant'.
        name: The name that was given.
        near: Existing names that resemble it, best first.
    """

    def __init__(self, what: str, name: str, near: Sequence[str] = ()) -> None:
        self.what, self.name, self.near = what, name, tuple(near)
        hint = f"; did you mean {' or '.join(self.near)}?" if self.near else ""
        if len(self.near) > MANY:
            hint = f"; known are {', '.join(self.near)}"
        super().__init__(f"no {what} named '{name}'{hint}")


class ConfirmationNeeded(Refused):
    """Raised when a request is unusual and needs a yes; nothing was written yet.

    Args:
        question: The question to put, without the question mark's remedy.
    """

    def __init__(self, question: str) -> None:
        self.question = question
        super().__init__(question)

    @property
    def typed(self) -> str:
        """The question, with how to answer it."""
        return f"{super().typed} (answer with --yes to go on)"


class AlreadyDone(Refused):
    """Raised when a task was answered before, by whoever was first; nothing was written.

    Args:
        what: What was done, as 'done' or 'looked at and left'.
        when: The time of day, or day and time, in the collection's zone.
        by: Who did it.
        plant: Id of the plant, where one of several is meant; else ''.
    """

    def __init__(self, what: str, when: str, by: str, plant: str = "") -> None:
        self.what, self.when, self.by, self.plant = what, when, by, plant
        super().__init__(f"{f'{plant} is ' if plant else ''}already {what} {when} by {by}")


class ClockError(Refused):
    """Raised when the real clock disagrees with the journal so far that nothing may be assumed or published."""


class Fault:
    """One fault of a hand-written file: where it stands and what is allowed there.

    Args:
        file: Name of the file.
        key: Dotted key or line within it.
        message: What is wrong, the value and what is allowed.
    """

    __slots__ = ("file", "key", "message")

    def __init__(self, file: str, key: str, message: str) -> None:
        self.file, self.key, self.message = file, key, message

    def __str__(self) -> str:
        """Return the fault as one line, whatever characters the file's own keys hold."""
        line = f"{self.file}: {self.key}: {self.message}"
        return "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in line)


class DataFault(Refused):
    """Raised when a hand-written file has faults; carries all of them, not only the first.

    Args:
        faults: Every fault found, in the order of the file.
        is_list: Whether each is told on a line of its own, as of a long table.
    """

    def __init__(self, faults: Sequence[Fault], *, is_list: bool = False) -> None:
        self.faults, self.is_list = tuple(faults), is_list
        super().__init__("; ".join(str(fault) for fault in self.faults))


class StorageError(CarecalError):
    """Raised when the collection's files cannot be read or written: locked, read-only, full, damaged or newer."""
