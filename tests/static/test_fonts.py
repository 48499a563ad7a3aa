"""
Names in every script the clinic meets reach the paper in the project's own fonts.

The reason for one family name per file: with one name for all, WeasyPrint put the letters of one
file in place of another's, and the text that a program extracts still looked right.
"""

import re
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest
from weasyprint import HTML

from tests.pdf import pdf_text

STATIC = Path(__file__).resolve().parents[2] / "static"
FONTS_CSS = STATIC / "css" / "fonts.css"
FAMILIES = re.findall(r'font-family: "([^"]+)"', FONTS_CSS.read_text())


def pdf_of(text: str) -> bytes:
    html = (
        f'<link rel="stylesheet" href="{FONTS_CSS.as_uri()}">'
        f"<style>body {{ font-family: var(--fonts) }}</style><p>{text}"
    )
    return HTML(string=html).write_pdf()


def fonts_in_pdf_of(text: str) -> set[str]:
    """Names of the fonts a page with this text embeds, without the subset's prefix."""
    with pikepdf.open(BytesIO(pdf_of(text))) as pdf:
        fonts = pdf.pages[0].Resources.Font.values()
        return {str(font.BaseFont).split("+")[1] for font in fonts}


def test_each_file_has_a_family_of_its_own():
    assert len(FAMILIES) == len(list((STATIC / "fonts").glob("*.woff2")))
    assert len(set(FAMILIES)) == len(FAMILIES)


def test_the_list_names_every_family():
    listed = re.search(r"--fonts: ([^;]+);", FONTS_CSS.read_text()).group(1)
    assert re.findall(r'"([^"]+)"', listed) == FAMILIES


@pytest.mark.parametrize(
    ("stylesheet", "request_"),
    [("tokens.css", "--font: var(--fonts)"), ("print.css", "html {\n  font-family: var(--fonts);")],
)
def test_screen_and_paper_ask_for_the_whole_list(stylesheet, request_):
    assert request_ in (STATIC / "css" / stylesheet).read_text()


@pytest.mark.parametrize(
    ("text", "fonts"),
    [
        ("0.25 mL", {"Clinic-Sans"}),
        ("Łőş", {"Clinic-Sans-Latin-Ext"}),
        ("ễịế", {"Clinic-Sans-Vietnamese"}),
        ("Ελένη", {"Clinic-Sans-Greek"}),
        ("Юлия", {"Clinic-Sans-Cyrillic"}),
        ("שירה", {"Clinic-Sans-Hebrew"}),
        ("عبد", {"Clinic-Sans-Arabic"}),
        ("ٻ", {"Clinic-Sans-Arabic-Ext"}),
    ],
)
def test_a_script_is_written_in_its_own_file(text, fonts):
    assert fonts_in_pdf_of(text) == fonts


@pytest.mark.parametrize(
    "name", ["نور الهدى الفاسي", "فریدون پورناظری", "ליאת בן-ארי", "Nguyễn Łukasz"]
)
def test_a_name_can_be_found_and_copied_from_a_pdf(name):
    """A font that puts Arabic letters together from parts left other letters in the text."""
    assert pdf_text(pdf_of(name)) == name


def test_each_font_has_its_licence_beside_it():
    licences = sorted(path.name for path in (STATIC / "fonts").glob("OFL-*.txt"))
    assert licences == [
        "OFL-noto-sans-arabic.txt",
        "OFL-noto-sans-hebrew.txt",
        "OFL-source-sans-3.txt",
        "OFL-vazirmatn.txt",
    ]
