import csv
from io import StringIO

import pytest

from clinic.printing.csv_files import as_text, csv_download, csv_lines


def test_a_table_comes_line_by_line_header_first():
    lines = csv_lines(["lot", "note"], iter([("A1", 'says "stop", twice'), ("A2", "two\nlines")]))
    assert next(lines) == "lot,note\r\n"
    assert list(csv.reader(StringIO("".join(lines), newline=""))) == [
        ["A1", 'says "stop", twice'],
        ["A2", "two\nlines"],
    ]


@pytest.mark.parametrize("typed", ["=1+1", "+44", "-5", "@home", "\tx", "\rx"])
def test_what_a_spreadsheet_would_compute_is_marked_as_text(typed):
    """Source: OWASP, CSV injection."""
    assert as_text(typed) == f"'{typed}"
    assert as_text(f"x{typed}") == f"x{typed}"


def test_the_download_is_utf_8_with_its_mark():
    """Source: RFC 3629, section 6: EF BB BF is UTF-8's signature."""
    response = csv_download("lots", csv_lines(["name"], [["Brzęcki"]]))
    assert b"".join(response.streaming_content) == b"\xef\xbb\xbfname\r\n" + "Brzęcki\r\n".encode()
    assert response["Content-Disposition"] == 'attachment; filename="lots.csv"'
    assert response["Content-Type"] == "text/csv; charset=utf-8"
