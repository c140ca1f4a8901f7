import pytest

from curelog.imports import ImportRefused
from curelog.imports.sheet import MOST_ROWS, read_sheet


@pytest.mark.parametrize("mark", [";", ",", "\t", "|"])
def test_the_separator_is_found(mark: str) -> None:
    sheet = read_sheet(f"loaf{mark}weight\n26-001{mark}134\n26-002{mark}135\n".encode())
    assert sheet.header == ("loaf", "weight")
    assert sheet.rows[1].cells == ("26-002", "135")


def test_a_decimal_comma_is_no_separator() -> None:
    sheet = read_sheet(b"loaf;weight\n26-001;134,5\n26-002;135,5\n")
    assert sheet.rows[0].cells == ("26-001", "134,5")


@pytest.mark.parametrize("alphabet", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_the_alphabet_is_found(alphabet: str) -> None:
    assert (
        read_sheet("batch,note\n1,Käse für später\n".encode(alphabet)).rows[0].cells[1] == "Käse für später"
    )


def test_rows_keep_the_numbers_that_the_spreadsheet_shows() -> None:
    sheet = read_sheet(b"\nloaf,weight\n\n26-001,134\n,\n26-002,135\n")
    assert [row.number for row in sheet.rows] == [4, 6]


def test_a_line_end_in_a_cell_and_a_hint_at_the_separator_are_understood() -> None:
    assert read_sheet(b'sep=;\nloaf;note\n1;"a\nb"\n').rows[0].cells == ("1", "a\nb")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no rows"),
        (b"loaf,weight\n", "no rows"),
        (b"PK\x03\x04...", "Save the sheet as CSV"),
        (b"\xd0\xcf\x11\xe0...", "Save the sheet as CSV"),
        (b"a\0b,c\n1,2\n", "no text"),
        (b"a,b\n" + b"1,2\n" * (MOST_ROWS + 1), "Split the file"),
        (b",".join([b"a"] * 61) + b"\n1\n", "more than 60 columns"),
        (b"a,b\n1," + b"x" * 501 + b"\n", "row 2 is longer"),
        (b"a" * 2_000_001, "larger than 2 MB"),
        (b'a,b\n"' + b"x" * 200_000, "row 2 is longer|cannot be read|can be read"),
    ],
)
def test_what_is_no_sheet_of_ours_is_refused_in_a_sentence(content: bytes, words: str) -> None:
    with pytest.raises(ImportRefused, match=words):
        read_sheet(content)
