"""A time on offer: the message, and the link by which it is taken."""

from datetime import timedelta

import pytest
from django.urls import reverse

from records.appointments.enums import AppointmentState
from records.appointments.services.states import set_state
from records.reminders.enums import MessageKind, MessageState
from records.reminders.models import Message, ReminderPolicy
from records.reminders.services.reconciling import reconcile
from records.reminders.tokens import token_of
from records.waiting_list.enums import Answer
from records.waiting_list.services.offers import offer_time, withdraw
from tests.factories import refreshed
from tests.records.reminders.conftest import move
from tests.records.waiting_list.conftest import free, monday, wait  # noqa: F401

DAY = timedelta(days=1)

pytestmark = pytest.mark.django_db


@pytest.fixture
def offer(desk, injector, wait):  # noqa: F811
    ReminderPolicy.objects.create(is_on=True)
    wait("Zenobia Example", days=3)
    wait("Ben Example", days=1)
    return offer_time(freed=free(desk, injector), actor=desk)


def link_of(offer) -> str:
    message = Message.objects.get(appointment=offer.appointment, kind=MessageKind.OFFER)
    return reverse("reminder-answer", args=[token_of(message.reference)])


def test_nobody_is_told_while_messages_are_off(desk, injector, wait):  # noqa: F811
    wait("Zenobia Example")
    offer_time(freed=free(desk, injector), actor=desk)
    assert not Message.objects.filter(kind=MessageKind.OFFER).exists()


def test_the_page_says_when_and_until_when_and_nothing_else(client, offer):
    page = client.get(link_of(offer)).content.decode()
    assert 'Tuesday 2 March 2027, <span class="num">10:00</span>' in page
    assert "kept for you until" in page
    assert "Zenobia" not in page
    assert "onsultation" not in page
    assert refreshed(offer).answered_at is None


def test_a_press_takes_the_time_and_a_second_one_changes_nothing(client, offer):
    link = link_of(offer)
    for _ in range(2):
        assert client.post(link, {"answer": "take"}).status_code == 302
    assert refreshed(offer.appointment).state == AppointmentState.BOOKED
    assert "this time is yours" in client.get(link).content.decode()


def test_a_time_that_was_taken_and_then_cancelled_or_moved_is_nobodys_any_more(client, desk, offer):
    link = link_of(offer)
    client.post(link, {"answer": "take"})
    visit = refreshed(offer.appointment)
    move(visit, DAY)
    moved = client.get(link).content.decode()
    move(visit, -DAY)
    set_state(appointment=visit, state=AppointmentState.CANCELLED, actor=desk, reason="Ill")
    for page in (moved, client.get(link).content.decode()):
        assert "this time is yours" not in page
        assert "link cannot be used" in page


def test_whoever_does_not_want_it_leaves_it_to_the_next(client, offer):
    said = client.post(link_of(offer), {"answer": "leave"}).content.decode()
    assert "Thank you for telling us" in said
    assert refreshed(offer).answer == Answer.DECLINED
    assert "link cannot be used" in client.get(link_of(offer)).content.decode()


def test_an_offer_that_was_taken_back_is_gone(client, desk, offer):
    withdraw(offer, actor=desk, reason="The injector is ill")
    page = client.post(link_of(offer), {"answer": "take"}).content.decode()
    assert "link cannot be used" in page
    assert refreshed(offer.appointment).state == AppointmentState.CANCELLED


def test_the_message_of_an_offer_that_was_taken_back_waits_no_more(desk, offer):
    [message] = Message.objects.waiting().filter(kind=MessageKind.OFFER)
    withdraw(offer, actor=desk, reason="The injector is ill")
    reconcile()
    assert refreshed(message).state == MessageState.WITHDRAWN


def test_a_press_of_nothing_is_asked_again(client, offer):
    page = client.post(link_of(offer), {"answer": "<b>"}).content.decode()
    assert "Choose one of the two." in page
    assert refreshed(offer).answered_at is None
