"""What the printed note says, read back from its PDF."""

from datetime import date

import pytest
from django.utils import timezone
from django.utils.formats import date_format

from clinic.printing.pdf import render_pdf
from records.notes.services import note_html
from records.sessions.enums import Remainder
from records.sessions.models import TreatmentSession
from records.sessions.services.signing import add_addendum, sign_session
from records.sessions.services.tray import put_on_tray, record_waste
from tests.factories import make_patient, make_point, make_product, make_session, make_units
from tests.pdf import page_texts, pdf_text


def as_pdf(session) -> bytes:
    return render_pdf(note_html(TreatmentSession.objects.get(pk=session.pk)))


@pytest.fixture
def text(corrected) -> str:
    return pdf_text(as_pdf(corrected))


def test_each_point_has_its_row_with_everything_about_it(text):
    """A cell that takes two lines is read line by line, as PDFium does."""
    rows = [
        "1 Zygomatic region (cheekbone) Left Supraperiosteal Bolus Needle 27 G, 13 mm "
        "Done, negative HA filler 1 mL Lot LOT42, exp. 2030-06-30 0.2 mL",
        "2 Zygomatic region (cheekbone) Right Subcutaneous Fanning Cannula 25 G, 38 mm "
        "Not done HA filler 1 mL Lot LOT42, exp. 2030-06-30 0.15 mL",
        "3 Glabella (frown lines) Midline Intramuscular Bolus Needle 30 G "
        "Done, negative Toxin 100 units Lot T88120, exp. 2030-06-30 4 units",
        "4 Temporal region (temple) Right Supraperiosteal Bolus Needle 27 G, 13 mm "
        "Done, positive HA filler 1 mL Lot LOT42, exp. 2030-06-30 0.075 mL",
    ]
    for row in rows:
        assert row in text


def test_totals_per_unit_show_content_drawn_and_what_became_of_the_rest(text, filler, toxin):
    assert (
        f"{filler.label} HA filler 1 mL, Lumbrook Biomaterials LOT42 2030-06-30 1 mL 0.425 mL – "
        "Wasted: 0.575 mL"
    ) in text
    row = text[text.index(toxin.label) :]
    assert "T88120 2030-06-30 100 units 4 units" in row
    assert "96 units" in row
    made_up = timezone.localtime(toxin.opening.opened_at)
    # 100 units in 2.5 mL are 4 units in 0.1 mL: dilution guides of onabotulinumtoxinA.
    assert (
        f"Made up with 2.5 mL sodium chloride 0.9 % {made_up.day} {made_up:%b %Y, %H:%M} by "
        "Ida Injector: 4 units in 0.1 mL; use before"
    ) in row


def test_what_was_wasted_on_the_way_and_left_over_add_up_to_the_content(unsigned, injector, toxin):
    """Of 100 units 4 were drawn and 12 wasted: 84 stay."""
    filler = unsigned.tray.exclude(unit=toxin).get().unit
    for unit, amount in ((toxin, 1_200), (filler, 75)):
        record_waste(
            session=unsigned, unit=unit, amount=amount, reason="Primed the needle", actor=injector
        )
    remainders = {filler.pk: Remainder.WASTED, toxin.pk: Remainder.SHARED}
    sign_session(session=unsigned, remainders=remainders, actor=injector)
    text = pdf_text(as_pdf(unsigned))
    assert "1 mL 0.425 mL 0.075 mL Wasted: 0.5 mL" in text
    assert "100 units 4 units 12 units Stays in use: 84 units" in text


def test_totals_by_region_and_side(text):
    assert "Zygomatic region (cheekbone) HA filler 1 mL 0.15 mL 0.2 mL – 0.35 mL" in text
    assert "Glabella (frown lines) Toxin 100 units – – 4 units 4 units" in text


def test_every_flag_of_the_session_stands_there_with_its_source(corrected, text):
    from records.notes.queries import note_content

    flags = note_content(corrected).flags
    assert {"stop", "note"} <= {flag.level for flag in flags}
    for flag in flags:
        assert f"{flag.label}. {flag.title} {flag.text}" in text
        assert f"Source: {flag.source}" in text
    assert "Deviation. Point 4 differs. Reason given: Half of it ran back out (Point 4)" in text


def test_cautions_of_the_treated_regions_stand_there_with_their_source(text):
    """The glabella's; those of the zygomatic region are on the level that is not printed."""
    assert "Glabella High 19.0 % of newly reported cases of vision loss began here." in text
    assert "Doyon 2024, Aesthet Surg J: 365 cases, Sept 2018 to March 2023" in text
    assert "Zygomaticofacial vessels" not in text


def test_review_signature_and_digest(corrected, text):
    due = corrected.reviews.get().due_on
    assert f"Review due {due:%A} {due.day} {due:%B} {due.year} 14 days after the session" in text
    when = date_format(timezone.localtime(corrected.signed_at), "j F Y, H:i")
    assert f"Signed by Ida Injector on {when}" in text
    assert f"(SHA-256): {corrected.signed_digest}" in text


def test_the_addendum_says_who_when_and_why(corrected, text):
    when = date_format(timezone.localtime(corrected.addenda.get().written_at), "j F Y, H:i")
    assert (
        f"Addenda {when}, Ida Injector on point 1 The patient was given written advice. "
        "Reason: Left out of the note"
    ) in text


def test_clinic_patient_and_page_number_stand_on_each_page(corrected, injector):
    for number in range(6):
        add_addendum(
            session=corrected, reason=f"Reason {number}", text="Many words. " * 120, actor=injector
        )
    pages = page_texts(as_pdf(corrected))
    assert len(pages) >= 3
    treated = timezone.localtime(corrected.started_at)
    for number, page in enumerate(pages, start=1):
        assert (
            "Larkstone Face Clinic 4 Example Lane, Larkstone LK1 0ZZ 020 7946 0123 "
            f"Ann Example Born 17 May 1980 · {corrected.patient.record_number} "
            f"Treated {date_format(treated, 'j M Y, H:i')}"
        ) in page
        assert f"Page {number} of {len(pages)}" in page


def test_an_unsigned_session_is_marked_as_a_draft_on_each_page(unsigned):
    pages = page_texts(as_pdf(unsigned))
    assert "Chart note (draft, not signed)" in pages[0]
    assert all("Draft, not signed Page" in page for page in pages)
    assert "Signed by" not in " ".join(pages)


def test_a_note_without_points(policy, injector, patient):
    session = make_session(injector, patient)
    sign_session(session=session, remainders={}, actor=injector)
    text = pdf_text(as_pdf(session))
    assert "Nothing was injected." in text
    assert "Review due none" in text


def test_a_long_name_and_a_name_from_right_to_left(policy, injector, desk):
    longest = "Maria " * 33
    for name in (longest.strip(), "عبد الرحمن الفاسي"):
        session = make_session(injector, make_patient(desk, name))
        first, *others = page_texts(as_pdf(session))
        assert first.count(name) == 2  # in the head and among the facts
        assert all(page.count(name) == 1 for page in others)
        assert "Larkstone Face Clinic" in first


def test_a_name_without_its_letters_is_spoken_of(policy, injector, desk):
    text = pdf_text(as_pdf(make_session(injector, make_patient(desk, "陳美玲 Chan"))))
    assert "Some letters cannot be printed." in text
    assert "Patient [?] Chan" in text


TYPED = "<link rel=attachment href=file:///etc/passwd><img src=http://example.org/a.png>"


def test_what_people_type_stands_there_as_text(policy, injector, desk, owner):
    session = make_session(injector, make_patient(desk, f"Ann {TYPED}"))
    TreatmentSession.objects.filter(pk=session.pk).update(note=f"Note {TYPED}")
    unit = make_units(owner, make_product(f"Filler {TYPED}"), number="<b>&1")[0]
    put_on_tray(session=session, unit=unit, actor=injector)
    make_point(session, unit, deviation=f"Why {TYPED}")
    session = sign_session(session=session, remainders={unit.pk: Remainder.WASTED}, actor=injector)
    add_addendum(session=session, reason=f"Reason {TYPED}", text=f"Text {TYPED}", actor=injector)
    printed = as_pdf(session)
    text = pdf_text(printed).replace(" ", "")
    for start in ("Ann", "Note", "Filler", "given:Why", "Reason:Reason", "Text"):
        assert start + TYPED.replace(" ", "") in text
    assert "Lot<b>&1" in text
    assert b"/EmbeddedFiles" not in printed


def test_forty_points_on_three_views(policy, injector, patient, owner):
    session = make_session(injector, patient)
    unit = make_units(owner, make_product(content=10_000))[0]
    put_on_tray(session=session, unit=unit, actor=injector)
    for number in range(40):
        view = ("front", "right", "left")[number % 3]
        x = {"front": 300 + 8 * number, "right": -400 - 5 * number, "left": 400 + 5 * number}[view]
        make_point(session, unit, view=view, x_dmm=x, y_dmm=300, amount=10 + number)
    pages = page_texts(as_pdf(session))
    assert "Points No. Region" not in pages[0]  # the first page belongs to the three views
    for view in ("Patient’s right Front Patient’s left", "Right side", "Left side"):
        assert view in pages[0]
    table = [page for page in pages if "No. Region Side Plane" in page]
    assert len(table) == 2  # the head stands on both
    for number in range(40):
        assert f"0.0{10 + number}".rstrip("0") + " mL" in " ".join(table)


def test_outline_and_measures_are_named_when_they_were_used(unsigned):
    text = pdf_text(as_pdf(unsigned))
    assert "Outline:" not in text
    assert "scaled to this patient" not in text
    TreatmentSession.objects.filter(pk=unsigned.pk).update(
        jaw="broader", pupil_dmm=615, face_width_dmm=1380
    )
    text = pdf_text(as_pdf(unsigned))
    assert "Outline: broader jaw." in text
    assert (
        "scaled to this patient: between the pupils 61.5 mm, face width 138 mm. Here they are "
        "printed unscaled."
    ) in text


def test_the_note_says_what_stands_on_the_drawings(unsigned, filler):
    text = pdf_text(as_pdf(unsigned))
    assert "A bolus shows its amount, in mL or units as in the table, where there is room." in text
    assert "direction and length" not in text
    make_point(unsigned, filler, x_dmm=-450, y_dmm=600, technique="fanning", amount=20,
               reach_x_dmm=-300, reach_y_dmm=700)  # fmt: skip
    assert "A line or fan shows direction and length of the placement." in pdf_text(
        as_pdf(unsigned)
    )


def test_the_late_entry_gives_its_reason(policy, injector, patient):
    started = timezone.now() - timezone.timedelta(days=3)
    session = make_session(
        injector, patient, started_at=started, late_reason="The network was down"
    )
    assert "Written down later: The network was down" in pdf_text(as_pdf(session))


def test_age_is_that_of_the_day_of_treatment(unsigned):
    born = unsigned.patient.birth_date
    treated = timezone.localdate(unsigned.started_at)
    years = treated.year - born.year - (treated < date(treated.year, born.month, born.day))
    assert f"{years} years" in pdf_text(as_pdf(unsigned))
