"""Small text files that people or devices wrote, read whole; it knows no columns."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from carecal.collection.database import storage_errors
from carecal.errors import DataFault, Fault

__all__ = ["Table", "decode_text", "read_table", "read_text"]

LARGEST_BYTES = 64_000_000  # our choice, because a logger's year by the minute takes half of it
DELIMITERS = ",;\t"


class Table:
    """A file of columns: its headings and its rows, each with the number of its line.

    Args:
        file: The file's name.
        delimiter: What parts its columns.
        headings: The first row, blanks around taken off.
        rows: Line number and cells of each further row that is not blank.
    """

    def __init__(
        self, file: str, delimiter: str, headings: list[str], rows: list[tuple[int, list[str]]]
    ) -> None:
        self.file, self.delimiter, self.headings, self.rows = file, delimiter, headings, rows


def read_text(path: Path) -> str:
    """Return a UTF-8 file's text, without a byte order mark.

    Raises:
        DataFault: When it is no UTF-8 text, or too large.
        StorageError: When it cannot be read.
    """
    with storage_errors(path):
        size = path.stat().st_size
        content = path.read_bytes() if size <= LARGEST_BYTES else b""
    if size > LARGEST_BYTES:
        allowed = f"at most {LARGEST_BYTES // 1_000_000} MB"
        raise DataFault(
            [Fault(path.name, "line 1", f"{size // 1_000_000} MB are too much; allowed are {allowed}")]
        )
    return decode_text(path.name, content)


def decode_text(file: str, content: bytes) -> str:
    """Return UTF-8 bytes as text with line feeds, without a byte order mark.

    Raises:
        DataFault: When it is no UTF-8 text.
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        message = f"byte {content[error.start]:#04x} is not UTF-8; save it as UTF-8"
        raise DataFault([Fault(file, f"line {line}", message)]) from error
    return text.replace("\r\n", "\n").replace("\r", "\n")


def read_table(path: Path, text: str | None = None) -> Table:
    """Return a file of columns parted by comma, semicolon or tab; the first row holds the headings.

    Args:
        path: The file.
        text: Its text where it was read already.

    Raises:
        DataFault: When it is no text, is empty, or has a quote without its end.
        StorageError: When it cannot be read.
    """
    text = read_text(path) if text is None else text
    first = next((line for line in text.split("\n") if line.strip()), "")
    delimiter = max(DELIMITERS, key=first.count)
    reader = csv.reader(io.StringIO(text), delimiter=delimiter, strict=True)
    rows: list[tuple[int, list[str]]] = []
    start = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                rows.append((start, [cell.strip() for cell in cells]))
            start = reader.line_num + 1
    except csv.Error as error:
        raise DataFault([Fault(path.name, f"line {reader.line_num}", f"not a table: {error}")]) from error
    if not rows:
        raise DataFault([Fault(path.name, "line 1", "the file is empty; the first line holds the headings")])
    return Table(path.name, delimiter, rows[0][1], rows[1:])
