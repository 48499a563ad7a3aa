"""Letters that no font of the documents holds are seen, marked and spoken of."""

import unicodedata

import pytest

from clinic.printing.documents import document_html
from clinic.printing.letters import printable_letters, unprintable, without
from clinic.printing.pdf import render_pdf
from tests.pdf import fonts, opened, pdf_text

# Names in each script that the fonts are there for.
PRINTED = [
    "Zoë Ångström-Łęcki", "Đặng Thị Thu Hằng", "Ανδρομάχη ᾽Αγγέλου", "Ольга Ґудзь", "ליאת בן-ארי",
    "نور الهدى الفاسي", "“0.25 mL” – 1 % · 5 µg ½",
]  # fmt: skip


@pytest.mark.parametrize("text", PRINTED)
def test_names_in_the_scripts_of_the_fonts_are_printed_whole(text):
    assert unprintable(text) == set()
    assert without(unprintable(text), text) == unicodedata.normalize("NFC", text)


@pytest.mark.parametrize(
    ("text", "missing", "printed"),
    [
        ("陳美玲 Chan Mei Ling", {"陳", "美", "玲"}, "[?] Chan Mei Ling"),
        ("Ann 🙂", {"🙂"}, "Ann [?]"),
        ("नीता Rao", set("नीता"), "[?] Rao"),
        ("A]陳\\-^B", {"陳"}, "A][?]\\-^B"),
    ],
)
def test_each_run_of_other_letters_gets_one_stand_in(text, missing, printed):
    assert unprintable(text) == missing
    assert without(unprintable(text), text) == printed


def test_letters_in_two_pieces_are_put_together_first():
    pieces = unicodedata.normalize("NFD", "Zoë Hằng")
    assert without(unprintable(pieces), pieces) == "Zoë Hằng"


def test_line_ends_and_direction_marks_are_no_letters():
    assert unprintable("a\r\n\t\u200e\u200f\u2066b\u2069\u200d\ufeff") == set()


def test_a_letter_outside_the_range_its_face_is_asked_for_does_not_count():
    """The Hebrew file holds Latin digits too, but its face is never used for them."""
    assert {"1", "א"} <= printable_letters()
    assert "�" not in printable_letters()


POLICY = {"policy": {"name": "Clinic"}}


def test_the_document_says_that_letters_are_missing():
    text = pdf_text(render_pdf(document_html("print/base.html", {"policy": {"name": "陳 Clinic"}})))
    assert "[?] Clinic" in text
    assert "Some letters cannot be printed." in text


def test_a_document_with_all_its_letters_says_nothing():
    html = document_html("print/base.html", POLICY)
    assert "cannot be printed" not in html
    assert "[?]" not in html


def test_no_font_of_the_machine_steps_in():
    html = document_html("print/base.html", {"policy": {"name": "陳美玲 🙂 नीता Zoë"}})
    assert {name.split("-")[0] for name in fonts(opened(render_pdf(html)))} == {"Clinic"}
