"""A spreadsheet saved as CSV: its alphabet and its separator found out, its size kept in bounds."""

import csv
import hashlib
import io
from collections import Counter
from dataclasses import dataclass

from curelog.imports import ImportRefused

MOST_BYTES = 2_000_000
MOST_ROWS = 20_000
MOST_COLUMNS = 60
MOST_LETTERS = 500
SEPARATORS = (";", ",", "\t", "|")
SAMPLE_ROWS = 20


@dataclass(frozen=True)
class SheetRow:
    """`number` as the spreadsheet counts it, from 1 on."""

    number: int
    cells: tuple[str, ...]

    def cell(self, column: int) -> str:
        return self.cells[column] if column < len(self.cells) else ""


@dataclass(frozen=True)
class Sheet:
    digest: str
    header: tuple[str, ...]
    rows: tuple[SheetRow, ...]

    def column(self, place: int) -> list[str]:
        """What stands in it, gaps left out."""
        return [told for row in self.rows if (told := row.cell(place))]


def read_sheet(content: bytes) -> Sheet:
    """The first row that is not empty holds the names of the columns."""
    if len(content) > MOST_BYTES:
        raise ImportRefused(f"The file is larger than {MOST_BYTES // 1_000_000} MB. Split it.")
    rows = [row for row in rows_of(text_of(content)) if any(row.cells)]
    if len(rows) < 2:
        raise ImportRefused("There are no rows in this file below the names of its columns.")
    header, rows = rows[0], rows[1:]
    if len(rows) > MOST_ROWS:
        raise ImportRefused(f"There are {len(rows)} rows. Split the file: {MOST_ROWS} are taken at once.")
    if max(len(row.cells) for row in [header, *rows]) > MOST_COLUMNS:
        raise ImportRefused(f"There are more than {MOST_COLUMNS} columns. Leave out what is not needed.")
    for row in rows:
        if max(map(len, row.cells)) > MOST_LETTERS:
            raise ImportRefused(f"A cell in row {row.number} is longer than {MOST_LETTERS} letters.")
    return Sheet(hashlib.sha256(content).hexdigest(), header.cells, tuple(rows))


def text_of(content: bytes) -> str:
    if content.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise ImportRefused("This is a spreadsheet's own format. Save the sheet as CSV and choose that file.")
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", errors="replace")
    if b"\0" in content:
        raise ImportRefused("This is no text. Save the sheet as CSV and choose that file.")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        # What spreadsheets on Windows write when they are not asked for UTF-8.
        return content.decode("cp1252", errors="replace")


def rows_of(text: str) -> list[SheetRow]:
    if text[:4].lower() == "sep=":
        text = text.partition("\n")[2]
    try:
        rows = csv.reader(io.StringIO(text, newline=""), delimiter=separator(text), strict=False)
        return [
            SheetRow(number, tuple(cell.strip() for cell in row)) for number, row in enumerate(rows, start=1)
        ]
    except csv.Error as error:
        raise ImportRefused(f"This is not a CSV file that can be read ({error}).") from error


def separator(text: str) -> str:
    """The one that gives the most rows an equal number of columns, and more than one."""

    def fit(mark: str) -> tuple[int, int]:
        sample = io.StringIO("\n".join(text.splitlines()[:SAMPLE_ROWS]), newline="")
        widths = Counter(len(row) for row in csv.reader(sample, delimiter=mark) if len(row) > 1)
        width, count = max(widths.items(), key=lambda pair: (pair[1], pair[0]), default=(0, 0))
        return count, width

    return max(SEPARATORS, key=fit)
