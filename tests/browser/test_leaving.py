"""A half-typed form is not left in silence; a form that was sent is."""

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def asked(page, sign_in, desk):
    """What the browser asked before a page was left; every question is answered with "stay"."""
    sign_in(page, desk)
    questions = []

    def stay(dialog):
        questions.append(dialog.type)
        dialog.dismiss()

    page.on("dialog", stay)
    return questions


def test_leaving_what_was_typed_is_asked_about(page, asked):
    page.goto("/patients/new/")
    page.get_by_role("textbox", name="Name").fill("Ann Example")
    with page.expect_event("dialog"):
        page.get_by_role("link", name="Diary", exact=True).click()
    assert asked == ["beforeunload"]
    expect(page.get_by_role("textbox", name="Name")).to_have_value("Ann Example")


def test_an_untouched_form_is_left_without_a_question(page, asked):
    page.goto("/patients/new/")
    page.get_by_role("link", name="Diary", exact=True).click()
    expect(page.get_by_role("heading", level=1)).not_to_have_text("Register a patient")
    assert asked == []


def test_a_form_that_came_back_is_not_left_in_silence_though_sending_it_is(page, asked):
    page.goto("/patients/new/")
    page.get_by_role("textbox", name="Name").fill("Ann Example")
    page.get_by_label("Date of birth").fill("31.02.1980")
    page.get_by_role("button", name="Register").click()
    expect(page.get_by_text("No such day")).to_be_visible()
    assert asked == []
    with page.expect_event("dialog"):
        page.get_by_role("link", name="Diary", exact=True).click()
    assert asked == ["beforeunload"]


def test_a_search_is_left_without_a_question(page, asked):
    page.goto("/patients/")
    page.get_by_role("combobox", name="Find a patient").press_sequentially("exa")
    page.get_by_role("link", name="Diary", exact=True).click()
    expect(page.get_by_role("heading", level=1)).not_to_have_text("Patients")
    assert asked == []
