"""The pages: upload, columns, dry run, refused rows as CSV, where the former record is shown."""

import csv
from io import StringIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from planning.imports.columns import Kind
from records.imports.enums import State
from records.imports.models import Import
from records.imports.services.batches import carry_on
from records.patients.models import Patient
from records.whole_record.models import WholeRecord
from records.whole_record.queries.record import record_content
from tests.factories import make_import, make_product, make_units, refreshed
from tests.records.imports.conftest import PATIENTS, TREATMENTS


@pytest.fixture
def browser(signed_in, owner):
    return signed_in(owner)


def upload(browser, text: str, **typed):
    file = SimpleUploadedFile("old.csv", text.encode())
    return browser.post(reverse("import-list"), {"kind": "patients", "file": file, **typed})


def text_of(answer) -> str:
    return answer.content.decode()


def test_a_file_goes_from_upload_to_patients(browser):
    answer = upload(browser, PATIENTS)
    taken = Import.objects.get()
    mapping = reverse("import-mapping", args=[taken.pk])
    assert answer["Location"] == mapping
    page = text_of(browser.get(mapping))
    assert "Zoë" in page  # the first rows beside the choices
    form = browser.get(mapping).context["form"]
    chosen = {f"column_{key}": place for key, place in form.taken.mapping.items()}
    answer = browser.post(mapping, chosen)
    detail = reverse("import-detail", args=[taken.pk])
    assert answer["Location"] == detail
    assert refreshed(taken).date_order == "day"  # the file shows it
    step = reverse("import-step", args=[taken.pk])
    answer = browser.post(step, headers={"HX-Request": "true"})
    assert answer["HX-Refresh"] == "true"
    page = text_of(browser.get(detail))
    assert "Take in 2 patients" in page
    assert "shortened" in page
    browser.post(reverse("import-begin", args=[taken.pk]))
    assert "hx-trigger" in text_of(browser.get(detail))
    browser.post(step)
    assert Patient.objects.count() == 2
    assert "It can be undone until" in text_of(browser.get(detail))


@pytest.mark.parametrize(
    ("text", "typed", "words"),
    [
        (PATIENTS, {"kind": ""}, "Choose what the file holds."),
        (PATIENTS, {"file": ""}, "Choose the file."),
        ("PK\x03\x04", {}, "This is a spreadsheet"),
        ("Name\n", {}, "There is no row below the headings."),
        (PATIENTS, {"letters": "utf-16"}, "letters of this file"),
    ],
)
def test_what_is_wrong_with_a_file_is_said(browser, text, typed, words):
    answer = upload(browser, text, **typed)
    assert answer.status_code == 422
    assert words in text_of(answer)


def test_the_order_of_days_is_asked_for_where_the_file_does_not_show_it(browser):
    upload(browser, "Name,Date of birth\nAnn Example,03/04/1980\n")
    taken = Import.objects.get()
    address = reverse("import-mapping", args=[taken.pk])
    chosen = {"column_full_name": "0", "column_birth_date": "1"}
    answer = browser.post(address, chosen)
    assert answer.status_code == 422
    assert "can be read in two ways" in text_of(answer)
    browser.post(address, chosen | {"date_order": "month"})
    carry_on(taken=taken, seconds=60)
    browser.post(reverse("import-begin", args=[taken.pk]))
    carry_on(taken=taken, seconds=60)
    assert Patient.objects.get().birth_date.isoformat() == "1980-03-04"


def test_a_missing_column_is_marked_and_the_others_stay_chosen(browser, owner):
    taken = make_import(owner, PATIENTS, to=State.UPLOADED)
    answer = browser.post(reverse("import-mapping", args=[taken.pk]), {"column_full_name": "1"})
    assert answer.status_code == 422
    assert "Choose which column holds the date of birth." in text_of(answer)
    assert answer.context["form"]["column_full_name"].value() == "1"


def test_refused_rows_come_back_to_be_mended(browser, owner):
    taken = make_import(owner, PATIENTS.replace("Dan", '=cmd|" /C calc"!A0'), to=State.CHECKED)
    answer = browser.get(reverse("import-errors", args=[taken.pk]))
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    heading, *rows = csv.reader(StringIO(text, newline=""))
    assert heading[:5] == ["Row", "Column", "Reason", "Number", "Name"]
    assert [(row[0], row[1]) for row in rows] == [
        ("4", "Phone"), ("5", "Date of birth"), ("6", ""),
    ]  # fmt: skip
    # CSV injection (OWASP): a cell that a spreadsheet would compute is marked as text.
    assert rows[1][5].startswith("'=cmd")
    mended = text.replace("4.47912E+11", "020 7946 0103")
    again = make_import(owner, mended, to=State.CHECKED)
    assert list(again.rows.values_list("state", flat=True)) == ["good", "wrong", "good"]
    assert again.rows.get(number=3).cells[5].startswith("=cmd")


def test_nothing_is_undone_without_a_reason(browser, patients):
    address = reverse("import-undo", args=[patients.pk])
    assert browser.post(address, {"reason": ""}).status_code == 422
    answer = browser.post(address, {"reason": "Wrong file"})
    assert answer["Location"] == reverse("import-detail", args=[patients.pk])
    assert refreshed(patients).state == State.UNDOING


MARK = "From the former record, as imported on"


def test_the_former_record_is_shown_as_such_and_as_nothing_else(browser, patients, owner):
    make_import(owner, TREATMENTS, Kind.TREATMENTS)
    zoe = Patient.objects.get(full_name="Zoë Example")
    panel = text_of(browser.get(reverse("imports-for-patient", args=[zoe.pk])))
    assert panel.count(MARK) == 2
    assert "number there" in panel
    timeline = text_of(browser.get(reverse("timeline-for-patient", args=[zoe.pk])))
    assert "session-detail" not in timeline
    sessions = text_of(browser.get(reverse("session-for-patient", args=[zoe.pk])))
    assert "Filler of before" not in sessions
    asked = WholeRecord(patient=zoe, purpose="patient", recipient="Zoë", asked_by=owner)
    chapter = next(c for c in record_content(asked).chapters if c.key == "former-record")
    assert [row[:3] for row in chapter.tables[1].rows] == [
        ("5 Mar 2024", "Filler of before", "LF-7"),
    ] * 2  # fmt: skip


def test_a_lot_finds_its_imported_treatments_apart_from_its_points(browser, patients, owner):
    make_import(owner, TREATMENTS, Kind.TREATMENTS)
    trace = reverse("trace")
    page = text_of(browser.get(trace, {"lot": "LF-7"}))  # on no shelf of this clinic
    assert "From the former record" in page
    assert "Zoë Example" in page
    unit, *_ = make_units(owner, make_product(), number="LF-7")
    answer = browser.get(trace, {"lot": "LF-7"})
    assert answer.context["summary"].patients == 0
    assert len(answer.context["former"]) == 2
    answer = browser.get(reverse("trace-csv", args=[unit.lot_id]))
    lines = b"".join(answer.streaming_content).decode("utf-8-sig").splitlines()
    assert len(lines) == 3
    assert all("former_record_as_imported" in line for line in lines[1:])


def test_the_timeline_shows_recent_ones_in_a_lane_of_their_own(browser, patients, owner):
    recent = TREATMENTS.replace("2024-03-05", "2026-10-05")
    make_import(owner, recent, Kind.TREATMENTS)
    zoe = Patient.objects.get(full_name="Zoë Example")
    timeline = text_of(browser.get(reverse("timeline-for-patient", args=[zoe.pk])))
    assert "Former record" in timeline
    assert timeline.count(MARK) == 2
    assert "Usually fades" not in timeline
