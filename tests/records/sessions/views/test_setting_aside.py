"""The page that asks whether a session was started by mistake."""

import pytest
from django.urls import reverse

from records.sessions.services.sittings import set_aside_session
from tests.factories import make_session, refreshed


@pytest.fixture
def empty(injector, patient):
    return make_session(injector, patient)


def address(name: str, session) -> str:
    return reverse(name, args=[session.pk])


def test_it_is_offered_where_an_empty_session_is_signed(signed_in, injector, empty):
    sign = signed_in(injector).get(address("session-sign", empty)).content.decode()
    assert address("session-set-aside", empty) in sign


def test_it_is_not_offered_beside_a_unit_on_the_tray(signed_in, injector, session):
    client = signed_in(injector)
    sign = client.get(address("session-sign", session)).content.decode()
    assert address("session-set-aside", session) not in sign
    told = client.get(address("session-set-aside", session)).content.decode()
    assert "It holds units on the tray" in told
    client.post(address("session-set-aside", session))
    assert refreshed(session).is_open


def test_one_confirmation_sets_it_aside(signed_in, injector, empty):
    client = signed_in(injector)
    assert "Nothing was written in it" in (
        client.get(address("session-set-aside", empty)).content.decode()
    )
    answer = client.post(address("session-set-aside", empty), follow=True)
    assert answer.redirect_chain[0][0] == reverse("session-list")
    assert "Still to be signed" not in answer.content.decode()
    assert refreshed(empty).is_set_aside


def test_only_whose_session_it_is_sets_it_aside(signed_in, owner, empty):
    owner.is_injector = True
    owner.save()
    assert signed_in(owner).post(address("session-set-aside", empty)).status_code == 403
    assert refreshed(empty).is_open


def test_its_page_says_so_and_it_has_no_note(signed_in, injector, empty):
    set_aside_session(session=empty, actor=injector)
    client = signed_in(injector)
    assert "as started by mistake" in client.get(address("session-detail", empty)).content.decode()
    for name in ("session-sign", "session-set-aside"):
        assert client.get(address(name, empty)).url == address("session-detail", empty)
    assert client.get(address("note-pdf", empty)).status_code == 404
