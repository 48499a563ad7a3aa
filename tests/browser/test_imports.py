"""An import that the browser drives, from the file to the patients, by the keyboard."""

import pytest
from playwright.sync_api import expect

from records.patients.models import Patient
from tests.records.imports.conftest import PATIENTS

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_former_record_is_taken_in(new_page, sign_in, owner):
    page = new_page()
    sign_in(page, owner)
    page.goto("/imports/")
    page.get_by_label("Patients", exact=True).check()
    file = {"name": "old.csv", "mimeType": "text/csv", "buffer": PATIENTS.encode()}
    page.get_by_label("The file").set_input_files(file)
    page.get_by_role("button", name="Upload and choose columns").press("Enter")
    expect(page.get_by_label("Phone")).to_have_value("5")
    page.get_by_label("Date of birth").select_option("")
    page.get_by_role("button", name="Look through the rows").press("Enter")
    expect(page.get_by_text("Choose which column holds the date of birth.")).to_be_visible()
    page.get_by_label("Date of birth").select_option("Date of birth (column 4): 17/05/1971")
    page.get_by_role("button", name="Look through the rows").press("Enter")
    expect(page.get_by_role("heading", name="Nothing is taken in yet")).to_be_visible()
    page.get_by_role("button", name="Take in 2 patients").press("Enter")
    expect(page.get_by_text("It can be undone until")).to_be_visible()
    assert Patient.objects.count() == 2
