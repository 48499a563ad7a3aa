"""A tablet in a patient's hands shows one page until the password is given."""

import pytest
from django.urls import reverse

from clinic.tablets.handing_over import MOST_TRIES
from tests.factories import PASSWORD

BACK = reverse("tablet-take-back")


@pytest.fixture
def held(signed_in, desk):
    """A tablet that Dora Desk handed over."""
    client = signed_in(desk)
    session = client.session
    session["handed_over"] = {"page": "/appointments/", "back": "/patients/", "tries": 0}
    session.save()
    return client


def test_every_other_page_leads_back_to_the_one_that_is_open(held):
    assert held.get("/patients/")["Location"] == "/appointments/"
    assert held.post("/patients/new/", {})["Location"] == "/appointments/"


def test_a_script_gets_nothing(held):
    assert held.get("/patients/search/", headers={"Sec-Fetch-Mode": "cors"}).status_code == 403


def test_an_empty_password_is_asked_for(held):
    answer = held.post(BACK, {})
    assert (answer.status_code, "Type your password" in answer.content.decode()) == (422, True)


def test_who_left_the_questions_by_mistake_finds_back_until_they_are_sent(held):
    assert '<a class="button button--plain button--wide" href="/appointments/">' in (
        held.get(BACK).content.decode()
    )
    session = held.session
    session["handed_over"] |= {"page": BACK}
    session.save()
    assert "Back to the questions" not in held.get(BACK).content.decode()


def test_a_wrong_password_is_said_at_the_password_and_nowhere_else(held):
    text = held.post(BACK, {"password": "wrong"}).content.decode()
    assert "This is not your password." in text
    assert "Not saved yet" not in text


def test_the_password_opens_the_clinic_where_it_was(held):
    assert 'href="/patients/"' in held.post(BACK, {"password": PASSWORD}).content.decode()
    assert held.get("/patients/").status_code == 200


def test_too_many_wrong_passwords_end_the_sign_in(held):
    for _ in range(MOST_TRIES - 1):
        assert held.post(BACK, {"password": "wrong"}).status_code == 422
    assert held.post(BACK, {"password": "wrong"})["Location"] == reverse("staff-login")
    assert "/patients/" in held.get("/patients/")["Location"]
    assert "_auth_user_id" not in held.session


def test_a_tablet_that_was_not_handed_over_has_nothing_to_take_back(signed_in, desk):
    assert signed_in(desk).get(BACK)["Location"] == reverse("today")
