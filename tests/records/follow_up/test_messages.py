"""Messages on the follow-up list: those that came back, and those that can be sent from it."""

from datetime import timedelta

import pytest
from django.urls import reverse

from records.patients.models import Patient
from records.reminders.services.settling import give_up, note_called, settle_answer
from tests.factories import make_appointment, make_user
from tests.records.follow_up.conftest import TODAY, make_answer
from tests.records.follow_up.test_views import LIST, main_of, shown

pytestmark = pytest.mark.django_db


def test_what_came_back_is_on_the_list_and_leads_to_where_it_is_settled(
    signed_in, desk, injector, patient, review, came_back
):
    message = came_back("Ben Example", days=3)
    visit = make_appointment(desk, patient, injector, f"{TODAY + timedelta(days=2)} 10:00")
    answer = make_answer(visit, note="A morning, please")
    client = signed_in(desk)
    page = client.get(LIST)
    assert shown(page) == [
        ("answer", answer.pk), ("message", message.pk), ("review", review.pk),
    ]  # fmt: skip
    main, settle = main_of(page), main_of(client.get(reverse("reminder-list")))
    for row in (f"answer-{answer.pk}", f"message-{message.pk}"):
        assert f"{reverse('reminder-list')}#{row}" in main
        assert f'id="{row}"' in settle
    for words in ("Asks for a change", "A morning, please", "Undeliverable: confirmation"):
        assert words in main
    assert reverse("appointment-move", args=[visit.pk]) in main


def test_what_came_back_is_whose_visit_it_is_about(signed_in, desk, injector, came_back):
    message = came_back("Ben Example")
    other = make_user("lea", is_injector=True)
    client = signed_in(desk)
    assert shown(client.get(LIST, {"injector": injector.pk})) == [("message", message.pk)]
    assert shown(client.get(LIST, {"injector": other.pk})) == []
    assert shown(client.get(LIST, {"kind": "returned"})) == [("message", message.pk)]
    assert shown(client.get(LIST, {"kind": "review"})) == []


def test_what_came_back_and_was_settled_counts_as_progress(signed_in, desk, patient, came_back):
    called, given_up = came_back("Ben Example"), came_back("Cleo Example", days=4)
    answer = make_answer(came_back("Dan Example", days=5).appointment)
    note_called(message=called, actor=desk)
    settle_answer(answer=answer, actor=desk)
    progress = signed_in(desk).get(LIST).context["progress"]
    assert (progress.settled, progress.left) == (2, 2)
    give_up(message=given_up, actor=desk)
    progress = signed_in(desk).get(LIST).context["progress"]
    assert (progress.settled, progress.left) == (3, 1)


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ({"preferred_channel": "email", "agrees_to_email": True}, "send"),
        ({"preferred_channel": "sms", "agrees_to_sms": True}, "send"),
        ({"preferred_channel": "email", "agrees_to_sms": True}, "call"),
        ({"preferred_channel": "sms"}, "call"),
        ({"preferred_channel": "phone", "agrees_to_sms": True}, "call"),
        ({"preferred_channel": "sms", "agrees_to_sms": True, "phone": "020 7946 0101"}, "call"),
    ],
)
@pytest.mark.usefixtures("messages_on")
def test_a_message_is_sent_only_to_whoever_agreed_to_that_way(
    signed_in, desk, review, fields, expected
):
    known = {"phone": "07700 900123", "email": "ann@mail.example"}
    Patient.objects.update(**(known | fields))
    (row,) = signed_in(desk).get(LIST).context["rows"]
    assert row.step.value == expected


def test_after_the_invitation_the_patient_is_called(signed_in, desk, review, messages_on):
    Patient.objects.update(preferred_channel="sms", agrees_to_sms=True, phone="07700 900123")
    client = signed_in(desk)
    (row,) = client.get(LIST).context["rows"]
    client.post(row.send_url, {"next": LIST})
    page = client.get(LIST)
    (row,) = page.context["rows"]
    assert row.step.value == "call"
    assert "invitation waiting" in main_of(page)


def test_nothing_is_offered_to_be_sent_while_messages_are_off(signed_in, desk, review):
    Patient.objects.update(preferred_channel="sms", agrees_to_sms=True, phone="07700 900123")
    (row,) = signed_in(desk).get(LIST).context["rows"]
    assert row.step.value == "call"
