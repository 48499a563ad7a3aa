"""
How bad a picture of a code may be: docs/scanning.md holds the figures, and these tests read them.

The codes are drawn by zxing-cpp and read by the same library's build for browsers, which proves the
path and its limits and not the reading of foreign printers' codes.
"""

import re
from functools import partial
from pathlib import Path

import zxingcpp
from PIL import Image

from planning.scan import Scan, read_scan
from tests.browser.scanning.pictures import (
    KINDS,
    PLAIN_NUMBER,
    blurred,
    code,
    inverted,
    noisy,
    on_a_table,
    pale,
    tilted,
    turned,
)
from tests.browser.scanning.reading import read_pictures
from tests.scan_cases import GTIN, NOVEMBER, TODAY

ROOT = Path(__file__).resolve().parents[3]
COLUMNS = {"Data Matrix": "DataMatrix", "GS1-128": "GS1-128", "QR code": "QR", "EAN-13": "EAN-13"}
MODULE = 4
WORSE = {
    "smallest square or bar": lambda kind, figure: code(kind, int(figure)),
    "blur": lambda kind, figure: blurred(code(kind, MODULE), figure * MODULE),
    "contrast left": lambda kind, figure: pale(code(kind, MODULE), figure),
    "noise": lambda kind, figure: noisy(code(kind, MODULE), figure),
    "seen from the side": lambda kind, figure: tilted(code(kind, MODULE), figure),
}
IDENTIFIERS = {"DataMatrix": "]d2", "GS1-128": "]C1", "QR": "]Q3", "EAN-13": "]E0"}


def sent(kind: str) -> str:
    """What a scanner sends of `code(kind)`."""
    text = PLAIN_NUMBER if kind == "EAN-13" else f"01{GTIN}1727113010LOT42"
    return IDENTIFIERS[kind] + text


def promised() -> list[tuple[str, str, float]]:
    """(what makes it worse, kind of code, how far it may go) from the table of the document."""
    text = (ROOT / "docs" / "scanning.md").read_text()
    lines = text[text.index("| | Data Matrix") :].split("\n\n")[0].splitlines()
    head, _, *rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
    figures = []
    for row in rows:
        worse = row[0].split(",")[0]
        for kind, cell in zip(head[1:], row[1:], strict=True):
            sure, _last = re.fullmatch(r"([\d.]+) \(([\d.]+)\)", cell).groups()
            figures.append((worse, COLUMNS[kind], float(sure)))
    return figures


def test_document_promises_a_figure_for_each_kind_and_each_way():
    assert {(worse, kind) for worse, kind, _ in promised()} == {
        (worse, kind) for worse in WORSE for kind in KINDS
    }


def test_codes_are_read_as_far_as_the_document_promises(bare_page):
    pictures = [WORSE[worse](kind, figure) for worse, kind, figure in promised()]
    read = read_pictures(bare_page, pictures)
    lost = [
        (*row, text) for row, text in zip(promised(), read, strict=True) if text != sent(row[1])
    ]
    assert lost == []


def test_codes_are_read_at_every_angle(bare_page):
    angles = [(kind, angle) for kind in KINDS for angle in range(0, 360, 40)]
    angles += [(kind, angle) for kind in ("GS1-128", "EAN-13") for angle in (7, 22, 52, 67)]
    read = read_pictures(bare_page, [turned(code(kind, 3), angle) for kind, angle in angles])
    lost = [(*row, text) for row, text in zip(angles, read, strict=True) if text != sent(row[0])]
    assert lost == []


def test_code_that_is_too_bad_is_not_found_and_never_read_wrongly(bare_page):
    cases = [
        (kind, picture)
        for kind in KINDS
        for picture in (
            *(blurred(code(kind, MODULE), step * MODULE / 10) for step in (4, 6, 8)),
            *(noisy(code(kind, 2), spread) for spread in (20, 50, 80)),
            *(tilted(code(kind, 2), degrees) for degrees in (65, 80)),
            *(pale(noisy(code(kind, 2), 8), contrast) for contrast in (0.2, 0.1)),
        )
    ]
    read = read_pictures(bare_page, [picture for _, picture in cases])
    assert None in read
    wrong = [
        (kind, text)
        for (kind, _), text in zip(cases, read, strict=True)
        if text not in (None, sent(kind))
    ]
    assert wrong == []


def test_everything_at_once(bare_page):
    def worn(kind: str):
        return noisy(pale(blurred(turned(code(kind, MODULE), 8), 0.8), 0.4), 4)

    kinds = list(KINDS)
    assert read_pictures(bare_page, [worn(kind) for kind in kinds]) == [sent(k) for k in kinds]


def test_white_on_black_is_read_where_the_document_says_so(bare_page):
    kinds = list(KINDS)
    read = read_pictures(bare_page, [inverted(code(kind, MODULE)) for kind in kinds])
    assert dict(zip(kinds, read, strict=True)) == {
        "DataMatrix": sent("DataMatrix"),
        "GS1-128": None,
        "QR": sent("QR"),
        "EAN-13": None,
    }


def test_what_was_read_in_a_large_photograph_is_the_pack(bare_page):
    """12 megapixels, made smaller as the camera's are, from the picture to lot and expiry."""
    (text,) = read_pictures(bare_page, [on_a_table(code("DataMatrix", 5))])
    assert read_scan(text, today=TODAY) == Scan(gtin=GTIN, lot="LOT42", expiry=NOVEMBER)


def test_entries_keep_their_separator(bare_page):
    long = f"(01){GTIN}(10)LOT42(21)SER9(17)271130"
    pictures = [code(kind, 3, long) for kind in ("DataMatrix", "GS1-128", "QR")]
    for text in read_pictures(bare_page, pictures):
        scan = read_scan(text, today=TODAY)
        assert (scan.lot, scan.serial, scan.expiry) == ("LOT42", "SER9", NOVEMBER)
        assert (scan.warnings, scan.error) == ((), "")


def test_code_that_only_looks_like_gs1_is_known_by_its_carrier(bare_page):
    """Written without the sign that makes it GS1, it holds the same characters."""
    plain = zxingcpp.create_barcode(
        f"01{GTIN}1727113010LOT42", zxingcpp.BarcodeFormat.DataMatrix, force_square=True
    )
    picture = Image.fromarray(plain.to_image(scale=MODULE)).convert("L")
    (text,) = read_pictures(bare_page, [picture])
    assert text == f"]d101{GTIN}1727113010LOT42"
    (warning,) = read_scan(text, today=TODAY).warnings
    assert "a plain Data Matrix, not a GS1 code" in warning


def test_entries_go_before_a_bare_number_and_of_two_packs_none_is_chosen(bare_page):
    one, bare = code("DataMatrix", 4), code("EAN-13", 3)
    other = code("DataMatrix", 4, f"(01){GTIN}(17)271130(10)LOT43")
    beside = partial(_beside, 60)
    read = read_pictures(bare_page, [beside(bare, one), beside(one, other), beside(one, one)])
    assert read == [sent("DataMatrix"), "several", sent("DataMatrix")]


def _beside(gap: int, left, right):
    whole = Image.new("L", (left.width + gap + right.width, max(left.height, right.height)), 255)
    whole.paste(left, (0, 0))
    whole.paste(right, (left.width + gap, 0))
    return whole
