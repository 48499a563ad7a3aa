"""Finding a patient with the keyboard alone, and registering one, in a real browser."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from records.patients.models import Patient
from tests.factories import make_patient

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def at_desk(page, sign_in, desk):
    sign_in(page, desk)
    return page


def hits(page):
    return page.get_by_role("listbox").get_by_role("option")


def test_patient_is_found_and_opened_with_the_keyboard(at_desk, desk):
    names = ["Mary Adams", "Mary Baker", "Mary Cole"]
    patients = [make_patient(desk, name) for name in names]
    at_desk.goto("/diary/")
    at_desk.keyboard.press("/")
    field = at_desk.get_by_role("combobox", name="Search")
    expect(field).to_be_focused()
    expect(field).to_have_attribute("aria-expanded", "false")
    at_desk.keyboard.type("mar")
    expect(hits(at_desk)).to_have_count(3)
    expect(field).to_have_attribute("aria-expanded", "true")
    expect(at_desk.get_by_role("status").filter(has_text="3 found.")).to_have_count(1)
    at_desk.keyboard.press("ArrowDown")
    at_desk.keyboard.press("ArrowDown")
    expect(at_desk.get_by_role("option", selected=True)).to_contain_text("Mary Baker")
    chosen = hits(at_desk).nth(1).get_attribute("id")
    expect(field).to_have_attribute("aria-activedescendant", chosen)
    at_desk.keyboard.press("Enter")
    expect(at_desk).to_have_url(re.compile(f"/patients/{patients[1].pk}/$"))


def test_arrow_keys_go_round_and_escape_closes(at_desk, desk):
    for name in ["Mary Adams", "Mary Baker"]:
        make_patient(desk, name)
    at_desk.goto("/diary/")
    field = at_desk.get_by_role("combobox", name="Search")
    field.press_sequentially("mar")
    expect(hits(at_desk)).to_have_count(2)
    selected = at_desk.get_by_role("option", selected=True)
    field.press("ArrowUp")
    expect(selected).to_contain_text("Mary Baker")
    field.press("ArrowDown")
    expect(selected).to_contain_text("Mary Adams")
    field.press("Escape")
    expect(hits(at_desk)).to_have_count(0)
    expect(field).to_have_attribute("aria-expanded", "false")


def test_enter_opens_the_only_hit(at_desk, desk):
    patient = make_patient(desk, "Mary Adams")
    make_patient(desk, "Zed Nobody")
    at_desk.goto("/patients/")
    at_desk.keyboard.type("mary")  # the field has the focus when the page opens
    expect(hits(at_desk)).to_have_count(1)
    at_desk.keyboard.press("Enter")
    expect(at_desk).to_have_url(re.compile(f"/patients/{patient.pk}/$"))


def test_enter_never_opens_a_hit_of_an_earlier_text(at_desk, desk):
    """The answer to what was typed last is still under way when Enter is pressed."""
    make_patient(desk, "Mary Adams")
    make_patient(desk, "Marian Baker")
    at_desk.goto("/patients/")
    at_desk.keyboard.type("mary")
    expect(hits(at_desk)).to_have_count(1)
    at_desk.route("**/patients/search/", lambda route: None)
    at_desk.keyboard.press("Backspace")
    at_desk.keyboard.press("Enter")
    expect(at_desk.get_by_role("combobox", name="Find a patient")).to_have_value("mar")
    expect(hits(at_desk)).to_have_count(2)
    expect(at_desk).to_have_url(re.compile(r"/patients/\?found=$"))


def test_back_from_a_record_shows_what_was_found_by_a_fast_enter(at_desk, desk):
    """A page that answers a POST would show the browser's own error instead."""
    for name in ["Mary Adams", "Mary Baker"]:
        make_patient(desk, name)
    at_desk.goto("/patients/")
    at_desk.route("**/patients/search/", lambda route: None)
    at_desk.keyboard.type("mary")
    at_desk.keyboard.press("Enter")
    hits(at_desk).first.click()
    expect(at_desk.get_by_role("heading", name="Patient record")).to_be_visible()
    at_desk.go_back()
    expect(hits(at_desk)).to_have_count(2)


def test_whom_to_book_for_is_found_as_one_types(at_desk, desk):
    patient = make_patient(desk, "Mary Adams")
    make_patient(desk, "Zed Nobody")
    at_desk.goto("/appointments/new/?day=2026-12-01")
    at_desk.keyboard.type("mary")  # the field has the focus when the page opens
    expect(hits(at_desk)).to_have_count(1)
    at_desk.keyboard.press("Enter")
    expect(at_desk).to_have_url(re.compile(f"day=2026-12-01&patient={patient.pk}$"))


def test_patient_is_registered_with_two_allergies_after_a_doubt(at_desk, desk):
    make_patient(desk, "Jose Alvarez")
    at_desk.goto("/patients/new/")
    at_desk.get_by_role("textbox", name="Name").fill("José Álvarez")
    at_desk.get_by_label("Date of birth").fill("17.05.1980")
    at_desk.get_by_role("textbox", name="Phone").fill("020 7946 0018")
    at_desk.get_by_label("What", exact=True).fill("Lidocaine")
    at_desk.get_by_role("button", name="Another allergy or alert").click()
    expect(at_desk.get_by_label("Kind").nth(1)).to_be_focused()
    at_desk.get_by_label("What", exact=True).nth(1).fill("Latex")
    at_desk.get_by_role("button", name="Register").click()
    at_desk.get_by_role("button", name="This is another person, save anyway").click()
    expect(at_desk).to_have_url(re.compile(r"/patients/\d+/$"))
    patient = Patient.objects.get(full_name="José Álvarez")
    assert [alert.text for alert in patient.alerts.all()] == ["Lidocaine", "Latex"]


def test_enter_answers_no_question(at_desk, desk):
    """The first button of a form is pressed by Enter; it was "This is another person"."""
    make_patient(desk, "Jose Alvarez")
    at_desk.goto("/patients/new/")
    at_desk.get_by_role("textbox", name="Name").fill("José Álvarez")
    at_desk.get_by_label("Date of birth").fill("17.05.1980")
    at_desk.get_by_role("textbox", name="Phone").fill("020 7946 0018")
    at_desk.get_by_label("No known allergies").check()
    at_desk.get_by_role("button", name="Register").click()
    asked = at_desk.get_by_role("button", name="This is another person, save anyway")
    expect(asked).to_be_visible()
    with at_desk.expect_navigation():
        at_desk.get_by_role("textbox", name="Phone").press("Enter")
    expect(asked).to_be_visible()
    assert Patient.objects.count() == 1


def test_parts_of_the_record_come_from_their_own_addresses(at_desk, patient):
    at_desk.goto(f"/patients/{patient.pk}/")
    expect(at_desk.locator("#patient-reviews")).to_be_visible()
    expect(at_desk.locator("#patient-appointments")).to_be_visible()
    expect(at_desk.get_by_text("Loading …")).to_have_count(0)


def test_part_that_cannot_be_had_says_so(at_desk, patient):
    at_desk.route("**/reviews/for-patient/**", lambda route: route.abort())
    at_desk.goto(f"/patients/{patient.pk}/")
    expect(at_desk.get_by_text("This could not be loaded.")).to_be_visible()


def test_open_list_of_hits_keeps_the_rules_of_access(at_desk, patient):
    at_desk.goto("/diary/")
    at_desk.get_by_role("combobox", name="Search").press_sequentially("exa")
    expect(hits(at_desk)).to_have_count(1)
    at_desk.keyboard.press("ArrowDown")
    rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    found = Axe().run(at_desk, options={"runOnly": rules}).response["violations"]
    assert [node["html"] for rule in found for node in rule["nodes"]] == []
