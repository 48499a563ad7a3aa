"""
The printed letters, read back from their PDF.

Where things stand on the sheet: DIN 5008, form B, and the window of a DL envelope by DIN 680, both
from memory.
"""

import re

import pytest
from PIL import ImageChops

from clinic.printing.pdf import render_pdf
from records.mailings.letters import letter_of, letters_html
from tests.factories import make_mailing, make_patient
from tests.pdf import opened, page_picture, page_texts, pdf_text, tags

# The window of the envelope on the folded sheet, in mm: left, top, right, bottom.
WINDOW = (20, 45, 105, 90)
DOTS = 4


def written(mailing, policy) -> bytes:
    """The PDF of all letters of a mailing."""
    items = list(mailing.items.select_related("patient", "mailing"))
    return render_pdf(letters_html(mailing, [letter_of(item, policy) for item in items], policy))


@pytest.fixture
def pdf(owner, people, policy) -> bytes:
    return written(make_mailing(owner, people), policy)


def in_window(pdf: bytes, page: int):
    """The part of a page that shows in the envelope's window."""
    left, top, right, bottom = (millimetres * DOTS for millimetres in WINDOW)
    return page_picture(pdf, page, dots_per_mm=DOTS).crop((left, top, right, bottom))


def test_each_patient_has_a_page_with_letterhead_address_and_text(pdf, people):
    pages = page_texts(pdf)
    assert len(pages) == 3
    for number, (page, patient) in enumerate(zip(pages, people, strict=True), start=1):
        assert (
            "Larkstone Face Clinic 4 Example Lane Larkstone LK1 0ZZ 020 7946 0123 "
            "hello@larkstone.example"
        ) in page
        assert f"{number} Sample Street Larkstone" in page
        assert "Please call us" in page
        assert patient.record_number in page
        assert page.count(patient.full_name) == 2  # in the window and in the text


def test_what_shows_in_the_window_is_the_address_and_nothing_of_the_text(owner, people, policy):
    """The same sheet with another text and subject shows the same in its window."""
    one = make_mailing(owner, people[:1])
    other = make_mailing(owner, people[:1], subject="Quite another subject", body="word " * 300)
    pictures = [in_window(written(mailing, policy), 0) for mailing in (one, other)]
    assert ImageChops.difference(*pictures).getbbox() is None
    assert pictures[0].getbbox() is not None
    ink = ImageChops.invert(pictures[0].convert("L")).getbbox()
    assert ink is not None
    left, top, right, bottom = ink
    assert left >= 4 * DOTS  # 5 mm from the window's edge
    assert right <= pictures[0].width - 2 * DOTS
    assert top >= DOTS
    assert bottom <= pictures[0].height - 2 * DOTS


def test_a_long_address_still_fits_the_window(owner, desk, policy):
    address = "\n".join(
        ["c/o Featherstonehaugh-Wolfeschlegelsteinhausen and Partners, Solicitors", "Flat 3",
         "The Old Granary", "12 Sample Street", "Upper Larkstone", "Larkstone", "LK1 1AA"]
    )  # fmt: skip
    patient = make_patient(desk, "Maximiliane-Theodora von und zu Hohenfels", address=address)
    picture = in_window(written(make_mailing(owner, [patient]), policy), 0)
    _, _, _, bottom = ImageChops.invert(picture.convert("L")).getbbox()
    assert bottom <= picture.height - DOTS
    assert bottom > 30 * DOTS  # all of it is there


def test_a_rehearsal_says_so_across_each_page_and_shows_the_clinic_s_own_address(
    owner, people, policy
):
    mailing = make_mailing(owner, people, is_rehearsal=True, body="word " * 900)
    pages = page_texts(written(mailing, policy))
    assert len(pages) > 3  # long letters go on on a second page
    for page in pages:
        assert "DRILL" in page
    text = " ".join(pages)
    assert "Sample Street" not in text
    assert text.count("Larkstone Face Clinic 4 Example Lane Larkstone LK1 0ZZ Please call") == 0
    assert len(re.findall("4 Example Lane Larkstone LK1 0ZZ", text)) >= 6


def test_a_letter_in_earnest_says_nothing_of_a_drill(pdf):
    assert "DRILL" not in pdf_text(pdf)


def test_a_letter_that_lacks_letters_says_so_and_the_others_do_not(owner, desk, people, policy):
    strange = make_patient(desk, "陳美玲 Chan", address="5 Sample Street")
    pages = page_texts(written(make_mailing(owner, [people[0], strange]), policy))
    assert "cannot be printed" not in pages[0]
    assert "Dear [?] Chan" in pages[1]
    assert "Some letters of this text cannot be printed here; each place is marked [?]." in pages[1]


def test_the_same_letters_give_the_same_bytes(owner, people, policy):
    mailing = make_mailing(owner, people[:1])
    assert written(mailing, policy) == written(mailing, policy)


def test_it_is_tagged_and_names_nobody_in_its_title(pdf):
    document = opened(pdf)
    metadata = document.open_metadata()
    assert metadata["pdfuaid:part"] == "1"
    assert metadata["dc:title"].startswith("Letters of ")
    assert [str(tag.S) for tag in tags(document)].count("/H1") == 3


TYPED = "<link rel=attachment href=file:///etc/passwd><b>"


def test_what_people_type_stands_there_as_text(owner, desk, policy):
    patient = make_patient(desk, f"Ann {TYPED}", address=f"1 {TYPED}")
    printed = written(make_mailing(owner, [patient], body=f"{TYPED} {{name}}"), policy)
    assert pdf_text(printed).replace(" ", "").count(TYPED.replace(" ", "")) == 4
    assert b"/EmbeddedFiles" not in printed
