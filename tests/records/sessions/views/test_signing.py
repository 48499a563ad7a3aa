"""Signing by password, and addenda on the page."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.policy.models import Closure
from records.sessions.models import Addendum
from records.sessions.services.signing import sign_session
from tests.factories import PASSWORD, make_point, make_user, refreshed


@pytest.fixture
def signed(session, units, injector):
    make_point(session, units[0])
    return sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)


def sign_url(session) -> str:
    return reverse("session-sign", args=[session.pk])


def addendum_url(session) -> str:
    return reverse("addendum-add", args=[session.pk])


def test_page_asks_for_each_remainder_and_the_password(signed_in, injector, session, units):
    make_point(session, units[0])
    text = signed_in(injector).get(sign_url(session)).content.decode()
    assert f"0.8\u00a0mL left in unit {units[0].label}" in text
    assert "Kept for the same patient" in text
    assert "Sign as Ida Injector" in text


def test_password_signs_and_locks(signed_in, injector, session, units):
    form = {f"unit_{units[0].pk}": "kept", "password": PASSWORD}
    answer = signed_in(injector).post(sign_url(session), form)
    assert answer.url == reverse("session-detail", args=[session.pk])
    assert refreshed(session).is_signed


def test_wrong_password_signs_nothing_and_keeps_the_choices(signed_in, injector, session, units):
    form = {f"unit_{units[0].pk}": "kept", "password": "not-the-word"}
    answer = signed_in(injector).post(sign_url(session), form)
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "That is not your password, so nothing was signed." in text
    assert re.search(r'value="kept"[^>]* checked', text)
    assert "not-the-word" not in text
    assert not refreshed(session).is_signed


def test_what_the_tablet_was_told_of_a_remainder_comes_along(signed_in, injector, session, units):
    address = f"{sign_url(session)}?unit_{units[0].pk}=kept&unit_x=1"
    text = signed_in(injector).get(address).content.decode()
    assert re.search(r'value="kept"[^>]* checked', text)


def test_missing_remainder_is_asked_for(signed_in, injector, session, units):
    answer = signed_in(injector).post(sign_url(session), {"password": PASSWORD})
    assert answer.status_code == 422
    assert f"Say what became of the rest of unit {units[0].label}." in answer.content.decode()


def test_a_clinic_that_never_opens_again_is_told_so(signed_in, injector, session, units):
    make_point(session, units[0])
    today = timezone.localdate()
    Closure.objects.create(starts_on=today, ends_on=today + timedelta(days=800), reason="Away")
    client = signed_in(injector)
    assert client.get(sign_url(session)).status_code == 200
    form = {f"unit_{units[0].pk}": "kept", "password": PASSWORD}
    answer = client.post(sign_url(session), form)
    assert answer.status_code == 422
    assert "check the clinic&#x27;s opening days and closures" in answer.content.decode()
    assert not refreshed(session).is_signed


def test_colleague_cannot_sign(signed_in, session):
    colleague = make_user("second", is_injector=True)
    assert signed_in(colleague).get(sign_url(session)).status_code == 403


def test_signed_session_is_not_signed_again(signed_in, injector, signed):
    answer = signed_in(injector).get(sign_url(signed))
    assert answer.url == reverse("session-detail", args=[signed.pk])


def test_signed_page_shows_signature_note_and_no_tools(signed_in, owner, signed):
    text = signed_in(owner).get(reverse("session-detail", args=[signed.pk])).content.decode()
    assert "Ida Injector" in text
    assert signed.signed_digest in text
    assert reverse("note-pdf", args=[signed.pk]) in text
    assert "data-charting" not in text
    assert "Add to the note" not in text


def test_form_of_the_signed_page_leads_to_the_addendum(signed_in, injector, signed):
    """It had no address of its own, and the page it stands on answers a POST with 405."""
    page = signed_in(injector).get(reverse("session-detail", args=[signed.pk]))
    assert f'action="{addendum_url(signed)}"' in page.content.decode()


def test_addendum_stands_on_the_signed_page(signed_in, injector, signed):
    form = {"point": "", "reason": "Typing slip", "text": "It was 0.1 mL."}
    client = signed_in(injector)
    answer = client.post(addendum_url(signed), form, follow=True)
    assert "It was 0.1 mL." in answer.content.decode()
    assert Addendum.objects.get().author == injector


def test_addendum_without_reason_keeps_what_was_typed(signed_in, injector, signed):
    answer = signed_in(injector).post(addendum_url(signed), {"text": "It was 0.1 mL."})
    assert answer.status_code == 422
    assert "It was 0.1 mL." in answer.content.decode()
    assert not Addendum.objects.exists()


def test_addendum_to_an_unsigned_session_is_refused(signed_in, session):
    form = {"reason": "Why", "text": "What"}
    colleague = make_user("second", is_injector=True)
    answer = signed_in(colleague).post(addendum_url(session), form, follow=True)
    assert "not signed yet" in answer.content.decode()
    assert not Addendum.objects.exists()


def test_addendum_to_ones_own_unsigned_session_leads_to_its_screen(signed_in, injector, session):
    form = {"reason": "Why", "text": "What"}
    answer = signed_in(injector).post(addendum_url(session), form, follow=True)
    assert answer.redirect_chain[-1] == (f"/charting/#{session.key}", 302)
    assert "not signed yet" not in answer.content.decode()
    assert not Addendum.objects.exists()


def test_owner_adds_nothing(signed_in, owner, signed):
    assert signed_in(owner).post(addendum_url(signed), {}).status_code == 403
