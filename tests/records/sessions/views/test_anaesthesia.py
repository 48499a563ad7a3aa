"""Anaesthesia typed at a desk, and where it is shown."""

import pytest
from django.urls import reverse
from django.utils import timezone

from records.notes.queries import note_content
from records.sessions.models import Anaesthesia
from records.sessions.services.signing import sign_session
from tests.factories import make_anaesthetic, make_patient, make_session, make_user

TYPED = {
    "method": "block", "product": "Lidocaine 2 %", "strength": "2 %", "with_epinephrine": "on",
    "amount": "1.8", "given_at": "2026-11-25 09:50",
}  # fmt: skip


@pytest.fixture
def session(injector, patient):
    return make_session(injector, patient)


def page(session) -> str:
    return reverse("session-anaesthesia", args=[session.pk])


def test_one_is_written_down_and_shown(signed_in, session, injector):
    client = signed_in(injector)
    assert client.post(page(session), TYPED)["Location"] == page(session)
    row = Anaesthesia.objects.get()
    assert (row.volume_ul, row.lidocaine_ug_per_ml, row.with_epinephrine) == (1_800, 20_000, True)
    shown = client.get(page(session)).content.decode()
    assert "lidocaine 2 % (20 mg/mL), with epinephrine" in shown
    signing = client.get(reverse("session-sign", args=[session.pk])).content.decode()
    assert "Nerve block" in signing


@pytest.mark.parametrize(
    ("typed", "field", "message"),
    [
        ({"method": ""}, "method", "Choose how"),
        ({"product": ""}, "product", "Anaesthetic is required"),
        ({"strength": "2"}, "strength", "Add the unit"),
        ({"amount": "4 units"}, "amount", "mL, not units"),
        ({"amount": "0"}, "amount", "above 0"),
        ({"given_at": "2999-01-01 10:00"}, "given_at", "still to come"),
        ({"given_at": "soon"}, "given_at", "Type day and time"),
    ],
)
def test_bad_input_keeps_what_was_typed(signed_in, session, injector, typed, field, message):
    answer = signed_in(injector).post(page(session), TYPED | typed)
    assert answer.status_code == 422
    assert message in " ".join(answer.context["form"].errors[field])
    assert answer.context["form"][field].value() == typed[field]
    assert not Anaesthesia.objects.exists()


def test_one_is_removed_by_who_injects_alone(client, signed_in, session, injector):
    row = make_anaesthetic(session)
    url = reverse("anaesthesia-remove", args=[row.pk])
    stranger = make_user("other", is_injector=True)
    assert signed_in(stranger).post(url).status_code == 403
    assert signed_in(injector).post(url)["Location"] == page(session)
    assert not session.anaesthesia.standing().exists()


def test_a_signed_session_shows_it_and_takes_no_more(signed_in, session, injector):
    row = make_anaesthetic(session)
    sign_session(session=session, remainders={}, actor=injector)
    client = signed_in(injector)
    record = reverse("session-detail", args=[session.pk])
    assert client.get(page(session))["Location"] == record
    assert "1.8\u00a0mL" in client.get(record).content.decode()
    assert client.post(reverse("anaesthesia-remove", args=[row.pk]), follow=True).status_code == 200
    assert session.anaesthesia.standing().get() == row


def test_the_note_holds_it(session, injector, desk):
    row = make_anaesthetic(session)
    assert note_content(session).anaesthesia == [row]
    bare = make_session(injector, make_patient(desk, "Bo Li"), started_at=timezone.now())
    assert note_content(bare).anaesthesia == []
